package geom

import "math"

// Triangle is three corners, counter-clockwise seen from the outer side.
type Triangle struct{ A, B, C Vec }

// AreaVec returns the outward normal with the length of the area (mm2); zero
// for a degenerate triangle.
func (t Triangle) AreaVec() Vec { return t.B.Sub(t.A).Cross(t.C.Sub(t.A)).Scale(0.5) }

// Area returns the area in mm2.
func (t Triangle) Area() float64 { return t.AreaVec().Norm() }

// Normal returns the outward unit normal; zero for a degenerate triangle.
func (t Triangle) Normal() Vec { return t.AreaVec().Unit() }

// Centroid returns the mean of the corners.
func (t Triangle) Centroid() Vec { return t.A.Add(t.B).Add(t.C).Scale(1.0 / 3) }

// Box returns the bounds.
func (t Triangle) Box() Box { return Box{t.A.Min(t.B).Min(t.C), t.A.Max(t.B).Max(t.C)} }

// Closest returns the point of the closed triangle nearest to p. A degenerate
// triangle is treated as its longest edge. (Ericson, Real-Time Collision
// Detection, 2005, section 5.1.5: walk through the Voronoi regions.)
func (t Triangle) Closest(p Vec) Vec {
	ab, ac, ap := t.B.Sub(t.A), t.C.Sub(t.A), p.Sub(t.A)
	d1, d2 := ab.Dot(ap), ac.Dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return t.A
	}
	bp := p.Sub(t.B)
	d3, d4 := ab.Dot(bp), ac.Dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return t.B
	}
	vc := float64(d1*d4) - float64(d3*d2)
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		if lost(vc, float64(d1*d4), float64(d3*d2)) {
			return t.closestOnSliver(p)
		}
		return t.A.AddScaled(ab, ratio(d1, d1-d3))
	}
	cp := p.Sub(t.C)
	d5, d6 := ab.Dot(cp), ac.Dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return t.C
	}
	vb := float64(d5*d2) - float64(d1*d6)
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		if lost(vb, float64(d5*d2), float64(d1*d6)) {
			return t.closestOnSliver(p)
		}
		return t.A.AddScaled(ac, ratio(d2, d2-d6))
	}
	va := float64(d3*d6) - float64(d5*d4)
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		if lost(va, float64(d3*d6), float64(d5*d4)) {
			return t.closestOnSliver(p)
		}
		return t.B.AddScaled(t.C.Sub(t.B), ratio(d4-d3, (d4-d3)+(d5-d6)))
	}
	den := va + vb + vc // 4 area^2, what is left of products that may be far larger
	if lost(den, math.Abs(float64(d1*d4))+math.Abs(float64(d3*d2))+math.Abs(float64(d5*d2)),
		math.Abs(float64(d1*d6))+math.Abs(float64(d3*d6))+math.Abs(float64(d5*d4))) {
		return t.closestOnSliver(p)
	}
	return t.A.AddScaled(ab, vb/den).AddScaled(ac, vc/den)
}

// cancelled is the share of their terms above which the areas in Closest are good to
// 2^-32 at least: a place on the triangle is then off by less than 1e-9 of its size.
// Below it the triangle is a sliver, or so far away that its roundings are seen.
const cancelled = 0x1p-20

// lost reports whether x is so much smaller than the terms that it is the sum of that
// little of it is left but their roundings.
func lost(x, a, b float64) bool {
	return math.Abs(x) <= float64(cancelled*(math.Abs(a)+math.Abs(b)))
}

// closestOnSliver is Closest where p's foot seems to lie inside or beside an edge and
// the areas that say so are differences of nearly equal products. The foot is sought
// anew, in coordinates along the longest edge and across it, which are good to
// roundings however low the triangle, and held against the nearest point of the edges.
func (t Triangle) closestOnSliver(p Vec) Vec {
	best := t.closestOnEdges(p)
	a, b, c := t.A, t.B, t.C
	if long := a.Sub(b).Norm2(); b.Sub(c).Norm2() > max(long, c.Sub(a).Norm2()) {
		a, b, c = b, c, a
	} else if c.Sub(a).Norm2() > long {
		a, b, c = c, a, b
	}
	along, ac, ap := b.Sub(a), c.Sub(a), p.Sub(a)
	x, top := ratio(ap.Dot(along), along.Norm2()), ratio(ac.Dot(along), along.Norm2())
	up := ac.AddScaled(along, -top)
	w := ratio(ap.AddScaled(along, -x).Dot(up), up.Norm2())
	v := x - float64(w*top)
	if v < 0 || w < 0 || v+w > 1 {
		return best
	}
	if q := a.AddScaled(along, v).AddScaled(ac, w); q.Sub(p).Norm2() < best.Sub(p).Norm2() {
		return q
	}
	return best
}

// closestOnEdges returns the nearest point of the three edges.
func (t Triangle) closestOnEdges(p Vec) Vec {
	best := ClosestOnSegment(p, t.A, t.B)
	for _, q := range [2]Vec{ClosestOnSegment(p, t.B, t.C), ClosestOnSegment(p, t.C, t.A)} {
		if q.Sub(p).Norm2() < best.Sub(p).Norm2() {
			best = q
		}
	}
	return best
}

// ClosestOnSegment returns the point of the segment a-b nearest to p.
func ClosestOnSegment(p, a, b Vec) Vec {
	d := b.Sub(a)
	t := ratio(p.Sub(a).Dot(d), d.Norm2())
	return a.AddScaled(d, min(max(t, 0), 1))
}

// ratio is a/b, and 0 where b is 0.
func ratio(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}
