package measure

import "pourproof/geom"

// mostPasses bounds the halvings of an edge: a mold of 2 m has no edge that 12
// halvings leave longer than a millimetre.
const mostPasses = 12

// smallShare is the part of edge squared up to which a facet is small: an equilateral
// one of the length edge has 0.43, and halves of halves of a large one come below it.
const smallShare = 1.0 / 6

// longSmall is how many times longer than edge mm a small facet's edges may be.
const longSmall = 2

// refine splits every edge longer than edge mm, twice that of a small facet, in its
// middle, again and again, and the facets beside it in two to four. Both facets of an
// edge split it alike, so a closed mesh stays closed. It returns the facet that each
// piece comes from.
func refine(mesh *geom.Mesh, edge float64) (*geom.Mesh, []int32) {
	s := &splitter{m: &geom.Mesh{Vertices: mesh.Vertices[:len(mesh.Vertices):len(mesh.Vertices)]}, edge: edge}
	parent := s.take(mesh)
	split := false
	for range mostPasses {
		if s.mark(); len(s.middle.keys) == 0 {
			break
		}
		parent, split = s.pass(parent), true
	}
	if !split {
		return mesh, upTo(len(mesh.Facets))
	}
	return s.among(mesh, parent)
}

// upTo returns the numbers below n.
func upTo(n int) []int32 {
	out := make([]int32, n)
	for i := range out {
		out[i] = int32(i)
	}
	return out
}

// splitter halves long edges of those facets that have any.
type splitter struct {
	m      *geom.Mesh
	edge   float64
	middle edgeTable // of the edges that get a middle; those are the vertices from first on
	first  int32
}

// take picks the facets of a mesh with long edges, and returns their numbers. The
// others are never split, nor is an edge of theirs.
func (s *splitter) take(mesh *geom.Mesh) []int32 {
	var parent []int32
	limit := float64(s.edge * s.edge)
	for f, t := range mesh.Facets {
		if s.long(t[0], t[1], limit) || s.long(t[1], t[2], limit) || s.long(t[2], t[0], limit) {
			s.m.Facets, parent = append(s.m.Facets, t), append(parent, int32(f))
		}
	}
	return parent
}

// among puts the pieces in the place of the facets they come from.
func (s *splitter) among(mesh *geom.Mesh, parent []int32) (*geom.Mesh, []int32) {
	most := len(mesh.Facets) + len(parent)
	out, from := &geom.Mesh{Vertices: s.m.Vertices, Facets: make([][3]int32, 0, most)}, make([]int32, 0, most)
	k := 0
	for f, t := range mesh.Facets {
		if k == len(parent) || parent[k] != int32(f) {
			out.Facets, from = append(out.Facets, t), append(from, int32(f))
			continue
		}
		for ; k < len(parent) && parent[k] == int32(f); k++ {
			out.Facets, from = append(out.Facets, s.m.Facets[k]), append(from, int32(f))
		}
	}
	return out, from
}

// mark gives the long edges their middles.
func (s *splitter) mark() {
	s.middle.empty()
	s.first = int32(len(s.m.Vertices))
	small, limit := float64(smallShare*s.edge*s.edge), float64(s.edge*s.edge)
	for f, t := range s.m.Facets {
		most := limit
		if s.m.Triangle(f).Area() <= small {
			most *= longSmall * longSmall
		}
		for k := range t {
			a, b := min(t[k], t[(k+1)%3]), max(t[k], t[(k+1)%3])
			if !s.long(a, b, most) {
				continue
			}
			if s.middle.add(edgeKey(a, b)) {
				s.m.Vertices = append(s.m.Vertices, s.m.Vertices[a].Lerp(s.m.Vertices[b], 0.5))
			}
		}
	}
}

// long tells whether the square of an edge's length is above limit. Differences of
// either sign have the same square.
func (s *splitter) long(a, b int32, limit float64) bool {
	return s.m.Vertices[a].Sub(s.m.Vertices[b]).Norm2() > limit
}

func edgeKey(a, b int32) uint64 { return uint64(min(a, b))<<32 | uint64(max(a, b)) }

// pass splits the facets beside marked edges.
func (s *splitter) pass(parent []int32) []int32 {
	from := make([]int32, 0, len(parent)+2*len(s.middle.keys))
	facets := s.m.Facets
	s.m.Facets = make([][3]int32, 0, cap(from))
	for f, t := range facets {
		s.facet(t, [3]int32{s.split(t[0], t[1]), s.split(t[1], t[2]), s.split(t[2], t[0])})
		for len(from) < len(s.m.Facets) {
			from = append(from, parent[f])
		}
	}
	return from
}

// split returns the middle of a marked edge, -1 for one that stays.
func (s *splitter) split(a, b int32) int32 {
	if !s.long(a, b, float64(s.edge*s.edge)) {
		return -1
	}
	if i := s.middle.find(edgeKey(a, b)); i >= 0 {
		return s.first + i
	}
	return -1
}

// facet adds what becomes of one facet.
func (s *splitter) facet(t, mid [3]int32) {
	add := func(a, b, c int32) { s.m.Facets = append(s.m.Facets, [3]int32{a, b, c}) }
	n := 0
	for _, v := range mid {
		if v >= 0 {
			n++
		}
	}
	switch n {
	case 0:
		add(t[0], t[1], t[2])
		return
	case 3:
		add(t[0], mid[0], mid[2])
		add(mid[0], t[1], mid[1])
		add(mid[2], mid[1], t[2])
		add(mid[0], mid[1], mid[2])
		return
	}
	k := 0 // turned so that the edge a -> b is split, and with two so is b -> c
	for !(mid[k] >= 0 && (n == 1 || mid[(k+1)%3] >= 0)) {
		k++
	}
	a, b, c := t[k], t[(k+1)%3], t[(k+2)%3]
	p, q := mid[k], mid[(k+1)%3]
	if n == 1 {
		add(a, p, c)
		add(p, b, c)
		return
	}
	add(p, b, q)
	v := s.m.Vertices
	if v[a].Sub(v[q]).Norm2() <= v[p].Sub(v[c]).Norm2() {
		add(a, p, q)
		add(a, q, c)
	} else {
		add(a, p, c)
		add(p, q, c)
	}
}
