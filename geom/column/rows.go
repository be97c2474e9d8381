package column

import "math"

// wide is the number of lines from which it pays to compute where a row of them
// enters and leaves a facet instead of trying one after the other.
const wide = 4

// many is few for many lines: it works out where a row of them enters and leaves the
// facet. Rows are along u or v, whichever makes fewer.
func (s *scanner) many(a, b, c *[3]int32, r rect, tag uint32) {
	u, v, w, bits := s.u&3, s.v&3, s.w&3, s.bits&63
	abU, abV := int64(b[u]-a[u]), int64(b[v]-a[v])
	caU, caV := int64(a[u]-c[u]), int64(a[v]-c[v])
	area := caU*abV - abU*caV
	if area == 0 {
		return
	}
	if area > 0 { // the outward normal runs along the line: the line leaves here
		tag |= leaving
	} else {
		b, c = c, b
		abU, abV, caU, caV, area = -caU, -caV, -abU, -abV, -area
	}
	u0, v0 := int64(s.firstU+r.u0)<<bits-int64(a[u]), int64(s.firstV+r.v0)<<bits-int64(a[v])
	abTie, caTie := tie(abV), tie(caV)
	ab, ca := abU*v0-abV*u0-abTie, caU*v0-caV*u0-caTie
	rest := area - abTie - caTie - tie(-abV-caV) // less the other two: the side of b -> c
	abU, abV, caU, caV = abU<<bits, abV<<bits, caU<<bits, caV<<bits
	low := min(a[w], b[w], c[w])
	inv := 1 / float64(area)
	z, za, zb, zc := float64(low), float64(a[w]-low)*inv, float64(b[w]-low)*inv, float64(c[w]-low)*inv
	s.rows(r, sides{ca, ab, rest, area, caTie, abTie}, step{-caV, -abV, s.nv}, step{caU, abU, 1}, [4]float64{z, za, zb, zc}, tag)
}

// sides are the edge functions of a facet at one line.
type sides struct{ ca, ab, rest, area, caTie, abTie int64 }

// step is what they change to the next line, and its number.
type step struct {
	ca, ab int64
	line   int32
}

// rows is the second half of many; z is few's z, za, zb and zc.
func (s *scanner) rows(r rect, f sides, next, row step, z [4]float64, tag uint32) {
	n, rows, line := r.u1-r.u0, r.v1-r.v0, r.u0*s.nv+r.v0
	if rows > n {
		n, rows, next, row = rows, n, row, next
	}
	caEnds, abEnds, bcEnds := endsOf(next.ca), endsOf(next.ab), endsOf(-next.ca-next.ab)
	for range rows {
		from, to := caEnds.clip(f.ca, 0, int64(n))
		from, to = abEnds.clip(f.ab, from, to)
		from, to = bcEnds.clip(f.rest-f.ca-f.ab, from, to)
		x, y, at := f.ca+f.caTie+from*next.ca, f.ab+f.abTie+from*next.ab, line+int32(from)*next.line
		for range to - from {
			h := float64(float64(f.area-x-y)*z[1]) + float64(float64(x)*z[2]) + float64(float64(y)*z[3])
			s.hits = append(s.hits, crossing{keyOf(int32(math.Float64bits(z[0]+h+0x1.8p52)), tag), at})
			x, y, at = x+next.ca, y+next.ab, at+next.line
		}
		f.ca, f.ab, line = f.ca+row.ca, f.ab+row.ab, line+row.line
	}
}

// ends finds the lines of a row on the inner side of an edge, whose edge function
// grows by step a line.
type ends struct {
	step    int64
	inverse float64 // of its size
}

func endsOf(step int64) ends { return ends{step, 1 / math.Abs(float64(step))} }

// clip narrows a range of lines to those where at + k step is not negative. The
// float64 quotient is off by 3 * 2^-53 of its size: below 2^51 by one whole number at
// most, which the remainder tells, and what is larger lies past every lattice's end.
// Where the whole range lies inside, or none of it, the number is below zero or zero.
func (e ends) clip(at, from, to int64) (int64, int64) {
	switch {
	case e.step > 0:
		k := int64(float64(-at)*e.inverse) + 1
		left := at + k*e.step
		k += negative(left) + negative(left-e.step) - 1
		return max(from, k), to
	case e.step < 0:
		k := int64(float64(at)*e.inverse) + 1
		left := at + k*e.step
		k += 1 - negative(left) - negative(left-e.step)
		return from, min(to, k)
	case at < 0:
		return 0, 0
	}
	return from, to
}
