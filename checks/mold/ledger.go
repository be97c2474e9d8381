package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// ledger is the space of cavity and channels as elements that all tilts share, so
// that a state can be carried from one tilt to the next: an element is a piece of
// the closed mold's nodes that hang together inside one block of them. An element
// is either resin or air; it cannot tell levels closer than its own height.
type ledger struct {
	at     []geom.Vec // middle, CAD frame
	volume []float64  // mm3
	inPart []bool     // of the part, else of a channel
	exit   []bool     // reaches the outside
	source []bool     // resin comes in here
	first  []int32    // neighbours of element e: near[first[e]:first[e+1]], in order
	upper  []int32    // of these the first with a higher number
	near   []int32
	block  float64 // mm, edge of a block
}

// Bounds of a ledger.
const (
	ledgerNodes    = 8_000_000 // more nodes are not gathered: 64 MB and two seconds
	ledgerElements = 2000      // aimed at
)

// gathering sorts nodes into elements.
type gathering struct {
	*sorter
	nodes  []int32       // ascending
	column []int32       // first node of each column in nodes
	parent []int32       // union-find over nodes
	step   int           // nodes a block
	across [3][][2]int32 // per axis: neighbours in different elements
}

// newLedger gathers the elements, about n of them; nil where the mold has too many
// nodes. Linear in the nodes.
func (m *Mold) newLedger(n int) *ledger {
	g := gathering{sorter: &sorter{m: m, sp: m.space, labels: *m.labels}}
	if !g.list() {
		return nil
	}
	g.step = max(1, int(math.Cbrt(float64(len(g.nodes))/float64(n))+0.5))
	g.parent = make([]int32, len(g.nodes))
	for i := range g.parent {
		g.parent[i] = int32(i)
	}
	ny := g.lat.N[1]
	for c := range g.lat.N[0] * ny {
		g.upward(c)
		if c/ny+1 < g.lat.N[0] {
			g.sideways(c, c+ny, 0)
		}
		if c%ny+1 < ny {
			g.sideways(c, c+1, 1)
		}
	}
	return g.ledger()
}

// list finds the nodes of cavity and channels, a sealed gate left out.
func (g *gathering) list() bool {
	nz := g.lat.N[2]
	for c := 0; c < g.lat.N[0]*g.lat.N[1]; c++ {
		g.column = append(g.column, int32(len(g.nodes)))
		for k, l := range g.of[c*nz : (c+1)*nz] {
			if g.takes(l) {
				g.nodes = append(g.nodes, int32(c*nz+k))
			}
		}
		if len(g.nodes) > ledgerNodes {
			return false
		}
	}
	g.column = append(g.column, int32(len(g.nodes)))
	return len(g.nodes) > 0
}

func (g *gathering) takes(l label) bool {
	return l == cavity || l >= firstChannel && l&material == 0 && !g.sealedGate(l)
}

// sealedGate tells whether a label is that of a gate full of resin.
func (g *gathering) sealedGate(l label) bool {
	return l >= firstChannel && l&material == 0 && !g.m.Job.GateOpen && g.m.Channels[l-firstChannel].Role == Gate
}

// upward joins the nodes of a column that follow each other in one run of void.
func (g *gathering) upward(c int) {
	r, nz := g.sp.Start[c], g.lat.N[2]
	for i := g.column[c]; i+1 < g.column[c+1]; i++ {
		k := int(g.nodes[i]) % nz
		for g.sp.Hi[r] < g.lat.At(2, k) {
			r++
		}
		if g.nodes[i+1] == g.nodes[i]+1 && g.lat.At(2, k+1) <= g.sp.Hi[r] {
			g.join(i, i+1, 2, (k+1)%g.step == 0)
		}
	}
}

// sideways joins the nodes of two neighbouring columns that no surface parts.
func (g *gathering) sideways(c, d, axis int) {
	nz, ny := g.lat.N[2], g.lat.N[1]
	x, y := c/ny, c%ny
	apart := axis == 0 && (x+1)%g.step == 0 || axis == 1 && (y+1)%g.step == 0
	a, b := g.column[c], g.column[d]
	for a < g.column[c+1] && b < g.column[d+1] {
		switch p, q := int(g.nodes[a])-c*nz, int(g.nodes[b])-d*nz; {
		case p < q:
			a++
		case p > q:
			b++
		default:
			if !g.sp.Blocked(x, y, p, axis) {
				g.join(a, b, axis, apart)
			}
			a, b = a+1, b+1
		}
	}
}

// join makes one element of two neighbours along an axis, unless blocks part them or only
// one is of the part.
func (g *gathering) join(i, k int32, axis int, apart bool) {
	if apart || (g.of[g.nodes[i]] == cavity) != (g.of[g.nodes[k]] == cavity) {
		g.across[axis] = append(g.across[axis], [2]int32{i, k})
		return
	}
	if a, b := g.root(i), g.root(k); a != b {
		g.parent[max(a, b)] = min(a, b)
	}
}

func (g *gathering) root(i int32) int32 {
	for g.parent[i] != i {
		g.parent[i] = g.parent[g.parent[i]]
		i = g.parent[i]
	}
	return i
}

