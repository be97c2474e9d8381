package mold

import (
	"math"

	"pourproof/geom"
)

// amounts are sums over the facets of a mesh, taken in one pass.
type amounts struct {
	area, volume float64 // mm2, mm3: as geom.Mesh's Area and Volume
	moment       geom.Vec
	shadow       seen
}

func amountsOf(m *geom.Mesh) (s amounts) {
	c := m.Box().Center()
	six := 0.0
	for f := range m.Facets {
		t := m.Triangle(f)
		n := t.AreaVec()
		s.area += n.Norm()
		s.shadow.add(n)
		six += t.A.Sub(c).Dot(t.B.Sub(c).Cross(t.C.Sub(c)))
		s.moment = s.moment.AddScaled(t.A.Add(t.B).Add(t.C), t.A.Dot(t.B.Cross(t.C))/24)
	}
	s.volume = six / 6
	return s
}

// centroid returns the middle of a closed mesh (divergence theorem).
func (s *amounts) centroid() geom.Vec { return s.moment.Scale(1 / s.volume) }

// seen is the area of all facets seen along each axis, mm2, in no way dependent on
// their order: over the square of a pitch it is how often lines of that pitch meet them.
type seen struct{ x, y, z geom.Sum }

func (s *seen) add(area geom.Vec) {
	s.x.Add(math.Abs(area.X))
	s.y.Add(math.Abs(area.Y))
	s.z.Add(math.Abs(area.Z))
}

func (s *seen) merge(o seen) {
	s.x.Merge(o.x)
	s.y.Merge(o.y)
	s.z.Merge(o.z)
}

// value returns the areas.
func (s *seen) value() geom.Vec {
	return geom.Vec{X: s.x.Value(), Y: s.y.Value(), Z: s.z.Value()}
}
