package geom

import (
	"math"
	"math/bits"
)

// Sum adds numbers so that their order does not matter: a 128-bit fixed-point
// register with a step of 2^-40, wrapping at 2^87. Each addend is rounded once,
// by at most 2^-41 (5e-13), and the sum is exact. The zero Sum is 0.
//
// With it the figures of a mesh do not change when its facets are shuffled or
// its shells are summed by several goroutines.
type Sum struct {
	hi int64
	lo uint64
}

// sumScale is 1 over the step of a Sum: fine enough for a million addends to
// stay within 1e-6, coarse enough for volumes of kilometres.
const sumScale = 1 << 40

// Add adds x. Numbers that are not finite or reach 2^87 are left out.
func (s *Sum) Add(x float64) {
	if y := x * sumScale; y > -1<<62 && y < 1<<62 { // most numbers fit in the lower half
		n := int64(math.RoundToEven(y))
		var carry uint64
		s.lo, carry = bits.Add64(s.lo, uint64(n), 0)
		s.hi += n>>63 + int64(carry)
		return
	}
	y := math.RoundToEven(math.Abs(x) * sumScale)
	if !(y < 1<<127) {
		return
	}
	hi := math.Floor(y * (1.0 / (1 << 64))) // both exact: powers of two
	lo := uint64(y - float64(hi*(1<<64)))
	var carry uint64
	if x >= 0 {
		s.lo, carry = bits.Add64(s.lo, lo, 0)
		s.hi += int64(hi) + int64(carry)
		return
	}
	s.lo, carry = bits.Sub64(s.lo, lo, 0)
	s.hi -= int64(hi) + int64(carry)
}

// Merge adds all that t holds.
func (s *Sum) Merge(t Sum) {
	var carry uint64
	s.lo, carry = bits.Add64(s.lo, t.lo, 0)
	s.hi += t.hi + int64(carry)
}

// Value returns the sum, rounded to float64.
func (s *Sum) Value() float64 {
	hi, lo, sign := s.hi, s.lo, 1.0
	if hi < 0 { // negate, so that the magnitude is rounded, not the complement
		var borrow uint64
		lo, borrow = bits.Sub64(0, lo, 0)
		hi, sign = -hi-int64(borrow), -1
	}
	return sign * (float64(float64(hi)*(1<<64)) + float64(lo)) / sumScale
}

// Centroid returns the centre of mass of the enclosed solid, mm. It says
// something only of a closed mesh; where the volume is zero it is the middle of
// the box. The facets are summed as tetrahedra about that middle. Linear.
func (m *Mesh) Centroid() Vec {
	c := m.Box().Center()
	var v, x, y, z Sum
	for f := range m.Facets {
		t := m.Triangle(f)
		a, b, d := t.A.Sub(c), t.B.Sub(c), t.C.Sub(c)
		vol := a.Dot(b.Cross(d)) // six times the tetrahedron
		s := a.Add(b).Add(d)     // four times its centroid
		v.Add(vol)
		x.Add(vol * s.X)
		y.Add(vol * s.Y)
		z.Add(vol * s.Z)
	}
	if v.Value() == 0 {
		return c
	}
	return c.AddScaled(Vec{x.Value(), y.Value(), z.Value()}, 1/(4*v.Value()))
}
