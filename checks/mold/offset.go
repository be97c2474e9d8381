package mold

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"pourproof/geom"
)

// HalvesOffset is how far one half stands beside its place against another.
type HalvesOffset struct {
	Half, Against string
	Shift         geom.Vec // mm, zero along directions that nothing tells
	From          string   // what it was told by: the cavity, or the keys
}

// offsetFit sums point-to-plane equations n.x = r for a shift x (Chen and Medioni
// 1992).
type offsetFit struct {
	a [3][3]float64
	b [3]float64
	n float64
}

func (o *offsetFit) add(n geom.Vec, r, weight float64) {
	v := [3]float64{n.X, n.Y, n.Z}
	for i := range v {
		for j := range v {
			o.a[i][j] += weight * float64(v[i]*v[j])
		}
		o.b[i] += weight * float64(v[i]*r)
	}
	o.n += weight
}

// tellsNothing is the share of the samples' weight below which they do not fix a
// direction: a wall that stands across it covers less than this of the surface.
const tellsNothing = 0.01

// solve returns the shift in the directions that the equations fix, by the
// eigenvectors of their matrix (gonum), rounded to 1e-5 mm, far above what
// processors' last bits change; known tells per axis whether it is fixed.
func (o *offsetFit) solve() (x geom.Vec, fixed []geom.Vec) {
	if o.n == 0 {
		return x, nil
	}
	a := mat.NewSymDense(3, nil)
	for i := range o.a {
		for j := i; j < 3; j++ {
			a.SetSym(i, j, o.a[i][j]/o.n)
		}
	}
	var e mat.EigenSym
	if !e.Factorize(a, true) {
		return x, nil
	}
	var v mat.Dense
	e.VectorsTo(&v)
	for k, value := range e.Values(nil) {
		if value < tellsNothing {
			continue
		}
		d := geom.Vec{X: v.At(0, k), Y: v.At(1, k), Z: v.At(2, k)}
		t := (float64(d.X*o.b[0]) + float64(d.Y*o.b[1]) + float64(d.Z*o.b[2])) / o.n / value
		x = x.AddScaled(d, t)
		fixed = append(fixed, d)
	}
	r := func(v float64) float64 { return math.Round(v*1e5)/1e5 + 0 }
	return geom.Vec{X: r(x.X), Y: r(x.Y), Z: r(x.Z)}, fixed
}

// halvesOffset returns how the second half stands beside its place against the
// first, the largest of all halves: by the part, which both shape, where its walls
// fix the direction across the pull; else by the clearances of the keys.
func (m *Mold) halvesOffset(list []meeting) *HalvesOffset {
	var best *HalvesOffset
	base := m.shapeShift(0)
	for h := 1; h < len(m.Halves); h++ {
		o := &HalvesOffset{Half: m.Halves[h].Name, Against: m.Halves[0].Name, From: "the cavity"}
		own := m.shapeShift(h)
		shift, ok := own.against(base, m.Pulls[h])
		if !ok {
			o.From = "the keys"
			if shift, ok = keyShift(list, int32(h), m.Pulls[h]); !ok {
				continue
			}
		}
		o.Shift = shift
		if best == nil || o.Shift.Norm() > best.Shift.Norm() {
			best = o
		}
	}
	return best
}

// shape is where the part would have to lie for one half.
type shape struct {
	shift geom.Vec
	fixed []geom.Vec
}

// pairing is a place of the part and how far a half's face lies off it.
type pairing struct {
	n         geom.Vec
	r, weight float64
}

// shapeShift fits the fitted part to the faces of one half alone, by a shift: once
// as if most places lay right, once as if none did; what brings more of them onto
// the half's faces counts, of equals the first.
func (m *Mold) shapeShift(half int) shape {
	s, fits := m.shiftRounds(half, 0)
	if o, more := m.shiftRounds(half, 2); more > 1.02*fits { // 2 %: more than rims of channels
		s = o
	}
	return s
}

