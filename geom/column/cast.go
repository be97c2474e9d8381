package column

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Lines is the material along every lattice line of one direction. Line (u,v)
// holds the stretches Start[u*NV+v] up to Start[u*NV+v+1] of Lo and Hi, sorted,
// disjoint, in quanta along the line. The direction axis is Axis; u and v count
// along the next two axes in cyclic order (for Axis 2: u = x, v = y).
type Lines struct {
	Axis   int
	NU, NV int
	Start  []int32
	Lo, Hi []int32
	// The facet at which the line enters the material (Lo) and leaves it (Hi).
	LoFacet, HiFacet []int32
	Odd              int // lines that met an open body an odd number of times
}

// crossing is one meeting of a line with a facet, packed small: the line, the
// height, and the facet with the direction in bit 0 (1 = into the material).
type crossing struct{ line, z, tag int32 }

// Cast returns the material along the lattice lines of one axis by scan
// conversion of the facets: cost grows with facets + rows they touch +
// crossings. Exact for the snapped vertices, up to rounding of a crossing's
// height to one quantum. Tie rule: an edge covers the rows from its lower end
// up to, not including, its upper end; a facet covers the lines from its left
// edge on up to, not including, its right edge; both facets of an edge
// evaluate the same integers.
func (s *Solids) Cast(axis int) *Lines {
	u, v := (axis+1)%3, (axis+2)%3
	l := &Lines{Axis: axis, NU: s.Lattice.N[u], NV: s.Lattice.N[v]}
	var hits []crossing
	for b, m := range s.bodies {
		e := emitter{lat: &s.Lattice, u: u, v: v, nu: int32(l.NU), nv: int32(l.NV),
			us: s.coord[b][u], vs: s.coord[b][v], ws: s.coord[b][axis], hits: hits}
		for f, t := range m.Facets {
			e.facet(t, s.base[b]+int32(f))
		}
		hits = e.hits
	}
	sorted, start := sortByLine(hits, l.NU*l.NV)
	s.spans(l, sorted, start)
	return l
}

// emitter scan-converts the facets of one body.
type emitter struct {
	lat        *Lattice
	u, v       int // axes
	nu, nv     int32
	us, vs, ws []int32
	hits       []crossing
}

func (e *emitter) facet(t [3]int32, id int32) {
	us, vs := e.us, e.vs
	t = e.leastFirst(t)
	u0, u1, u2 := us[t[0]], us[t[1]], us[t[2]]
	v0, v1, v2 := vs[t[0]], vs[t[1]], vs[t[2]]
	bits, firstU, firstV := e.lat.Bits, e.lat.First[e.u], e.lat.First[e.v]
	rowLo := max(ceilDiv(min(v0, v1, v2), bits)-firstV, 0)
	rowHi := min(ceilDiv(max(v0, v1, v2), bits)-firstV, e.nv)
	colLo := max(ceilDiv(min(u0, u1, u2), bits)-firstU, 0)
	colHi := min(ceilDiv(max(u0, u1, u2)+1, bits)-firstU, e.nu)
	if rowLo >= rowHi || colLo >= colHi { // holds no line
		return
	}
	// Twice the signed area; its sign is the facet's side as seen along the line.
	area := int64(u1-u0)*int64(v2-v0) - int64(u2-u0)*int64(v1-v0) // differences stay below 2^30
	if area == 0 {
		return
	}
	p := plane{u0: u0, v0: v0, w: [3]int32{e.ws[t[0]], e.ws[t[1]], e.ws[t[2]]}}
	p.set(u1, v1, u2, v2, area)
	tag := id << 1
	if area < 0 { // outward normal against the line: the line enters here
		tag |= 1
	}
	for row := rowLo; row < rowHi; row++ {
		v := int64(firstV+row) << bits
		a, b, ok := between(u0, v0, u1, v1, u2, v2, v, bits)
		if !ok {
			continue
		}
		a, b = max(a-firstU, 0), min(b-firstU, e.nu)
		for col := a; col < b; col++ {
			w := p.at(int64(firstU+col)<<bits, v)
			e.hits = append(e.hits, crossing{col*e.nv + row, w, tag})
		}
	}
}

// leastFirst turns the corners so that the least in u, then v comes first: the
// rounding of a height then does not depend on the corner a facet begins with.
func (e *emitter) leastFirst(t [3]int32) [3]int32 {
	key := func(i int32) int64 { return int64(e.us[i])<<32 + int64(e.vs[i]) }
	a, b, c := key(t[0]), key(t[1]), key(t[2])
	if b < a && b < c {
		return [3]int32{t[1], t[2], t[0]}
	}
	if c < a && c < b {
		return [3]int32{t[2], t[0], t[1]}
	}
	return t
}

// ceilDiv returns the first lattice line at or above x quanta.
func ceilDiv(x int32, bits int) int32 {
	return int32((int64(x) + int64(1)<<bits - 1) >> bits)
}

