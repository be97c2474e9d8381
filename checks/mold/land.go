package mold

import (
	"cmp"
	"container/heap"
	"math"
	"slices"

	"pourproof/geom"
)

// Leak is the way out of the cavity, or of a channel, that has the least of the
// parting face to seal it.
type Leak struct {
	From    string  // cavity, or gate 1, vent 2, …
	Channel int     // 0 for the cavity
	Land    float64 // mm of touching faces on the way; stretches through open space seal nothing
	Path    []geom.Vec
}

// ownExit is the least length beside a channel's own exit that is left out of its
// land, mm; else one diameter (design, section 7).
const ownExit = 3.0

// farLand is where the search for a leak path ends, mm: wider land never leaks.
const farLand = 60.0

// seam is a sample of the parting face on the search for leak paths.
type seam struct {
	p, n    geom.Vec
	closed  bool // touches, or gaps by less than the seal
	sources []way8
	sink    *geom.Vec // a place outside that it borders, nil for none
	hollow  int32     // number of the closed space that it borders, 0 for none
}

// way8 is a space that a sample borders, with a place in it.
type way8 struct {
	space int // 0 the cavity, n channel n
	at    geom.Vec
}

// leaks searches the narrowest land from the cavity and from every channel. The
// samples of the parting face are joined to those within two and a half pitches
// (32 directions: at most 1.4 % longer than straight, before the path is pulled
// straight); a step counts by its length where the faces touch and nothing where
// they do not, nor through a space of its own such as a key's socket (Dijkstra
// 1959).
func (m *Mold) leaks(list []meeting, pitch float64) []Leak {
	g := m.newSeams(list, pitch)
	var out []Leak
	for c := 0; c <= len(m.Channels); c++ {
		if c > 0 && m.Channels[c-1].Slit {
			continue // a gap in the parting face: the cavity's land finds it
		}
		if l, ok := g.narrowest(c); ok {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b Leak) int { return cmp.Compare(a.Land, b.Land) })
	return out
}

// seams is the graph over which leak paths are searched.
type seams struct {
	m     *Mold
	v     *voids
	pitch float64
	list  []seam
	grid  *pointGrid
	rim   [][]int32 // samples around each hollow
	cost  []float64
	from  []int32
}

// seamReach is the length of a graph's steps in pitches: it takes in the knight's
// moves and the next ones (sqrt 5, sqrt 8).
const seamReach = 2.5

func (m *Mold) newSeams(list []meeting, pitch float64) *seams {
	g := &seams{m: m, v: newVoids(m), pitch: pitch, list: make([]seam, len(list))}
	points := make([]geom.Vec, len(list))
	for i := range list {
		points[i] = list[i].p
		g.list[i] = seam{p: list[i].p, n: list[i].n, closed: list[i].gap < m.Seal}
	}
	g.grid = newPointGrid(points, seamReach*pitch)
	for i := range g.list {
		g.look(&g.list[i])
	}
	g.rim = make([][]int32, g.v.hollows+1)
	for i := range g.list {
		if h := g.list[i].hollow; h > 0 {
			g.rim[h] = append(g.rim[h], int32(i))
		}
	}
	g.cost, g.from = make([]float64, len(list)), make([]int32, len(list))
	return g
}

// look notes which spaces a sample borders: what lies one and two pitches off it
// in eight directions along the face.
func (g *seams) look(s *seam) {
	u, v := s.n.Perpendicular()
	const d = 0.7071067811865476
	for _, r := range [2]float64{g.pitch, 2 * g.pitch} {
		for _, e := range [8][2]float64{{1, 0}, {d, d}, {0, 1}, {-d, d}, {-1, 0}, {-d, -d}, {0, -1}, {d, -d}} {
			q := s.p.AddScaled(u, r*e[0]).AddScaled(v, r*e[1])
			switch kind, n := g.v.at(q); kind {
			case inSpace:
				if !slices.ContainsFunc(s.sources, func(w way8) bool { return w.space == n }) {
					s.sources = append(s.sources, way8{n, q})
				}
			case inOutside:
				if s.sink == nil {
					s.sink = &q
				}
			case inHollow:
				s.hollow = int32(n)
			}
		}
	}
}

