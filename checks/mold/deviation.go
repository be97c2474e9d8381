package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// Deviation is the signed distance from the fitted part's surface to the cavity's:
// positive where the cavity lies outside the part, so that the cast is thicker
// there. Channel mouths are left out.
type Deviation struct {
	Max     float64 // the largest by size, with its sign
	At      geom.Vec
	Mean    float64 // over the surface, of sizes
	Signed  float64 // mean with sign
	Samples []DeviationSample
}

// DeviationSample is one place of the deviation map.
type DeviationSample struct {
	At     geom.Vec
	Value  float64
	weight float64
	shell  int32
}

// Cavity is what one shell of the part says of its cavity: several parts may be
// cast in one block.
type Cavity struct {
	Middle    geom.Vec
	Volume    float64 // of the part's shell, mm3
	Deviation Deviation
	Scale     float64 // cavity over part of this shell alone, on top of the common fit
	Offset    geom.Vec
}

// deviationLines is how many lines cross the part's longest side for the map.
const deviationLines = 80

// compare fills in what concerns the part and its cavity.
func (m *Mold) compare(c *Closing) {
	f := m.fixed
	of, shells := partShells(f.shells())
	samples := placedSamples(f.part, deviationLines)
	list := make([]DeviationSample, 0, len(samples))
	reach := m.pairReach()
	places := make([]fitSample, len(samples))
	for i := range samples {
		places[i] = samples[i].fitSample
	}
	faces := f.facing(places, inPlace, reach, nil)
	for i := range samples {
		if v, ok := m.deviationAt(&places[i], &faces[i]); ok {
			n := samples[i].n
			list = append(list, DeviationSample{At: samples[i].p, Value: v, shell: of[samples[i].facet],
				weight: 1 / (math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z))})
		}
	}
	c.Deviation = summary(list, -1)
	c.Deviation.Samples = list
	for s := range shells {
		var own facedPart
		for i := range samples {
			if of[samples[i].facet] == int32(s) {
				own.samples, own.faces = append(own.samples, places[i]), append(own.faces, faces[i])
			}
		}
		c.Cavities = append(c.Cavities, m.cavityOf(&shells[s], own, reach, summary(list, int32(s))))
	}
	c.Features = m.features()
	c.Mirrored = m.mirrored()
}

// placedSample is a place on the part and the facet it lies on.
type placedSample struct {
	fitSample
	facet int32
}

// placedSamples spreads places over a mesh as surfaceSamples does.
func placedSamples(mesh *geom.Mesh, n int) []placedSample {
	s := mesh.Box().Size()
	lat, err := column.NewLattice(geom.Identity(), mesh.Box(), max(s.X, s.Y, s.Z)/float64(n))
	if err != nil {
		return nil // no extent: there is nothing to sample
	}
	sol := column.Snap(lat, []*geom.Mesh{mesh}, nil)
	var out []placedSample
	for axis := 0; axis < 3; axis++ {
		sol.Cast(axis).Each(&lat, func(p geom.Vec, facet int32, _ bool) {
			out = append(out, placedSample{fitSample{p, sol.Normal(facet)}, facet})
		})
	}
	return out
}

// partShells returns, per facet of an inspected mesh, the number of the solid shell it
// belongs to, and those shells; a void's facets belong to the shell around it.
func partShells(d *geom.Defects) ([]int32, []geom.Shell) {
	number := make([]int32, len(d.Shells))
	var solid []geom.Shell
	for i := range d.Shells { // largest first, so a parent comes before its child
		s := &d.Shells[i]
		if s.Parent >= 0 {
			number[i] = number[s.Parent]
			continue
		}
		number[i] = int32(len(solid))
		solid = append(solid, *s)
	}
	of := make([]int32, len(d.ShellOf))
	for f, s := range d.ShellOf {
		if s >= 0 {
			of[f] = number[s]
		}
	}
	return of, solid
}

// pairReach is how far the cavity's surface may be from the part's and still be
// what shapes it there, mm: as for the fit.
func (m *Mold) pairReach() float64 { return max(1.5, 0.02*m.Part.Mesh.Box().Diagonal()) }

