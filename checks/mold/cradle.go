package mold

import (
	"math"

	"pourproof/geom"
)

// Cradle is a printable stand that holds the closed block at the pour's tilt: a ring
// whose top follows the block's underside. It lies in the mold's CAD frame and
// overlaps nothing of the block.
type Cradle struct {
	Mesh   *geom.Mesh
	Up     geom.Vec
	Height float64 // mm, from its foot to its highest point
	Volume float64 // mm3
	// Margin is how far, in mm, the middle of mass of block and cradle together lies
	// inside the foot's outline, both of one density.
	Margin float64
}

// What a cradle is made with, by design.
const (
	cradleFloor  = 4.0  // mm of it under the block's lowest point
	cradlePlay   = 0.25 // mm between block and cradle, what two prints are off
	cradleRing   = 14.0 // mm, width of the ring
	cradleBeyond = 3.0  // mm of it beyond the block's outline
	cradleClear  = 8.0  // mm left free around a channel's exit, for a syringe or a cup
	cradleLines  = 120  // of the grid along the longer side
)

// level is the tilt below which a block needs no cradle: half a degree.
const cradleLevel = 0.5 * math.Pi / 180

// NewCradle builds the cradle for a pour; nil where the block stands level. Cost: a few
// passes over the halves' vertices.
func NewCradle(m *Mold, f *Fill) *Cradle {
	if math.Abs(f.TiltAngle) < cradleLevel {
		return nil
	}
	c := cradling{frame: PourFrame(f.Up)}
	number := 0
	for _, h := range m.Halves {
		number += len(h.Mesh.Vertices)
	}
	points := make([]geom.Vec, 0, number)
	for _, h := range m.Halves {
		for _, v := range h.Mesh.Vertices {
			points = append(points, c.frame.Turn(v))
		}
	}
	c.outline = newOutline(geom.HullAbove(points))
	c.box = (&geom.Mesh{Vertices: points}).Box()
	size := c.box.Size()
	c.h = max(size.X, size.Y) / cradleLines
	c.supports(m, points)
	c.cap = c.box.Min.Z + c.rise(f)
	c.free(f)
	c.grid()
	return c.finish(m, f.Up)
}

// cradling is a cradle under way, in the pour's frame.
type cradling struct {
	frame   geom.Rigid
	box     geom.Box
	outline *outline // of the block from above
	planes  []support
	cap     float64 // height above which it does not go
	h       float64 // mm, pitch of the grid
	open    []geom.Vec
	openR   []float64
	nx, ny  int
	top     []float64 // at nodes
	cell    []bool
}

// rise returns how high the cradle reaches over the block's lowest point: as far as the
// block's lower face does, 10 mm at least.
func (c *cradling) rise(f *Fill) float64 {
	s := c.box.Size()
	across := math.Sqrt(float64(s.X*s.X) + float64(s.Y*s.Y))
	return max(10, min(float64(0.6*s.Z), float64(across*roundAngle(math.Sin(math.Abs(f.TiltAngle))))))
}

// free notes where channels leave: the cradle keeps away from them.
func (c *cradling) free(f *Fill) {
	for i := range f.Ports {
		p := &f.Ports[i]
		if p.Exit == nil || p.Slit {
			continue
		}
		at, way := c.frame.Turn(*p.Exit), c.frame.Turn(p.ExitAxis)
		if way.Z > 0.5 {
			continue // leaves upward
		}
		for s := 0.0; s <= 40; s += 4 {
			c.open = append(c.open, at.AddScaled(way, s))
			c.openR = append(c.openR, p.Diameter/2+cradleClear)
		}
	}
}

// height returns the cradle's top at a node: the play under the highest plane, taken at
// its lowest over the cells around the node, so that a flat cell between nodes stays
// under the block.
func (c *cradling) height(x, y float64) float64 {
	z := math.Inf(-1)
	for i := range c.planes {
		p := &c.planes[i]
		z = max(z, float64(p.a*x)+float64(p.b*y)+p.c-p.fall)
	}
	return min(z-cradlePlay, c.cap)
}

// grid fills the nodes and says which cells belong to the ring.
func (c *cradling) grid() {
	x0, y0 := c.box.Min.X-cradleBeyond-c.h, c.box.Min.Y-cradleBeyond-c.h
	s := c.box.Size()
	c.nx, c.ny = int((s.X+2*cradleBeyond)/c.h)+4, int((s.Y+2*cradleBeyond)/c.h)+4
	c.box.Min.X, c.box.Min.Y = x0, y0
	c.top = make([]float64, c.nx*c.ny)
	for i := range c.nx {
		for j := range c.ny {
			c.top[i*c.ny+j] = c.height(x0+float64(float64(i)*c.h), y0+float64(float64(j)*c.h))
		}
	}
	c.cell = make([]bool, c.nx*c.ny)
	for i := range c.nx - 1 {
		for j := 0; j < c.ny-1; j++ {
			in, off := c.inRing(geom.Vec{X: x0 + float64((float64(i)+0.5)*c.h), Y: y0 + float64((float64(j)+0.5)*c.h)})
			c.cell[i*c.ny+j] = in
			j += max(0, int(off/c.h-0.01)) // the next cells are a cell nearer each at most: not in either
		}
	}
	c.noCorners()
	c.onePiece()
}

