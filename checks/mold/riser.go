package mold

import (
	"slices"
	"sync"

	"pourproof/geom"
)

// riser is a graph of upright pieces in which a level rises: below the level,
// pieces that are linked make one basin. A basin that meets the outside is open
// from then on. Union-find in the order of heights (Kruskal 1956; merge trees:
// Carr, Snoeyink and Axen 2003).
type riser struct {
	lo, hi  []int32
	outside []bool // pieces that are open from the start; nil for none
	links   []rising
	oldest  bool // where two basins merge, the one begun lower goes on; else the larger

	openAt []int32 // per piece: the height at which it becomes open; shut if never
	next   []int32 // per piece: the next one of its basin
}

// rising is a link between two pieces from height z up.
type rising struct{ a, b, z int32 }

// shut is a height that is never reached.
const shut = int32(1<<31 - 1)

// basin is a set of pieces that was apart from the outside from its lowest point
// up to the height at which it met the outside or a larger basin.
type basin struct {
	from, to int32
	low      int32 // the piece that begins lowest
	a, b     int32 // the pieces whose link ended it, a its own; -1 for none
	head     int32 // first and last of its pieces, to be walked with riser.next
	tail     int32
	most     int32 // most pieces at one height, and the lowest such height
	mostAt   int32
	length   int64 // of its pieces below to
	into     int32 // the basin it merged with, -1 for the outside or for none
	open     bool  // ended at the outside
	later    int32
}

// group is a basin under way; its number is that of its root piece.
type group struct {
	active, most, mostAt int32
	low, tail            int32
	merged               int32 // chain of the basins that ended in it
	since                int32 // active has not changed since this height
	begun                int64 // sum of the starts of active pieces
	done                 int64 // length of pieces that have ended
	open                 bool
}

// settle takes note of the pieces that were active up to height z. What lasts for no
// height, as while several pieces begin at one, does not count.
func (g *group) settle(z int32) {
	if z > g.since {
		if g.active > g.most {
			g.most, g.mostAt = g.active, g.since
		}
		g.since = z
	}
}

func (g *group) length(z int32) int64 { return g.done + int64(g.active)*int64(z) - g.begun }

// sweep is one rise of the level. Its memory is used again: fresh pages cost more than
// what is done in them.
type sweep struct {
	*riser
	up          []int32
	g           []group
	keys, other []uint64 // events
	found       []basin
	least       int64
}

var sweeps = sync.Pool{New: func() any { return new(sweep) }}

// sized returns s with length n, its contents undefined.
func sized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// isOutside tells whether a piece is open from the start.
func (r *riser) isOutside(i int) bool { return r.outside != nil && r.outside[i] }

// run lets the level rise through all pieces and returns the basins of at least
// that length, in the order in which they end; of those never opened, last, in
// the order of their lowest pieces.
func (r *riser) run(least int64) []basin {
	n := len(r.lo)
	s := sweeps.Get().(*sweep)
	defer func() {
		s.riser, s.found = nil, nil
		sweeps.Put(s)
	}()
	s.riser, s.least = r, least
	s.up, s.g = sized(s.up, n), sized(s.g, n)
	r.openAt, r.next = sized(r.openAt, n), sized(r.next, n)
	for i := range s.up {
		s.up[i] = int32(i)
		r.openAt[i], r.next[i] = shut, -1
		if r.isOutside(i) {
			r.openAt[i] = r.lo[i]
			s.g[i] = group{open: true, merged: -1}
		}
	}
	for _, key := range s.events() {
		z := int32(uint32(key>>32) ^ 1<<31)
		i := int32(key & (1<<30 - 1))
		switch key >> 30 & 3 {
		case pieceEnds:
			g := &s.g[s.find(i)]
			g.settle(z)
			g.active--
			g.begun -= int64(r.lo[i])
			g.done += int64(z) - int64(r.lo[i])
		case pieceBegins:
			s.begin(i, z)
		default:
			s.meet(&r.links[i], z)
		}
	}
	for i := range s.up {
		if s.up[i] == int32(i) && !s.g[i].open {
			s.record(int32(i), s.g[i].since, -1, -1, false)
		}
	}
	return s.found
}

// The events of one height in their order.
const (
	pieceEnds = iota
	pieceBegins
	linkOpens
)

