package bvh

import (
	"sync"

	"pourproof/geom"
)

const (
	// Ranges this short are leaves, whatever the heuristic says; longer ones only
	// up to maxLeaf. Both from this package's benchmarks.
	minLeaf = 6
	maxLeaf = 10
	// forkAbove is the size of a range from which its first half is left to a
	// second goroutine. The size alone decides, never the number of processors.
	forkAbove = 1 << 14
)

// prim is one facet while the tree is built, or a bucket of them.
type prim struct {
	box    cellBox
	facet  int32 // or bucket
	facets int32 // how many
}

// Build returns the tree over m's facets, n log n in their number: its upper levels are
// found over buckets of facets. Corners should
// be finite and below 1e30 mm; the tree of a mesh with others still answers,
// without meaning. The mesh must not change while the tree is used.
func Build(m *geom.Mesh) *Tree { return build(m, make([]tri, len(m.Facets))) }

// BuildAll returns the trees of some meshes, built side by side. Join takes them over
// without a copy of their triangles.
func BuildAll(meshes ...*geom.Mesh) []*Tree {
	facets := 0
	for _, m := range meshes {
		facets += len(m.Facets)
	}
	room, out := make([]tri, facets), make([]*Tree, len(meshes))
	var wg sync.WaitGroup
	for i, m := range meshes {
		corner := room[:len(m.Facets)]
		room = room[len(m.Facets):]
		wg.Go(func() { out[i] = build(m, corner) })
	}
	wg.Wait()
	return out
}

// build is Build with room for the triangles.
func build(m *geom.Mesh, corner []tri) *Tree {
	n := len(m.Facets)
	t := &Tree{mesh: m, corner: corner, facet: make([]int32, n)}
	if n == 0 {
		return t
	}
	all := boxOfFacets(m)
	t.reach = max(largest(all.Min), largest(all.Max))
	b := builder{lattice: latticeOf(all, t.reach), prims: make([]prim, n)}
	box := noCells
	for f := range b.prims {
		b.prims[f] = prim{b.cells(m.Triangle(f).Box()), int32(f), 1}
		box.include(&b.prims[f].box)
	}
	p := b.forkBuckets(box, box.doubled(), b.bucket(), 0)
	var root child
	t.nodes, root = p.appendTo(make([]node, 0, p.size()))
	if root.count != inner { // the queries start at a node
		t.nodes = []node{{box: [2]bounds{b.bounds(&box), emptyBounds()}, kids: [2]child{root, {}}}}
	}
	t.copyTriangles(b.prims)
	return t
}

// boxOfFacets returns the bounds of the vertices that facets name. Comparisons, as in
// geom.Mesh.Box, for most corners widen nothing.
func boxOfFacets(m *geom.Mesh) geom.Box {
	b := geom.EmptyBox()
	for f := range m.Facets {
		for _, v := range m.Facets[f] {
			if p := &m.Vertices[v]; p.X < b.Min.X || p.X > b.Max.X || p.Y < b.Min.Y || p.Y > b.Max.Y || p.Z < b.Min.Z || p.Z > b.Max.Z {
				b = b.Include(*p)
			}
		}
	}
	return b
}

func (t *Tree) copyTriangles(prims []prim) {
	for i := range prims {
		f := prims[i].facet
		t.facet[i] = f
		c := t.mesh.Triangle(int(f))
		t.corner[i] = tri{c.A.X, c.A.Y, c.A.Z, c.B.X, c.B.Y, c.B.Z, c.C.X, c.C.Y, c.C.Z}
	}
}

// piece is a part of the tree as one goroutine made it: either whole, in nodes
// numbered from 0, or a top node over two pieces.
type piece struct {
	nodes []node
	root  child // into nodes
	top   node
	parts *[2]piece
}

func (p *piece) size() int {
	if p.parts == nil {
		return len(p.nodes)
	}
	return 1 + p.parts[0].size() + p.parts[1].size()
}

