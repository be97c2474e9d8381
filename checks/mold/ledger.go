package mold

import (
	"cmp"
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
	first  []int32    // neighbours of element e: near[first[e]:first[e+1]]
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
	nodes  []int32 // ascending
	column []int32 // first node of each column in nodes
	parent []int32 // union-find over nodes
	step   int     // nodes a block
}

// newLedger gathers the elements, about n of them; nil where the mold has too many
// nodes.
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
	for i, x := range g.nodes {
		g.around(x, func(y int32) {
			if k := g.indexOf(y); k >= 0 && g.blockOf(x) == g.blockOf(y) && (g.of[x] == cavity) == (g.of[y] == cavity) {
				a, b := g.root(int32(i)), g.root(k)
				g.parent[max(a, b)] = min(a, b)
			}
		})
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

// indexOf returns a node's place in nodes, -1 if it is not there.
func (g *gathering) indexOf(x int32) int32 {
	c := int(x) / g.lat.N[2]
	lo, hi := g.column[c], g.column[c+1]
	if i, ok := slices.BinarySearch(g.nodes[lo:hi], x); ok {
		return lo + int32(i)
	}
	return -1
}

func (g *gathering) blockOf(x int32) [3]int {
	i, j, k := g.node(x)
	return [3]int{i / g.step, j / g.step, k / g.step}
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
	g.link(l, id)
	return l
}

// link lists the neighbours of every element, and which reach outside or gate.
func (g *gathering) link(l *ledger, id []int32) {
	var pairs [][2]int32
	for i, x := range g.nodes {
		e := id[i]
		g.around(x, func(y int32) {
			switch k := g.indexOf(y); {
			case k >= 0:
				if id[k] != e {
					pairs = append(pairs, [2]int32{e, id[k]})
				}
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
	slices.SortFunc(pairs, func(a, b [2]int32) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	pairs = slices.Compact(pairs)
	l.first = make([]int32, len(l.at)+1)
	for _, p := range pairs {
		l.near = append(l.near, p[1])
		l.first[p[0]+1]++
	}
	for e := range l.at {
		l.first[e+1] += l.first[e]
	}
}

func (l *ledger) beside(e int32) []int32 { return l.near[l.first[e]:l.first[e+1]] }

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
	for n, key := range byUpperHalf(keys) {
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
