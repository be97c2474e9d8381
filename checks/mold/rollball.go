package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// roll walks the ball's centre from the corner over all points at least reach
// from every surface.
func (o *outside) roll() {
	o.dist[0].Store(reached) // a reach and three pitches off the box along every axis
	w := newBallWalk(o)
	queue := []int32{0}
	for len(queue) > 0 {
		x := int(queue[len(queue)-1])
		c := [3]int{x / o.n[2] / o.n[1], x / o.n[2] % o.n[1], x % o.n[2]}
		queue = queue[:len(queue)-1]
		for a := 0; a < 3; a++ {
			for _, d := range [2]int{-1, 1} {
				e := c
				e[a] += d
				if e[a] < 0 || e[a] >= o.n[a] {
					continue
				}
				y := o.index(e[0], e[1], e[2])
				at := &o.dist[y]
				if at.Load() != notReached {
					continue
				}
				if !w.free(e[0], e[1], e[2]) {
					at.Store(blocked)
					continue
				}
				at.Store(reached)
				queue = append(queue, int32(y))
			}
		}
	}
}

// regionPoints is how many lattice points along each axis look for surfaces in one
// region.
const regionPoints = 4

// ballWalk is what a walk of the ball knows of the surfaces around.
type ballWalk struct {
	o       *outside
	across  diagonals // around all surfaces
	n       [2]int    // of regions, along y and z
	regions []ballRegion
}

// ballRegion is the surfaces that a ball may touch whose centre is a point of the region.
type ballRegion struct {
	known        bool // looked up when first asked for
	halves, part bvh.Region
}

func newBallWalk(o *outside) *ballWalk {
	along := func(n int) int { return (n + regionPoints - 1) / regionPoints }
	return &ballWalk{o: o, across: diagonalsOf(o.f.joined.Vertices, o.f.part.Vertices), n: [2]int{along(o.n[1]), along(o.n[2])},
		regions: make([]ballRegion, along(o.n[0])*along(o.n[1])*along(o.n[2]))}
}

// free tells whether no surface is nearer to a lattice point than reach.
func (w *ballWalk) free(i, j, k int) bool {
	o := w.o
	p := o.point(i, j, k)
	off := o.f.box.Min.Sub(p).Max(p.Sub(o.f.box.Max)).Max(geom.Vec{}) // to the box of all surfaces
	if least := o.reach * (1 + 1e-9); off.Norm() > least || w.across.beyond(p) > least {
		return true
	}
	i, j, k = i/regionPoints, j/regionPoints, k/regionPoints
	r := &w.regions[(i*w.n[0]+j)*w.n[1]+k]
	if !r.known {
		const half = float64(regionPoints-1) / 2
		mid := o.point(i*regionPoints, j*regionPoints, k*regionPoints).Add(geom.Vec{X: half * o.pitch, Y: half * o.pitch, Z: half * o.pitch})
		far := (o.reach + half*o.slack()) * (1 + 1e-9) // what no point of the region comes nearer to is left out
		*r = ballRegion{true, o.f.tree.Around(mid, far), o.f.partTree.Around(mid, far)}
	}
	below := math.Nextafter(o.reach, 0)
	return !r.halves.Within(p, below) && !r.part.Within(p, below)
}

// diagonals are the bounds of points along the six directions between two axes: about a
// round block they are nearer to it than its box.
type diagonals struct{ low, high [6]float64 }

// alongDiagonals returns how far a point lies along each, times the root of two.
func alongDiagonals(p *geom.Vec) [6]float64 {
	return [6]float64{p.X + p.Y, p.X - p.Y, p.Y + p.Z, p.Y - p.Z, p.Z + p.X, p.Z - p.X}
}

func diagonalsOf(clouds ...[]geom.Vec) (d diagonals) {
	for k := range d.low {
		d.low[k], d.high[k] = math.Inf(1), math.Inf(-1)
	}
	for _, points := range clouds {
		for i := range points {
			for k, x := range alongDiagonals(&points[i]) {
				if x < d.low[k] {
					d.low[k] = x
				}
				if x > d.high[k] {
					d.high[k] = x
				}
			}
		}
	}
	return d
}

// beyond returns how far p lies outside of the bounds, mm: no point of them is nearer to it.
func (d *diagonals) beyond(p geom.Vec) float64 {
	off := 0.0
	for k, x := range alongDiagonals(&p) {
		off = max(off, x-d.high[k], d.low[k]-x)
	}
	return off / math.Sqrt2
}
