package meshio

import (
	"errors"
	"math"

	"pourproof/geom"
)

// Limits of cutting polygons. The work is at most corners times re-entrant
// corners; the budget is a few seconds of it for a whole file.
const (
	maxCorners = 20_000
	cutBudget  = 2_000_000_000
)

// warpLimit is how far, in mm of the file, a corner may lie from its polygon's
// plane before the polygon is called warped: below it the choice of triangles
// cannot matter to a mold.
const warpLimit = 0.01

// polygonCutter cuts plane polygons, convex or not, into triangles by clipping
// ears (Meisters 1975). It works in the coordinate plane the polygon faces most,
// so that no coordinate is rounded. Buffers are kept from one polygon to the next.
type polygonCutter struct {
	vertices []geom.Vec
	x, y     []float64 // of each corner, turned so that the polygon runs counter-clockwise
	next     []int32
	prev     []int32
	reflex   []int32 // corners that were re-entrant at the start

	work    int
	warped  int // polygons with a corner farther than warpLimit from their plane
	warp    float64
	crossed int // polygons that cross themselves: cut in some way
}

// cut appends the triangles of one polygon; n corners give n-2.
func (c *polygonCutter) cut(corners []int32, out [][3]int32) ([][3]int32, error) {
	if len(corners) == 3 {
		return append(out, [3]int32(corners)), nil
	}
	c.project(corners)
	if len(corners) == 4 && c.quad() {
		return c.cutQuad(corners, out), nil
	}
	return c.clip(corners, out)
}

// project fills x and y, and judges how plane the polygon is. The normal is
// Newell's: the vector area, which a warped polygon has too.
func (c *polygonCutter) project(corners []int32) {
	p := func(i int) geom.Vec { return c.vertices[corners[i]] }
	base, n := p(0), geom.Vec{}
	for i := 1; i+1 < len(corners); i++ {
		n = n.Add(p(i).Sub(base).Cross(p(i + 1).Sub(base)))
	}
	n = n.Unit()
	warp := 0.0
	c.x, c.y = c.x[:0], c.y[:0]
	ax, ay, az := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	for i := range corners {
		v := p(i)
		warp = max(warp, math.Abs(v.Sub(base).Dot(n)))
		var x, y, facing float64
		switch {
		case az >= ax && az >= ay:
			x, y, facing = v.X, v.Y, n.Z
		case ax >= ay:
			x, y, facing = v.Y, v.Z, n.X
		default:
			x, y, facing = v.Z, v.X, n.Y
		}
		if facing < 0 {
			x = -x
		}
		c.x, c.y = append(c.x, x), append(c.y, y)
	}
	if warp > warpLimit {
		c.warped++
		c.warp = max(c.warp, warp)
	}
}

// turn is twice the area of the projected triangle a, b, c: positive for a left
// turn.
func (c *polygonCutter) turn(a, b, d int32) float64 {
	return float64((c.x[b]-c.x[a])*(c.y[d]-c.y[a])) - float64((c.x[d]-c.x[a])*(c.y[b]-c.y[a]))
}

// quad reports whether all four corners of a quadrangle turn left.
func (c *polygonCutter) quad() bool {
	return c.turn(0, 1, 2) > 0 && c.turn(1, 2, 3) > 0 && c.turn(2, 3, 0) > 0 && c.turn(3, 0, 1) > 0
}

// cutQuad cuts a convex quadrangle along its shorter diagonal, whatever corner it
// begins with.
func (c *polygonCutter) cutQuad(q []int32, out [][3]int32) [][3]int32 {
	v := c.vertices
	if v[q[0]].Sub(v[q[2]]).Norm2() <= v[q[1]].Sub(v[q[3]]).Norm2() {
		return append(out, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return append(out, [3]int32{q[1], q[2], q[3]}, [3]int32{q[1], q[3], q[0]})
}

// clip cuts ears until three corners are left. An ear is a left turn whose
// triangle holds no re-entrant corner; where none is left (a polygon that crosses
// itself, or all of whose corners lie in a line) the next corner is cut all the
// same, which keeps the surface closed.
func (c *polygonCutter) clip(corners []int32, out [][3]int32) ([][3]int32, error) {
	n := int32(len(corners))
	c.next, c.prev, c.reflex = c.next[:0], c.prev[:0], c.reflex[:0]
	for i := range n {
		c.next, c.prev = append(c.next, (i+1)%n), append(c.prev, (i+n-1)%n)
		if c.turn((i+n-1)%n, i, (i+1)%n) <= 0 {
			c.reflex = append(c.reflex, i)
		}
	}
	forced := false
	i, tried := int32(0), int32(0)
	for left := n; left > 3; {
		a, b := c.prev[i], c.next[i]
		ear := c.turn(a, i, b) > 0 && !c.holdsReflex(a, i, b)
		if c.work > cutBudget {
			return nil, errors.New("the polygons take too long to cut into triangles")
		}
		if !ear && tried < left {
			i, tried = b, tried+1
			continue
		}
		forced = forced || !ear && c.turn(a, i, b) != 0
		out = append(out, [3]int32{corners[a], corners[i], corners[b]})
		c.next[a], c.prev[b] = b, a
		left--
		// go on beyond the next corner, so that a fan does not grow from one corner
		i, tried = c.next[b], 0
	}
	// All triangles have the polygon's outline together, so if none is turned over
	// they cover it once.
	if forced || c.turn(c.prev[i], i, c.next[i]) < 0 {
		c.crossed++
	}
	return append(out, [3]int32{corners[c.prev[i]], corners[i], corners[c.next[i]]}), nil
}

// holdsReflex reports whether the triangle a, b, d holds a corner that is still
// in the polygon and was re-entrant at the start, edges included. Corners at the
// place of a, b or d do not count: a polygon with a hole runs along a slit twice.
func (c *polygonCutter) holdsReflex(a, b, d int32) bool {
	c.work += len(c.reflex) + 1
	kept := c.reflex[:0]
	holds := false
	for _, i := range c.reflex {
		if c.next[c.prev[i]] != i {
			continue // cut off already
		}
		kept = append(kept, i)
		if holds || c.at(i, a) || c.at(i, b) || c.at(i, d) {
			continue
		}
		holds = c.turn(a, b, i) >= 0 && c.turn(b, d, i) >= 0 && c.turn(d, a, i) >= 0
	}
	c.reflex = kept
	return holds
}

// at reports whether corners i and j have the same place.
func (c *polygonCutter) at(i, j int32) bool { return c.x[i] == c.x[j] && c.y[i] == c.y[j] }

// warn reports polygons that leave a choice.
func (c *polygonCutter) warn(f *File) {
	if c.warped > 0 {
		f.warn("warped-face", "%d faces are not plane (by up to %.3g); they are cut along one of several ways", c.warped, c.warp)
	}
	if c.crossed > 0 {
		f.warn("crossed-face", "%d faces cross themselves; they are cut along one of several ways", c.crossed)
	}
}
