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
	parent := make([]int32, len(mesh.Facets))
	for f := range parent {
		parent[f] = int32(f)
	}
	m := mesh
	for range mostPasses {
		s := &splitter{m: m, edge: edge, middle: map[[2]int32]int32{}}
		if s.mark(); len(s.middle) == 0 {
			break
		}
		m, parent = s.pass(parent)
	}
	return m, parent
}

// splitter halves long edges of a mesh once.
type splitter struct {
	m      *geom.Mesh
	edge   float64
	middle map[[2]int32]int32 // new vertex of an edge
	out    *geom.Mesh
}

// mark gives the long edges their middles.
func (s *splitter) mark() {
	s.out = &geom.Mesh{Vertices: s.m.Vertices[:len(s.m.Vertices):len(s.m.Vertices)]}
	small, limit := float64(smallShare*s.edge*s.edge), float64(s.edge*s.edge)
	for f, t := range s.m.Facets {
		most := limit
		if s.m.Triangle(f).Area() <= small {
			most *= longSmall * longSmall
		}
		for k := range t {
			if !s.long(t[k], t[(k+1)%3], most) {
				continue
			}
			key := edgeKey(t[k], t[(k+1)%3])
			if _, known := s.middle[key]; !known {
				p, q := s.m.Vertices[key[0]], s.m.Vertices[key[1]]
				s.middle[key] = int32(len(s.out.Vertices))
				s.out.Vertices = append(s.out.Vertices, p.Lerp(q, 0.5))
			}
		}
	}
}

// long tells whether the square of an edge's length is above limit. Differences of
// either sign have the same square.
func (s *splitter) long(a, b int32, limit float64) bool {
	return s.m.Vertices[a].Sub(s.m.Vertices[b]).Norm2() > limit
}

func edgeKey(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }

// pass splits the facets beside marked edges.
func (s *splitter) pass(parent []int32) (*geom.Mesh, []int32) {
	from := make([]int32, 0, len(parent)+2*len(s.middle))
	for f, t := range s.m.Facets {
		mid := [3]int32{s.split(t[0], t[1]), s.split(t[1], t[2]), s.split(t[2], t[0])}
		before := len(s.out.Facets)
		s.facet(t, mid)
		for range len(s.out.Facets) - before {
			from = append(from, parent[f])
		}
	}
	return s.out, from
}

// split returns the middle of a marked edge, -1 for one that stays.
func (s *splitter) split(a, b int32) int32 {
	if !s.long(a, b, float64(s.edge*s.edge)) {
		return -1
	}
	if v, marked := s.middle[edgeKey(a, b)]; marked {
		return v
	}
	return -1
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
