package geomtest

import (
	"slices"

	"pourproof/geom"
)

// Op adds a box to a rectilinear solid or cuts it away.
type Op struct {
	Min, Max geom.Vec
	Solid    bool
}

// Add returns the Op that fills the box.
func Add(lo, hi geom.Vec) Op { return Op{lo, hi, true} }

// Cut returns the Op that empties the box.
func Cut(lo, hi geom.Vec) Op { return Op{lo, hi, false} }

// Grid returns the solid that the operations leave, done in order. Its faces are
// split along the planes of all boxes, so corners only meet corners; each
// rectangle is two consecutive facets. Two parts that touch along a line keep it
// as one edge of four facets, and parts that touch at a point share that corner:
// closed and outward, but not manifold there.
func Grid(ops ...Op) *geom.Mesh { return newCells(ops).mesh() }

// GridVolume returns the volume of Grid's solid, mm3.
func GridVolume(ops ...Op) float64 {
	c := newCells(ops)
	sum := 0.0
	for i := range c.solid {
		if x, y, z := c.at(i); c.solid[i] {
			sum += float64((c.plane[0][x+1] - c.plane[0][x]) * (c.plane[1][y+1] - c.plane[1][y]) * (c.plane[2][z+1] - c.plane[2][z]))
		}
	}
	return sum
}

// cells is the solid on the grid of all planes of the boxes.
type cells struct {
	plane [3][]float64 // ascending
	solid []bool       // x fastest
}

func newCells(ops []Op) *cells {
	c := &cells{}
	for _, op := range ops {
		if !(op.Min.X < op.Max.X && op.Min.Y < op.Max.Y && op.Min.Z < op.Max.Z) {
			mistake("box from %v to %v has no inside", op.Min, op.Max)
		}
		c.plane[0] = append(c.plane[0], op.Min.X, op.Max.X)
		c.plane[1] = append(c.plane[1], op.Min.Y, op.Max.Y)
		c.plane[2] = append(c.plane[2], op.Min.Z, op.Max.Z)
	}
	if len(ops) == 0 {
		return c
	}
	for a := range c.plane {
		slices.Sort(c.plane[a])
		c.plane[a] = slices.Compact(c.plane[a])
	}
	c.solid = make([]bool, (len(c.plane[0])-1)*(len(c.plane[1])-1)*(len(c.plane[2])-1))
	for _, op := range ops {
		for i := range c.solid {
			x, y, z := c.at(i)
			if c.plane[0][x] >= op.Min.X && c.plane[0][x+1] <= op.Max.X &&
				c.plane[1][y] >= op.Min.Y && c.plane[1][y+1] <= op.Max.Y &&
				c.plane[2][z] >= op.Min.Z && c.plane[2][z+1] <= op.Max.Z {
				c.solid[i] = op.Solid
			}
		}
	}
	return c
}

func (c *cells) at(i int) (x, y, z int) {
	nx, ny := len(c.plane[0])-1, len(c.plane[1])-1
	return i % nx, i / nx % ny, i / nx / ny
}

// has reports whether the cell is solid; outside the grid nothing is.
func (c *cells) has(p [3]int) bool {
	for a := range p {
		if p[a] < 0 || p[a] >= len(c.plane[a])-1 {
			return false
		}
	}
	return c.solid[p[0]+(len(c.plane[0])-1)*(p[1]+(len(c.plane[1])-1)*p[2])]
}

func (c *cells) mesh() *geom.Mesh {
	m := &geom.Mesh{}
	known := map[[3]int]int32{}
	vertex := func(p [3]int) int32 {
		i, ok := known[p]
		if !ok {
			i = int32(len(m.Vertices))
			known[p] = i
			m.Vertices = append(m.Vertices, geom.Vec{X: c.plane[0][p[0]], Y: c.plane[1][p[1]], Z: c.plane[2][p[2]]})
		}
		return i
	}
	for i := range c.solid {
		if !c.solid[i] {
			continue
		}
		x, y, z := c.at(i)
		for a := range 3 { // normal axis; u, v follow it cyclically
			u, v := (a+1)%3, (a+2)%3
			for side := range 2 {
				p := [3]int{x, y, z}
				p[a] += 2*side - 1
				if c.has(p) {
					continue
				}
				q := [4][3]int{{x, y, z}, {x, y, z}, {x, y, z}, {x, y, z}}
				for k := range q {
					q[k][a] += side
				}
				q[1][u]++
				q[2][u]++
				q[2][v]++
				q[3][v]++
				if side == 0 {
					q[1], q[3] = q[3], q[1]
				}
				a, b, c, d := vertex(q[0]), vertex(q[1]), vertex(q[2]), vertex(q[3])
				m.Facets = append(m.Facets, [3]int32{a, b, c}, [3]int32{a, c, d})
			}
		}
	}
	return m
}
