package mold

import (
	"math/bits"
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
	at    []int32 // per rank: its element
	resin []bool
	body  []int32    // per element: the first one of its pool or body of air; all open air is one
	sides [][2]int32 // neighbours of which the first is resin and the second air
	touch map[[2]int32]int32
	list  []contact // in the order of their first neighbours
	owed  float64   // mm3 of resin taken from elements and not put into others yet
	met   []uint64  // a bit a rank, all 0 but while ranks are put in order
}

// contact is where a pool and a body of air touch: the ranks of the elements there, and the
// first of the neighbours.
type contact struct {
	resin, air []int32
	first      [2]int32
}

// settle returns the state at rest at an attitude.
func (l *ledger) settle(rank []int32, resin []bool) []bool {
	n := len(l.at)
	s := &settling{l: l, rank: rank, at: make([]int32, n), resin: slices.Clone(resin), body: make([]int32, n), touch: map[[2]int32]int32{}, met: make([]uint64, (n+63)/64)}
	for e, r := range rank {
		s.at[r] = int32(e)
	}
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
	s.join()
	clear(s.touch)
	s.list = s.list[:0]
	last, c := [2]int32{-1, -1}, -1 // most places touch as the one before does
	for _, p := range s.sides {
		if key := [2]int32{s.body[p[0]], s.body[p[1]]}; key != last {
			n, known := s.touch[key]
			if !known {
				n = s.add(p)
				s.touch[key] = n
			}
			last, c = key, int(n)
		}
		k := &s.list[c]
		if slices.Compare(p[:], k.first[:]) < 0 {
			k.first = p
		}
		k.resin, k.air = append(k.resin, s.rank[p[0]]), append(k.air, s.rank[p[1]])
	}
	slices.SortFunc(s.list, func(a, b contact) int { return slices.Compare(a.first[:], b.first[:]) })
}

// join finds the first element of every pool and body of air, and the neighbours of
// different kinds. A link to an earlier element points ever farther back, so that one pass
// in the end tells the first.
func (s *settling) join() {
	body := s.body
	s.sides = s.sides[:0]
	root := func(e int32) int32 {
		for body[e] != e {
			body[e] = body[body[e]]
			e = body[e]
		}
		return e
	}
	open := int32(-1)
	for i, resin := range s.resin {
		first := int32(i) // of the body so far
		body[i] = first
		unite := func(x int32) {
			if body[x] == first {
				return // known already, as mostly
			}
			x = root(x)
			body[max(x, first)] = min(x, first)
			first = min(x, first)
		}
		for _, x := range s.l.earlier(int32(i)) {
			switch {
			case s.resin[x] == resin:
				unite(x)
			case resin:
				s.sides = append(s.sides, [2]int32{int32(i), x})
			default:
				s.sides = append(s.sides, [2]int32{x, int32(i)})
			}
		}
		if s.l.exit[i] && !resin {
			if open < 0 {
				open = int32(i)
			}
			unite(open)
		}
	}
	for e := range body {
		body[e] = body[body[e]]
	}
}

// add begins a contact in memory of an earlier round.
func (s *settling) add(first [2]int32) int32 {
	n := len(s.list)
	if n < cap(s.list) {
		s.list = s.list[:n+1]
		s.list[n] = contact{s.list[n].resin[:0], s.list[n].air[:0], first}
	} else {
		s.list = append(s.list, contact{first: first})
	}
	return int32(n)
}

// move levels every contact as far as its surfaces are known, and tells whether
// anything moved.
func (s *settling) move() bool {
	moved := false
	for i := range s.list {
		c := &s.list[i]
		c.resin, c.air = s.inOrder(c.resin), s.inOrder(c.air)
		to := 0
		for k := range len(c.resin)/2 + 1 {
			e := s.at[c.resin[len(c.resin)-1-k]]
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

// inOrder puts ranks in order, each once.
func (s *settling) inOrder(list []int32) []int32 {
	for _, r := range list {
		s.met[r>>6] |= 1 << (r & 63)
	}
	list = list[:0]
	for i, word := range s.met {
		for ; word != 0; word &= word - 1 {
			list = append(list, int32(64*i+bits.TrailingZeros64(word)))
		}
		s.met[i] = 0
	}
	return list
}

// target returns where resin of a contact runs to, -1 if all its air is taken.
func (s *settling) target(c *contact, to *int) int32 {
	for *to < len(c.air) && s.resin[s.at[c.air[*to]]] {
		*to++
	}
	if *to == len(c.air) {
		return -1
	}
	return s.down(s.at[c.air[*to]])
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
