package checks

import (
	"cmp"
	"math"
	"slices"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// rubberBeyond returns how much rubber is left between the end of a blind channel
// and the next free space straight on, in mm; false where that is not known. Cost:
// one pass over the facets of the halves.
func rubberBeyond(m *mold.Mold, c *mold.Channel) (float64, bool) {
	d := c.ExitAxis
	if m == nil || d == (geom.Vec{}) {
		return 0, false
	}
	type crossing struct {
		t  float64
		in bool
	}
	var all []crossing
	for i := range m.Halves {
		mesh := m.Halves[i].Mesh
		if mesh == nil {
			continue
		}
		for f := range mesh.Facets {
			t := mesh.Triangle(f)
			if s, ok := lineHit(t, c.End, d); ok {
				all = append(all, crossing{s, t.AreaVec().Dot(d) < 0})
			}
		}
	}
	slices.SortFunc(all, func(a, b crossing) int { return cmp.Compare(a.t, b.t) })
	// The end lies on the bore's last face or up to its width short of it. Halves
	// that touch are one piece of rubber.
	from, out := math.Inf(1), math.Inf(1)
	for _, x := range all {
		switch {
		case x.in && x.t > out+m.Seal:
			return out - from, true
		case x.in && math.IsInf(from, 1) && x.t > -max(c.Diameter, 0.5)/2:
			from = x.t
		case x.in:
			out = math.Inf(1)
		case x.t > from:
			out = x.t
		}
	}
	return out - from, !math.IsInf(out, 1)
}

// lineHit returns where the line from o along d crosses a triangle (Möller and
// Trumbore, Journal of Graphics Tools 2, 1997).
func lineHit(t geom.Triangle, o, d geom.Vec) (float64, bool) {
	e, g := t.B.Sub(t.A), t.C.Sub(t.A)
	h := d.Cross(g)
	det := e.Dot(h)
	if det == 0 {
		return 0, false
	}
	s := o.Sub(t.A)
	u := s.Dot(h) / det
	q := s.Cross(e)
	v := d.Dot(q) / det
	if u < 0 || v < 0 || u+v > 1 {
		return 0, false
	}
	return g.Dot(q) / det, true
}