// appendTo writes the piece behind out, its indices moved to their place, and
// returns out and the piece's root in it.
func (p *piece) appendTo(out []node) ([]node, child) {
	base := len(out)
	if p.parts != nil {
		out = append(out, p.top)
		for k := range p.parts {
			var c child
			out, c = p.parts[k].appendTo(out)
			out[base].kids[k] = c
		}
		return out, child{int32(base), inner}
	}
	out = append(out, p.nodes...)
	for i := range out[base:] {
		for k, c := range out[base+i].kids {
			out[base+i].kids[k] = c.moved(base)
		}
	}
	return out, p.root.moved(base)
}

func (c child) moved(base int) child {
	if c.count == inner {
		c.first += int32(base)
	}
	return c
}

type builder struct {
	lattice
	prims   []prim
	buckets []bucket
}

// fork builds the facets prims[lo:hi] as grow does, and leaves the first half to a
// second goroutine while the range is large.
func (b *builder) fork(box, mids cellBox, lo, hi, depth int) (p piece) {
	if hi-lo <= forkAbove {
		p.nodes = make([]node, 0, (hi-lo)/4)
		p.root = b.grow(&p.nodes, &box, &mids, lo, hi, depth)
		return p
	}
	s := cut(b.prims[lo:hi], &box, &mids, lo, depth)
	p.top.box = [2]bounds{b.bounds(&s.box[0]), b.bounds(&s.box[1])}
	p.parts = new([2]piece)
	var wg sync.WaitGroup
	wg.Go(func() { p.parts[0] = b.fork(s.box[0], s.mids[0], lo, s.at, depth+1) })
	p.parts[1] = b.fork(s.box[1], s.mids[1], s.at, hi, depth+1)
	wg.Wait()
	return p
}

// grow appends the subtree over prims[lo:hi] to nodes and returns its root. The
// box holds the facets, mids the doubled middles of their boxes.
func (b *builder) grow(nodes *[]node, box, mids *cellBox, lo, hi, depth int) child {
	s := cut(b.prims[lo:hi], box, mids, lo, depth)
	if s.at == lo {
		return child{int32(lo), int32(hi - lo)}
	}
	at := len(*nodes)
	*nodes = append(*nodes, node{box: [2]bounds{b.bounds(&s.box[0]), b.bounds(&s.box[1])}})
	first := b.grow(nodes, &s.box[0], &s.mids[0], lo, s.at, depth+1)
	second := b.grow(nodes, &s.box[1], &s.mids[1], s.at, hi, depth+1)
	(*nodes)[at].kids = [2]child{first, second}
	return child{int32(at), inner}
}

// sides is a range of facets in two: where the second begins, and for each the box
// and the bounds of the doubled middles.
type sides struct {
	at        int
	box, mids [2]cellBox
}

// cut orders facets, which begin at lo, into two sides; the second begins at lo where
// they are a leaf.
func cut(prims []prim, box, mids *cellBox, lo, depth int) sides {
	if len(prims) <= minLeaf {
		return sides{at: lo}
	}
	if depth < sahDepth {
		p := cheapest(prims, mids)
		if p.axis < 0 { // the bounds of the middles may have been too wide to tell
			*mids = middles(prims)
			p = cheapest(prims, mids)
		}
		if p.axis >= 0 {
			if len(prims) <= maxLeaf && p.cost+box.halfArea() >= float32(len(prims))*box.halfArea() {
				return sides{at: lo}
			}
			return sides{lo + p.partition(prims), p.box, p.mids}
		}
	}
	if len(prims) <= maxLeaf {
		return sides{at: lo}
	}
	s := halve(prims)
	s.at += lo
	return s
}

// halve takes the first half of facets or buckets as one side.
func halve(prims []prim) sides {
	s := sides{at: len(prims) / 2}
	for k, half := range [2][]prim{prims[:len(prims)/2], prims[len(prims)/2:]} {
		s.box[k], s.mids[k] = noCells, middles(half)
		for i := range half {
			s.box[k].include(&half[i].box)
		}
	}
	return s
}
