package mold

import (
	"math"
	"sync"

	"pourproof/geom"
)

// newPlugs returns bodies that close every passage narrower than the width between
// spaces that are wider; nil if there are none. From the nodes where a ball of that
// width fits, their numbers are spread into narrower space, nearest first; where
// two numbers meet that a ball cannot go between directly, each from its end of a
// passage, a wall of boxes two pitches thick is put.
func (c *clearance) newPlugs() *geom.Mesh {
	radius := c.width / 2 / c.lat.Pitch()
	apart := int(radius * radius)
	s := c.spread()
	defer spreads.Put(s)
	steps := c.steps()
	forward := [3]nodeStep{steps[1], steps[3], steps[5]}
	var wall []int32
	here := int32(-1)
	for n := range c.narrow.all() {
		here++
		if s.row[here] == unreached {
			continue
		}
		for i := range forward {
			to := &forward[i]
			m := n + to.by
			if !c.narrow.has(m) {
				continue
			}
			there := c.narrow.rank(m, c.ranks)
			if s.row[there] == unreached {
				continue
			}
			a, b := &s.from[here], &s.from[there]
			x, y, z := int(a[0]-b[0]+to.x), int(a[1]-b[1]+to.y), int(a[2]-b[2]+to.z)
			if x*x+y*y+z*z > apart && !c.rolls(s.source(n, a), s.source(m, b)) {
				wall = append(wall, n)
				break
			}
		}
	}
	if len(wall) == 0 {
		return nil
	}
	return c.boxes(wall)
}

// sources says from which node of wider space each narrow node is reached.
type sources struct {
	*clearance
	row  []uint16   // per narrow node: twice the distance to it in pitches, rounded down
	from [][3]int16 // and the way from it, in nodes

	waiting [4][]waitingNode // by row: those that may follow at once, one after the other
	pending int
}

// spreads holds sources whose memory is used again.
var spreads = sync.Pool{New: func() any { return new(sources) }}

// unreached is the row of a node to which nothing leads. Lattices have less than 2^13
// nodes a side, so rows are below 2^15.
const unreached = 1<<16 - 1

// waitingNode is a narrow node to be reached from a source that lies x, y, z pitches
// back.
type waitingNode struct {
	n       int32
	x, y, z int16
}

// source returns the node from which narrow node n is reached.
func (s *sources) source(n int32, from *[3]int16) int32 {
	return n - ((int32(from[0])*int32(s.lat.N[1])+int32(from[1]))*int32(s.stride) + int32(from[2]))
}

// spread reaches the narrow nodes from those of wider space, the nearest first.
func (c *clearance) spread() *sources {
	n := int(c.ranks[len(c.narrow)])
	s := spreads.Get().(*sources)
	s.clearance, s.row, s.from = c, sized(s.row, n), sized(s.from, n)
	for i := range s.row {
		s.row[i] = unreached
	}
	steps := c.steps()
	for n := range c.shore().all() {
		for _, t := range steps {
			s.offer(n+t.by, t.x, t.y, t.z, 0)
		}
	}
	for row := uint16(0); s.pending > 0; row++ {
		list := &s.waiting[row&3]
		for i := 0; i < len(*list); i++ { // a row may grow while it is read
			w := (*list)[i]
			k := c.narrow.rank(w.n, c.ranks)
			if s.row[k] != row { // reached from nearer by
				continue
			}
			s.from[k] = [3]int16{w.x, w.y, w.z}
			for _, t := range steps {
				s.offer(w.n+t.by, w.x+t.x, w.y+t.y, w.z+t.z, row)
			}
		}
		s.pending -= len(*list)
		*list = (*list)[:0]
	}
	return s
}

// offer lets a node wait to be reached, in no row before the present one, if it is
// narrow and no row that it waits in already comes as early.
func (s *sources) offer(n int32, x, y, z int16, present uint16) {
	if !s.narrow.has(n) {
		return
	}
	row := &s.row[s.narrow.rank(n, s.ranks)]
	if *row <= present {
		return
	}
	d := int32(x)*int32(x) + int32(y)*int32(y) + int32(z)*int32(z)
	if r := uint16(2 * math.Sqrt(float64(d))); r >= present && r < *row {
		*row = r
		s.waiting[r&3] = append(s.waiting[r&3], waitingNode{n, x, y, z})
		s.pending++
	}
}

// shore returns the nodes of wide space that have a narrow neighbour.
func (c *clearance) shore() nodeSet {
	out := c.none()
	y := c.stride / 64
	x := y * c.lat.N[1]
	for q, word := range c.wide {
		if word == 0 {
			continue // as in the outermost planes
		}
		n := c.narrow
		out[q] = word & (n[q-x] | n[q+x] | n[q-y] | n[q+y] | n[q]<<1 | n[q-1]>>63 | n[q]>>1 | n[q+1]<<63)
	}
	return out
}

// rolls tells whether the middle of a ball gets from node a to node b when every
// step, to one of 26 neighbours where it fits, brings it nearer: as it does around
// an edge, and not through a passage.
func (c *clearance) rolls(a, b int32) bool {
	x, t := c.split(a), c.split(b)
	for at := apart2(x, t); at > 3; {
		best, next := at, x
		for u := x[0] - 1; u <= x[0]+1; u++ { // of void nodes all neighbours are there
			for v := x[1] - 1; v <= x[1]+1; v++ {
				for w := x[2] - 1; w <= x[2]+1; w++ {
					p := [3]int{u, v, w}
					if d := apart2(p, t); d < best && c.wide.has(c.numberAt(p)) {
						best, next = d, p
					}
				}
			}
		}
		if best == at {
			return false
		}
		at, x = best, next
	}
	return true
}

// boxes returns one box for every row of nodes that are neighbours along the third
// axis, given in order; each reaches a pitch beyond its nodes, so that boxes overlap and
// leave no slit along a wall.
func (c *clearance) boxes(nodes []int32) *geom.Mesh {
	out := &geom.Mesh{}
	h := c.lat.Pitch()
	for a := 0; a < len(nodes); {
		b := a
		for b+1 < len(nodes) && nodes[b+1] == nodes[b]+1 {
			b++
		}
		box := geom.Box{Min: c.point(nodes[a]), Max: c.point(nodes[b])}.Grow(h)
		n := int32(len(out.Vertices))
		for _, v := range box.Corners() {
			out.Vertices = append(out.Vertices, v)
		}
		for _, f := range boxFacets {
			out.Facets = append(out.Facets, [3]int32{n + f[0], n + f[1], n + f[2]})
		}
		a = b + 1
	}
	return out
}

// boxFacets are the facets of a box over geom.Box.Corners, outward.
var boxFacets = [12][3]int32{{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
	{2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}}
