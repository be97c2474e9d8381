package column

import "math"

// wide is the number of lines from which it pays to compute where a row of them
// enters a facet instead of trying one after the other.
const wide = 4

// many is few for many lines: it works out where a row of them enters the facet, which
// most rows never do in a facet that is long and thin. Rows are along u or v, whichever
// makes fewer.
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
	n, rows, line := int64(r.u1-r.u0), int64(r.v1-r.v0), r.u0*s.nv+r.v0
	if rows > n {
		n, rows, next, row = rows, n, row, next
	}
	// Along a row one edge function grows and the others do not, or one falls and the
	// others do not. Rows are taken in the direction in which one grows: where it is no
	// longer negative the row enters the facet, or never does, for the others only fall.
	if negative(-next.ca)+negative(-next.ab)+negative(next.ca+next.ab) == 2 {
		f.ca, f.ab, line = f.ca+(n-1)*next.ca, f.ab+(n-1)*next.ab, line+int32(n-1)*next.line
		next = step{-next.ca, -next.ab, -next.line}
	}
	lone := edgeOf(max(next.ca, next.ab, -next.ca-next.ab))
	for range rows {
		at := f.rest - f.ca - f.ab
		if next.ca > 0 {
			at = f.ca
		} else if next.ab > 0 {
			at = f.ab
		}
		from := lone.from(at)
		x, y, inside := f.ca+from*next.ca, f.ab+from*next.ab, int64(0)
		for p, q := x, y; from+inside < n && p|q|(f.rest-p-q) >= 0; inside++ {
			p, q = p+next.ca, q+next.ab
		}
		x, y, l := x+f.caTie, y+f.abTie, line+int32(from)*next.line
		for range inside {
			h := float64(float64(f.area-x-y)*z[1]) + float64(float64(x)*z[2]) + float64(float64(y)*z[3])
			s.hits = append(s.hits, crossing{keyOf(int32(math.Float64bits(z[0]+h+0x1.8p52)), tag), l})
			x, y, l = x+next.ca, y+next.ab, l+next.line
		}
		f.ca, f.ab, line = f.ca+row.ca, f.ab+row.ab, line+row.line
	}
}

// growing finds the first line of a row on the inner side of an edge, whose edge function
// grows by step a line.
type growing struct {
	step    int64
	inverse float64
}

func edgeOf(step int64) growing { return growing{step, 1 / float64(step)} }

// from returns the first line, from 0 on, where at + k step is not negative. The float64
// quotient is off by 3 * 2^-53 of its size: below 2^51 by one whole number at most, which
// the remainder tells, and what is larger lies past every lattice's end.
func (e growing) from(at int64) int64 {
	k := int64(float64(-at)*e.inverse) + 1
	left := at + k*e.step
	return max(k+negative(left)+negative(left-e.step)-1, 0)
}
