package mold

import (
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"pourproof/geom"
)

// outside is the space that a ball of radius reach rolling in from far away can
// cover (the complement of the solid's closing by that ball). The ball's centre
// moves on a lattice; every centre has its own exact distance to the nearest
// surface, measured when first asked for, and stands for the empty ball of that radius,
// so that the outside reaches flat faces whatever their place between lattice points. Between balls
// of neighbouring centres a cusp of less than
// reach - sqrt(reach^2 - 2(pitch/2)^2) = 0.03 mm is left (reach 8, pitch 1).
type outside struct {
	origin geom.Vec
	pitch  float64
	reach  float64
	n      [3]int
	f      *fixed                   // whose surfaces stop the ball
	dist   []atomic.Uint32          // per lattice point: how far the walk got, or the bits of the empty radius
	cells  []atomic.Pointer[[]ball] // per lattice cell, filled when first asked for
}

// What the walk found of a lattice point; bits above these are those of a float32 of
// ordinary size.
const (
	notReached = iota // or not yet
	blocked           // a surface is nearer than reach
	reached           // the empty radius is not measured yet
)

type ball struct {
	c geom.Vec
	r float64
}

// slack is how much beyond reach a centre's distance is still of use: every
// point of the outside has a centre within one lattice diagonal of its own.
func (o *outside) slack() float64 { return o.pitch * math.Sqrt(3) }

// maxBallPoints bounds the lattice: 12 bytes a point, 1.2 GB, a block of 460 mm at
// reach 8. coarsestBall is how many pitches a reach has at least: 4 leave cusps of
// 0.13 mm at reach 8 and are enough for a block of 900 mm.
const (
	maxBallPoints = 100_000_000
	coarsestBall  = 4
)

// mostReaches is how far part and halves may stretch together along one axis, in
// reaches: 2 m at reach 8, longer than any mold is printed or poured (no source). A body
// with a speck 90 m away takes few points and yet gigabytes in what is built on its box.
const mostReaches = 250

// tooWide names the body and the place that lie farthest from the middle one of all
// vertices along the longest side: a speck far away, or a body in other units.
func (m *Mold) tooWide() error {
	size := m.box().Size()
	along := func(v geom.Vec) float64 {
		switch {
		case size.X >= size.Y && size.X >= size.Z:
			return v.X
		case size.Y >= size.Z:
			return v.Y
		}
		return v.Z
	}
	bodies := append([]Body{m.Part}, m.Halves...)
	var all []float64
	for i := range bodies {
		for _, v := range bodies[i].Mesh.Vertices {
			all = append(all, along(v))
		}
	}
	slices.Sort(all)
	middle := all[len(all)/2]
	far, name, at := -1.0, "", geom.Vec{}
	for i := range bodies {
		for _, v := range bodies[i].Mesh.Vertices {
			if d := math.Abs(along(v) - middle); d > far || d == far && name == bodies[i].source() && v.Less(at) {
				far, name, at = d, bodies[i].source(), v
			}
		}
	}
	return fmt.Errorf("part and halves span %.0f x %.0f x %.0f mm together, which is no mold with a reach of %g mm: %s reaches out to %s; check the units of every file, and delete what lies far away in this one",
		size.X, size.Y, size.Z, m.Reach, name, placeText(at))
}

// rollBall finds the outside of halves and part. Linear in lattice points within
// the mold's box grown by the reach; those nearer than it to the box ask whether a surface
// is. nil for what is far too large to be a mold with
// channels: one mesh in other units, or something that lies far away.
func rollBall(f *fixed, reach float64) *outside {
	o := &outside{reach: reach, pitch: reach / 8, f: f}
	for ; ; o.pitch *= 1.05 {
		box := f.box.Grow(reach + 3*o.pitch)
		o.origin = box.Min
		s, points := box.Size(), 1.0
		for a, x := range [3]float64{s.X, s.Y, s.Z} {
			n := math.Ceil(x/o.pitch) + 1
			points *= n
			o.n[a] = int(min(n, maxBallPoints))
		}
		if points <= maxBallPoints {
			break
		}
		if o.pitch > reach/coarsestBall {
			return nil
		}
	}
	o.dist = make([]atomic.Uint32, o.n[0]*o.n[1]*o.n[2])
	o.cells = make([]atomic.Pointer[[]ball], len(o.dist))
	o.roll()
	return o
}

