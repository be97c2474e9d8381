package column

import (
	"math"
	"slices"
	"sync"

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

// Cast returns the material along the lattice lines of one axis by scan
// conversion of the facets: cost grows with facets + rows they touch +
// crossings. Exact for the snapped vertices, up to rounding of a crossing's
// height to one quantum. Tie rule: a line on an edge counts as lying right of it
// and above it, for both facets of the edge.
func (s *Solids) Cast(axis int) *Lines {
	l := &Lines{}
	s.castInto(l, axis)
	return l
}

// castInto is Cast into memory that is used again.
func (s *Solids) castInto(l *Lines, axis int) {
	u, v := (axis+1)%3, (axis+2)%3
	l.Axis, l.NU, l.NV, l.Odd = axis, s.Lattice.N[u], s.Lattice.N[v], 0
	w := workspaces.Get().(*workspace)
	defer workspaces.Put(w)
	sc := scanner{
		u: u, v: v, w: axis, bits: s.Lattice.Bits,
		firstU: s.Lattice.First[u], firstV: s.Lattice.First[v],
		nu: int32(l.NU), nv: int32(l.NV), cells: w.cells, hits: w.hits[:0],
	}
	for b, m := range s.bodies {
		sc.body(s.coord[b], m.Facets, s.base[b])
	}
	w.hits, w.cells = sc.hits, sc.cells
	w.sort(l.NU * l.NV)
	s.spans(l, w.sorted, w.start)
}

// crossing is one meeting of a line with a facet. Crossings of a line are in order
// when their keys are: by height, then entering before leaving, then facet.
type crossing struct {
	key  uint64
	line int32
}

const leaving = 1 << 31 // in a key; below it the facet

func keyOf(z int32, tag uint32) uint64 { return uint64(uint32(z)^1<<31)<<32 | uint64(tag) }

func height(key uint64) int32 { return int32(uint32(key>>32) ^ 1<<31) }

// workspace is the memory of one Cast. Fresh memory costs more than the work done
// in it, so it is kept for the next one.
type workspace struct {
	cells  []cell
	hits   []crossing
	sorted []uint64
	start  []int32
}

var workspaces = sync.Pool{New: func() any { return new(workspace) }}

// sized returns s with length n, its contents undefined.
func sized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// sort puts the keys in order of their lines (counting sort).
func (w *workspace) sort(lines int) {
	w.start = sized(w.start, lines+1)
	w.sorted = sized(w.sorted, len(w.hits))
	start := w.start
	clear(start)
	for i := range w.hits {
		start[w.hits[i].line+1]++
	}
	for i := 1; i < len(start); i++ {
		start[i] += start[i-1]
	}
	// Each line's crossings are put in from its end backward, which leaves its end's
	// mark at its beginning.
	for i := range w.hits {
		p := &start[w.hits[i].line+1]
		*p--
		w.sorted[*p] = w.hits[i].key
	}
	copy(start, start[1:])
	start[lines] = int32(len(w.hits))
}

// order sorts the keys of one line: few, most lines hold two.
func order(c []uint64) {
	if len(c) > 64 {
		slices.Sort(c)
		return
	}
	for i := 1; i < len(c); i++ {
		x, j := c[i], i
		for ; j > 0 && c[j-1] > x; j-- {
			c[j] = c[j-1]
		}
		c[j] = x
	}
}

// scanner scan-converts facets along one axis.
type scanner struct {
	u, v, w        int // axes
	bits           int
	firstU, firstV int32
	nu, nv         int32
	cells          []cell // of the vertices of one body
	hits           []crossing
}

// cell is the next line at or above a place, or the nearest border of the lattice:
// u in the low half, v in the high half.
type cell uint32

func (s *scanner) cellOf(p *[4]int32) cell {
	up := int32(1)<<s.bits - 1
	u := min(max((p[s.u&3]+up)>>s.bits-s.firstU, 0), s.nu)
	v := min(max((p[s.v&3]+up)>>s.bits-s.firstV, 0), s.nv)
	return cell(u) | cell(v)<<16
}

// body meets the lattice lines with all facets of a body.
func (s *scanner) body(coord [][4]int32, facets [][3]int32, base int32) {
	s.cells = sized(s.cells, len(coord))
	for i := range coord {
		s.cells[i] = s.cellOf(&coord[i])
	}
	// Batches without a branch for each facet: whether it holds a line cannot be
	// foretold.
	var batch [256]int32
	for from := 0; from < len(facets); from += len(batch) {
		n := s.holding(facets[from:min(from+len(batch), len(facets))], &batch)
		for _, f := range batch[:n] {
			t := &facets[from+int(f)]
			s.facet(&coord[t[0]], &coord[t[1]], &coord[t[2]], s.rect(t), uint32(base)+uint32(from)+uint32(f))
		}
	}
}

// holding lists the facets that may hold a line: those whose corners differ in
// their next line in both directions.
func (s *scanner) holding(facets [][3]int32, list *[256]int32) int {
	n := 0
	cells := s.cells
	for f := range facets {
		t := &facets[f]
		a, b, c := cells[t[0]], cells[t[1]], cells[t[2]]
		d := (a ^ b) | (a ^ c)
		list[n&255] = int32(f)
		n += int((d&0xffff + 0xffff) & (d>>16 + 0xffff) >> 16)
	}
	return n
}

func (s *scanner) rect(t *[3]int32) rect {
	a, b, c := s.cells[t[0]], s.cells[t[1]], s.cells[t[2]]
	return rect{int32(min(a&0xffff, b&0xffff, c&0xffff)), int32(max(a&0xffff, b&0xffff, c&0xffff)),
		int32(min(a, b, c) >> 16), int32(max(a, b, c) >> 16)}
}

// rect is a range of lines: from u0 up to, not including, u1, and so for v.
type rect struct{ u0, u1, v0, v1 int32 }

// facet adds the crossings of the lines in r with a facet. A line lies inside where
// the edge functions, the areas it spans with the edges, are all positive (Pineda
// 1988); they are sums of two products of differences up to 2^30.
func (s *scanner) facet(a, b, c *[4]int32, r rect, tag uint32) {
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
	// Heights by the areas opposite the corners, none negative: no digits are lost
	// however thin the facet is. Counted from the least corner one weight is zero, so
	// the sum is the same from whichever corner the facet begins.
	low := min(a[w], b[w], c[w])
	inv := 1 / float64(area)
	z, za, zb, zc := float64(low), float64(a[w]-low)*inv, float64(b[w]-low)*inv, float64(c[w]-low)*inv
	for row := r.v0; row < r.v1; row++ {
		k0, k1 := inside(ca, ab, caV, abV, rest, r.u1-r.u0)
		x, y := ca+caTie-int64(k0)*caV, ab+abTie-int64(k0)*abV
		for col := r.u0 + k0; col < r.u0+k1; col++ {
			h := float64(float64(area-x-y)*za) + float64(float64(x)*zb) + float64(float64(y)*zc)
			s.hits = append(s.hits, crossing{keyOf(int32(math.Float64bits(z+h+0x1.8p52)), tag), col*s.nv + row})
			x, y = x-caV, y-abV
		}
		ca, ab = ca+caU, ab+abU
	}
}

func inside(x, y, dx, dy, rest int64, n int32) (k0, k1 int32) {
	for k0 < n && x|y|(rest-x-y) < 0 {
		x, y, k0 = x-dx, y-dy, k0+1
	}
	k1 = k0
	for k1 < n && x|y|(rest-x-y) >= 0 {
		x, y, k1 = x-dx, y-dy, k1+1
	}
	return k0, k1
}

// tie is 1 for an edge that goes up, with the facet on its left: a line on it lies
// outside. A level edge needs none, the rows end below it.
func tie(dv int64) int64 { return int64(uint64(-dv) >> 63) }

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