// ledger numbers the elements in the order of their first node.
func (g *gathering) ledger() *ledger {
	h := g.lat.Pitch()
	l := &ledger{block: h * float64(g.step)}
	id := make([]int32, len(g.nodes)) // element of each node
	var sums [][4]int64
	for i, x := range g.nodes {
		r := g.root(int32(i))
		if r == int32(i) {
			id[i] = int32(len(sums))
			sums = append(sums, [4]int64{})
			l.inPart = append(l.inPart, g.of[x] == cavity)
		}
		id[i] = id[r]
		a, b, c := g.node(x)
		s := &sums[id[i]]
		s[0], s[1], s[2], s[3] = s[0]+int64(a), s[1]+int64(b), s[2]+int64(c), s[3]+1
	}
	l.exit, l.source = make([]bool, len(sums)), make([]bool, len(sums))
	for _, s := range sums {
		n := float64(s[3])
		pitch := float64(int64(1) << g.lat.Bits)
		q := geom.Vec{X: float64(g.lat.First[0]) + float64(s[0])/n, Y: float64(g.lat.First[1]) + float64(s[1])/n, Z: float64(g.lat.First[2]) + float64(s[2])/n}
		l.at = append(l.at, g.lat.Frame.TurnBack(g.lat.Origin.AddScaled(q, pitch*g.lat.Q)))
		l.volume = append(l.volume, n*h*h*h)
	}
	g.ends(l, id)
	g.link(l, id)
	return l
}

// ends marks the elements that reach outside or gate.
func (g *gathering) ends(l *ledger, id []int32) {
	nz := int32(g.lat.N[2])
	nyz := nz * int32(g.lat.N[1])
	var special [256]bool
	for of := range special {
		special[of] = label(of) == beyond || int(of) < int(firstChannel)+len(g.m.Channels) && g.sealedGate(label(of))
	}
	at := func(x int32) bool { return x >= 0 && int(x) < len(g.of) && special[g.of[x]] }
	for i, x := range g.nodes {
		if !(at(x-1) || at(x+1) || at(x-nz) || at(x+nz) || at(x-nyz) || at(x+nyz)) {
			continue
		}
		e := id[i]
		g.around(x, func(y int32) {
			switch {
			case g.sealedGate(g.of[y]):
				l.source[e] = true
			case g.of[y] == beyond && g.of[x] >= firstChannel:
				l.exit[e] = true
				if c := g.of[x] - firstChannel; g.m.Channels[c].Role == Gate {
					l.source[e] = true // an open gate
				}
			}
		})
	}
}

// link lists the neighbours of every element, in order.
func (g *gathering) link(l *ledger, id []int32) {
	var keys []uint64
	for _, across := range g.across {
		last := slices.Repeat([]int32{-1}, len(l.at)) // two blocks touch in many nodes
		for _, p := range across {
			if a, b := id[p[0]], id[p[1]]; last[a] != b {
				last[a] = b
				keys = append(keys, uint64(a)<<32|uint64(b), uint64(b)<<32|uint64(a))
			}
		}
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	l.first = make([]int32, len(l.at)+1)
	for _, key := range keys {
		l.near = append(l.near, int32(uint32(key)))
		l.first[key>>32+1]++
	}
	l.upper = make([]int32, len(l.at))
	for e := range l.at {
		l.first[e+1] += l.first[e]
		n, _ := slices.BinarySearch(l.beside(int32(e)), int32(e))
		l.upper[e] = l.first[e] + int32(n)
	}
}

func (l *ledger) beside(e int32) []int32 { return l.near[l.first[e]:l.first[e+1]] }

// earlier returns the neighbours with lower numbers.
func (l *ledger) earlier(e int32) []int32 { return l.near[l.first[e]:l.upper[e]] }

// ranks orders the elements by their height along up, ties by number: a higher
// rank is higher. Heights closer than 1e-6 mm are equal.
func (l *ledger) ranks(up geom.Vec) []int32 {
	height := make([]float64, len(l.at))
	low, high := math.Inf(1), math.Inf(-1)
	for e, p := range l.at {
		height[e] = math.Round(p.Dot(up) * 1e6)
		low, high = min(low, height[e]), max(high, height[e])
	}
	step := max(1, math.Ceil((high-low)/(1<<31))) // in a mold of over 2 m more are equal
	keys := make([]uint64, len(l.at))
	for e, h := range height {
		keys[e] = uint64((h-low)/step)<<32 | uint64(e)
	}
	rank := make([]int32, len(keys))
	for n, key := range geom.RadixSort(keys, 32) {
		rank[uint32(key)] = int32(n)
	}
	return rank
}

// trapped sums the part's air in a state.
func (l *ledger) trapped(resin []bool) float64 {
	sum := 0.0
	for e, in := range resin {
		if !in && l.inPart[e] {
			sum += l.volume[e]
		}
	}
	return sum
}

// leaks tells whether resin stands in an exit.
func (l *ledger) leaks(resin []bool) bool {
	for e, out := range l.exit {
		if out && resin[e] {
			return true
		}
	}
	return false
}

// element is the mean volume of an element.
func (l *ledger) element() float64 {
	sum := 0.0
	for _, v := range l.volume {
		sum += v
	}
	return sum / float64(len(l.volume))
}
