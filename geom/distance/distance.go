// Package distance holds the exact Euclidean distance transform of a lattice in the
// plane: from every node to the nearest one of a set.
//
// One pass along the rows of the lattice gives distances within a row; a second pass
// across them takes the lower envelope of parabolas (Felzenszwalb and Huttenlocher,
// Theory of Computing 8(19), 2012, after Maurer, Qi and Raghavan, IEEE PAMI 25, 2003).
// Rows without a node of the set stay out of the envelope, so no infinite number
// enters a difference.
package distance

import "math"

// Plane is a lattice of NU x NV nodes, node (u, v) at index u*NV+v, and its transform.
// Its memory is used again by the next Measure: 12 bytes a node.
//
// Squares of distances in pitches are whole numbers and exact up to 2^31, which is a
// side of 32767 nodes.
type Plane struct {
	NU, NV  int
	Square  []int32 // squared distance to the nearest node of the set, in pitches; None without one
	Nearest []int32 // index of that node, of equals the one with the lowest index of u, then of v; -1 without one

	inRow []int32 // v of the nearest node of the set in the same row, -1 without one
	hull  []int32 // rows whose parabola is part of the envelope
	from  []int32 // the first row where it is
}

// None is the squared distance where the set is empty.
const None = math.MaxInt32

// Measure works out the distances to the nodes that in accepts, nu and nv from 1 to
// 32767. Cost: a constant number of steps a node.
func (p *Plane) Measure(nu, nv int, in func(i int) bool) {
	p.NU, p.NV = nu, nv
	n := nu * nv
	p.Square, p.Nearest, p.inRow = sized(p.Square, n), sized(p.Nearest, n), sized(p.inRow, n)
	p.hull, p.from = sized(p.hull, nu), sized(p.from, nu)
	for u := range nu {
		p.row(p.inRow[u*nv:(u+1)*nv], u*nv, in)
	}
	for v := range nv {
		p.across(v)
	}
}

func sized(s []int32, n int) []int32 {
	if cap(s) < n {
		return make([]int32, n)
	}
	return s[:n]
}

// row notes for every node of one row the nearest node of the set in it.
func (p *Plane) row(near []int32, base int, in func(i int) bool) {
	last := int32(-1)
	for v := range near {
		if in(base + v) {
			last = int32(v)
		}
		near[v] = last
	}
	next := int32(-1)
	for v := len(near) - 1; v >= 0; v-- {
		if near[v] == int32(v) {
			next = int32(v)
		}
		if next >= 0 && (near[v] < 0 || next-int32(v) < int32(v)-near[v]) {
			near[v] = next
		}
	}
}

// across takes the lower envelope, over the rows u, of (x-u)^2 + g(u)^2, where g(u) is
// the distance within row u of its place v.
func (p *Plane) across(v int) {
	k := -1 // of the last parabola of the envelope
	for u := range p.NU {
		near := p.inRow[u*p.NV+v]
		if near < 0 {
			continue
		}
		start := 0
		for k >= 0 {
			start = p.passes(int(p.hull[k]), u, v)
			if start > int(p.from[k]) {
				break
			}
			k--
		}
		if k < 0 {
			start = 0
		}
		if start < p.NU {
			k++
			p.hull[k], p.from[k] = int32(u), int32(start)
		}
	}
	if k < 0 {
		for u := range p.NU {
			p.Square[u*p.NV+v], p.Nearest[u*p.NV+v] = None, -1
		}
		return
	}
	for x := p.NU - 1; x >= 0; x-- {
		for int(p.from[k]) > x {
			k--
		}
		u := int(p.hull[k])
		i, g := x*p.NV+v, p.gap(u, v)
		p.Square[i] = int32((x-u)*(x-u) + g*g)
		p.Nearest[i] = int32(u*p.NV) + p.inRow[u*p.NV+v]
	}
}

// gap returns the distance from node (u, v) to the nearest one of the set in row u.
func (p *Plane) gap(u, v int) int { return v - int(p.inRow[u*p.NV+v]) }

// passes returns the first row at which the parabola of row b > a lies below that of
// row a: the least whole x above [(g(b)^2 + b^2) - (g(a)^2 + a^2)] / (2b - 2a).
func (p *Plane) passes(a, b, v int) int {
	ga, gb := p.gap(a, v), p.gap(b, v)
	above, below := gb*gb+b*b-ga*ga-a*a, 2*(b-a)
	x := above / below
	if above%below < 0 { // division rounds to zero, the floor is below
		x--
	}
	return max(x+1, 0)
}
