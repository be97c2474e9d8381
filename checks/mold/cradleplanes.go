package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// support is a plane z = a x + b y + c that no point of the block lies under. fall is how
// much lower it may lie within one cell of the cradle's grid, mm.
type support struct{ a, b, c, fall float64 }

// supports takes the planes that lie under every point of the block,
// for the slopes of its large faces and a fan of others: the highest of them is under
// the block's hull everywhere, and on it where a face lies on it.
func (c *cradling) supports(m *Mold, points []geom.Vec) {
	blocks := newPointBlocks(points, c.box)
	for _, s := range c.slopes(m) {
		c.planes = append(c.planes, support{s.a, s.b, blocks.lowest(s.a, s.b), float64((math.Abs(s.a) + math.Abs(s.b)) * c.h)})
	}
}

// slope is how much a plane rises along x and y, mm a mm.
type slope struct{ a, b float64 }

// slopes returns those of the halves' large faces that look down and a fan of others.
func (c *cradling) slopes(m *Mold) []slope {
	seen := map[slope]bool{} // asked by slope only
	var list []slope
	add := func(a, b float64) {
		s := slope{math.Round(a*1e6) / 1e6, math.Round(b*1e6) / 1e6}
		if !seen[s] && max(math.Abs(a), math.Abs(b)) <= 6 {
			seen[s] = true
			list = append(list, s)
		}
	}
	add(0, 0)
	for i := range m.Halves {
		h := &m.Halves[i]
		large := h.amounts().area / 200
		about := float64(large*large) * (1 - 1e-9) // a turn rounds lengths, by far less
		for f := range h.Mesh.Facets {
			n := h.Mesh.Triangle(f).AreaVec()
			if n.Norm2() < about {
				continue
			}
			if n = c.frame.Turn(n); n.Norm() >= large && n.Z < 0 {
				add(-n.X/n.Z, -n.Y/n.Z)
			}
		}
	}
	for k := range 24 {
		s, co := math.Sincos(2 * math.Pi * float64(k) / 24)
		for _, steep := range [3]float64{0.25, 1, 3} {
			add(roundAngle(steep*co), roundAngle(steep*s))
		}
	}
	slices.SortFunc(list, func(p, q slope) int { return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b)) })
	return list
}

// pointBlocks holds points in blocks of some that lie near each other seen from above,
// each with its box.
type pointBlocks struct {
	points []geom.Vec
	boxes  []geom.Box
}

const (
	blockPoints = 64 // in a block
	blockCells  = 64 // along a side of the box, by which points are put in order
)

func newPointBlocks(points []geom.Vec, box geom.Box) *pointBlocks {
	cell := func(x, least, most float64) uint64 {
		if !(most > least) {
			return 0
		}
		return uint64((x - least) / (most - least) * (blockCells - 1))
	}
	keys := make([]uint64, len(points))
	for i, p := range points {
		keys[i] = (cell(p.X, box.Min.X, box.Max.X)*blockCells+cell(p.Y, box.Min.Y, box.Max.Y))<<32 | uint64(i)
	}
	keys = geom.RadixSort(keys, 32)
	b := &pointBlocks{points: make([]geom.Vec, len(points))}
	for i, k := range keys {
		b.points[i] = points[uint32(k)]
	}
	for some := range slices.Chunk(b.points, blockPoints) {
		b.boxes = append(b.boxes, (&geom.Mesh{Vertices: some}).Box())
	}
	return b
}

// lowest returns the least z - a x - b y of all points. That of a block's box, computed
// alike, is not above that of any point in it: roundings keep the order of numbers.
func (b *pointBlocks) lowest(a, slopeY float64) float64 {
	low := math.Inf(1)
	for i := range b.boxes {
		box := &b.boxes[i]
		x, y := box.Max.X, box.Max.Y
		if a < 0 {
			x = box.Min.X
		}
		if slopeY < 0 {
			y = box.Min.Y
		}
		if box.Min.Z-float64(a*x)-float64(slopeY*y) >= low {
			continue
		}
		for _, p := range b.points[i*blockPoints : min((i+1)*blockPoints, len(b.points))] {
			low = min(low, p.Z-float64(a*p.X)-float64(slopeY*p.Y))
		}
	}
	return low
}
