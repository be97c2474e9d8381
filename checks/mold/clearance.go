package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// clearance holds, for the nodes of a lattice around a half in the CAD frame, how much
// room there is: whether a ball as wide as the passages looked for fits about a node.
// It says where passages are; their widths are measured on the mesh.
type clearance struct {
	nodeRows
	solid  nodeSet    // nodes in material
	wide   nodeSet    // nodes about which the ball fits
	narrow nodeSet    // other nodes of void
	ranks  []int32    // of narrow
	width  float64    // mm: of the passages that plugs close
	plugs  *geom.Mesh // nil if there are none
	tree   *bvh.Tree  // of the plugs

	ball []chord // rows that a ball of the width reaches
}

// Bounds of the lattice: eight pitches to the width looked for, so that a passage a
// quarter as wide, which another lattice is for, is still two pitches wide.
const (
	finestRoom   = 0.25
	widthPitches = 8
	maxRoomNodes = 6_000_000
)

// newClearance works out the room around a half and plugs for passages narrower than
// width. Pitches under finest mm are not used. Cost: a cast, and about a bit operation
// a node for every node on a ball's cross-section.
func newClearance(mesh *geom.Mesh, width, finest float64) (*clearance, error) {
	finest = max(finestRoom, finest, width/widthPitches)
	box := mesh.Box().Grow(width/2 + 4*finest)
	lat, err := column.NewLattice(geom.Identity(), box, printCell(box, finest, maxRoomNodes))
	if err != nil {
		return nil, err
	}
	c := &clearance{nodeRows: newNodeRows(lat), width: width}
	c.solid = c.material(mesh)
	c.wide, c.narrow = c.inside(), c.inside()
	near := c.near(c.solid, int(c.most()))
	for i, n := range near {
		c.wide[i] &^= n
		c.narrow[i] &= n &^ c.solid[i]
	}
	c.ranks = c.narrow.ranks()
	c.ball = c.disc(int(c.most()))
	if c.plugs = c.newPlugs(); c.plugs != nil {
		c.tree = bvh.Build(c.plugs)
	}
	return c, nil
}

// material returns the nodes in a body.
func (c *clearance) material(mesh *geom.Mesh) nodeSet {
	lines := column.Snap(c.lat, []*geom.Mesh{mesh}, nil).Cast(2)
	out := c.none()
	for line := 0; line+1 < len(lines.Start); line++ {
		for i := lines.Start[line]; i < lines.Start[line+1]; i++ {
			k, last := max(c.lat.NodeAbove(2, lines.Lo[i]), 0), min(c.lat.NodeBelow(2, lines.Hi[i]), c.lat.N[2]-1)
			out.fill(line*c.stride+k, line*c.stride+last)
		}
	}
	return out
}

// inside returns all nodes but the outermost, which count as material: so every node
// of void has all its neighbours.
func (c *clearance) inside() nodeSet {
	out := c.none()
	nx, ny := c.lat.N[0], c.lat.N[1]
	for i := 1; i < nx-1; i++ {
		for j := 1; j < ny-1; j++ {
			row := (i*ny + j) * c.stride
			out.fill(row+1, row+c.lat.N[2]-2)
		}
	}
	return out
}

// most returns the squared distance to material, in pitches, from which on a ball of the
// width fits about a node, 25 at most. Half a pitch is what lies, on average, between
// the surface and the nearest node of material.
func (c *clearance) most() int32 {
	d := c.width/2/c.lat.Pitch() + 0.5
	return int32(math.Ceil(d * d))
}

// roomAt returns the squared distance in pitches from node n to the nearest node of
// material, most() where it is more, 0 in material.
func (c *clearance) roomAt(n int32) int32 {
	switch {
	case c.wide.has(n):
		return c.most()
	case c.narrow.has(n):
		return int32(c.solid.nearest(n, c.ball, int(c.most())))
	}
	return 0
}

// nodeAt returns the node nearest to a CAD point, false outside the lattice.
func (c *clearance) nodeAt(p geom.Vec) (at [3]int, ok bool) {
	q := c.lat.Place(p)
	half := int32(1) << (c.lat.Bits - 1)
	for a, v := range [3]float64{q.X, q.Y, q.Z} {
		if !(v > -1e9 && v < 1e9) {
			return at, false
		}
		if at[a] = c.lat.NodeBelow(a, int32(v)+half); at[a] < 0 || at[a] >= c.lat.N[a] {
			return at, false
		}
	}
	return at, true
}

// nearestSolid returns the node of material nearest to a node and its squared distance
// in pitches, looked for row by row in growing squares around it.
func (c *clearance) nearestSolid(at [3]int) (d2 int, foot [3]int) {
	d2 = 1 << 30
	words := c.stride / 64
	look := func(i, j int) {
		x, y := i-at[0], j-at[1]
		if i < 0 || j < 0 || i >= c.lat.N[0] || j >= c.lat.N[1] || x*x+y*y >= d2 {
			return
		}
		row := (i*c.lat.N[1] + j) * words
		if k, ok := nearestBit(c.solid[row:row+words], at[2]); ok {
			if d := x*x + y*y + (k-at[2])*(k-at[2]); d < d2 {
				d2, foot = d, [3]int{i, j, k}
			}
		}
	}
	look(at[0], at[1])
	for r := 1; r*r < d2 && r < max(c.lat.N[0], c.lat.N[1]); r++ {
		for s := -r; s < r; s++ {
			look(at[0]+s, at[1]-r)
			look(at[0]+r, at[1]+s)
			look(at[0]-s, at[1]+r)
			look(at[0]-r, at[1]-s)
		}
	}
	return d2, foot
}
