package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// pointGrid sorts points into cubes, to find those near a place. Answers come in
// an order that depends on the points alone.
type pointGrid struct {
	points []geom.Vec
	size   float64 // mm, edge of a cube
	low    geom.Vec
	n      [3]int
	start  []int32 // per cube: its first place in order, and the total
	order  []int32 // points, cube by cube, in their own order
}

// newPointGrid sorts points into cubes of edge size mm, or larger ones where there
// would be more than 64 cubes a point. Cost: linear.
func newPointGrid(points []geom.Vec, size float64) *pointGrid {
	g := &pointGrid{points: points, size: size}
	box := geom.EmptyBox()
	for _, p := range points {
		box = box.Include(p)
	}
	if len(points) == 0 {
		return g
	}
	g.low = box.Min
	s := box.Size()
	most := float64(64*len(points) + 1024)
	for (s.X/g.size+1)*(s.Y/g.size+1)*(s.Z/g.size+1) > most {
		g.size *= 1.25
	}
	g.n = [3]int{int(s.X/g.size) + 1, int(s.Y/g.size) + 1, int(s.Z/g.size) + 1}
	g.start = make([]int32, g.n[0]*g.n[1]*g.n[2]+1)
	g.order = make([]int32, len(points))
	at := make([]int32, len(points))
	for i, p := range points {
		c := g.cube(p)
		at[i] = int32((c[0]*g.n[1]+c[1])*g.n[2] + c[2])
		g.start[at[i]+1]++
	}
	for c := 1; c < len(g.start); c++ {
		g.start[c] += g.start[c-1]
	}
	next := slices.Clone(g.start)
	for i := range points {
		g.order[next[at[i]]] = int32(i)
		next[at[i]]++
	}
	return g
}

// cube returns the numbers of the cube around p, which may lie outside the grid.
func (g *pointGrid) cube(p geom.Vec) [3]int {
	d := p.Sub(g.low)
	n := func(x float64) int { return int(math.Floor(x / g.size)) }
	return [3]int{n(d.X), n(d.Y), n(d.Z)}
}

// within calls visit for every point no farther than r, at most the grid's size,
// from p.
func (g *pointGrid) within(p geom.Vec, r float64, visit func(i int32, d float64)) {
	g.until(p, r, func(i int32, d float64) bool {
		visit(i, d)
		return false
	})
}

// any tells whether a point is no farther than r, at most the grid's size, from p.
func (g *pointGrid) any(p geom.Vec, r float64) bool {
	return g.until(p, r, func(int32, float64) bool { return true })
}

// until is within up to the first point for which done is true, and tells whether there
// was one.
func (g *pointGrid) until(p geom.Vec, r float64, done func(i int32, d float64) bool) bool {
	if len(g.points) == 0 {
		return false
	}
	c := g.cube(p)
	r2 := r * r * (1 + 0x1p-40) // rounding of the distance
	for x := max(c[0]-1, 0); x <= min(c[0]+1, g.n[0]-1); x++ {
		for y := max(c[1]-1, 0); y <= min(c[1]+1, g.n[1]-1); y++ {
			row := (x*g.n[1] + y) * g.n[2]
			first, last := row+max(c[2]-1, 0), row+min(c[2]+1, g.n[2]-1)
			if first > last {
				continue
			}
			for _, i := range g.order[g.start[first]:g.start[last+1]] {
				d := g.points[i].Sub(p)
				if d.Norm2() > r2 {
					continue
				}
				if d := d.Norm(); d <= r && done(i, d) {
					return true
				}
			}
		}
	}
	return false
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
