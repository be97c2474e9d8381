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
	closed  bool    // touches, or gaps by less than the seal
	sources []int32 // the cavity (0) and channels that it borders
	sink    bool    // it borders the outside
	hollow  int32   // number of the closed space that it borders, 0 for none
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
	faces *pointGrid // the closed samples alone
	rim   [][]int32  // samples around each hollow
	exits []*exit    // by channel, nil for the cavity and for slits
	cost  []float64
	from  []int32
	jump  []bool // from there across a hollow
}

// seamReach is the length of a graph's steps in pitches: it takes in the knight's
// moves and the next ones (sqrt 5, sqrt 8).
const seamReach = 2.5

func (m *Mold) newSeams(list []meeting, pitch float64) *seams {
	g := &seams{m: m, v: newVoids(m), pitch: pitch, list: make([]seam, len(list)), exits: make([]*exit, len(m.Channels)+1)}
	points := make([]geom.Vec, len(list))
	for i := range list {
		points[i] = list[i].p
		g.list[i] = seam{p: list[i].p, n: list[i].n, closed: list[i].gap < m.Seal}
	}
	g.grid = newPointGrid(points, seamReach*pitch)
	var closed []geom.Vec
	for i := range g.list {
		if g.list[i].closed {
			closed = append(closed, g.list[i].p)
		}
	}
	g.faces = newPointGrid(closed, touchingReach*pitch)
	for c := range m.Channels {
		if !m.Channels[c].Slit {
			g.exits[c+1] = g.exitOf(c + 1)
		}
	}
	for i := range g.list {
		s := &g.list[i]
		g.look(s)
		for _, e := range g.exits {
			s.sink = s.sink && !(e != nil && e.near(s.p)) // what comes out at an exit leaks nowhere
		}
	}
	g.rim = make([][]int32, g.v.hollows+1)
	for i := range g.list {
		if h := g.list[i].hollow; h > 0 {
			g.rim[h] = append(g.rim[h], int32(i))
		}
	}
	g.cost, g.from, g.jump = make([]float64, len(list)), make([]int32, len(list)), make([]bool, len(list))
	return g
}

// look notes which spaces a sample borders.
func (g *seams) look(s *seam) {
	g.probe(s, func(q geom.Vec, kind voidKind, n int) {
		switch kind {
		case inSpace:
			if !slices.Contains(s.sources, int32(n)) {
				s.sources = append(s.sources, int32(n))
			}
		case inOutside:
			s.sink = true
		case inHollow:
			if q.Dist(s.p) < 1.5*g.pitch { // the first ring: the way to it is counted when the path is measured
				s.hollow = int32(n)
			}
		}
	})
}

// probe calls visit with what lies one and two pitches off a sample in eight
// directions along the face.
func (g *seams) probe(s *seam, visit func(q geom.Vec, kind voidKind, n int)) {
	u, v := s.n.Perpendicular()
	const d = 0.7071067811865476
	for _, r := range [2]float64{g.pitch, 2 * g.pitch} {
		for _, e := range [8][2]float64{{1, 0}, {d, d}, {0, 1}, {-d, d}, {-1, 0}, {-d, -d}, {0, -1}, {d, -d}} {
			q := s.p.AddScaled(u, r*e[0]).AddScaled(v, r*e[1])
			kind, n := g.beside(q, s.n)
			// The node nearest to q may lie just beyond the edge, q itself not.
			if kind != inRubber && !g.m.touchesAt(q, s.n) {
				visit(q, kind, n)
			}
		}
	}
}

// beside returns what a place on the parting face's plane is part of. Where the
// cavity's floor or roof lies in that plane, the node nearest to the place may be
// rubber: what lies most of a cell off it counts too.
func (g *seams) beside(q, n geom.Vec) (voidKind, int) {
	kind, k := g.v.at(q)
	for _, off := range [2]float64{0.8, -0.8} {
		if kind != inRubber {
			break
		}
		kind, k = g.v.at(q.AddScaled(n, off*g.m.Cell))
	}
	return kind, k
}

