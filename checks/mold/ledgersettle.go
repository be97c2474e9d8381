package mold

import (
	"cmp"
	"slices"
)

// Settling: when the block is turned, resin runs down and air rises until every
// surface between a pool and one body of air is level. Resin moves element by
// element from the highest place where a pool touches a body of air to the lowest
// place where that air touches the pool. Air that is open to the outside is one
// body; shut-in air keeps its volume and rises as a bubble. The resin in all is kept
// to three of the largest elements.

// settleRounds bounds the rounds of settling; each moves up to half of every
// surface. Molds of two thousand elements come to rest within some tens.
const settleRounds = 400

// settling is the state while it comes to rest.
type settling struct {
	l     *ledger
	rank  []int32
	resin []bool
	body  []int32 // per element: its pool or its body of air; open air is 0
	touch map[[2]int32]*contact
	list  []*contact // in the order found
	owed  float64    // mm3 of resin taken from elements and not put into others yet
}

// contact is where a pool and a body of air touch.
type contact struct {
	resin, air []int32
	key        [2]int32
}

// settle returns the state at rest at an attitude.
func (l *ledger) settle(rank []int32, resin []bool) []bool {
	s := &settling{l: l, rank: rank, resin: append([]bool(nil), resin...), body: make([]int32, len(l.at))}
	for range settleRounds {
		s.sort()
		if !s.move() {
			break
		}
	}
	return s.resin
}

// sort finds pools, bodies of air, and where they touch.
func (s *settling) sort() {
	n := len(s.l.at)
	for e := range s.body {
		s.body[e] = -1
	}
	next := int32(1)
	var stack []int32
	spread := func(from, id int32) {
		stack = append(stack[:0], from)
		s.body[from] = id
		for len(stack) > 0 {
			e := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for _, x := range s.l.beside(e) {
				if s.body[x] < 0 && s.resin[x] == s.resin[e] {
					s.body[x] = id
					stack = append(stack, x)
				}
			}
		}
	}
	for e := range n {
		if s.l.exit[e] && !s.resin[e] && s.body[e] < 0 {
			spread(int32(e), 0)
		}
	}
	for e := range n {
		if s.body[e] < 0 {
			spread(int32(e), next)
			next++
		}
	}
	s.touch, s.list = map[[2]int32]*contact{}, s.list[:0]
	var c *contact // most places touch as the one before does
	for e := range n {
		if !s.resin[e] {
			continue
		}
		for _, x := range s.l.beside(int32(e)) {
			if !s.resin[x] {
				if key := [2]int32{s.body[e], s.body[x]}; c == nil || c.key != key {
					if c = s.touch[key]; c == nil {
						c = &contact{key: key}
						s.touch[key] = c
						s.list = append(s.list, c)
					}
				}
				c.resin, c.air = append(c.resin, int32(e)), append(c.air, x)
			}
		}
	}
}

// move levels every contact as far as its surfaces are known, and tells whether
// anything moved.
func (s *settling) move() bool {
	moved := false
	for _, c := range s.list {
		c.resin, c.air = s.sorted(c.resin, -1), s.sorted(c.air, 1)
		to := 0
		for _, e := range c.resin[:len(c.resin)/2+1] {
			low := s.target(c, &to)
			if !s.resin[e] || low < 0 || s.rank[low] >= s.rank[e] {
				break
			}
			s.resin[e] = false
			// Elements differ in size: what one held more than those it moves to is owed
			// to the next.
			for s.owed += s.l.volume[e]; low >= 0 && s.rank[low] < s.rank[e] && s.owed >= s.l.volume[low]/2; low = s.target(c, &to) {
				s.resin[low] = true
				s.owed -= s.l.volume[low]
			}
			moved = true
		}
	}
	return moved
}

// sorted puts elements in order of rank, rising or falling, each once.
func (s *settling) sorted(list []int32, sense int) []int32 {
	slices.SortFunc(list, func(a, b int32) int { return sense * cmp.Compare(s.rank[a], s.rank[b]) })
	return slices.Compact(list)
}

// target returns where resin of a contact runs to, -1 if all its air is taken.
func (s *settling) target(c *contact, to *int) int32 {
	for *to < len(c.air) && s.resin[c.air[*to]] {
		*to++
	}
	if *to == len(c.air) {
		return -1
	}
	return s.down(c.air[*to])
}

// down follows resin over air to where it comes to rest.
func (s *settling) down(e int32) int32 {
	for {
		low := e
		for _, x := range s.l.beside(e) {
			if !s.resin[x] && s.rank[x] < s.rank[low] {
				low = x
			}
		}
		if low == e {
			return e
		}
		e = low
	}
}
