package mold

import (
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// clearance holds, for the nodes of a lattice around a half in the CAD frame, the
// squared distance in pitches to the nearest node of material, 0 in material. It
// says where passages are; their widths are measured on the mesh.
type clearance struct {
	lat   column.Lattice
	d2    []int32
	width float64    // mm: of the passages that plugs close
	plugs *geom.Mesh // nil if there are none
	tree  *bvh.Tree  // of the plugs
}

// Bounds of the lattice: 16 bytes a node while plugs are made, and eight pitches
// to the width looked for, so that a passage a quarter as wide, which another
// lattice is for, is still two pitches wide.
const (
	finestRoom   = 0.25
	widthPitches = 8
	maxRoomNodes = 6_000_000
)

// newClearance works out the distances around a half (Meijster, Roerdink and
// Hesselink 2000; exact between nodes), and plugs for passages narrower than width.
// Pitches under finest mm are not used.
func newClearance(mesh *geom.Mesh, width, finest float64) (*clearance, error) {
	finest = max(finestRoom, finest, width/widthPitches)
	box := mesh.Box().Grow(width/2 + 4*finest)
	lat, err := column.NewLattice(geom.Identity(), box, printCell(box, finest, maxRoomNodes))
	if err != nil {
		return nil, err
	}
	c := &clearance{lat: lat, d2: make([]int32, lat.Nodes()), width: width}
	lines := column.Snap(lat, []*geom.Mesh{mesh}, nil).Cast(2)
	nz := lat.N[2]
	for line := 0; line+1 < len(lines.Start); line++ {
		d := c.d2[line*nz : line*nz+nz]
		for k := range d {
			d[k] = farOff
		}
		for i := lines.Start[line]; i < lines.Start[line+1]; i++ {
			for k := max(lat.NodeAbove(2, lines.Lo[i]), 0); k <= min(lat.NodeBelow(2, lines.Hi[i]), nz-1); k++ {
				d[k] = 0
			}
		}
		alongLine(d)
	}
	c.across(lat.N[1], lat.N[0], nz, lat.N[1]*nz)
	c.across(lat.N[0], lat.N[1], lat.N[1]*nz, nz)
	c.close()
	if c.plugs = c.newPlugs(); c.plugs != nil {
		c.tree = bvh.Build(c.plugs)
	}
	return c, nil
}

// farOff is a squared distance above any between nodes of a lattice with fewer
// than 2^13 lines a side, so small that sums of it fit.
const farOff = 1 << 28

// alongLine turns marks (0 material, farOff void) into squared distances along a
// line.
func alongLine(d []int32) {
	n := int32(1 << 14)
	for k := range d {
		if d[k] == 0 {
			n = 0
		} else {
			n++
		}
		if n < 1<<14 {
			d[k] = n * n
		}
	}
	n = 1 << 14
	for k := len(d) - 1; k >= 0; k-- {
		if d[k] == 0 {
			n = 0
		} else {
			n++
		}
		if n < 1<<14 {
			d[k] = min(d[k], n*n)
		}
	}
}

// across takes the distances on along another axis: outer*NZ lines of n nodes that
// lie step apart, groups of lines by apart. The lower envelope of the parabolas
// over a line is built from one end and read from the other.
func (c *clearance) across(n, outer, step, by int) {
	g, at, from := make([]int32, n), make([]int32, n), make([]int32, n)
	for o := range outer {
		for k := range c.lat.N[2] {
			base := o*by + k
			for i := range g {
				g[i] = c.d2[base+i*step]
			}
			q := envelope(g, at, from)
			for i := int32(n) - 1; i >= 0; i-- {
				d := i - at[q]
				c.d2[base+int(i)*step] = min(d*d+g[at[q]], farOff)
				if i == from[q] {
					q--
				}
			}
		}
	}
}

// envelope lists the parabolas (i-at)^2 + g[at] that are lowest somewhere and the
// first place where each is; it returns the last one's number.
func envelope(g, at, from []int32) int {
	q := 0
	at[0], from[0] = 0, 0
	height := func(x, i int32) int32 { return (x-i)*(x-i) + g[i] }
	for u := int32(1); u < int32(len(g)); u++ {
		for q >= 0 && height(from[q], at[q]) > height(from[q], u) {
			q--
		}
		if q < 0 {
			q, at[0] = 0, u
			continue
		}
		i := at[q]
		if w := 1 + (u*u-i*i+g[u]-g[i])/(2*(u-i)); w < int32(len(g)) {
			q++
			at[q], from[q] = u, w
		}
	}
	return q
}

// point returns the CAD coordinates of node n.
func (c *clearance) point(n int32) geom.Vec {
	i, j, k := c.split(n)
	return c.lat.Point(c.lat.At(0, i), c.lat.At(1, j), c.lat.At(2, k))
}

func (c *clearance) split(n int32) (i, j, k int) {
	nz := int32(c.lat.N[2])
	ij := n / nz
	return int(ij) / c.lat.N[1], int(ij) % c.lat.N[1], int(n % nz)
}

// nearest returns the node nearest to a CAD point, -1 outside the lattice.
func (c *clearance) nearest(p geom.Vec) int32 {
	q := c.lat.Place(p)
	half := int32(1) << (c.lat.Bits - 1)
	var x [3]int
	for a, v := range [3]float64{q.X, q.Y, q.Z} {
		if !(v > -1e9 && v < 1e9) {
			return -1
		}
		if x[a] = c.lat.NodeBelow(a, int32(v)+half); x[a] < 0 || x[a] >= c.lat.N[a] {
			return -1
		}
	}
	return int32((x[0]*c.lat.N[1]+x[1])*c.lat.N[2] + x[2])
}

// wide returns the squared distance from which on a ball of the width fits about a
// node. Half a pitch is what lies, on average, between the surface and the nearest
// node of material.
func (c *clearance) wide() int32 {
	d := c.width/2/c.lat.Pitch() + 0.5
	return int32(math.Ceil(d * d))
}

// newPlugs returns bodies that close every passage narrower than the width between
// spaces that are wider; nil if there are none. From the nodes where a ball of that
// width fits, their numbers are spread into narrower space, nearest first; where
// two numbers meet that a ball cannot go between directly, each from its end of a
// passage, a wall of boxes two pitches thick is put.
func (c *clearance) newPlugs() *geom.Mesh {
	radius := c.width / 2 / c.lat.Pitch()
	wide := c.wide()
	from := c.spread(wide)
	var wall []int32
	apart := int(radius * radius)
	steps := c.steps()
	for n := range int32(len(from)) {
		if from[n] < 0 || from[n] == n {
			continue
		}
		for a := 1; a < len(steps); a += 2 {
			m := n + steps[a].by
			if from[m] < 0 || from[m] == m || from[m] == from[n] {
				continue
			}
			if c.apart2(from[n], from[m]) > apart && !c.rolls(from[n], from[m], wide) {
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

// rolls tells whether the middle of a ball gets from node a to node b when every
// step, to one of 26 neighbours where it fits, brings it nearer: as it does around
// an edge, and not through a passage.
func (c *clearance) rolls(a, b int32, wide int32) bool {
	t := [3]int{}
	t[0], t[1], t[2] = c.split(b)
	x := [3]int{}
	x[0], x[1], x[2] = c.split(a)
	dist := func(p [3]int) int {
		u, v, w := p[0]-t[0], p[1]-t[1], p[2]-t[2]
		return u*u + v*v + w*w
	}
	for at := dist(x); at > 3; {
		best, next := at, x
		for u := max(x[0]-1, 0); u <= min(x[0]+1, c.lat.N[0]-1); u++ {
			for v := max(x[1]-1, 0); v <= min(x[1]+1, c.lat.N[1]-1); v++ {
				for w := max(x[2]-1, 0); w <= min(x[2]+1, c.lat.N[2]-1); w++ {
					p := [3]int{u, v, w}
					if d := dist(p); d < best && c.d2[(u*c.lat.N[1]+v)*c.lat.N[2]+w] >= wide {
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

// apart2 returns the squared distance of two nodes in pitches.
func (c *clearance) apart2(a, b int32) int {
	i, j, k := c.split(a)
	l, m, n := c.split(b)
	return (i-l)*(i-l) + (j-m)*(j-m) + (k-n)*(k-n)
}

// spread returns, per node of void, the node of wider space that it was reached
// from; its own number in wider space; -1 where none leads.
func (c *clearance) spread(wide int32) []int32 {
	from := make([]int32, len(c.d2))
	steps := c.steps()
	var rows [][]waitingNode // by twice their distance from where they come from
	push := func(w waitingNode) {
		d := int32(w.x)*int32(w.x) + int32(w.y)*int32(w.y) + int32(w.z)*int32(w.z)
		r := int(2 * math.Sqrt(float64(d)))
		for len(rows) <= r {
			rows = append(rows, nil)
		}
		rows[r] = append(rows[r], w)
	}
	for n, d := range c.d2 {
		from[n] = -1
		if d >= wide {
			from[n] = int32(n)
		}
	}
	// Distances of neighbours differ by a pitch at most, so their squares by less
	// than twice the larger distance.
	border := wide + 2*int32(math.Sqrt(float64(wide))) + 4
	for n, d := range c.d2 {
		if d < wide || d > border {
			continue
		}
		for _, s := range steps {
			if m := int32(n) + s.by; c.d2[m] > 0 && c.d2[m] < wide {
				push(waitingNode{m, int32(n), s.x, s.y, s.z})
			}
		}
	}
	for r := 0; r < len(rows); r++ {
		for i := 0; i < len(rows[r]); i++ { // a row may grow while it is read
			w := rows[r][i]
			if from[w.n] >= 0 {
				continue
			}
			from[w.n] = w.source
			for _, s := range steps {
				if m := w.n + s.by; from[m] < 0 && c.d2[m] > 0 {
					push(waitingNode{m, w.source, w.x + s.x, w.y + s.y, w.z + s.z})
				}
			}
		}
		rows[r] = nil
	}
	return from
}

// waitingNode is a node to be reached from a source that lies x, y, z pitches back.
type waitingNode struct {
	n, source int32
	x, y, z   int16
}

// nodeStep leads to a neighbour.
type nodeStep struct {
	by      int32
	x, y, z int16
}

// steps lists the ways to the six neighbours. Void nodes have all of them: the
// outermost nodes of the lattice count as material.
func (c *clearance) steps() [6]nodeStep {
	nz := int32(c.lat.N[2])
	nyz := nz * int32(c.lat.N[1])
	return [6]nodeStep{{-nyz, -1, 0, 0}, {nyz, 1, 0, 0}, {-nz, 0, -1, 0}, {nz, 0, 1, 0}, {-1, 0, 0, -1}, {1, 0, 0, 1}}
}

// close makes material of the outermost nodes.
func (c *clearance) close() {
	nx, ny, nz := c.lat.N[0], c.lat.N[1], c.lat.N[2]
	for line := range nx * ny {
		d := c.d2[line*nz : line*nz+nz]
		if i, j := line/ny, line%ny; i == 0 || j == 0 || i == nx-1 || j == ny-1 {
			clear(d)
		}
		d[0], d[nz-1] = 0, 0
	}
}

// boxes returns one box for every row of nodes that are neighbours along the third
// axis; each reaches a pitch beyond its nodes, so that boxes overlap and leave no
// slit along a wall.
func (c *clearance) boxes(nodes []int32) *geom.Mesh {
	slices.Sort(nodes)
	out := &geom.Mesh{}
	h := c.lat.Pitch()
	for a := 0; a < len(nodes); {
		b := a
		for b+1 < len(nodes) && nodes[b+1] == nodes[b]+1 && int(nodes[b+1])%c.lat.N[2] != 0 {
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
