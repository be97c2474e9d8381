package column

import (
	"math"
	"runtime"
	"sync"
)

// scanner scan-converts facets along one axis.
type scanner struct {
	u, v, w        int // axes
	bits           int
	firstU, firstV int32
	nu, nv         int32
	hits           []crossing
}

// share is the least number of facets worth a processor of their own: some
// milliseconds of work.
const share = 1 << 16

// scanner returns one for the lines of an axis.
func (l *Lattice) scanner(axis int) scanner {
	u, v := (axis+1)%3, (axis+2)%3
	return scanner{u: u, v: v, w: axis, bits: l.Bits, firstU: l.First[u], firstV: l.First[v], nu: int32(l.N[u]), nv: int32(l.N[v])}
}

// scan finds all crossings along an axis.
func (w *workspace) scan(s *Solids, axis int) {
	sc := s.Lattice.scanner(axis)
	cells := s.cells
	if axis != 2 || cells == nil {
		w.lineUp(s, sc)
		cells = w.cells
	}
	total := int(s.base[len(s.bodies)])
	n := max(1, min(runtime.GOMAXPROCS(0), total/share))
	for len(w.hits) < n {
		w.hits = append(w.hits, nil)
	}
	w.hits = w.hits[:n]
	if n == 1 {
		w.hits[0] = sc.scan(s, cells, w.hits[0][:0], 0, total)
		return
	}
	var wg sync.WaitGroup
	for k := range n {
		wg.Go(func() { w.hits[k] = sc.scan(s, cells, w.hits[k][:0], total*k/n, total*(k+1)/n) })
	}
	wg.Wait()
}

// lineUp finds the next line of every vertex of all bodies.
func (w *workspace) lineUp(s *Solids, sc scanner) {
	for len(w.cells) < len(s.coord) {
		w.cells = append(w.cells, nil)
	}
	for b, c := range s.coord {
		cells := sized(w.cells[b], len(c))
		side(len(c), func(from, to int) { sc.cellsOf(c[from:to], cells[from:to]) })
		w.cells[b] = cells
	}
}

// side calls do for stretches of 0 to n side by side where they are worth it.
func side(n int, do func(from, to int)) {
	parts := max(1, min(runtime.GOMAXPROCS(0), n/share))
	if parts == 1 {
		do(0, n)
		return
	}
	var wg sync.WaitGroup
	for k := range parts {
		wg.Go(func() { do(n*k/parts, n*(k+1)/parts) })
	}
	wg.Wait()
}

// scan adds the crossings of the facets numbered from up to, not including, to.
func (s scanner) scan(solids *Solids, cells [][]cell, hits []crossing, from, to int) []crossing {
	s.hits = hits
	for b, m := range solids.bodies {
		base := int(solids.base[b])
		if i, j := max(from-base, 0), min(to-base, len(m.Facets)); i < j {
			s.body(solids.coord[b], cells[b], m.Facets[i:j], base+i)
		}
	}
	return s.hits
}

// cell is the next line at or above a place, or the nearest border of the lattice:
// u in the low half, v in the high half.
type cell uint32

// cellsOf finds the cells of vertices.
func (s *scanner) cellsOf(coord [][3]int32, cells []cell) {
	cells = cells[:len(coord)]
	u, v, bits, up := s.u&3, s.v&3, s.bits&31, int32(1)<<(s.bits&31)-1
	firstU, firstV, nu, nv := s.firstU, s.firstV, s.nu, s.nv
	for i := range coord {
		p := &coord[i]
		a, b := (p[u]+up)>>bits-firstU, (p[v]+up)>>bits-firstV
		if a|b|(nu-a)|(nv-b) < 0 { // beyond the lattice
			a, b = min(max(a, 0), nu), min(max(b, 0), nv)
		}
		cells[i] = cell(a) | cell(b)<<16
	}
}

// body adds the crossings of facets of one body. They are looked through in batches
// without a branch for each: whether one holds a line cannot be foretold.
func (s *scanner) body(coord [][3]int32, cells []cell, facets [][3]int32, first int) {
	var batch [256]int32
	for from := 0; from < len(facets); from += len(batch) {
		n := holding(cells, facets[from:min(from+len(batch), len(facets))], &batch)
		for _, f := range batch[:n] {
			t := &facets[from+int(f)]
			r, tag := rectOf(cells[t[0]], cells[t[1]], cells[t[2]]), uint32(first+from)+uint32(f)
			a, b, c := &coord[t[0]], &coord[t[1]], &coord[t[2]]
			switch {
			case r.u1-r.u0 == 1 && r.v1-r.v0 == 1:
				s.single(a, b, c, r.u0, r.v0, tag)
			case r.u1-r.u0 <= wide && r.v1-r.v0 <= wide:
				s.few(a, b, c, r, tag)
			default:
				s.many(a, b, c, r, tag)
			}
		}
	}
}

