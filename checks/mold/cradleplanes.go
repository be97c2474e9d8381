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

// straight is how far from a side's line, in mm, corners of an outline are left out: a
// straight edge of many facets has them, by roundings.
const straight = 1e-9

// straightened returns a convex polygon without the corners that lie within straight of
// the line between two others (Douglas and Peucker 1973).
func straightened(p []geom.Vec) []geom.Vec {
	if len(p) < 4 {
		return p
	}
	far := 0
	for i := range p {
		if p[i].Dist(p[0]) > p[far].Dist(p[0]) {
			far = i
		}
	}
	around := append(slices.Clone(p), p[0])
	return appendBends(appendBends(nil, around[:far+1]), around[far:])
}

// appendBends appends the first point of a way and those where it bends, without its
// last.
func appendBends(out, way []geom.Vec) []geom.Vec {
	first, last := way[0], way[len(way)-1]
	along := last.Sub(first).Unit()
	far, most := 0, straight
	for i, q := range way[1 : len(way)-1] {
		if d := along.Cross(q.Sub(first)).Norm(); d > most {
			far, most = i+1, d
		}
	}
	if far == 0 {
		return append(out, first)
	}
	return appendBends(appendBends(out, way[:far+1]), way[far:])
}
