package column

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Cut returns the void that NewSpace makes of the solids with more cuts, of which only
// the columns from lo to hi (both included), about the cuts, are worked out and may
// differ from sp's. It lists neither Gaps nor lines that met an open body. Cost: a look
// at every facet, the crossings near the cuts, and a copy of the rest.
func (sp *Space) Cut(cuts []*geom.Mesh, seal float64, open func(a, b geom.Vec) bool) (out *Space, lo, hi [2]int) {
	s := sp.Solids.With(nil, cuts)
	lo, hi, w := s.around(cuts, seal)
	out = &Space{Lattice: sp.Lattice, Solids: s, words: sp.words, clear: open}
	part, old := NewSpace(s.In(w), seal, nil), spaces.take()
	for axis, b := range sp.blocked {
		out.blocked[axis] = append(old.blocked[axis][:0], b...)
	}
	out.Start = sized(old.Start, len(sp.Start))[:0]
	n := len(sp.Lo) + len(part.Lo)
	out.Lo, out.Hi = sized(old.Lo, n)[:0], sized(old.Hi, n)[:0]
	out.LoFacet, out.HiFacet = sized(old.LoFacet, n)[:0], sized(old.HiFacet, n)[:0]
	for i := range sp.N[0] {
		row := i * sp.N[1]
		if i < lo[0] || i > hi[0] {
			out.copyRuns(sp, row, row+sp.N[1])
			continue
		}
		from := (i-int(w.First[0]-sp.First[0]))*w.N[1] - int(w.First[1]-sp.First[1])
		out.copyRuns(sp, row, row+lo[1])
		out.copyRuns(part, from+lo[1], from+hi[1]+1)
		out.copyRuns(sp, row+hi[1]+1, row+sp.N[1])
		for axis := range out.blocked {
			copy(out.blocked[axis][(row+lo[1])*sp.words:(row+hi[1]+1)*sp.words], part.blocked[axis][(from+lo[1])*sp.words:])
		}
	}
	out.Start = append(out.Start, int32(len(out.Lo)))
	part.Free()
	return out, lo, hi
}

// With returns the solids with more bodies and more cuts, as Snap would of all in this
// order: bodies, more bodies, cuts, more cuts. What is there is not snapped again.
func (s *Solids) With(bodies, cuts []*geom.Mesh) *Solids {
	more := Snap(s.Lattice, bodies, cuts)
	n, k := len(s.bodies)-s.cuts, len(bodies)
	out := &Solids{Lattice: s.Lattice, cuts: s.cuts + len(cuts)}
	out.bodies = slices.Concat(s.bodies[:n], more.bodies[:k], s.bodies[n:], more.bodies[k:])
	out.coord = slices.Concat(s.coord[:n], more.coord[:k], s.coord[n:], more.coord[k:])
	if s.cells != nil {
		out.cells = slices.Concat(s.cells[:n], more.cells[:k], s.cells[n:], more.cells[k:])
	}
	facets := int32(0)
	for _, m := range out.bodies {
		out.base = append(out.base, facets)
		facets += int32(len(m.Facets))
	}
	out.base = append(out.base, facets)
	return out
}

// around returns the columns from lo to hi that cuts may change, and a window of whole
// columns that has what those depend on: a gap that a cut opens or makes is no longer
// than narrow allows, and the end of a gap is looked for as far as gapEnd does.
func (s *Solids) around(cuts []*geom.Mesh, seal float64) (lo, hi [2]int, w Lattice) {
	l := &s.Lattice
	gap := int(slanted*seal/l.Pitch()) + 2
	row := int(3*int64(seal/l.Q)/2)>>l.Bits + 2
	var from, to [3]int
	for a := range lo {
		least, most := int32(math.MaxInt32), int32(math.MinInt32)
		for _, coord := range s.coord[len(s.coord)-len(cuts):] {
			for _, p := range coord {
				least, most = min(least, p[a]), max(most, p[a])
			}
		}
		end := l.N[a] - 1
		lo[a] = min(max(l.NodeBelow(a, least)-gap, 0), end)
		hi[a] = min(max(l.NodeAbove(a, most)+gap, lo[a]), end)
		from[a], to[a] = max(lo[a]-row, 0), min(hi[a]+row, end)
	}
	to[2] = l.N[2] - 1
	return lo, hi, l.Window(from, to, 0)
}

// copyRuns appends the runs of columns of another space, in order.
func (sp *Space) copyRuns(from *Space, c, end int) {
	a, b := from.Start[c], from.Start[end]
	shift := int32(len(sp.Lo)) - a
	for _, r := range from.Start[c:end] {
		sp.Start = append(sp.Start, r+shift)
	}
	sp.Lo, sp.Hi = append(sp.Lo, from.Lo[a:b]...), append(sp.Hi, from.Hi[a:b]...)
	sp.LoFacet, sp.HiFacet = append(sp.LoFacet, from.LoFacet[a:b]...), append(sp.HiFacet, from.HiFacet[a:b]...)
}

// SameColumn tells whether column c has the same runs in another space of the lattice,
// and the same steps toward +x and +y that meet a surface.
func (sp *Space) SameColumn(o *Space, c int) bool {
	a, b := sp.Start[c], sp.Start[c+1]
	d, e := o.Start[c], o.Start[c+1]
	from, to := c*sp.words, (c+1)*sp.words
	return slices.Equal(sp.Lo[a:b], o.Lo[d:e]) && slices.Equal(sp.Hi[a:b], o.Hi[d:e]) &&
		slices.Equal(sp.blocked[0][from:to], o.blocked[0][from:to]) && slices.Equal(sp.blocked[1][from:to], o.blocked[1][from:to])
}
