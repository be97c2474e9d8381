package geom

import (
	"math"
	"slices"
)

// HullAbove returns the convex hull of points seen from above, counter-clockwise and
// with z 0: its corners, none on a side between two others. Fewer than three points, or
// points on one line, give two corners at most. Cost n log n (Andrew 1979) in the points
// that do not lie well inside of eight extreme ones (Akl and Toussaint 1978), linear in
// the others.
func HullAbove(points []Vec) []Vec {
	p := outerPoints(points)
	slices.SortFunc(p, compareVec)
	p = slices.Compact(p)
	if len(p) < 3 {
		return p
	}
	left := func(a, b, q Vec) bool {
		return float64((b.X-a.X)*(q.Y-a.Y))-float64((b.Y-a.Y)*(q.X-a.X)) > 0
	}
	var out []Vec
	for pass := range 2 {
		first := len(out)
		for _, q := range p {
			for len(out) >= first+2 && !left(out[len(out)-2], out[len(out)-1], q) {
				out = out[:len(out)-1]
			}
			out = append(out, q)
		}
		out = out[:len(out)-1]
		if pass == 0 {
			slices.Reverse(p)
		}
	}
	return out
}

// outerPoints returns the points, z taken as 0, without those that lie inside of the
// polygon of the extreme ones along the axes and between them, by so much that no rounding
// of the sweep tells otherwise: each side's product is off by less than 2^-50 of the
// square of the largest coordinate.
func outerPoints(points []Vec) []Vec {
	var extreme [8]Vec
	most := [8]float64{}
	for k := range most {
		most[k] = math.Inf(-1)
	}
	size := 0.0
	for _, q := range points {
		x, y := q.X, q.Y
		for k, d := range [8]float64{-y, x - y, x, x + y, y, y - x, -x, -x - y} { // counter-clockwise
			if d > most[k] {
				most[k], extreme[k] = d, Vec{X: x, Y: y}
			}
		}
		size = max(size, math.Abs(x), math.Abs(y))
	}
	margin := float64(size*size) * 0x1p-40
	var out []Vec
	for _, q := range points {
		sides, inside := 0, true
		for k, a := range extreme {
			b := extreme[(k+1)%8]
			if a == b {
				continue
			}
			if sides++; !(float64((b.X-a.X)*(q.Y-a.Y))-float64((b.Y-a.Y)*(q.X-a.X)) > margin) {
				inside = false
				break
			}
		}
		if !inside || sides == 0 { // none: all are one point
			out = append(out, Vec{X: q.X, Y: q.Y})
		}
	}
	return out
}
