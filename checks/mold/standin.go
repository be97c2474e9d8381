package mold

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"pourproof/geom"
)

// A search pours the mold at dozens of tilts on columns twice as far apart as the
// pour's own. Casting half a million facets for each of them shows nothing that a
// stand-in with wider facets does not.

// Bounds of what a stand-in does to the surface.
const (
	// standInTurn is the cosine of 3 deg: facets within it of their mean direction are
	// one smooth piece. It is about the 2 deg that a level ceiling is told by.
	standInTurn = 0.9986295347545738
	// standInOff is how far from one plane the corners of such a piece may lie, in
	// pitches of the columns: far below the half pitch that levels are known to.
	standInOff = 1.0 / 32
	// standInLevels is how often a cell is halved: from two pitches down to an eighth.
	standInLevels = 4
)

// standIns are the bodies that a search at a pitch casts, one set a pitch.
type standIns struct {
	lock sync.Mutex
	sets []standInSet
}

type standInSet struct {
	pitch  float64
	halves []*geom.Mesh
	part   *geom.Mesh
}

// castAt returns the halves and the fitted part that a pour at pitch h casts: the
// meshes themselves at the mold's own cell.
func (m *Mold) castAt(h float64) (halves []*geom.Mesh, part *geom.Mesh) {
	f := m.fixed
	if h < 1.5*m.Cell {
		return f.halves, f.part
	}
	f.coarse.lock.Lock()
	defer f.coarse.lock.Unlock()
	for i := range f.coarse.sets {
		if s := &f.coarse.sets[i]; s.pitch == h {
			return s.halves, s.part
		}
	}
	bodies := append(slices.Clone(f.halves), f.part)
	sideBySide(len(bodies), func(i int) { bodies[i] = standIn(bodies[i], h) })
	s := standInSet{h, bodies[:len(f.halves)], bodies[len(f.halves)]}
	f.coarse.sets = append(f.coarse.sets, s)
	return s.halves, s.part
}

// standIn returns a mesh that stands in for m in columns h mm apart; m itself where
// it has few facets. In every cell of an octree (vertex clustering, Rossignac and
// Borrel 1993) whose corners all lie on one smooth and nearly flat piece of the
// surface they are merged into one of them; edges, corners and the two sides of a
// thin wall stay where they are. What was closed stays so. The answer does not depend
// on the order of vertices and facets. Cost: a sort of the vertices.
func standIn(m *geom.Mesh, h float64) *geom.Mesh {
	if len(m.Facets) <= mostDrawn {
		return m
	}
	c := clustering{mesh: m, off: standInOff * h, into: make([]int32, len(m.Vertices))}
	c.smoothCorners()
	c.sort(2 * h / (1 << standInLevels))
	c.merge(c.order, standInLevels)
	return c.made()
}

// clustering merges the vertices of one mesh.
type clustering struct {
	mesh   *geom.Mesh
	off    float64
	normal []geom.Vec // per vertex, unit; zero where the facets around it turn too far
	order  []placedVertex
	into   []int32 // per vertex: the one it is merged into
}

// placedVertex is a vertex with its cell's place along a curve through space (Morton
// 1966): the cells within a larger one follow each other.
type placedVertex struct {
	key    uint64
	vertex int32
}

// smoothCorners works out the direction of the surface at each vertex, from facets of
// equal weight in whole steps, so that their order does not matter.
func (c *clustering) smoothCorners() {
	m := c.mesh
	const step = 1 << 30
	sum := make([][3]int64, len(m.Vertices))
	normal := make([]geom.Vec, len(m.Facets))
	for f, t := range m.Facets {
		n := m.Triangle(f).Normal()
		normal[f] = n
		x, y, z := int64(math.Round(n.X*step)), int64(math.Round(n.Y*step)), int64(math.Round(n.Z*step))
		for _, v := range t {
			s := &sum[v]
			s[0], s[1], s[2] = s[0]+x, s[1]+y, s[2]+z
		}
	}
	c.normal = make([]geom.Vec, len(m.Vertices))
	for v, s := range sum {
		c.normal[v] = geom.Vec{X: float64(s[0]), Y: float64(s[1]), Z: float64(s[2])}.Unit()
	}
	rough := make([]bool, len(m.Vertices))
	for f, t := range m.Facets {
		if normal[f] == (geom.Vec{}) {
			continue // a sliver has no direction, and its neighbours have theirs
		}
		for _, v := range t {
			rough[v] = rough[v] || normal[f].Dot(c.normal[v]) < standInTurn
		}
	}
	for v := range rough {
		if rough[v] {
			c.normal[v] = geom.Vec{}
		}
	}
}

// sort orders the vertices by cells of size mm.
func (c *clustering) sort(size float64) {
	m := c.mesh
	corner := m.Box().Min
	place := func(x float64) uint64 { return spread3(min(x/size, 1<<20-1)) }
	c.order = make([]placedVertex, len(m.Vertices))
	for i, v := range m.Vertices {
		c.into[i] = int32(i)
		d := v.Sub(corner)
		c.order[i] = placedVertex{place(d.X) | place(d.Y)<<1 | place(d.Z)<<2, int32(i)}
	}
	slices.SortFunc(c.order, func(a, b placedVertex) int {
		if a.key != b.key {
			return cmp.Compare(a.key, b.key)
		}
		return compareVec(m.Vertices[a.vertex], m.Vertices[b.vertex])
	})
}

// merge merges the vertices of one cell, or goes on in its eight halves. Above the
// largest cells list holds several of them.
func (c *clustering) merge(list []placedVertex, level int) {
	for len(list) > 0 {
		n, cell := 1, list[0].key>>(3*level)
		for n < len(list) && list[n].key>>(3*level) == cell {
			n++
		}
		if n > 1 && !c.single(list[:n]) && level > 0 {
			c.merge(list[:n], level-1)
		}
		list = list[n:]
	}
}

// single merges vertices into the one nearest to their middle, where they lie on one
// smooth and nearly flat piece; false where they do not.
func (c *clustering) single(list []placedVertex) bool {
	var dir, middle geom.Vec
	for _, p := range list {
		n := c.normal[p.vertex]
		if n == (geom.Vec{}) {
			return false
		}
		dir, middle = dir.Add(n), middle.Add(c.mesh.Vertices[p.vertex])
	}
	dir, middle = dir.Unit(), middle.Scale(1/float64(len(list)))
	best, dist := int32(-1), math.Inf(1)
	for _, p := range list {
		d := c.mesh.Vertices[p.vertex].Sub(middle)
		if c.normal[p.vertex].Dot(dir) < standInTurn || math.Abs(d.Dot(dir)) > c.off {
			return false
		}
		if s := d.Norm2(); s < dist {
			best, dist = p.vertex, s
		}
	}
	for _, p := range list {
		c.into[p.vertex] = best
	}
	return true
}

// made returns the merged mesh, without the facets that it leaves without three
// corners.
func (c *clustering) made() *geom.Mesh {
	out := &geom.Mesh{}
	number := make([]int32, len(c.into))
	for i, k := range c.into {
		if int(k) == i {
			number[i] = int32(len(out.Vertices))
			out.Vertices = append(out.Vertices, c.mesh.Vertices[i])
		}
	}
	for _, t := range c.mesh.Facets {
		a, b, d := number[c.into[t[0]]], number[c.into[t[1]]], number[c.into[t[2]]]
		if a != b && b != d && d != a {
			out.Facets = append(out.Facets, [3]int32{a, b, d})
		}
	}
	return out
}