// between returns the columns a up to, not including, b in which row v lies
// inside the triangle.
func between(u0, v0, u1, v1, u2, v2 int32, v int64, bits int) (a, b int32, ok bool) {
	c0, ok0 := edgeColumn(u0, v0, u1, v1, v, bits)
	c1, ok1 := edgeColumn(u1, v1, u2, v2, v, bits)
	c2, ok2 := edgeColumn(u2, v2, u0, v0, v, bits)
	switch { // a closed polygon crosses a half-open row 0 or 2 times
	case ok0 && ok1:
		return min(c0, c1), max(c0, c1), true
	case ok1 && ok2:
		return min(c1, c2), max(c1, c2), true
	case ok0 && ok2:
		return min(c0, c2), max(c0, c2), true
	}
	return 0, 0, false
}

// edgeColumn returns the first lattice column at or right of where the edge
// crosses row v, if it covers that row. The lower end is always taken first, so
// the two facets of an edge get the same column.
func edgeColumn(ua, va, ub, vb int32, v int64, bits int) (int32, bool) {
	if va > vb {
		ua, va, ub, vb = ub, vb, ua, va
	}
	if v < int64(va) || v >= int64(vb) {
		return 0, false
	}
	dv := int64(vb) - int64(va)
	// u = ua + (v-va)*du/dv; column = ceil(u / 2^bits), all in integers.
	num := int64(ua)*dv + (v-int64(va))*(int64(ub)-int64(ua))
	den := dv << bits
	q := num / den
	if num%den > 0 {
		q++
	}
	return int32(q), true
}

// plane gives the height of a facet over a lattice line, rounded to a quantum
// and clamped to the facet's own range (a needle's plane is ill-conditioned,
// its range is not).
type plane struct {
	u0, v0 int32
	w      [3]int32
	du, dv float64 // height per quantum along u and v
	lo, hi int32
}

func (p *plane) set(u1, v1, u2, v2 int32, area int64) {
	a1, a2 := float64(p.w[1]-p.w[0]), float64(p.w[2]-p.w[0])
	du1, dv1 := float64(u1-p.u0), float64(v1-p.v0)
	du2, dv2 := float64(u2-p.u0), float64(v2-p.v0)
	inv := 1 / float64(area)
	p.du = (float64(a1*dv2) - float64(a2*dv1)) * inv
	p.dv = (float64(a2*du1) - float64(a1*du2)) * inv
	p.lo, p.hi = min(p.w[0], p.w[1], p.w[2]), max(p.w[0], p.w[1], p.w[2])
}

func (p *plane) at(u, v int64) int32 {
	w := float64(p.w[0]) + float64(p.du*float64(u-int64(p.u0))) + float64(p.dv*float64(v-int64(p.v0)))
	if !(w > float64(p.lo)) {
		return p.lo
	}
	if !(w < float64(p.hi)) {
		return p.hi
	}
	return int32(math.RoundToEven(w))
}

// sortByLine orders the crossings by line (counting sort) and within a line by
// height, then entering before leaving, then facet.
func sortByLine(hits []crossing, lines int) ([]crossing, []int32) {
	start := make([]int32, lines+1)
	for i := range hits {
		start[hits[i].line+1]++
	}
	for i := 0; i < lines; i++ {
		start[i+1] += start[i]
	}
	next := slices.Clone(start[:lines])
	out := make([]crossing, len(hits))
	for i := range hits {
		l := hits[i].line
		out[next[l]] = hits[i]
		next[l]++
	}
	for i := 0; i < lines; i++ {
		insertionSort(out[start[i]:start[i+1]])
	}
	return out, start
}

func insertionSort(c []crossing) {
	if len(c) > 64 {
		slices.SortFunc(c, func(a, b crossing) int {
			if before(a, b) {
				return -1
			}
			if before(b, a) {
				return 1
			}
			return 0
		})
		return
	}
	for i := 1; i < len(c); i++ {
		for j := i; j > 0 && before(c[j], c[j-1]); j-- {
			c[j], c[j-1] = c[j-1], c[j]
		}
	}
}

func before(a, b crossing) bool {
	if a.z != b.z {
		return a.z < b.z
	}
	if a.tag&1 != b.tag&1 {
		return a.tag&1 == 1
	}
	return a.tag < b.tag
}

// Each calls visit for both ends of every stretch of material, line by line: the
// CAD point, the facet, and whether the line leaves the material there.
func (l *Lines) Each(lat *Lattice, visit func(p geom.Vec, facet int32, leaving bool)) {
	u, v := (l.Axis+1)%3, (l.Axis+2)%3
	var q [3]int32
	for line := 0; line+1 < len(l.Start); line++ {
		q[u], q[v] = lat.At(u, line/l.NV), lat.At(v, line%l.NV)
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			q[l.Axis] = l.Lo[i]
			visit(lat.Point(q[0], q[1], q[2]), l.LoFacet[i], false)
			q[l.Axis] = l.Hi[i]
			visit(lat.Point(q[0], q[1], q[2]), l.HiFacet[i], true)
		}
	}
}