// holding lists the facets that may hold a line: those whose corners differ in
// their next line in both directions.
func holding(cells []cell, facets [][3]int32, list *[256]int32) int {
	n := 0
	for f := range facets {
		t := &facets[f]
		a, b, c := cells[t[0]], cells[t[1]], cells[t[2]]
		d := (a ^ b) | (a ^ c)
		list[n&255] = int32(f)
		n += int((d&0xffff + 0xffff) & (d>>16 + 0xffff) >> 16) // 1 if neither half is zero
	}
	return n
}

// rect is a range of lines: from u0 up to, not including, u1, and so for v.
type rect struct{ u0, u1, v0, v1 int32 }

func rectOf(a, b, c cell) rect {
	return rect{int32(min(a&0xffff, b&0xffff, c&0xffff)), int32(max(a&0xffff, b&0xffff, c&0xffff)),
		int32(min(a, b, c) >> 16), int32(max(a, b, c) >> 16)}
}

// few adds the crossings of the lines in r with a facet. A line lies inside where
// the edge functions, the areas it spans with the edges, are all positive (Pineda
// 1988); they are sums of two products of differences up to 2^30.
func (s *scanner) few(a, b, c *[3]int32, r rect, tag uint32) {
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
	emit := func(x, y int64, col, row int32) {
		x, y = x+caTie, y+abTie
		h := float64(float64(area-x-y)*za) + float64(float64(x)*zb) + float64(float64(y)*zc)
		s.hits = append(s.hits, crossing{keyOf(int32(math.Float64bits(z+h+0x1.8p52)), tag), col*s.nv + row})
	}
	for row := r.v0; row < r.v1; row++ {
		x, y := ca, ab
		for col, in := r.u0, false; col < r.u1; col++ {
			if x|y|(rest-x-y) >= 0 {
				in = true
				emit(x, y, col, row)
			} else if in {
				break
			}
			x, y = x-caV, y-abV
		}
		ca, ab = ca+caU, ab+abU
	}
}

// single is few for one line, which is all that most facets of a fine mesh reach. Places
// are counted from the line, which lies inside where the edge functions have one sign,
// that of the area: an edge that goes up, or level and back, takes one off, so that a
// line on it is inside to the right of it and above it only. The edges of an outline do
// not all go up, nor all down: of a facet without area the signs differ.
func (s *scanner) single(a, b, c *[3]int32, col, row int32, tag uint32) {
	u, v, w, bits := s.u&3, s.v&3, s.w&3, s.bits&31
	atU, atV := int64((s.firstU+col)<<bits), int64((s.firstV+row)<<bits)
	aU, aV := int64(a[u])-atU, int64(a[v])-atV
	bU, bV := int64(b[u])-atU, int64(b[v])-atV
	cU, cV := int64(c[u])-atU, int64(c[v])-atV
	ab, bc, ca := aU*bV-aV*bU, bU*cV-bV*cU, cU*aV-cV*aU
	aUp, bUp, cUp := aV<<32-aU, bV<<32-bU, cV<<32-cU // grow along an edge that goes up, or level and back
	x, y, z := ab-negative(aUp-bUp), bc-negative(bUp-cUp), ca-negative(cUp-aUp)
	if (x^y)|(x^z) < 0 {
		return
	}
	tag |= ^uint32(x>>63) & leaving // with an area above zero the outward normal runs along the line
	low := min(a[w], b[w], c[w])
	inv := 1 / float64(ab+bc+ca)
	za, zb, zc := float64(a[w]-low)*inv, float64(b[w]-low)*inv, float64(c[w]-low)*inv
	h := float64(float64(bc)*za) + float64(float64(ca)*zb) + float64(float64(ab)*zc)
	s.hits = append(s.hits, crossing{keyOf(int32(math.Float64bits(float64(low)+h+0x1.8p52)), tag), col*s.nv + row})
}

// negative is 1 for a number below zero, else 0.
func negative(x int64) int64 { return int64(uint64(x) >> 63) }

// tie is 1 for an edge that goes up, with the facet on its left: a line on it lies
// outside. A level edge needs none, the rows end below it.
func tie(dv int64) int64 { return negative(-dv) }
