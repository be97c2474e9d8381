package column

import (
	"math/bits"
	"sync"

	"pourproof/geom"
)

// Ends of a run that are no facet.
const (
	Border = -1 // the lattice ends here
	Sealed = -2 // a sealed gap begins here
)

// Space is the void around and inside solids as vertical runs: per column the
// stretches of the third axis that hold no material, and for each pair of
// neighbouring columns the heights at which the way from one to the other
// crosses no surface. Column (i,j) holds runs Start[i*N[1]+j] up to the next.
//
// Gaps between facing surfaces narrower than the seal width are closed,
// whatever their direction: a stretch of a line of any of the three axes that
// crosses such a gap is material. Where two gaps meet at an angle (a stepped parting,
// three parts) no surface faces another along the line of meeting: unless the walls
// lie along the axes, a passage about as wide as the gaps may stay open there.
type Space struct {
	Lattice
	Solids           *Solids
	Start            []int32
	Lo, Hi           []int32
	LoFacet, HiFacet []int32
	Gaps             []Gap // what was sealed
	Odd              int   // lines that met an open body an odd number of times

	words   int       // 64-bit words a column in the bit fields
	blocked [2]bitset // steps from (i,j,k) toward +x, +y that meet a surface
	sealed  bitset    // nodes in gaps closed along x or y; nil if none
	clear   func(a, b geom.Vec) bool
}

// bitset holds one bit a node, the third axis fastest.
type bitset []uint64

func (b bitset) set(i int)      { b[i>>6] |= 1 << (i & 63) }
func (b bitset) has(i int) bool { return b[i>>6]&(1<<(i&63)) != 0 }

// NewSpace casts the three families of lines and builds the void. Gaps narrower
// than seal mm are closed. The function open tells whether the straight way
// between two CAD points crosses no surface; it decides the few links whose
// overlap holds no lattice node, nil closes them. The result is the same for any
// number of processors.
func NewSpace(s *Solids, seal float64, open func(a, b geom.Vec) bool) *Space {
	l := s.Lattice
	old := spaces.take()
	sp := &Space{Lattice: l, Solids: s, words: (l.N[2] + 63) / 64, clear: open,
		Start: old.Start, Lo: old.Lo, Hi: old.Hi, LoFacet: old.LoFacet, HiFacet: old.HiFacet}
	n := sp.words * l.N[0] * l.N[1]
	for axis := range sp.blocked {
		sp.blocked[axis] = sized(old.blocked[axis], n)
		clear(sp.blocked[axis])
	}
	var lines [3]*Lines
	var gaps [3][]Gap
	var wg sync.WaitGroup
	for axis := range lines {
		wg.Go(func() {
			l := fields.take()
			s.CastInto(l, axis)
			if axis < 2 {
				sp.across(l)
			}
			lines[axis], gaps[axis] = l, l.gaps(s, seal)
		})
	}
	wg.Wait()
	for axis, l := range lines {
		sp.Odd += l.Odd
		sp.Gaps = append(sp.Gaps, gaps[axis]...)
		if axis < 2 {
			sp.closeAcross(gaps[axis], l.NV)
		}
	}
	sp.complement(lines[2])
	for _, l := range lines {
		fields.giveBack(l)
	}
	if len(sp.Gaps) > 0 {
		sp.closeUpright(gaps[2], int32(seal/l.Q))
	}
	return sp
}

// Free gives back the memory of a Space that is needed no more, for another to be built
// in. It must not be used afterwards, nor may what its fields hold.
func (sp *Space) Free() {
	s := *sp
	*sp = Space{}
	s.Solids, s.Gaps, s.sealed, s.clear = nil, nil, nil, nil
	spaces.giveBack(&s)
}

// spaces holds what is left of those given back.
var spaces spares[Space]

// fields holds Lines that are only needed while a Space is built.
var fields spares[Lines]

// across marks the steps toward +x (axis 0) or +y (axis 1) that meet material.
// A step matters only where both its nodes are void, so the ends of a stretch
// of material are enough; and an end that rounds to a node lies on the side of it
// that leaves the node void.
func (sp *Space) across(l *Lines) {
	blocked, nodes := sp.blocked[l.Axis], uint(sp.N[l.Axis])
	next := sp.node(l.Axis, 0, l.NV, 1) // one node on along a line
	for line := 0; line+1 < len(l.Start); line++ {
		first := sp.node(l.Axis, line, l.NV, 0)
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			if n := sp.NodeBelow(l.Axis, l.Lo[i]); uint(n) < nodes {
				blocked.set(first + n*next)
			}
			if n := sp.NodeBelow(l.Axis, l.Hi[i]-1); uint(n) < nodes {
				blocked.set(first + n*next)
			}
		}
	}
}

// closeAcross makes material of the nodes in gaps that lines of axis 0 or 1 found;
// the steps into the gaps are blocked already.
func (sp *Space) closeAcross(gaps []Gap, nv int) {
	for _, g := range gaps {
		line := int(g.U)*nv + int(g.V)
		for n := sp.NodeAbove(g.Axis, g.Lo); n <= sp.NodeBelow(g.Axis, g.Hi); n++ {
			sp.sealNode(g.Axis, line, nv, n)
		}
	}
}

// node returns the bit of node n on a line of axis 0 or 1, -1 outside.
func (sp *Space) node(axis, line, nv, n int) int {
	if n < 0 || n >= sp.N[axis] {
		return -1
	}
	u, v := line/nv, line%nv
	if axis == 0 { // u = y, v = z
		return sp.bit(n, u, v)
	}
	return sp.bit(v, n, u) // u = z, v = x
}

