package mold

import (
	"fmt"
	"math"

	"pourproof/geom"
)

// bore is a straight round hole tried out without touching the CAD model.
type bore struct {
	spec   BoreSpec
	start  geom.Vec // a little inside the cavity, so that the mouth opens wholly
	mouth  geom.Vec // on the cavity's surface
	exit   geom.Vec
	axis   geom.Vec
	length float64    // mm of the hole's surface from start, beyond the exit
	mesh   *geom.Mesh // the hole's surface, outward
	facets int
}

// boreFacets is the number of sides of a bore's polygon; its area is 0.16 % below
// the circle's ((n/2pi) sin(2pi/n), n 64), within the 2 % promised for volumes.
const boreFacets = 64

// holds tells whether p lies in the hole, its wall included.
func (b *bore) holds(p geom.Vec) bool {
	d := p.Sub(b.start)
	t := d.Dot(b.axis)
	// 1e-6 mm takes in the rounding of points computed on the wall.
	return t >= -1e-6 && d.AddScaled(b.axis, -t).Norm() <= b.spec.Diameter/2+1e-6
}

func (m *Mold) cuts() []*geom.Mesh {
	var out []*geom.Mesh
	for i := range m.bores {
		out = append(out, m.bores[i].mesh)
	}
	return out
}

// addBores prepares the vents to try.
func (m *Mold) addBores(specs []BoreSpec) error {
	for _, s := range specs {
		b, err := m.newBore(s)
		if err != nil {
			return err
		}
		m.bores = append(m.bores, b)
	}
	return nil
}

// newBore runs a bore from a cavity point along its direction to the outside. A
// point in the rubber is moved to the nearest place of the part's surface if it
// lies within a diameter (at least 2 mm) of it.
func (m *Mold) newBore(s BoreSpec) (bore, error) {
	f := m.fixed
	b := bore{spec: s, axis: m.Up}
	if s.Direction != nil {
		b.axis = s.Direction.Unit()
	}
	if !(s.Diameter > 0) || b.axis == (geom.Vec{}) {
		return b, fmt.Errorf("vent at %s: needs a diameter above 0 mm and a direction", at(s.At))
	}
	b.mouth = s.At
	if hit, ok := f.partTree.Nearest(s.At, max(2, s.Diameter)); ok {
		b.mouth = hit.Point
	} else if h, ok := f.partTree.First(s.At, b.axis, f.box.Diagonal()); ok && h.Sense < 0 {
		b.mouth = h.Point
	} else {
		return b, fmt.Errorf("vent at %s: no cavity within %.1f mm of that point; name a point on the part's surface", at(s.At), max(2, s.Diameter))
	}
	span := f.box.Diagonal()
	depth := span
	for _, h := range f.tree.All(b.mouth, b.axis, span, nil) {
		if h.Sense < 0 { // the last place where the line leaves rubber
			depth = h.Dist
		}
	}
	if depth == span {
		return b, fmt.Errorf("vent at %s: no rubber lies along its direction; turn the direction toward the outside of the mold", at(s.At))
	}
	b.exit = b.mouth.AddScaled(b.axis, depth)
	back := min(s.Diameter, f.freeBehind(b.mouth, b.axis)/2)
	b.start = b.mouth.AddScaled(b.axis, -back)
	b.length = back + depth + s.Diameter + 1
	b.mesh = cylinder(b.start, b.axis, s.Diameter/2, b.length)
	b.facets = len(b.mesh.Facets)
	return b, nil
}

// freeBehind returns how far the cavity reaches behind a mouth.
func (f *fixed) freeBehind(p, axis geom.Vec) float64 {
	q := p.AddScaled(axis, -1e-3) // step off the surface p lies on
	if h, ok := f.tree.First(q, axis.Neg(), 1e3); ok {
		return h.Dist
	}
	return 1e3
}

func at(p geom.Vec) string { return fmt.Sprintf("(%.2f, %.2f, %.2f)", p.X, p.Y, p.Z) }

// cylinder returns a closed prism with boreFacets sides whose circumradius is r.
func cylinder(start, axis geom.Vec, r, length float64) *geom.Mesh {
	u, v := axis.Perpendicular()
	mesh := &geom.Mesh{}
	for _, base := range [2]geom.Vec{start, start.AddScaled(axis, length)} {
		for k := 0; k < boreFacets; k++ {
			s, c := math.Sincos(2 * math.Pi * float64(k) / boreFacets)
			mesh.Vertices = append(mesh.Vertices, base.AddScaled(u, r*roundAngle(c)).AddScaled(v, r*roundAngle(s)))
		}
	}
	n := int32(boreFacets)
	for k := int32(0); k < n; k++ {
		l := (k + 1) % n
		mesh.Facets = append(mesh.Facets, [3]int32{k, l, n + l}, [3]int32{k, n + l, n + k})
		if k >= 1 && k < n-1 {
			mesh.Facets = append(mesh.Facets, [3]int32{0, k + 1, k}, [3]int32{n, n + k, n + k + 1})
		}
	}
	return mesh
}

// boreOf returns the tried bore that a channel's nodes lie in, nil for none.
func (m *Mold) boreOf(nodes []int32) *bore {
	for i := range m.bores {
		in := 0
		for _, x := range nodes {
			if m.bores[i].holds(m.labels.point(x)) {
				in++
			}
		}
		if 2*in > len(nodes) {
			return &m.bores[i]
		}
	}
	return nil
}

// measureBore fills in the channel of a tried bore from its definition.
func (m *Mold) measureBore(c *Channel, b *bore) {
	c.Tried = true
	c.Mouth, c.End, c.Axis, c.ExitAxis = b.mouth, b.exit, b.axis, b.axis
	if c.Role != Blind {
		exit := b.exit
		c.Exit = &exit
	}
	c.Diameter, c.MouthDiameter, c.WidestBeyond = b.spec.Diameter, b.spec.Diameter, b.spec.Diameter
	c.Narrowest = b.mouth
	c.Length = b.mouth.Dist(b.exit)
	c.Path = []geom.Vec{b.mouth, b.exit}
	c.Radius = []float64{b.spec.Diameter / 2, b.spec.Diameter / 2}
	half := m.fixed.half
	if h, ok := m.fixed.tree.First(b.mouth.AddScaled(b.axis, -1e-3), b.axis, m.fixed.box.Diagonal()); ok {
		c.Half = m.Halves[half(h.Facet)].Name
	}
}