// inRing tells whether a cell with this middle belongs to the cradle, and if it lies aside
// of the ring, how far at least, mm.
func (c *cradling) inRing(p geom.Vec) (in bool, aside float64) {
	d := c.outline.distance(p)
	if aside = max(d-cradleBeyond, -cradleRing-d); aside > 0 {
		return false, aside
	}
	for i, q := range c.open {
		dx, dy := p.X-q.X, p.Y-q.Y
		if r := c.openR[i]; float64(dx*dx)+float64(dy*dy) < float64(r*r) && c.height(p.X, p.Y) > q.Z-r {
			return false, 0
		}
	}
	return true, 0
}

// noCorners takes away cells that touch others at a corner only, until none does: edges
// there would belong to four facets.
func (c *cradling) noCorners() {
	for again := true; again; {
		again = false
		for i := range c.nx - 1 {
			for j := range c.ny - 1 {
				a, b, d, e := i*c.ny+j, i*c.ny+j+1, (i+1)*c.ny+j, (i+1)*c.ny+j+1
				if c.cell[a] && c.cell[e] && !c.cell[b] && !c.cell[d] {
					c.cell[a], again = false, true
				}
				if c.cell[b] && c.cell[d] && !c.cell[a] && !c.cell[e] {
					c.cell[b], again = false, true
				}
			}
		}
	}
}

// onePiece keeps the largest set of cells that hang together by their sides, of equals
// the first.
func (c *cradling) onePiece() {
	piece := make([]int32, len(c.cell))
	best, most, number := int32(0), 0, int32(0)
	for start := range c.cell {
		if !c.cell[start] || piece[start] != 0 {
			continue
		}
		number++
		piece[start] = number
		queue := []int{start}
		for n := 0; n < len(queue); n++ {
			for _, by := range [4]int{1, -1, c.ny, -c.ny} { // the last row and column are empty
				if k := queue[n] + by; k >= 0 && k < len(c.cell) && c.cell[k] && piece[k] == 0 {
					piece[k] = number
					queue = append(queue, k)
				}
			}
		}
		if len(queue) > most {
			best, most = number, len(queue)
		}
	}
	for k := range c.cell {
		c.cell[k] = c.cell[k] && piece[k] == best
	}
}

// finish meshes the cells, turns the cradle back and weighs it.
func (c *cradling) finish(m *Mold, up geom.Vec) *Cradle {
	foot := c.box.Min.Z - cradleFloor
	node := func(i, j int, z float64) geom.Vec {
		return geom.Vec{X: c.box.Min.X + float64(float64(i)*c.h), Y: c.box.Min.Y + float64(float64(j)*c.h), Z: z}
	}
	w := geom.NewWelder(8 * c.nx * c.ny)
	quad := func(p, q, r, s geom.Vec) { w.Add(p, q, r); w.Add(p, r, s) }
	has := func(i, j int) bool { return i >= 0 && j >= 0 && i < c.nx && j < c.ny && c.cell[i*c.ny+j] }
	high := foot
	var ground []geom.Vec
	for i := range c.nx - 1 {
		for j := range c.ny - 1 {
			if !has(i, j) {
				continue
			}
			var t, b [4]geom.Vec // around the cell from above, counter-clockwise
			for k, o := range [4][2]int{{0, 0}, {1, 0}, {1, 1}, {0, 1}} {
				z := max(c.top[(i+o[0])*c.ny+j+o[1]], foot+1)
				t[k], b[k] = node(i+o[0], j+o[1], z), node(i+o[0], j+o[1], foot)
				high = max(high, z)
				ground = append(ground, node(i+o[0], j+o[1], 0))
			}
			quad(t[0], t[1], t[2], t[3])
			quad(b[3], b[2], b[1], b[0])
			for k, beside := range [4][2]int{{0, -1}, {1, 0}, {0, 1}, {-1, 0}} {
				if !has(i+beside[0], j+beside[1]) {
					quad(t[k], b[k], b[(k+1)%4], t[(k+1)%4])
				}
			}
		}
	}
	flat := w.Mesh()
	middle, mass := geom.Vec{}, 0.0
	add := func(of amounts, turn bool) {
		p := of.centroid()
		if turn {
			p = c.frame.Turn(p)
		}
		middle, mass = middle.AddScaled(p, of.volume), mass+of.volume
	}
	for i := range m.Halves {
		add(m.Halves[i].amounts(), true)
	}
	add(m.Part.amounts(), true) // resin
	whole := amountsOf(flat)
	add(whole, false)
	middle = middle.Scale(1 / mass)
	middle.Z = 0
	return &Cradle{Mesh: flat.Map(c.frame.TurnBack), Up: up, Height: high - foot, Volume: whole.volume, Margin: -newOutline(geom.HullAbove(ground)).distance(middle)}
}
