package mold

import (
	"math"

	"pourproof/geom"
)

// pointGrid sorts points into cubes, to find those near a place. Answers come in
// an order that depends on the points alone.
type pointGrid struct {
	points []geom.Vec
	size   float64
	head   map[[3]int32]int32 // asked by cube only
	next   []int32
}

func newPointGrid(points []geom.Vec, size float64) *pointGrid {
	g := &pointGrid{points: points, size: size, head: make(map[[3]int32]int32, len(points)/4+1), next: make([]int32, len(points))}
	for i := len(points) - 1; i >= 0; i-- {
		c := g.cube(points[i])
		if h, ok := g.head[c]; ok {
			g.next[i] = h
		} else {
			g.next[i] = -1
		}
		g.head[c] = int32(i)
	}
	return g
}

func (g *pointGrid) cube(p geom.Vec) [3]int32 {
	n := func(x float64) int32 { return int32(math.Floor(x / g.size)) }
	return [3]int32{n(p.X), n(p.Y), n(p.Z)}
}

// within calls visit for every point no farther than r, at most the grid's size,
// from p.
func (g *pointGrid) within(p geom.Vec, r float64, visit func(i int32, d float64)) {
	c := g.cube(p)
	for x := c[0] - 1; x <= c[0]+1; x++ {
		for y := c[1] - 1; y <= c[1]+1; y++ {
			for z := c[2] - 1; z <= c[2]+1; z++ {
				h, ok := g.head[[3]int32{x, y, z}]
				if !ok {
					continue
				}
				for i := h; i >= 0; i = g.next[i] {
					if d := g.points[i].Dist(p); d <= r {
						visit(i, d)
					}
				}
			}
		}
	}
}

// patches joins points no farther apart than r into groups and returns each
// group's members, in the order of their first members. Near linear.
func patches(points []geom.Vec, r float64) [][]int32 {
	g := newPointGrid(points, r)
	seen := make([]bool, len(points))
	var out [][]int32
	for i := range points {
		if seen[i] {
			continue
		}
		group := []int32{int32(i)}
		seen[i] = true
		for head := 0; head < len(group); head++ {
			g.within(points[group[head]], r, func(j int32, _ float64) {
				if !seen[j] {
					seen[j] = true
					group = append(group, j)
				}
			})
		}
		out = append(out, group)
	}
	return out
}