// narrowest runs the search from the cavity (0) or a channel.
func (g *seams) narrowest(space int) (Leak, bool) {
	for i := range g.cost {
		g.cost[i], g.from[i] = math.Inf(1), -1
	}
	var own *exit
	if space > 0 {
		own = g.exitOf(space)
	}
	start := map[int32]geom.Vec{} // asked by sample only
	open := &wayHeap{}
	for i := range g.list {
		for _, w := range g.list[i].sources {
			if w.space != space || own != nil && own.near(g.list[i].p) {
				continue
			}
			g.cost[i] = 0
			start[int32(i)] = w.at
			heap.Push(open, way{0, int32(i)})
		}
	}
	crossed := make([]bool, len(g.rim))
	for open.Len() > 0 {
		v := heap.Pop(open).(way)
		if v.cost > g.cost[v.x] || v.cost > farLand {
			continue
		}
		s := &g.list[v.x]
		if s.sink != nil && g.leavesElsewhere(own, v.x) {
			return g.leak(space, v.x, start), true
		}
		reach := func(j int32, cost float64) {
			if cost < g.cost[j] {
				g.cost[j], g.from[j] = cost, v.x
				heap.Push(open, way{cost, j})
			}
		}
		g.grid.within(s.p, seamReach*g.pitch, func(j int32, d float64) {
			reach(j, v.cost+g.step(s, &g.list[j], d))
		})
		if h := s.hollow; h > 0 && !crossed[h] {
			crossed[h] = true
			for _, j := range g.rim[h] {
				reach(j, v.cost)
			}
		}
	}
	return Leak{}, false
}

func (g *seams) step(a, b *seam, d float64) float64 {
	switch {
	case a.closed && b.closed:
		return d
	case a.closed || b.closed:
		return d / 2
	}
	return 0
}

// exit is where a channel meets the outside.
type exit struct {
	grid   *pointGrid
	points []geom.Vec
	within float64 // what lies this near is left out
}

// exitOf gathers the lattice nodes at which a channel meets the outside.
func (g *seams) exitOf(space int) *exit {
	c := &g.m.Channels[space-1]
	e := &exit{within: max(ownExit, c.Diameter)}
	w := &g.v.w
	for _, x := range g.m.nodes.members[space-1] {
		out := false
		w.around(x, func(y int32) { out = out || w.of[y] == beyond })
		if out {
			e.points = append(e.points, w.point(x))
		}
	}
	if len(e.points) == 0 && c.Exit != nil {
		e.points = []geom.Vec{*c.Exit}
	}
	e.grid = newPointGrid(e.points, e.within)
	return e
}

// near tells whether a place beside a channel is left out of its land.
func (e *exit) near(p geom.Vec) bool {
	near := false
	e.grid.within(p, e.within, func(int32, float64) { near = true })
	return near
}

// way returns how far a place is from the exit, infinite for a blind channel.
func (e *exit) way(p geom.Vec) float64 {
	least := math.Inf(1)
	for _, q := range e.points {
		least = min(least, p.Dist(q))
	}
	return least
}

// shortcut is how much shorter than the way to a channel's own exit a leak of its
// own must be: a channel that runs square to the outer face is no nearer to it
// anywhere than its exit is.
const shortcut = 0.5

// leavesElsewhere tells whether a path that ends here is a leak of its own.
func (g *seams) leavesElsewhere(own *exit, end int32) bool {
	if own == nil {
		return true
	}
	x := end
	for g.from[x] >= 0 {
		x = g.from[x]
	}
	return g.cost[end] < shortcut*own.way(g.list[x].p)
}

