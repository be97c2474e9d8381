package geomtest

import (
	"math/rand/v2"

	"pourproof/geom"
)

// Subdivide returns the same solid with every facet split k times in four at the
// middles of its edges.
func Subdivide(m *geom.Mesh, k int) *geom.Mesh {
	for range k {
		out := &geom.Mesh{Vertices: append([]geom.Vec(nil), m.Vertices...)}
		middle := make(map[[2]int32]int32, len(m.Facets)*3/2)
		split := func(a, b int32) int32 {
			key := [2]int32{min(a, b), max(a, b)}
			i, ok := middle[key]
			if !ok {
				i = int32(len(out.Vertices))
				middle[key] = i
				out.Vertices = append(out.Vertices, m.Vertices[key[0]].Add(m.Vertices[key[1]]).Scale(0.5))
			}
			return i
		}
		out.Facets = make([][3]int32, 0, 4*len(m.Facets))
		for _, t := range m.Facets {
			ab, bc, ca := split(t[0], t[1]), split(t[1], t[2]), split(t[2], t[0])
			out.Facets = append(out.Facets, [3]int32{t[0], ab, ca}, [3]int32{ab, t[1], bc}, [3]int32{ca, bc, t[2]}, [3]int32{ab, bc, ca})
		}
		m = out
	}
	return m
}

// OtherDiagonal returns the same solid with the other diagonal drawn in every
// flat convex quadrilateral that two consecutive facets make, as those of Grid,
// Revolve and the walls of Prism do.
func OtherDiagonal(m *geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices, Facets: append([][3]int32(nil), m.Facets...)}
	for f := 0; f+1 < len(out.Facets); f++ {
		a, b, c, d, ok := quad(out.Facets[f], out.Facets[f+1])
		if !ok || !flatConvex(m, a, b, c, d) {
			continue
		}
		out.Facets[f], out.Facets[f+1] = [3]int32{a, b, d}, [3]int32{b, c, d}
		f++
	}
	return out
}

// quad returns the outline a, b, c, d of the two facets, which share a-c.
func quad(s, t [3]int32) (a, b, c, d int32, ok bool) {
	for i := range 3 {
		for j := range 3 {
			if s[i] == t[j] && s[(i+2)%3] == t[(j+1)%3] {
				return s[i], s[(i+1)%3], s[(i+2)%3], t[(j+2)%3], true
			}
		}
	}
	return 0, 0, 0, 0, false
}

// flatConvex reports whether the quadrilateral is strictly convex and its corners
// lie in one plane to 1e-9 of its size, far above the rounding of the builders
// and far below any step of a solid built here.
func flatConvex(m *geom.Mesh, a, b, c, d int32) bool {
	v := [4]geom.Vec{m.Vertices[a], m.Vertices[b], m.Vertices[c], m.Vertices[d]}
	n := v[2].Sub(v[0]).Cross(v[3].Sub(v[1]))
	size := n.Norm()
	if size == 0 {
		return false
	}
	for i := range v {
		e := v[(i+1)%4].Sub(v[i]).Cross(v[(i+2)%4].Sub(v[(i+1)%4]))
		if e.Dot(n) <= 1e-9*size*size {
			return false
		}
	}
	u := n.Scale(1 / size)
	return abs(u.Dot(v[1].Sub(v[0]))) <= 1e-9*v[1].Dist(v[0]) && abs(u.Dot(v[2].Sub(v[0]))) <= 1e-9*v[2].Dist(v[0])
}

func abs(x float64) float64 { return max(x, -x) }

// ShuffleFacets returns the same facets in an order drawn from the seed, each
// begun at a corner drawn too.
func ShuffleFacets(m *geom.Mesh, seed uint64) *geom.Mesh {
	r := rand.New(rand.NewPCG(seed, 0))
	out := &geom.Mesh{Vertices: m.Vertices, Facets: make([][3]int32, len(m.Facets))}
	for i, j := range r.Perm(len(m.Facets)) {
		t, k := m.Facets[j], r.IntN(3)
		out.Facets[i] = [3]int32{t[k], t[(k+1)%3], t[(k+2)%3]}
	}
	return out
}

// Transform returns the mesh moved by r.
func Transform(m *geom.Mesh, r geom.Rigid) *geom.Mesh { return m.Map(r.Apply) }

// Join returns the meshes as separate shells of one.
func Join(meshes ...*geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{}
	for _, m := range meshes {
		out.Append(m)
	}
	return out
}