func (o *outside) index(i, j, k int) int { return (i*o.n[1]+j)*o.n[2] + k }

func (o *outside) point(i, j, k int) geom.Vec {
	return o.origin.Add(geom.Vec{X: float64(i) * o.pitch, Y: float64(j) * o.pitch, Z: float64(k) * o.pitch})
}

// radius returns the distance from a lattice point to the nearest surface, reach + slack
// at most; 0 where the centre cannot get.
func (o *outside) radius(i, j, k int) float64 {
	at := &o.dist[o.index(i, j, k)]
	switch was := at.Load(); was {
	case notReached, blocked:
		return 0
	case reached:
	default:
		return float64(math.Float32frombits(was))
	}
	p, d := o.point(i, j, k), o.reach+o.slack()
	if h, ok := o.f.tree.Nearest(p, d); ok {
		d = h.Dist
	}
	if h, ok := o.f.partTree.Nearest(p, d); ok {
		d = min(d, h.Dist)
	}
	at.Store(math.Float32bits(float32(d)))
	return float64(float32(d))
}

// holds tells whether p lies in the outside. It remembers, per lattice cell, the
// balls that reach the cell; two goroutines that ask for a cell at once work out
// the same list twice.
func (o *outside) holds(p geom.Vec) bool {
	q := p.Sub(o.origin).Scale(1 / o.pitch)
	i, j, k := int(math.Floor(q.X)), int(math.Floor(q.Y)), int(math.Floor(q.Z))
	if i < 0 || j < 0 || k < 0 || i >= o.n[0] || j >= o.n[1] || k >= o.n[2] {
		return true
	}
	cell := &o.cells[o.index(i, j, k)]
	balls := cell.Load()
	if balls == nil {
		near := o.near(i, j, k)
		balls = &near
		cell.Store(balls)
	}
	for _, b := range *balls {
		if p.Sub(b.c).Norm2() <= b.r*b.r {
			return true
		}
	}
	return false
}

// near collects the balls that touch the cell from point (i,j,k) to the next. If
// one covers the whole cell it is the only one.
func (o *outside) near(i, j, k int) []ball {
	mid := o.point(i, j, k).Add(geom.Vec{X: o.pitch / 2, Y: o.pitch / 2, Z: o.pitch / 2})
	half := o.slack() / 2
	most := (o.reach + o.slack()) * (1 + 1e-6) // rounded to a float32
	w := int(math.Ceil((o.reach+o.slack()+half)/o.pitch)) + 1
	var some [][3]int // that may touch it
	for x := max(i-w, 0); x <= min(i+w, o.n[0]-1); x++ {
		for y := max(j-w, 0); y <= min(j+w, o.n[1]-1); y++ {
			for z := max(k-w, 0); z <= min(k+w, o.n[2]-1); z++ {
				if o.dist[o.index(x, y, z)].Load() < reached {
					continue
				}
				c := o.point(x, y, z)
				switch d := c.Dist(mid); {
				case d+half <= o.reach: // no ball is smaller
					return []ball{{c, o.reach}}
				case d-half <= most:
					some = append(some, [3]int{x, y, z})
				}
			}
		}
	}
	var out []ball
	for _, at := range some {
		c, r := o.point(at[0], at[1], at[2]), o.radius(at[0], at[1], at[2])
		d := c.Dist(mid)
		if d+half <= r {
			return []ball{{c, r}}
		}
		if d-half <= r {
			out = append(out, ball{c, r})
		}
	}
	return out
}
