package geomtest

// orient is positive where a, b, c turn left.
func orient(a, b, c Point) float64 {
	return float64((b.X-a.X)*(c.Y-a.Y)) - float64((b.Y-a.Y)*(c.X-a.X))
}

// insidePolygon counts crossings of the half line to the right (Shimrat 1962).
func insidePolygon(p Point, polygon []Point) bool {
	in := false
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		if (a.Y > p.Y) == (b.Y > p.Y) {
			continue
		}
		if a.Y > b.Y {
			a, b = b, a
		}
		if orient(a, b, p) > 0 {
			in = !in
		}
	}
	return in
}

// between reports whether p lies on the closed segment a-b.
func between(p, a, b Point) bool {
	return orient(a, b, p) == 0 && min(a.X, b.X) <= p.X && p.X <= max(a.X, b.X) && min(a.Y, b.Y) <= p.Y && p.Y <= max(a.Y, b.Y)
}

// segmentsMeet reports whether the closed segments a-b and c-d share a point.
func segmentsMeet(a, b, c, d Point) bool {
	if between(a, c, d) || between(b, c, d) || between(c, a, b) || between(d, a, b) {
		return true
	}
	return (orient(a, b, c) > 0) != (orient(a, b, d) > 0) && (orient(c, d, a) > 0) != (orient(c, d, b) > 0)
}

// triangulate fills the first loop less the others, all counter-clockwise and
// apart from each other, with triangles between the given points (Meisters 1975:
// every polygon has an ear; holes are first joined to the outline by bridges).
// Indices count through the loops in order. Cubic at worst: for small outlines.
func triangulate(loops [][]Point) [][3]int {
	c := clipper{}
	var holes [][]int
	for i, l := range loops {
		ids := make([]int, len(l))
		for k := range l {
			ids[k] = len(c.pts) + k
			if i > 0 { // holes run the other way
				ids[k] = len(c.pts) + len(l) - 1 - k
			}
		}
		c.pts = append(c.pts, l...)
		if i == 0 {
			c.ring = ids
		} else {
			holes = append(holes, ids)
		}
	}
	for len(holes) > 0 {
		holes = c.bridge(holes)
	}
	var out [][3]int
	for len(c.ring) > 2 {
		i := c.bestEar()
		n := len(c.ring)
		out = append(out, [3]int{c.ring[(i+n-1)%n], c.ring[i], c.ring[(i+1)%n]})
		c.ring = append(c.ring[:i], c.ring[i+1:]...)
	}
	return out
}

type clipper struct {
	pts  []Point
	ring []int // what is left to fill, counter-clockwise
}

func dist2(a, b Point) float64 { return float64((a.X-b.X)*(a.X-b.X)) + float64((a.Y-b.Y)*(a.Y-b.Y)) }

// bridge joins one hole to the ring along the shortest free segment and returns
// the holes left.
func (c *clipper) bridge(holes [][]int) [][]int {
	best, bh, bk, bi := -1.0, 0, 0, 0
	for h, hole := range holes {
		for k, p := range hole {
			for i, q := range c.ring {
				d := dist2(c.pts[p], c.pts[q])
				if (best < 0 || d < best) && c.free(p, i, holes) {
					best, bh, bk, bi = d, h, k, i
				}
			}
		}
	}
	if best < 0 {
		mistake("no bridge to a hole: do its loops lie inside each other?")
	}
	hole := holes[bh]
	joined := append([]int(nil), c.ring[:bi+1]...)
	joined = append(joined, hole[bk:]...)
	joined = append(joined, hole[:bk+1]...)
	c.ring = append(joined, c.ring[bi:]...)
	return append(holes[:bh:bh], holes[bh+1:]...)
}

// free reports whether the segment from point p to the ring's corner i runs inside
// and touches nothing on its way.
func (c *clipper) free(p, i int, holes [][]int) bool {
	n := len(c.ring)
	a, q, b := c.pts[c.ring[(i+n-1)%n]], c.pts[c.ring[i]], c.pts[c.ring[(i+1)%n]]
	at := c.pts[p]
	leftOfA, leftOfB := orient(a, q, at) > 0, orient(q, b, at) > 0
	if orient(a, q, b) > 0 {
		if !leftOfA || !leftOfB {
			return false
		}
	} else if !leftOfA && !leftOfB {
		return false
	}
	for _, ring := range append(holes[:len(holes):len(holes)], c.ring) {
		for k, e := range ring {
			e, f := c.pts[e], c.pts[ring[(k+1)%len(ring)]]
			eEnd, fEnd := e == at || e == q, f == at || f == q
			switch {
			case eEnd && fEnd:
			case eEnd:
				if between(f, at, q) {
					return false
				}
			case fEnd:
				if between(e, at, q) {
					return false
				}
			case segmentsMeet(e, f, at, q):
				return false
			}
		}
	}
	return true
}

// bestEar returns the ring's corner that can be cut off with the shortest cut.
func (c *clipper) bestEar() int {
	n := len(c.ring)
	best, ear := -1.0, -1
	for i := range c.ring {
		p, q, r := c.pts[c.ring[(i+n-1)%n]], c.pts[c.ring[i]], c.pts[c.ring[(i+1)%n]]
		d := dist2(p, r)
		if (best < 0 || d < best) && orient(p, q, r) > 0 && c.empty(p, q, r) {
			best, ear = d, i
		}
	}
	if ear < 0 {
		mistake("polygon cannot be filled: does it cross itself?")
	}
	return ear
}

// empty reports whether no other corner of the ring lies in the closed triangle.
func (c *clipper) empty(p, q, r Point) bool {
	for _, k := range c.ring {
		s := c.pts[k]
		if s != p && s != q && s != r && orient(p, q, s) >= 0 && orient(q, r, s) >= 0 && orient(r, p, s) >= 0 {
			return false
		}
	}
	return true
}