// events returns starts, ends and links in the order of heights, at one height ends,
// then starts, then links. What is open from the start needs none but its links.
func (s *sweep) events() []uint64 {
	n := 2*len(s.lo) + len(s.links)
	s.keys, s.other = sized(s.keys, n)[:0], sized(s.other, n)
	add := func(z int32, kind uint64, i int) {
		s.keys = append(s.keys, uint64(uint32(z)^1<<31)<<32|kind<<30|uint64(i))
	}
	for i := range s.hi {
		if !s.isOutside(i) {
			add(s.hi[i], pieceEnds, i)
		}
	}
	for i := range s.lo {
		if !s.isOutside(i) {
			add(s.lo[i], pieceBegins, i)
		}
	}
	for i := range s.links {
		add(s.links[i].z, linkOpens, i)
	}
	return geom.RadixSortIn(s.keys, s.other, 32)
}

func (s *sweep) find(i int32) int32 {
	for s.up[i] != i {
		s.up[i] = s.up[s.up[i]]
		i = s.up[i]
	}
	return i
}

func (s *sweep) begin(i, z int32) {
	s.g[i] = group{active: 1, mostAt: z, low: i, tail: i, merged: -1, begun: int64(z), since: z}
}

// meet joins the groups of a link's pieces.
func (s *sweep) meet(l *rising, z int32) {
	a, b := s.find(l.a), s.find(l.b)
	if a == b {
		return
	}
	if s.g[a].open || !s.g[b].open && s.goesOn(a, b, z) {
		s.join(a, b, l.b, l.a, z)
	} else {
		s.join(b, a, l.a, l.b, z)
	}
}

// goesOn tells whether a goes on where it merges with b at z.
func (s *sweep) goesOn(a, b, z int32) bool {
	x, y := &s.g[a], &s.g[b]
	if !s.oldest {
		if u, v := x.length(z), y.length(z); u != v {
			return u > v
		}
	}
	if u, v := s.lo[x.low], s.lo[y.low]; u != v {
		return u < v
	}
	return a < b
}

// join ends group b in group a; q and p are the pieces that meet, q of b.
func (s *sweep) join(a, b, q, p, z int32) {
	x, y := &s.g[a], &s.g[b]
	x.settle(z)
	y.settle(z)
	into := int32(-1)
	if !y.open {
		if y.length(z) >= s.least {
			into = s.record(b, z, q, p, x.open)
		}
		if x.open {
			for i := b; ; i = s.next[i] {
				s.openAt[i] = z
				if i == y.tail {
					break
				}
			}
		}
	}
	s.up[b] = a
	if x.open {
		return
	}
	s.next[x.tail] = b
	x.tail = y.tail
	x.active, x.begun, x.done = x.active+y.active, x.begun+y.begun, x.done+y.done
	if s.lo[y.low] < s.lo[x.low] || s.lo[y.low] == s.lo[x.low] && y.low < x.low {
		x.low = y.low
	}
	chain := y.merged
	if into >= 0 {
		chain = into
	}
	x.merged = s.chained(x.merged, chain)
}

// chained appends one chain of basins to another.
func (s *sweep) chained(a, b int32) int32 {
	if a < 0 {
		return b
	}
	i := a
	for s.found[i].later >= 0 {
		i = s.found[i].later
	}
	s.found[i].later = b
	return a
}

// record notes the basin of group i as ended at z, if it is long enough.
func (s *sweep) record(i, z, own, other int32, open bool) int32 {
	g := &s.g[i]
	length := g.length(z)
	if length < s.least {
		return -1
	}
	n := int32(len(s.found))
	for k := g.merged; k >= 0; {
		later := s.found[k].later
		s.found[k].into, s.found[k].later = n, -1
		k = later
	}
	g.merged = -1
	s.found = append(s.found, basin{from: s.lo[g.low], to: z, low: g.low, a: own, b: other, head: i, tail: g.tail,
		most: g.most, mostAt: g.mostAt, length: length, into: -1, open: open, later: -1})
	return n
}

// each calls visit for the pieces of a basin, in no special order.
func (r *riser) each(b *basin, visit func(piece int32)) {
	for i := b.head; ; i = r.next[i] {
		visit(i)
		if i == b.tail {
			return
		}
	}
}