// bit returns the number of node (i,j,k)'s bit.
func (sp *Space) bit(i, j, k int) int { return (i*sp.N[1]+j)*sp.words*64 + k }

func (sp *Space) sealNode(axis, line, nv, n int) {
	if sp.sealed == nil {
		sp.sealed = make(bitset, len(sp.blocked[0]))
	}
	if b := sp.node(axis, line, nv, n); b >= 0 {
		sp.sealed.set(b)
	}
}

// complement turns stretches of material into runs of void, from the lattice's
// bottom node to its top node.
func (sp *Space) complement(l *Lines) {
	n := len(l.Lo) + len(l.Start) - 1
	start := sized(sp.Start, len(l.Start))
	lows, highs := sized(sp.Lo, n), sized(sp.Hi, n)
	loFacets, hiFacets := sized(sp.LoFacet, n), sized(sp.HiFacet, n)
	start[0] = 0
	floor, roof := sp.At(2, 0), sp.At(2, sp.N[2]-1)
	n = 0
	add := func(lo, hi, f, g int32) {
		if hi-lo >= thin {
			lows[n], highs[n], loFacets[n], hiFacets[n] = lo, hi, f, g
			n++
		}
	}
	for line := 0; line+1 < len(l.Start); line++ {
		lo, facet := floor, int32(Border)
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			add(lo, min(l.Lo[i], roof), facet, l.LoFacet[i])
			lo, facet = max(l.Hi[i], floor), l.HiFacet[i]
		}
		add(lo, roof, facet, Border)
		start[line+1] = int32(n)
	}
	sp.Start, sp.Lo, sp.Hi, sp.LoFacet, sp.HiFacet = start, lows[:n], highs[:n], loFacets[:n], hiFacets[:n]
}

func (sp *Space) add(lo, hi, f, g int32) {
	if hi-lo >= thin {
		sp.Lo, sp.Hi = append(sp.Lo, lo), append(sp.Hi, hi)
		sp.LoFacet, sp.HiFacet = append(sp.LoFacet, f), append(sp.HiFacet, g)
	}
}

// Open returns the part of the heights lo to hi, void in both columns, in which
// column (i,j) is joined to its neighbour toward +x (axis 0) or +y (axis 1).
func (sp *Space) Open(i, j, axis int, lo, hi int32) (int32, int32, bool) {
	// Only nodes strictly between: one in a floor or roof may be in the material as
	// seen along the other axes.
	k0, k1 := max(sp.NodeAbove(2, lo+1), 0), min(sp.NodeBelow(2, hi-1), sp.N[2]-1)
	if k0 > k1 {
		return lo, hi, sp.clearAt(i, j, axis, lo, hi)
	}
	base := sp.bit(i, j, 0)
	b := sp.blocked[axis]
	first := firstZero(b, base+k0, base+k1) - base
	if first > k1 {
		// Every node is blocked; the way may still be open above or below them all.
		if sp.clearAt(i, j, axis, sp.At(2, k1), hi) {
			return sp.At(2, k1), hi, true
		}
		return lo, sp.At(2, k0), sp.clearAt(i, j, axis, lo, sp.At(2, k0))
	}
	last := lastZero(b, base+k0, base+k1) - base
	half := int32(1) << (sp.Bits - 1)
	if first > k0 {
		lo = sp.At(2, first) - half
	}
	if last < k1 {
		hi = sp.At(2, last) + half
	}
	return lo, hi, true
}

// clearAt asks for the exact way between two columns at the middle of lo and hi.
func (sp *Space) clearAt(i, j, axis int, lo, hi int32) bool {
	if sp.clear == nil || hi-lo < thin {
		return false
	}
	z := lo + (hi-lo)/2
	x, y := sp.At(0, i), sp.At(1, j)
	a := sp.Point(x, y, z)
	if axis == 0 {
		x = sp.At(0, i+1)
	} else {
		y = sp.At(1, j+1)
	}
	return sp.clear(a, sp.Point(x, y, z))
}

// firstZero returns the first bit from a to b that is 0, b+1 if none is.
func firstZero(s bitset, a, b int) int {
	for a <= b {
		w := ^s[a>>6] >> (a & 63)
		if w != 0 {
			return min(a+bits.TrailingZeros64(w), b+1)
		}
		a = a&^63 + 64
	}
	return b + 1
}

// firstOne returns the first bit from a to b that is 1, b+1 if none is.
func firstOne(s bitset, a, b int) int {
	for a <= b {
		if w := s[a>>6] >> (a & 63); w != 0 {
			return min(a+bits.TrailingZeros64(w), b+1)
		}
		a = a&^63 + 64
	}
	return b + 1
}

// lastZero returns the last bit from a to b that is 0, a-1 if none is.
func lastZero(s bitset, a, b int) int {
	for b >= a {
		w := ^s[b>>6] << (63 - b&63)
		if w != 0 {
			return max(b-bits.LeadingZeros64(w), a-1)
		}
		b = b&^63 - 1
	}
	return a - 1
}

// Blocked tells whether the step from node (i,j,k) toward +x (axis 0) or +y
// (axis 1) meets a surface.
func (sp *Space) Blocked(i, j, k, axis int) bool { return sp.blocked[axis].has(sp.bit(i, j, k)) }
