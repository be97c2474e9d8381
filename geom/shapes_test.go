package geom_test

import (
	"math"
	"math/rand/v2"

	"pourproof/geom"
)

// boxMesh is a closed box of 12 facets, outward.
func boxMesh(min, max geom.Vec) *geom.Mesh {
	c := geom.Box{Min: min, Max: max}.Corners()
	return &geom.Mesh{Vertices: c[:], Facets: [][3]int32{
		{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, // z
		{0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3}, // y
		{0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}, // x
	}}
}

func cube(min, size float64) *geom.Mesh {
	return boxMesh(geom.Vec{X: min, Y: min, Z: min}, geom.Vec{X: min + size, Y: min + size, Z: min + size})
}

// prism is an upright N-gon prism about the z axis, closed by fans.
func prism(n int, r, h float64) *geom.Mesh {
	m := &geom.Mesh{Vertices: []geom.Vec{{Z: 0}, {Z: h}}}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		m.Vertices = append(m.Vertices, geom.Vec{X: r * c, Y: r * s}, geom.Vec{X: r * c, Y: r * s, Z: h})
	}
	for i := range n {
		a, b := int32(2+2*i), int32(2+2*((i+1)%n))
		m.Facets = append(m.Facets, [3]int32{0, b, a}, [3]int32{1, a + 1, b + 1},
			[3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
	}
	return m
}

// ball is a sphere of n rings and 2n columns about the origin.
func ball(n int, r float64) *geom.Mesh {
	m := &geom.Mesh{Vertices: []geom.Vec{{Z: -r}, {Z: r}}}
	for i := 1; i < n; i++ {
		st, ct := math.Sincos(math.Pi * float64(i) / float64(n))
		for j := range 2 * n {
			sp, cp := math.Sincos(math.Pi * float64(j) / float64(n))
			m.Vertices = append(m.Vertices, geom.Vec{X: r * st * cp, Y: r * st * sp, Z: -r * ct})
		}
	}
	at := func(i, j int) int32 { return int32(2 + (i-1)*2*n + j%(2*n)) }
	for j := range 2 * n {
		m.Facets = append(m.Facets, [3]int32{0, at(1, j+1), at(1, j)}, [3]int32{1, at(n-1, j), at(n-1, j+1)})
		for i := 1; i < n-1; i++ {
			a, b, c, d := at(i, j), at(i, j+1), at(i+1, j+1), at(i+1, j)
			m.Facets = append(m.Facets, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return m
}

// together puts meshes into one, as separate shells.
func together(meshes ...*geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{}
	for _, m := range meshes {
		out.Append(m)
	}
	return out
}

// without returns the mesh less some facets.
func without(m *geom.Mesh, drop ...int) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices}
	for f, t := range m.Facets {
		keep := true
		for _, d := range drop {
			keep = keep && d != f
		}
		if keep {
			out.Facets = append(out.Facets, t)
		}
	}
	return out
}

// flipped returns the mesh with some facets turned.
func flipped(m *geom.Mesh, turn ...int) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices, Facets: append([][3]int32(nil), m.Facets...)}
	for _, f := range turn {
		t := out.Facets[f]
		out.Facets[f] = [3]int32{t[0], t[2], t[1]}
	}
	return out
}

// shuffled returns the same surface with facets, vertices and the first corners
// of facets in another order.
func shuffled(m *geom.Mesh, seed uint64) *geom.Mesh {
	r := rand.New(rand.NewPCG(seed, 1))
	out := &geom.Mesh{Vertices: make([]geom.Vec, len(m.Vertices))}
	place := r.Perm(len(m.Vertices))
	for i, v := range m.Vertices {
		out.Vertices[place[i]] = v
	}
	for _, f := range r.Perm(len(m.Facets)) {
		t, k := m.Facets[f], r.IntN(3)
		out.Facets = append(out.Facets, [3]int32{int32(place[t[k]]), int32(place[t[(k+1)%3]]), int32(place[t[(k+2)%3]])})
	}
	return out
}

// weld passes a mesh's facets through a Welder.
func weld(m *geom.Mesh) *geom.Mesh {
	w := geom.NewWelder(len(m.Facets))
	for f := range m.Facets {
		t := m.Triangle(f)
		w.Add(t.A, t.B, t.C)
	}
	return w.Mesh()
}
