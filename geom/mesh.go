package geom

// Mesh is a triangle mesh with shared vertices. Facets holds three vertex
// indices a facet, counter-clockwise seen from outside. A Mesh is not changed
// after it is built; every method may be called from several goroutines.
//
// Memory: 24 bytes a vertex and 12 a facet.
type Mesh struct {
	Vertices []Vec
	Facets   [][3]int32
}

// Triangle returns the corners of facet f.
func (m *Mesh) Triangle(f int) Triangle {
	t := &m.Facets[f]
	return Triangle{m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]}
}

// Box returns the bounds of the facets' corners; empty for an empty mesh.
func (m *Mesh) Box() Box {
	b := EmptyBox()
	lo, hi := b.Min, b.Max
	for i := range m.Vertices { // comparisons, for min and max also look after NaN and -0
		v := &m.Vertices[i]
		if v.X < lo.X {
			lo.X = v.X
		}
		if v.X > hi.X {
			hi.X = v.X
		}
		if v.Y < lo.Y {
			lo.Y = v.Y
		}
		if v.Y > hi.Y {
			hi.Y = v.Y
		}
		if v.Z < lo.Z {
			lo.Z = v.Z
		}
		if v.Z > hi.Z {
			hi.Z = v.Z
		}
	}
	return Box{lo, hi}
}

// Area returns the surface area in mm2. Linear in the facets.
func (m *Mesh) Area() float64 {
	sum := 0.0
	for f := range m.Facets {
		sum += m.Triangle(f).Area()
	}
	return sum
}

// Volume returns the enclosed volume in mm3 by the divergence theorem (Gauss),
// negative where the facets face inward. It says something only of a closed
// mesh. The sum is taken about the box's middle, so that a mesh far from the
// origin keeps its digits. Linear in the facets.
func (m *Mesh) Volume() float64 {
	c := m.Box().Center()
	sum := 0.0
	for f := range m.Facets {
		t := m.Triangle(f)
		sum += t.A.Sub(c).Dot(t.B.Sub(c).Cross(t.C.Sub(c)))
	}
	return sum / 6
}

// Map returns a copy with every vertex passed through f, facets kept in order.
func (m *Mesh) Map(f func(Vec) Vec) *Mesh {
	out := &Mesh{Vertices: make([]Vec, len(m.Vertices)), Facets: m.Facets}
	for i, v := range m.Vertices {
		out.Vertices[i] = f(v)
	}
	return out
}

// Reversed returns a copy with every facet turned to face the other way.
func (m *Mesh) Reversed() *Mesh {
	out := &Mesh{Vertices: m.Vertices, Facets: make([][3]int32, len(m.Facets))}
	for i, t := range m.Facets {
		out.Facets[i] = [3]int32{t[0], t[2], t[1]}
	}
	return out
}

// Append adds a copy of n's facets to m, as separate shells.
func (m *Mesh) Append(n *Mesh) {
	base := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, n.Vertices...)
	for _, t := range n.Facets {
		m.Facets = append(m.Facets, [3]int32{t[0] + base, t[1] + base, t[2] + base})
	}
}
