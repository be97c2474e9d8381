package bvh

import (
	"slices"

	"pourproof/geom"
)

// rim is an edge of an outline in a view, from its lower end up.
type rim struct {
	low, high seen
	up        bool // the facet lies on the left of the way up, else on its right
}

// rimEnd is where a rim begins or ends.
type rimEnd struct {
	at   seen
	v    int32 // vertex
	rim  int32
	last bool // the upper end
}

// coversOnce reports whether an outline, half-edges of facets of one side, winds nowhere
// more than once around a place: a line is swept up over it, and the rims that it meets
// must in turn open and close what is covered. An outline that touches itself
// elsewhere than in a vertex, or seems to within rounding, is refused.
//
// That the order of the rims on the line is true is seen at their ends alone: where two
// have changed places unseen, two neighbours have, and one of these ends beside the
// other. (Shamos and Hoey 1976 look for that place instead.)
func coversOnce(m *geom.Mesh, edges []int32, sides []side) bool {
	if len(edges) == 0 {
		return false
	}
	view := sides[edges[0]/3]
	rims, ends := make([]rim, len(edges)), make([]rimEnd, 0, 2*len(edges))
	for i, h := range edges {
		v, w := start(m, h), end(m, h)
		r := rim{view.seen(m.Vertices[v]), view.seen(m.Vertices[w]), true}
		if r.high.below(r.low) < 0 {
			v, w, r = w, v, rim{r.high, r.low, false}
		}
		rims[i] = r
		ends = append(ends, rimEnd{r.low, v, int32(i), false}, rimEnd{r.high, w, int32(i), true})
	}
	slices.SortFunc(ends, func(a, b rimEnd) int { return a.at.below(b.at) })
	s := sweep{rims: rims, most: frontShare * len(ends)}
	for len(ends) > 0 {
		n := 1
		for n < len(ends) && ends[n].at == ends[0].at {
			n++
		}
		if !s.pass(ends[:n]) {
			return false
		}
		ends = ends[n:]
	}
	return len(s.front) == 0
}

// sweep is a level line on its way up over an outline.
type sweep struct {
	rims  []rim
	front []int32 // rims that the line meets, from left to right
	fresh []int32 // those that begin where it is
	most  int     // rims that it may yet move
}

// pass moves the line over all ends at one place and reports whether all is as it
// should be there.
func (s *sweep) pass(ends []rimEnd) bool {
	at, old := ends[0].at, 0
	s.fresh = s.fresh[:0]
	for _, e := range ends {
		if e.v != ends[0].v {
			return false // two vertices over each other
		}
		if e.last {
			old++
		} else {
			s.fresh = append(s.fresh, e.rim)
		}
	}
	lo, _ := slices.BinarySearchFunc(s.front, at, func(r int32, at seen) int {
		if q := &s.rims[r]; q.high != at && q.low.turn(q.high, at) < 0 {
			return -1
		}
		return 0
	})
	hi := lo + old
	if hi > len(s.front) || hi < len(s.front) && s.sideOf(hi, at) <= 0 || lo > 0 && s.sideOf(lo-1, at) >= 0 {
		return false
	}
	for _, r := range s.front[lo:hi] {
		if s.rims[r].high != at {
			return false
		}
	}
	if !s.arrange(at) {
		return false
	}
	for i, r := range s.fresh { // what is covered begins at a rim down and ends at one up
		if s.rims[r].up != ((lo+i)%2 == 1) {
			return false
		}
	}
	if s.most -= len(s.front) - lo; s.most < 0 || len(s.fresh)%2 != old%2 {
		return false
	}
	s.front = slices.Replace(s.front, lo, hi, s.fresh...)
	return true
}

// sideOf is positive where a place lies to the left of the i-th rim of the front,
// negative on the right.
func (s *sweep) sideOf(i int, at seen) float64 {
	r := &s.rims[s.front[i]]
	return r.low.turn(r.high, at)
}

// arrange puts the rims that begin at a place in order from left to right, and reports
// whether no two run the same way.
func (s *sweep) arrange(at seen) bool {
	slices.SortFunc(s.fresh, func(a, b int32) int {
		switch d := at.turn(s.rims[a].high, s.rims[b].high); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	for i := 1; i < len(s.fresh); i++ {
		if !(at.turn(s.rims[s.fresh[i-1]].high, s.rims[s.fresh[i]].high) < 0) {
			return false
		}
	}
	return true
}
