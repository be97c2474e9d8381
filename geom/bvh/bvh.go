// Package bvh answers questions of place about one triangle mesh: the nearest
// surface point, the facets a ray meets, whether two points see each other,
// which facets lie in a box; and, with a smaller tree of its own that is thrown away,
// where the mesh crosses itself (FindCrossings).
//
// The tree is a flat binary hierarchy of boxes split by the surface area
// heuristic (Goldsmith and Salmon 1987; MacDonald and Booth 1990) in bins
// (Wald 2007). It only decides what need not be looked at: an answer is always
// the one a plain loop over the facets would give, to the last bit, and ties
// go to the lowest facet number. So no answer depends on how the tree was split,
// on the processor or on the number of threads.
//
// Memory: 76 bytes a facet and about 15 of nodes; Build holds 50 more while it
// works. A Tree is not changed
// after Build; every method may be called from several goroutines, and no query
// allocates.
package bvh

import "pourproof/geom"

// Tree is the hierarchy over one mesh.
type Tree struct {
	mesh   *geom.Mesh
	nodes  []node  // nodes[0] is the root; none for a mesh without facets
	corner []tri   // triangles in leaf order
	facet  []int32 // facet number of each triangle
	reach  float64 // largest coordinate of any facet's corner, by size
	joined bool    // by Join
}

// tri holds the corners of a facet: x, y, z of A, of B, of C.
type tri [9]float64

// node holds the boxes of its two children beside each other, so that one line
// of cache decides about both.
type node struct {
	box  [2]bounds
	kids [2]child
}

// child is a node, by its index, where count is inner; otherwise a leaf of count
// triangles from first on.
type child struct{ first, count int32 }

const inner = -1

// Hit is a point of the surface. Sense is used by ray queries only.
type Hit struct {
	Facet int32
	Sense int8     // +1 where the ray runs in through the facet's outer side, -1 where it runs out, 0 in Nearest
	Point geom.Vec // mm
	Dist  float64  // distance from the point asked about, or along the ray, mm
}

// Mesh returns the mesh the tree was built over.
func (t *Tree) Mesh() *geom.Mesh { return t.mesh }

func (c *tri) triangle() geom.Triangle {
	return geom.Triangle{
		A: geom.Vec{X: c[0], Y: c[1], Z: c[2]},
		B: geom.Vec{X: c[3], Y: c[4], Z: c[5]},
		C: geom.Vec{X: c[6], Y: c[7], Z: c[8]},
	}
}

// maxDepth bounds the levels below the root, hence the stacks of the queries:
// after sahDepth levels ranges are halved, and 2^31 facets halve 31 times; Join adds
// joinDepth levels at most.
const (
	sahDepth  = 32
	joinDepth = 6
	maxDepth  = sahDepth + 32 + joinDepth
)