// deviationAt measures one place of the part, given the face opposite; false over a
// channel's mouth and where the cavity has a feature of its own.
func (m *Mold) deviationAt(s *fitSample, h *bvh.Hit) (float64, bool) {
	f := m.fixed
	if m.mouthAt(s.p) > 0 {
		return 0, false
	}
	if h.Facet >= 0 {
		r := s.n.Dot(h.Point.Sub(s.p))
		// Beside the foot of the normal by more than its length: the cavity's face
		// opens here, or ends.
		if lateral := h.Dist*h.Dist - float64(r*r); lateral <= 0.01+float64(r*r) {
			return math.Round(r*1e5) / 1e5, true
		}
	}
	if !m.inRubber(s.p) {
		return 0, false
	}
	near, ok := f.tree.Nearest(s.p, math.Inf(1))
	if !ok {
		return 0, false
	}
	return -math.Round(near.Dist*1e5) / 1e5, true
}

// mouthAt returns the channel that leaves the part at a place, from 1; 0 for none.
// Rubber within two cells of a channel counts as its rim.
func (m *Mold) mouthAt(p geom.Vec) int {
	for i := range m.Channels {
		q := p.AddScaled(m.Channels[i].Axis, m.Skin+2*m.Cell)
		if m.labels.at(q)&^material == firstChannel+label(i) {
			return i + 1
		}
	}
	return 0
}

// inRubber tells whether a place lies inside a half: by the winding number along
// a line that is square to nothing.
func (m *Mold) inRubber(p geom.Vec) bool {
	d := geom.Vec{X: 0.21, Y: 0.34, Z: 0.92}.Unit()
	n := 0
	for _, h := range m.fixed.tree.All(p, d, 4*m.fixed.box.Diagonal(), nil) {
		n -= int(h.Sense)
	}
	return n > 0
}

// summary sums the samples of one shell, or of all for -1.
func summary(list []DeviationSample, shell int32) Deviation {
	var d Deviation
	total := 0.0
	for i := range list {
		s := &list[i]
		if shell >= 0 && s.shell != shell {
			continue
		}
		total += s.weight
		d.Mean += float64(s.weight * math.Abs(s.Value))
		d.Signed += float64(s.weight * s.Value)
		// Of values equal to a hundredth of a micrometre the first place counts.
		a, b := math.Round(math.Abs(s.Value)*1e5), math.Round(math.Abs(d.Max)*1e5)
		if a > b || a == b && a > 0 && s.At.Less(d.At) {
			d.Max, d.At = s.Value, s.At
		}
	}
	if total > 0 {
		d.Mean /= total
		d.Signed /= total
	}
	return d
}

// cavityOf judges one shell: its deviation, and what scale and shift of it alone
// would still take away. Its faces were looked up within reach.
func (m *Mold) cavityOf(s *geom.Shell, own facedPart, reach float64, d Deviation) Cavity {
	c := Cavity{Middle: s.Box.Center(), Volume: math.Abs(s.Volume), Deviation: d, Scale: 1}
	if near := max(1.5, 0.02*s.Box.Diagonal()); near != reach {
		reach = near
		own.faces = m.fixed.facing(own.samples, inPlace, reach, own.faces)
	}
	fit, _ := m.fixed.fitRounds(own.samples, own.faces, c.Middle, reach, 3, 0)
	c.Scale, c.Offset = fit.Scale, fit.Offset
	return c
}

// Feature is a piece that part or cavity has and the other lacks.
type Feature struct {
	Missing bool     // the part has it, rubber stands there: the cast will lack it
	Volume  float64  // mm3
	At      geom.Vec // its middle
	Depth   float64  // how far it reaches from the surface the two share
}

// leastFeature is the volume from which a difference is a feature, mm3: a ball of
// 1.2 mm.
const leastFeature = 1.0

