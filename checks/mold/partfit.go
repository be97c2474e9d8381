package mold

import (
	"math"
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// PartFit says how the part had to be scaled and moved to lie in the cavity: a
// cavity is often cut with a shrink allowance.
type PartFit struct {
	Scale      float64  // cavity over part
	Offset     geom.Vec // shift of the part's middle, mm
	Quantile90 float64  // mm, 90 % of the part's surface lies this near the cavity's, after the fit
	Applied    bool     // false: the part is used as it is
	Samples    int      // places on the part's surface that were compared
}

// fitSample is a place on the part's surface.
type fitSample struct{ p, n geom.Vec }

// fitLines is the number of lines along the part's longest side whose crossings are
// compared with the cavity.
const fitLines = 48

// facedPart is places on the fitted part and the faces of the halves opposite.
type facedPart struct {
	samples []fitSample
	faces   []bvh.Hit
}

// fitIterations bounds the closest-point rounds; each about halves what the
// last one left, and they stop when the fit moves less than the rounding below.
const fitIterations = 12

// Rounding of the fit, so that last-bit differences of the sums do not travel
// on: 1e-7 of scale moves a 100 mm part by 1e-5 mm.
const (
	scaleStep = 1e-7
	shiftStep = 1e-6
)

// fitPart finds scale and shift of the part that bring its surface onto the
// cavity's by rounds of closest points and point-to-plane least squares (Chen
// and Medioni 1992), without a turn. The part stays as it is where that is as
// good within the meshes' own chord error.
func (m *Mold) fitPart() PartFit {
	f := m.fixed
	mid := m.Part.Mesh.Box().Center()
	samples := surfaceSamples(m.Part.Mesh, fitLines)
	reach := m.pairReach()
	fit := PartFit{Scale: 1, Samples: len(samples)}
	// Below it the meshes themselves differ: the middle of a facet on a sphere strays
	// 8/3 as far as the arc across its edges that the chord error is taken from.
	good := max(0.01, 3*m.chordError())
	asIs := f.facing(samples, fit.about(mid), reach, nil)
	before := matchOf(asIs, reach, good)
	if before.off > 0.01 { // one place in a hundred: a channel's rim
		// First as if most places lay right, as when a piece is missing; then as if none
		// did, as when the part lies aside in a direction that few places see.
		for _, rough := range [2]int{0, 3} {
			next, faced := f.fitRounds(samples, asIs, mid, reach, fitIterations, rough)
			next.Samples = fit.Samples
			if after := matchOf(f.facing(samples, next.about(mid), reach, faced), reach, good); after.explains(before, good) {
				fit, before = next, after
				fit.Applied = true
				break
			}
		}
	}
	fit.Quantile90 = before.quantile90
	f.part = m.Part.Mesh
	if fit.Applied {
		f.part = m.Part.Mesh.Map(fit.about(mid))
	}
	f.faced = sync.OnceValue(func() facedPart {
		if !fit.Applied {
			return facedPart{samples, asIs}
		}
		s := surfaceSamples(f.part, fitLines)
		return facedPart{s, f.facing(s, inPlace, reach, nil)}
	})
	if fit.Applied {
		f.partTree, f.chords = bvh.Build(f.part), sync.OnceValue(f.part.Chords)
		f.shells = func() *geom.Defects { return geom.Inspect(f.part) }
	} else {
		f.partTree, f.chords = m.Part.tree(), sync.OnceValue(m.Part.chords)
		f.shells = m.Part.inspected
	}
	return fit
}

// match says how well the part lies in the cavity.
type match struct {
	quantile90 float64 // of the distances
	off        float64 // share of places farther off than what facets explain
}

// explains tells whether a scale and a shift that lead from before to m take most
// of the difference away without bringing places off that lay right: halves that
// stand apart look a little like a larger cavity.
func (m match) explains(before match, good float64) bool {
	return m.off < 0.5*before.off || before.quantile90 > good && m.quantile90 < 0.5*before.quantile90 && m.off <= before.off
}

// fitRounds looks for a fit round by round, at most so many, from the part as it is,
// whose samples' faces opposite are given; the first rough rounds take every pair of
// places, the others leave out those that are far off. It returns the faces last looked
// up, too.
func (f *fixed) fitRounds(samples []fitSample, faces []bvh.Hit, mid geom.Vec, reach float64, rounds, rough int) (PartFit, []bvh.Hit) {
	fit := PartFit{Scale: 1}
	for i := range rounds {
		if i > 0 {
			faces = f.facing(samples, fit.about(mid), reach, faces)
		}
		next, ok := fit.step(samples, faces, mid, i < rough)
		if !ok || next == fit {
			break
		}
		fit = next
	}
	return fit, faces
}

// about returns the map that scales about mid and shifts.
func (fit PartFit) about(mid geom.Vec) func(geom.Vec) geom.Vec {
	if fit.Scale == 1 && fit.Offset == (geom.Vec{}) {
		return inPlace
	}
	return func(p geom.Vec) geom.Vec { return mid.Add(fit.Offset).AddScaled(p.Sub(mid), fit.Scale) }
}

func inPlace(p geom.Vec) geom.Vec { return p }

// surfaceSamples spreads places over a mesh: where the lines of a lattice with
// about n lines along the longest side cross it, for all three axes.
func surfaceSamples(mesh *geom.Mesh, n int) []fitSample {
	s := mesh.Box().Size()
	h := max(s.X, s.Y, s.Z) / float64(n)
	lat, err := column.NewLattice(geom.Identity(), mesh.Box(), h)
	if err != nil {
		return nil
	}
	sol := column.Snap(lat, []*geom.Mesh{mesh}, nil)
	var out []fitSample
	for axis := 0; axis < 3; axis++ {
		sol.Cast(axis).Each(&lat, func(p geom.Vec, facet int32, _ bool) {
			out = append(out, fitSample{p, sol.Normal(facet)})
		})
	}
	return out
}

// facing finds, for every sample moved by move, the nearest place of the halves within
// reach that faces the part's surface there; Facet is -1 where none does. before is what
// was found for another move, nil for none: it may make the search shorter.
func (f *fixed) facing(samples []fitSample, move func(geom.Vec) geom.Vec, reach float64, before []bvh.Hit) []bvh.Hit {
	out := make([]bvh.Hit, len(samples))
	for i := range samples {
		guess := int32(-1)
		switch {
		case before != nil:
			guess = before[i].Facet
		case i > 1: // lines enter and leave by turns: the same end of the line beside
			guess = out[i-2].Facet
		}
		n := samples[i].n
		h, ok := f.tree.NearestFrom(guess, move(samples[i].p), reach, func(facet int32) bool {
			return f.joined.Triangle(int(facet)).Normal().Dot(n) < -0.7
		})
		if !ok {
			h.Facet = -1
		}
		out[i] = h
	}
	return out
}

// matchOf judges by the faces opposite to samples, looked for within reach; samples that
// find none are left out (channel mouths), unless that is most of them.
func matchOf(faces []bvh.Hit, reach, good float64) match {
	var d []float64
	off := 0
	for i := range faces {
		if h := &faces[i]; h.Facet >= 0 {
			if d = append(d, h.Dist); h.Dist > good {
				off++
			}
		}
	}
	if 2*len(d) < len(faces) {
		return match{reach, 1}
	}
	slices.Sort(d)
	return match{d[len(d)*9/10], float64(off) / float64(len(d))}
}

// step solves one round for a change of scale and shift, given the faces opposite to the
// samples as the fit moves them; a rough one leaves out no pair of places.
func (fit PartFit) step(samples []fitSample, faces []bvh.Hit, mid geom.Vec, rough bool) (PartFit, bool) {
	var rows [][5]float64
	var res []float64
	move := fit.about(mid)
	for i, s := range samples {
		if faces[i].Facet < 0 {
			continue
		}
		d := s.p.Sub(mid)
		r := s.n.Dot(faces[i].Point.Sub(move(s.p)))
		rows = append(rows, [5]float64{s.n.Dot(d), s.n.X, s.n.Y, s.n.Z, r})
		res = append(res, math.Abs(r))
	}
	if len(rows) < 12 {
		return fit, false
	}
	slices.Sort(res)
	cut := max(3*res[len(res)/2], 1e-3) // places that pair with the wrong surface
	if rough {
		cut = math.Inf(1)
	}
	var a [4][5]float64
	for _, row := range rows {
		if math.Abs(row[4]) > cut {
			continue
		}
		for i := 0; i < 4; i++ {
			for j := 0; j < 5; j++ {
				a[i][j] += float64(row[i] * row[j])
			}
		}
	}
	x, ok := solve4(a)
	if !ok {
		return fit, false
	}
	fit.Scale = math.Round((fit.Scale+x[0])/scaleStep) * scaleStep
	o := fit.Offset.Add(geom.Vec{X: x[1], Y: x[2], Z: x[3]})
	r := func(v float64) float64 { return math.Round(v/shiftStep) * shiftStep }
	fit.Offset = geom.Vec{X: r(o.X), Y: r(o.Y), Z: r(o.Z)}
	return fit, true
}

// solve4 solves four normal equations by elimination with pivoting. A direction
// that the data say nothing of (a sheet cannot tell its shift along itself) is
// held by adding 1e-9 of the largest diagonal entry, far below any real
// stiffness and far above rounding (2^-52 of it).
func solve4(a [4][5]float64) (x [4]float64, ok bool) {
	top := max(a[0][0], a[1][1], a[2][2], a[3][3])
	if !(top > 0) {
		return x, false
	}
	for i := range a {
		a[i][i] += 1e-9 * top
	}
	for c := 0; c < 4; c++ {
		p := c
		for r := c + 1; r < 4; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p] = a[p], a[c]
		for r := c + 1; r < 4; r++ {
			k := a[r][c] / a[c][c]
			for j := c; j < 5; j++ {
				a[r][j] -= float64(k * a[c][j])
			}
		}
	}
	for c := 3; c >= 0; c-- {
		v := a[c][4]
		for j := c + 1; j < 4; j++ {
			v -= float64(a[c][j] * x[j])
		}
		x[c] = v / a[c][c]
	}
	return x, true
}

// FittedPart returns the part as it lies in the cavity: scaled and moved by Fit
// where that was applied, else as given.
func (m *Mold) FittedPart() *geom.Mesh { return m.fixed.part }
