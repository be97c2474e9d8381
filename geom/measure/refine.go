package measure

import "pourproof/geom"

// mostPasses bounds the halvings of an edge: a mold of 2 m has no edge that 12
// halvings leave longer than a millimetre.
const mostPasses = 12

// refine splits every edge longer than edge mm in its middle, again and again, and
// the facets beside it in two to four. Both facets of an edge split it alike, so a
// closed mesh stays closed. It returns the facet that each piece comes from.
func refine(mesh *geom.Mesh, edge float64) (*geom.Mesh, []int32) {
	parent := make([]int32, len(mesh.Facets))
	for f := range parent {
		parent[f] = int32(f)
	}
	m := mesh
	for range mostPasses {
		s := &splitter{m: m, limit: float64(edge * edge), middle: map[[2]int32]int32{}}
		next, nextParent, done := s.pass(parent)
		if done {
			break
		}
		m, parent = next, nextParent
	}
	return m, parent
}

// splitter halves the long edges of a mesh once.
type splitter struct {
	m      *geom.Mesh
	limit  float64 // square of the longest edge that stays
	middle map[[2]int32]int32
	out    *geom.Mesh
}

func (s *splitter) pass(parent []int32) (*geom.Mesh, []int32, bool) {
	s.out = &geom.Mesh{Vertices: s.m.Vertices[:len(s.m.Vertices):len(s.m.Vertices)]}
	var from []int32
	for f := range s.m.Facets {
		t := s.m.Facets[f]
		mid := [3]int32{s.split(t[0], t[1]), s.split(t[1], t[2]), s.split(t[2], t[0])}
		before := len(s.out.Facets)
		s.facet(t, mid)
		for range len(s.out.Facets) - before {
			from = append(from, parent[f])
		}
	}
	return s.out, from, len(s.middle) == 0
}

// split returns the middle of an edge that is too long, -1 for one that stays.
func (s *splitter) split(a, b int32) int32 {
	if a > b {
		a, b = b, a
	}
	p, q := s.m.Vertices[a], s.m.Vertices[b]
	if !(p.Sub(q).Norm2() > s.limit) {
		return -1
	}
	key := [2]int32{a, b}
	v, known := s.middle[key]
	if !known {
		v = int32(len(s.out.Vertices))
		s.out.Vertices = append(s.out.Vertices, p.Lerp(q, 0.5))
		s.middle[key] = v
	}
	return v
}

// facet adds what becomes of one facet.
func (s *splitter) facet(t, mid [3]int32) {
	add := func(a, b, c int32) { s.out.Facets = append(s.out.Facets, [3]int32{a, b, c}) }
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
	v := s.out.Vertices
	if v[a].Sub(v[q]).Norm2() <= v[p].Sub(v[c]).Norm2() {
		add(a, p, q)
		add(a, q, c)
	} else {
		add(a, p, c)
		add(p, q, c)
	}
}