// features finds the part's pieces that rubber fills, on the part's own lines, and
// wide dead ends of the cavity, which a part's boss should have filled.
func (m *Mold) features() []Feature {
	out := m.missing()
	for i := range m.Channels {
		c := &m.Channels[i]
		volume := float64(len(m.nodes.members[i])) * m.Cell * m.Cell * m.Cell
		// A dead end shorter than twice its width is no bore that stops short.
		if c.Role != Blind || c.Slit || c.Length > 2*c.Diameter || volume < leastFeature {
			continue
		}
		out = append(out, Feature{Volume: volume, At: c.Mouth.Lerp(c.End, 0.5), Depth: c.Length})
	}
	slices.SortStableFunc(out, func(a, b Feature) int { return cmp.Compare(b.Volume, a.Volume) })
	return out
}

// missing finds where the fitted part runs through rubber deeper than the skin
// and the meshes' own error.
func (m *Mold) missing() []Feature {
	f := m.fixed
	s := f.part.Box().Size()
	l, err := m.newLineup(geom.Vec{Z: 1}, max(0.1, max(s.X, s.Y, s.Z)/160))
	if err != nil {
		return nil
	}
	deep := max(0.1, m.Seal, 3*m.chordError())
	part := l.part.Cast(2)
	h := l.lat.Pitch()
	var points []geom.Vec
	var lengths []float64
	for _, half := range l.halves {
		rubber := half.Cast(2)
		for c := 0; c+1 < len(part.Start); c++ {
			for i := part.Start[c]; i < part.Start[c+1]; i++ {
				for j := rubber.Start[c]; j < rubber.Start[c+1]; j++ {
					lo, hi := max(part.Lo[i], rubber.Lo[j]), min(part.Hi[i], rubber.Hi[j])
					if length := float64(float64(hi-lo) * l.lat.Q); length > deep {
						u, v := c/part.NV, c%part.NV
						points = append(points, l.lat.Point(l.lat.At(0, u), l.lat.At(1, v), lo+(hi-lo)/2))
						lengths = append(lengths, length)
					}
				}
			}
		}
	}
	return m.groupFeatures(points, lengths, h, deep)
}

func (m *Mold) groupFeatures(points []geom.Vec, lengths []float64, h, deep float64) []Feature {
	var out []Feature
	for _, group := range patches(points, 3*h) {
		var x Feature
		x.Missing = true
		var middle geom.Vec
		for _, i := range group {
			v := lengths[i] * h * h
			x.Volume += v
			middle = middle.AddScaled(points[i], v)
			// Inside both: how far the part's skin is from the cavity's here.
			a, _ := m.fixed.tree.Nearest(points[i], math.Inf(1))
			b, _ := m.fixed.partTree.Nearest(points[i], math.Inf(1))
			x.Depth = max(x.Depth, a.Dist+b.Dist)
		}
		if x.Depth <= deep || x.Volume < leastFeature {
			continue // long and thin: two skins that lie along each other
		}
		x.At = middle.Scale(1 / x.Volume)
		out = append(out, x)
	}
	return out
}

// mirrored tells whether a mirrored copy of the part would fit far better than
// the part: mirrored in one axis, or in all three, which are all there are but
// for half turns.
func (m *Mold) mirrored() bool {
	f := m.fixed
	mid := f.part.Box().Center()
	samples := surfaceSamples(f.part, 24)
	reach := m.pairReach()
	asIs := matchOf(f.facing(samples, inPlace, reach, nil), reach, reach).quantile90
	good := max(0.05, 2*m.chordError())
	if asIs <= good {
		return false
	}
	for _, flip := range [4]geom.Vec{{X: -1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: 1}, {X: 1, Y: 1, Z: -1}, {X: -1, Y: -1, Z: -1}} {
		turn := func(v geom.Vec) geom.Vec { return geom.Vec{X: v.X * flip.X, Y: v.Y * flip.Y, Z: v.Z * flip.Z} }
		other := make([]fitSample, len(samples))
		for i, s := range samples {
			other[i] = fitSample{mid.Add(turn(s.p.Sub(mid))), turn(s.n)}
		}
		if matchOf(f.facing(other, inPlace, reach, nil), reach, reach).quantile90 <= max(good, asIs/4) {
			return true
		}
	}
	return false
}
