package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// coarsened returns the half with vertices merged that lie in one cell of size mm, for
// a search that looks at coarse columns; a mesh that such a search handles well
// enough is returned as it is. What was closed stays so: every edge still has a facet
// on either side, though some facets now lie on each other and cancel. No point moves
// by more than the cell's diagonal.
func (r *rubber) coarsened(size float64) *rubber {
	if len(r.mesh.Facets) <= mostDrawn {
		return r
	}
	return newRubber(Coarsened(r.mesh, r.mesh.Box().Min, size), 0, r.finest)
}

// Coarsened moves the vertices in each cell of size mm, counted from a corner, to the
// first of them in order of place, and drops the facets that this leaves without three
// corners. A closed mesh stays closed; no point moves by more than the cell's diagonal.
func Coarsened(m *geom.Mesh, corner geom.Vec, size float64) *geom.Mesh {
	type cell [3]int32
	first := make(map[cell]int32, len(m.Vertices)/4)
	of := func(v geom.Vec) cell {
		d := v.Sub(corner)
		return cell{int32(math.Floor(d.X / size)), int32(math.Floor(d.Y / size)), int32(math.Floor(d.Z / size))}
	}
	for i, v := range m.Vertices {
		c := of(v)
		if k, ok := first[c]; !ok || v.Less(m.Vertices[k]) {
			first[c] = int32(i)
		}
	}
	kept := make([]int32, 0, len(first))
	for _, i := range first {
		kept = append(kept, i)
	}
	slices.Sort(kept)
	out := &geom.Mesh{Vertices: make([]geom.Vec, len(kept))}
	number := make([]int32, len(m.Vertices))
	for n, i := range kept {
		out.Vertices[n], number[i] = m.Vertices[i], int32(n)
	}
	for i, v := range m.Vertices {
		number[i] = number[first[of(v)]]
	}
	for _, t := range m.Facets {
		a, b, c := number[t[0]], number[t[1]], number[t[2]]
		if a != b && b != c && c != a {
			out.Facets = append(out.Facets, [3]int32{a, b, c})
		}
	}
	return out
}
