package bvh

import "pourproof/geom"

// mostJoined is how many trees Join puts under one: what joinDepth allows for.
const mostJoined = 1 << joinDepth

// Join returns the tree over a mesh whose facets are those of the trees' meshes, tree
// by tree in order. It copies what is there, or shares the triangles of trees that BuildAll
// made in this order: linear, a tenth of what Build costs.
func Join(m *geom.Mesh, trees ...*Tree) *Tree {
	facets, nodes, joined := 0, 0, false
	for _, t := range trees {
		facets, nodes, joined = facets+len(t.facet), nodes+len(t.nodes), joined || t.joined
	}
	if facets != len(m.Facets) || len(trees) > mostJoined || joined {
		return Build(m)
	}
	out := &Tree{mesh: m, corner: sharedCorners(trees, facets), facet: make([]int32, 0, facets), nodes: make([]node, 0, nodes+len(trees)), joined: true}
	var full []*Tree
	for _, t := range trees {
		if len(t.nodes) > 0 {
			full = append(full, t)
			out.reach = max(out.reach, t.reach)
		}
	}
	if out.corner == nil {
		out.corner = make([]tri, 0, facets)
		for _, t := range trees {
			out.corner = append(out.corner, t.corner...)
		}
	}
	if len(full) > 0 {
		out.join(full)
	}
	return out
}

// sharedCorners returns the triangles of all trees where they stand behind each other in
// memory, else nil.
func sharedCorners(trees []*Tree, facets int) []tri {
	if len(trees) == 0 || cap(trees[0].corner) < facets {
		return nil
	}
	all, at := trees[0].corner[:facets], 0
	for _, t := range trees {
		if len(t.corner) > 0 && &t.corner[0] != &all[at] {
			return nil
		}
		at += len(t.corner)
	}
	return all
}

// join appends trees that are not empty and returns the number of their top node.
func (t *Tree) join(trees []*Tree) int32 {
	if len(trees) == 1 {
		return t.add(trees[0])
	}
	at := int32(len(t.nodes))
	t.nodes = append(t.nodes, node{})
	half := len(trees) / 2
	for k, side := range [2][]*Tree{trees[:half], trees[half:]} {
		first := t.join(side)
		n := &t.nodes[first]
		t.nodes[at].box[k] = n.box[0].union(&n.box[1])
		t.nodes[at].kids[k] = child{first, inner}
	}
	return at
}

// add appends one tree, its numbers moved to their place.
func (t *Tree) add(u *Tree) int32 {
	base, first := int32(len(t.nodes)), int32(len(t.facet))
	t.nodes = append(t.nodes, u.nodes...)
	for i := range t.nodes[base:] {
		kids := &t.nodes[int(base)+i].kids
		for k := range kids {
			if kids[k].count == inner {
				kids[k].first += base
			} else {
				kids[k].first += first
			}
		}
	}
	for _, f := range u.facet { // in the order of the trees' meshes
		t.facet = append(t.facet, f+first)
	}
	return base
}

// union returns the box around two.
func (b *bounds) union(c *bounds) bounds {
	span := func(p, q [2]float32) [2]float32 { return [2]float32{min(p[0], q[0]), max(p[1], q[1])} }
	return bounds{span(b.x, c.x), span(b.y, c.y), span(b.z, c.z)}
}
