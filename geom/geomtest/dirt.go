package geomtest

import (
	"math/rand/v2"

	"pourproof/geom"
)

// Dirt is one way in which a file is spoilt that leaves its shape clear.
type Dirt struct {
	Name  string
	Do    func(m *geom.Mesh, r *rand.Rand) *geom.Mesh
	Alone bool // with other dirt it would no longer leave the shape clear
}

// Dirts lists all of them, in the order in which several are applied. Each returns a
// new mesh. Facets that are left out or that get corners of their own are small
// ones: the mesh is cut finer first.
func Dirts() []Dirt {
	return []Dirt{
		{"cut finer", func(m *geom.Mesh, _ *rand.Rand) *geom.Mesh { return Subdivide(m, 1) }, false},
		{"other diagonals", func(m *geom.Mesh, _ *rand.Rand) *geom.Mesh { return OtherDiagonal(m) }, false},
		{"noise", noise, false},
		{"the same shell twice", func(m *geom.Mesh, _ *rand.Rand) *geom.Mesh { return Join(m, m) }, true},
		{"the same shell, cut otherwise", func(m *geom.Mesh, _ *rand.Rand) *geom.Mesh { return Join(m, OtherDiagonal(m)) }, true},
		{"holes", leaveOut, false},
		{"cracks", cracks, false},
		{"corners on edges", cutEdges, false},
		{"facets without area", addFlat, false},
		{"facets twice", repeatSome, false},
		{"facets turned", turnSome, false},
		{"inside-out", func(m *geom.Mesh, _ *rand.Rand) *geom.Mesh { return m.Reversed() }, false},
		{"shuffled", func(m *geom.Mesh, r *rand.Rand) *geom.Mesh { return ShuffleFacets(m, r.Uint64()) }, false},
	}
}

// finer cuts a mesh finer until it has a thousand facets.
func finer(m *geom.Mesh) *geom.Mesh {
	for len(m.Facets) < 1000 {
		m = Subdivide(m, 1)
	}
	return m
}

func clone(m *geom.Mesh) *geom.Mesh {
	return &geom.Mesh{Vertices: append([]geom.Vec(nil), m.Vertices...), Facets: append([][3]int32(nil), m.Facets...)}
}

// turnSome turns one facet in ten.
func turnSome(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(m)
	for f := range out.Facets {
		if t := &out.Facets[f]; r.IntN(10) == 0 {
			t[1], t[2] = t[2], t[1]
		}
	}
	return out
}

// leaveOut cuts the mesh finer and leaves out up to four facets of less than a
// two-hundredth of the surface.
func leaveOut(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(finer(m))
	most := out.Area() / 200
	for range 4 {
		if f := r.IntN(len(out.Facets)); out.Triangle(f).Area() < most {
			out.Facets = append(out.Facets[:f], out.Facets[f+1:]...)
		}
	}
	return out
}

// repeatSome repeats up to five facets.
func repeatSome(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(m)
	for range 1 + r.IntN(5) {
		out.Facets = append(out.Facets, out.Facets[r.IntN(len(m.Facets))])
	}
	return out
}

// addFlat gives up to five edges a facet of three corners on the edge, joined to the
// facets on both sides, and adds facets that name a corner twice.
func addFlat(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(m)
	for range 1 + r.IntN(5) {
		f := r.IntN(len(m.Facets))
		t := out.Facets[f]
		n := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, out.Vertices[t[0]].Lerp(out.Vertices[t[1]], 0.5))
		out.Facets[f] = [3]int32{t[0], n, t[2]}
		out.Facets = append(out.Facets, [3]int32{n, t[1], t[2]}, [3]int32{t[0], t[1], n}, [3]int32{t[2], t[2], n})
	}
	return out
}

// cutEdges cuts up to twenty facets in two at a point of an edge, on their own side
// only.
func cutEdges(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(m)
	for range 1 + r.IntN(20) {
		f := r.IntN(len(out.Facets))
		t := out.Facets[f]
		n := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, out.Vertices[t[0]].Lerp(out.Vertices[t[1]], 0.2+0.6*r.Float64()))
		out.Facets[f] = [3]int32{t[0], n, t[2]}
		out.Facets = append(out.Facets, [3]int32{n, t[1], t[2]})
	}
	return out
}

// noise moves every vertex by up to 1e-4 mm along each axis.
func noise(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	return m.Map(func(v geom.Vec) geom.Vec { return shaken(v, r, 1e-4) })
}

// cracks gives one facet in fifty corners of its own, up to 1e-5 mm off: every
// edge of it is open by a hair.
func cracks(m *geom.Mesh, r *rand.Rand) *geom.Mesh {
	out := clone(finer(m))
	for f := range out.Facets {
		if r.IntN(50) > 0 {
			continue
		}
		for k, v := range out.Facets[f] {
			out.Vertices = append(out.Vertices, shaken(out.Vertices[v], r, 1e-5))
			out.Facets[f][k] = int32(len(out.Vertices) - 1)
		}
	}
	return out
}

func shaken(v geom.Vec, r *rand.Rand, most float64) geom.Vec {
	d := func() float64 { return most * (2*r.Float64() - 1) }
	return v.Add(geom.Vec{X: d(), Y: d(), Z: d()})
}