// shiftRounds improves a shift round by round; the first rough rounds take every
// pair of places. It returns the weight of the places that then lie on the faces,
// to what facets and files explain.
func (m *Mold) shiftRounds(half, rough int) (s shape, fits float64) {
	good := 2*fileRounding + 2*m.chordError()
	at := m.fixed.faced()
	for round := 0; ; round++ {
		pairs := m.pairings(half, at, s.shift)
		cut := pairsApart(pairs)
		if round < rough {
			cut = math.Inf(1)
		}
		var fit offsetFit
		fits = 0
		for _, p := range pairs {
			if math.Abs(p.r) <= good {
				fits += p.weight
			}
			if math.Abs(p.r) <= cut {
				fit.add(p.n, p.r, p.weight)
			}
		}
		var x geom.Vec
		x, s.fixed = fit.solve()
		if round >= rough && (round == 6 || x.Norm() < 1e-4) {
			return s, fits
		}
		if x != (geom.Vec{}) {
			s.shift = s.shift.Add(x)
			at.faces = m.fixed.facing(at.samples, s.shift.Add, m.pairReach(), at.faces)
		}
	}
}

// pairings lists where one half shapes the part, moved by shift: the half whose
// face is nearest does.
func (m *Mold) pairings(half int, at facedPart, shift geom.Vec) []pairing {
	lo, hi := m.fixed.owner[half], m.fixed.owner[half+1]
	var out []pairing
	for i := range at.samples {
		p, n, h := at.samples[i].p.Add(shift), at.samples[i].n, &at.faces[i]
		if h.Facet < lo || h.Facet >= hi {
			continue
		}
		r := n.Dot(h.Point.Sub(p))
		if lateral := float64(h.Dist*h.Dist) - float64(r*r); lateral > 0.01+float64(r*r) { // over a channel's mouth
			continue
		}
		out = append(out, pairing{n, r, 1 / (math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z))})
	}
	return out
}

// pairsApart returns the distance above which a place pairs with the wrong surface.
func pairsApart(pairs []pairing) float64 {
	if len(pairs) == 0 {
		return 0
	}
	size := make([]float64, len(pairs))
	for i := range pairs {
		size[i] = math.Abs(pairs[i].r)
	}
	slices.Sort(size)
	return max(3*size[len(size)/2], 0.02)
}

// against returns the difference of two halves' shifts across the pull, where
// both fix it.
func (s shape) against(base shape, pull geom.Vec) (geom.Vec, bool) {
	u, v := pull.Perpendicular()
	for _, d := range [2]geom.Vec{u, v} {
		if !spans(s.fixed, d) || !spans(base.fixed, d) {
			return geom.Vec{}, false
		}
	}
	d := s.shift.Sub(base.shift)
	return d.AddScaled(pull, -d.Dot(pull)), true
}

// spans tells whether a direction lies in the space of orthonormal vectors.
func spans(fixed []geom.Vec, d geom.Vec) bool {
	in := 0.0
	for _, f := range fixed {
		c := f.Dot(d)
		in += float64(c * c)
	}
	return in > 0.9
}

// keyShift solves gap = clearance + n.x over the side walls of keys: x is how far
// half h stands off, the clearance one number for all.
func keyShift(list []meeting, h int32, pull geom.Vec) (geom.Vec, bool) {
	u, v := pull.Perpendicular()
	a := mat.NewDense(3, 3, nil)
	b := mat.NewVecDense(3, nil)
	n := 0.0
	for i := range list {
		s := &list[i]
		if !s.inKey || (s.a != h && s.b != h) || math.Abs(s.n.Dot(pull)) >= steepest {
			continue
		}
		d := s.n
		if s.a == h {
			d = d.Neg()
		}
		row := [3]float64{1, d.Dot(u), d.Dot(v)}
		for j := range row {
			for k := range row {
				a.Set(j, k, a.At(j, k)+float64(s.area*float64(row[j]*row[k])))
			}
			b.SetVec(j, b.AtVec(j)+float64(s.area*float64(row[j]*s.gap)))
		}
		n += s.area
	}
	var x mat.VecDense
	if n == 0 || a.At(1, 1) < tellsNothing*n || a.At(2, 2) < tellsNothing*n {
		return geom.Vec{}, false
	}
	if err := x.SolveVec(a, b); err != nil {
		return geom.Vec{}, false
	}
	r := func(t float64) float64 { return math.Round(t*1e5)/1e5 + 0 }
	return u.Scale(r(x.AtVec(1))).AddScaled(v, r(x.AtVec(2))), true
}