// leak draws the path that ends at a sample: pulled straight where the faces
// touch, its ends moved to the edges of the faces.
func (g *seams) leak(space int, end int32, start map[int32]geom.Vec) Leak {
	var chain []int32
	for x := end; x >= 0; x = g.from[x] {
		chain = append(chain, x)
	}
	slices.Reverse(chain)
	first, last := &g.list[chain[0]], &g.list[end]
	l := Leak{From: "cavity", Channel: space}
	if space > 0 {
		l.From = channelName(&g.m.Channels[space-1])
	}
	edge := g.m.edgeOf(first.p, start[chain[0]], first.n)
	l.Path = []geom.Vec{edge}
	if first.closed {
		l.Land = edge.Dist(first.p)
	}
	// From one bend of the path to the next as far as faces touch all along.
	for i := 0; i+1 < len(chain); {
		j := i + 1
		for j+1 < len(chain) && g.straight(chain[i], chain[j+1]) {
			j++
		}
		a, b := &g.list[chain[i]], &g.list[chain[j]]
		l.Path = append(l.Path, a.p)
		if d := a.p.Dist(b.p); j > i+1 {
			l.Land += d
		} else if d <= seamReach*g.pitch { // else across a hollow
			l.Land += g.step(a, b, d)
		}
		i = j
	}
	edge = g.m.edgeOf(last.p, *last.sink, last.n)
	if last.closed {
		l.Land += edge.Dist(last.p)
	}
	l.Path = append(l.Path, last.p, edge)
	l.pull()
	l.Land = math.Round(l.Land*1000) / 1000
	return l
}

// pull takes the ends of the path straight to the edges where that is no detour.
func (l *Leak) pull() {
	if n := len(l.Path); n == 4 { // edge, two samples, edge: one straight stretch
		whole := l.Path[0].Dist(l.Path[3])
		parts := l.Path[0].Dist(l.Path[1]) + l.Path[1].Dist(l.Path[2]) + l.Path[2].Dist(l.Path[3])
		if parts-whole < 0.05*whole && math.Abs(parts-l.Land) < 1e-9 {
			l.Path, l.Land = []geom.Vec{l.Path[0], l.Path[3]}, whole
		}
	}
}

// straight tells whether touching faces run all along the straight way between
// two samples.
func (g *seams) straight(a, b int32) bool {
	p, q := g.list[a].p, g.list[b].p
	if !g.list[a].closed || !g.list[b].closed {
		return false
	}
	n := int(math.Ceil(p.Dist(q)/g.pitch)) + 1
	for i := 1; i < n; i++ {
		touches := false
		g.grid.within(p.Lerp(q, float64(i)/float64(n)), 0.9*g.pitch, func(j int32, _ float64) {
			touches = touches || g.list[j].closed
		})
		if !touches {
			return false
		}
	}
	return true
}

// channelName is how a channel is called in facts: gate 1.
func channelName(c *Channel) string {
	if c.Role == Blind {
		return "channel " + itoa(c.ID)
	}
	return string(c.Role) + " " + itoa(c.ID)
}

// edgeOf returns where, on the way from a place p of touching faces with normal n
// to a place beyond, they stop touching: by halving, to 1e-5 mm.
func (m *Mold) edgeOf(p, beyond, n geom.Vec) geom.Vec {
	lo, hi := 0.0, 1.0
	for width := p.Dist(beyond); (hi-lo)*width > 1e-5; {
		mid := (lo + hi) / 2
		if m.touchesAt(p.Lerp(beyond, mid), n) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return p.Lerp(beyond, lo)
}

// touchesAt tells whether, on a line along n through p, two halves meet within
// the seal.
func (m *Mold) touchesAt(p, n geom.Vec) bool {
	const ahead = 0.5 // mm that the face may lie off p: curved faces, the overlap
	var in, out []float64
	var inHalf, outHalf []int
	for _, h := range m.fixed.tree.All(p.AddScaled(n, -ahead), n, 2*ahead, nil) {
		if h.Sense < 0 {
			out, outHalf = append(out, h.Dist), append(outHalf, m.fixed.half(h.Facet))
		} else {
			in, inHalf = append(in, h.Dist), append(inHalf, m.fixed.half(h.Facet))
		}
	}
	for i := range out {
		for j := range in {
			if outHalf[i] != inHalf[j] && math.Abs(in[j]-out[i]) < m.Seal {
				return true
			}
		}
	}
	return false
}