// edge returns the nearest place at which the touching faces around a sample end
// at a space.
func (g *seams) edge(s *seam, kind voidKind, space int) geom.Vec {
	best, least := s.p, math.Inf(1)
	g.probe(s, func(q geom.Vec, k voidKind, n int) {
		if k != kind || k == inSpace && n != space {
			return
		}
		e := g.m.edgeOf(s.p, q, s.n)
		if d := e.Dist(s.p); d < least-1e-4 { // of equals the first
			best, least = e, d
		}
	})
	return best
}

// narrowest runs the search from the cavity (0) or a channel.
func (g *seams) narrowest(space int) (Leak, bool) {
	for i := range g.cost {
		g.cost[i], g.from[i] = math.Inf(1), -1
	}
	own := g.exits[space]
	open := &wayHeap{}
	for i := range g.list {
		if !slices.Contains(g.list[i].sources, int32(space)) || own != nil && own.near(g.list[i].p) {
			continue
		}
		g.cost[i] = 0
		heap.Push(open, way{0, int32(i)})
	}
	crossed := make([]bool, len(g.rim))
	best, tried := Leak{Land: math.Inf(1)}, 0
	for open.Len() > 0 && tried < mostEnds {
		v := heap.Pop(open).(way)
		if v.cost > min(farLand, best.Land) { // a land is never less than its samples' cost
			break
		}
		if v.cost > g.cost[v.x] {
			continue
		}
		s := &g.list[v.x]
		if s.sink && g.leavesElsewhere(own, v.x) {
			tried++
			l := g.leak(space, v.x)
			if (own == nil || l.Land < shortcut*own.way(l.Path[0])) && l.Land < best.Land {
				best = l
			}
		}
		reach := func(j int32, cost float64, jump bool) {
			if cost < g.cost[j] {
				g.cost[j], g.from[j], g.jump[j] = cost, v.x, jump
				heap.Push(open, way{cost, j})
			}
		}
		g.grid.within(s.p, seamReach*g.pitch, func(j int32, d float64) {
			reach(j, v.cost+g.step(s, &g.list[j], d), false)
		})
		if h := s.hollow; h > 0 && !crossed[h] {
			crossed[h] = true
			for _, j := range g.rim[h] {
				reach(j, v.cost, true)
			}
		}
	}
	return best, best.Path != nil
}

// mostEnds bounds how many ends of nearly equal paths are measured.
const mostEnds = 300

// step is what a way from one sample to another costs, infinite where a step from
// touching faces into a gap is too long to tell how much of it they touch.
func (g *seams) step(a, b *seam, d float64) float64 {
	switch {
	case a.closed && b.closed:
		return along90(b.p.Sub(a.p), a.n, b.n)
	case !a.closed && !b.closed:
		return d * 1e-6 // seals nothing; of open ways the shortest counts
	case d > 1.5*g.pitch:
		return math.Inf(1)
	}
	return d / 2
}

// along90 is the length of the way over a corner of two faces with normals n and k
// that stand square to each other: what d has across either face is walked in the
// other. On one face it is the length of d.
func along90(d, n, k geom.Vec) float64 {
	a, b := math.Abs(d.Dot(n)), math.Abs(d.Dot(k))
	rest := max(d.Norm2()-float64(a*a)-float64(b*b), 0)
	return max(math.Sqrt(float64((a+b)*(a+b))+rest), d.Norm())
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
	return e.grid.any(p, e.within)
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

// leavesElsewhere tells whether a path that ends here may be a leak of its own:
// before its ends are moved to the edges, which only makes it longer.
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

// channelName is how a channel is called in facts: gate 1.
func channelName(c *Channel) string {
	if c.Role == Blind {
		return "channel " + itoa(c.ID)
	}
	return string(c.Role) + " " + itoa(c.ID)
}
