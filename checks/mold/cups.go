package mold

import (
	"cmp"
	"slices"

	"pourproof/geom"
)

// standardAir is the pressure in N/mm2 that bounds the suction on a cup: the
// standard atmosphere, ISO 2533.
const standardAir = 0.101325

// foundAt says where a cup was found.
type foundAt struct {
	h    *hollow
	b    *basin
	room *clearance // its plugs were in place; nil = none
}

// width is that of the passages that were taken as closed, mm.
func (f *foundAt) width() float64 {
	if f.room == nil {
		return 0
	}
	return f.room.width
}

// sealedVoids lets the layers rise over the half as it is and lists the hollows
// that nothing opens. What the platform alone closes opens when the half is taken
// off.
func (w *printing) sealedVoids() {
	h := w.open
	all := h.rise.run(w.least())
	for i := range all {
		b := &all[i]
		w.found = append(w.found, foundAt{h, b, nil})
		if b.open || b.into >= 0 || h.onPlatform(b) {
			continue
		}
		w.p.Sealed = append(w.p.Sealed, SealedVoid{Volume: h.volume(b.length), At: h.middle(b)})
	}
	slices.SortStableFunc(w.p.Sealed, func(a, b SealedVoid) int {
		return cmp.Or(cmp.Compare(b.Volume, a.Volume), compareVec(a.At, b.At))
	})
	for i := range w.p.Sealed {
		w.p.Sealed[i].ID = i + 1
	}
}

func compareVec(a, b geom.Vec) int {
	switch {
	case a.Less(b):
		return -1
	case b.Less(a):
		return 1
	}
	return 0
}

// least is the length of pieces in quanta that leastCup comes to, at least 1.
func (w *printing) least() int64 {
	return max(int64(leastCup/(w.open.cell()*w.lat.Q)), 1)
}

func (h *hollow) onPlatform(b *basin) bool {
	on := false
	h.rise.each(b, func(i int32) { on = on || h.floor[i] == platform })
	return on
}

// middle returns a place in the void of a basin: the middle of its longest piece.
func (h *hollow) middle(b *basin) geom.Vec {
	best := b.head
	h.rise.each(b, func(i int32) {
		if d, e := h.hi[i]-h.lo[i], h.hi[best]-h.lo[best]; d > e || d == e && i < best {
			best = i
		}
	})
	return h.at(best, h.lo[best]+(h.hi[best]-h.lo[best])/2)
}

// cups lists the closed cups: those of the half as it is, and those that appear
// when passages up to some widths are taken as closed, with the widest passage
// that relieves each. Largest first.
func (w *printing) cups() error {
	var all []Cup
	for i := range w.found {
		f := &w.found[i]
		c := w.cup(f)
		if f.b.into < 0 && (f.b.open || f.h.onPlatform(f.b)) && w.o.over.exceededBy(&c) {
			w.p.Cups = []Cup{c}
			return nil
		}
		all = append(all, c)
	}
	if err := w.passageCups(&all); err != nil {
		return err
	}
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &all[i], &all[j]
		return cmp.Or(cmp.Compare(b.Area, a.Area), cmp.Compare(b.Volume, a.Volume), compareVec(a.Deepest, b.Deepest))
	})
	found := make([]foundAt, len(all))
	id := map[*basin]int{nil: 0}
	for n, i := range order {
		all[i].ID = n + 1
		found[n] = w.found[i]
		id[w.found[i].b] = n + 1
	}
	for n, i := range order {
		c, f := all[i], &found[n]
		if f.b.into >= 0 {
			c.Into = id[w.sibling(f)]
		} else if !f.b.open && !f.h.onPlatform(f.b) {
			c.Void = w.voidAt(f)
		}
		w.p.Cups = append(w.p.Cups, c)
	}
	w.found = found
	w.keepCups()
	if !w.o.NoHoles {
		return w.reliefHoles()
	}
	return nil
}

// sibling returns the basin that f's merged with.
func (w *printing) sibling(f *foundAt) *basin {
	n := int32(0)
	for i := range w.found {
		if w.found[i].h == f.h {
			if n == f.b.into {
				return w.found[i].b
			}
			n++
		}
	}
	return nil
}

// voidAt returns the ID of the sealed void that a basin becomes.
func (w *printing) voidAt(f *foundAt) int {
	at := f.h.middle(f.b)
	for _, v := range w.p.Sealed {
		if v.At == at {
			return v.ID
		}
	}
	return 0
}

// cup turns a basin into a cup's facts, heights taken from the mesh's corners.
func (w *printing) cup(f *foundAt) Cup {
	h, b := f.h, f.b
	middle := h.middleOf(b)
	floor := w.floorPiece(h, b, middle)
	low := w.lowPoint(h, floor)
	c := Cup{
		Area: float64(b.most) * h.cell(), AreaAt: w.height(b.mostAt), Volume: h.volume(b.length),
		From: w.p.Build.Dot(low) - w.p.Base, To: w.height(b.to), Deepest: low, Middle: middle,
		Platform: h.onPlatform(b), Molding: w.ownFacet(h.floor[floor]) && w.molding(h.floor[floor]),
	}
	if b.a >= 0 {
		lip := w.lipPoint(h, b)
		c.Lip = &lip
		c.To = w.p.Build.Dot(lip) - w.p.Base
		c.Volume = max(c.Volume+float64(h.areaAt(b, b.to-1)*(c.To-w.height(b.to))), 0)
	}
	c.AreaAt = min(max(c.AreaAt, c.From), c.To)
	if a, ok := w.sharpArea(h, b, c.To); ok {
		c.Area = a
	}
	c.Bound = standardAir * c.Area
	return c
}

// areaAt returns the area of a basin's columns at a height.
func (h *hollow) areaAt(b *basin, z int32) float64 {
	n := 0
	h.rise.each(b, func(i int32) {
		if h.lo[i] <= z && z < h.hi[i] {
			n++
		}
	})
	return float64(n) * h.cell()
}

// middleOf returns the middle of a basin's largest opening.
func (h *hollow) middleOf(b *basin) geom.Vec {
	ny := int64(h.lat.N[1])
	var x, y, n int64
	h.rise.each(b, func(i int32) {
		if h.lo[i] <= b.mostAt && b.mostAt < h.hi[i] {
			x, y, n = x+int64(h.col[i])/ny, y+int64(h.col[i])%ny, n+1
		}
	})
	if n == 0 {
		return h.at(b.low, b.from)
	}
	unit := func(axis int, sum int64) int32 {
		return h.lat.At(axis, 0) + int32(sum*(int64(1)<<h.lat.Bits)/n)
	}
	return h.lat.Point(unit(0, x), unit(1, y), b.mostAt)
}

// floorPiece returns the piece that begins lowest on the half itself, not on a
// plug, and of those on a level floor the one nearest to the middle; where all
// begin on plugs, the lowest.
func (w *printing) floorPiece(h *hollow, b *basin, middle geom.Vec) int32 {
	best, aside := int32(-1), 0.0
	h.rise.each(b, func(i int32) {
		if !w.ownFacet(h.floor[i]) || h.lo[i] >= b.to || best >= 0 && h.lo[i] > h.lo[best]+levelQuanta {
			return
		}
		d := w.aside(h.at(i, h.lo[i]), middle)
		if best < 0 || h.lo[i] < h.lo[best]-levelQuanta || d < aside || d == aside && i < best {
			best, aside = i, d
		}
	})
	if best < 0 {
		return b.low
	}
	return best
}

// levelQuanta is how many quanta two columns of one level floor may differ by: each is
// rounded by half a quantum, and so is each corner.
const levelQuanta = 2

// ownFacet tells whether a facet number is one of the half's.
func (w *printing) ownFacet(f int32) bool { return f >= 0 && int(f) < len(w.mesh.Facets) }

// keepCups stores the columns of the cups for pictures.
func (w *printing) keepCups() {
	w.p.air = &airField{lat: w.lat, columns: make([][]airColumn, len(w.found))}
	ny := int32(w.lat.N[1])
	for n := range w.found {
		h, b := w.found[n].h, w.found[n].b
		var pieces []int32
		h.rise.each(b, func(i int32) {
			if h.lo[i] < b.to {
				pieces = append(pieces, i)
			}
		})
		slices.Sort(pieces)
		for _, i := range pieces {
			w.p.air.columns[n] = append(w.p.air.columns[n], airColumn{h.col[i] / ny, h.col[i] % ny, h.lo[i], min(h.hi[i], b.to)})
		}
	}
}

// CupMesh returns the space that a cup encloses as square columns one cell wide, a
// closed mesh in the CAD frame; nil for an ID that p does not have.
func (p *Printed) CupMesh(id int) *geom.Mesh {
	if p.air == nil || id < 1 || id > len(p.air.columns) {
		return nil
	}
	return p.air.mesh(id - 1)
}

// areaSum adds up the area of basins by height.
type areaSum struct {
	h     *hollow
	steps []areaStep
}

type areaStep struct{ z, n int32 }

func newAreaSum(h *hollow) *areaSum { return &areaSum{h: h} }

// add takes in a basin, of this or of another hollow on the same lattice.
func (s *areaSum) add(h *hollow, b *basin) {
	h.rise.each(b, func(i int32) {
		if h.lo[i] < b.to {
			s.steps = append(s.steps, areaStep{h.lo[i], 1}, areaStep{min(h.hi[i], b.to), -1})
		}
	})
}

// each calls visit for every height at which the area changes, upward.
func (s *areaSum) each(visit func(z int32, area float64)) {
	slices.SortFunc(s.steps, func(a, b areaStep) int { return cmp.Compare(a.z, b.z) })
	n := int32(0)
	for i := 0; i < len(s.steps); {
		z := s.steps[i].z
		for ; i < len(s.steps) && s.steps[i].z == z; i++ {
			n += s.steps[i].n
		}
		visit(z, float64(n)*s.h.cell())
	}
}

// most returns the largest area.
func (s *areaSum) most() float64 {
	best := 0.0
	s.each(func(_ int32, a float64) { best = max(best, a) })
	return best
}

// curve lists the area of the unrelieved cups by height: of every cup that merges
// into no other and lies in no larger one that is listed too.
func (w *printing) curve() {
	sum := newAreaSum(w.open)
	for n := range w.found {
		c, f := &w.p.Cups[n], &w.found[n]
		if c.Into == 0 && !c.Relieved && !w.inAnother(n) {
			sum.add(f.h, f.b)
		}
	}
	sum.each(func(z int32, a float64) { w.p.Curve = append(w.p.Curve, SealedArea{w.height(z), a}) })
	w.p.Curve = thinned(w.p.Curve)
}

// inAnother tells whether cup n's floor lies in a cup found with wider passages
// closed that counts too.
func (w *printing) inAnother(n int) bool {
	f := &w.found[n]
	at := f.heart()
	for k := range w.found {
		g := &w.found[k]
		if k != n && g.width() > f.width() && !w.p.Cups[k].Relieved && w.p.Cups[k].Into == 0 && g.holds(at) {
			return true
		}
	}
	return false
}

// heart returns a place in the middle of the cup: half-way up the longest of the
// pieces that make its largest opening.
func (f *foundAt) heart() geom.Vec {
	h, b := f.h, f.b
	best, length := b.low, int32(-1)
	h.rise.each(b, func(i int32) {
		if h.lo[i] > b.mostAt || h.hi[i] <= b.mostAt {
			return
		}
		if d := min(h.hi[i], b.to) - h.lo[i]; d > length || d == length && i < best {
			best, length = i, d
		}
	})
	return h.at(best, h.lo[best]+max(length, 2)/2)
}

// holds tells whether a CAD point lies in the cup's columns.
func (f *foundAt) holds(p geom.Vec) bool {
	k := f.h.pieceAt(p)
	in := false
	if k >= 0 {
		f.h.rise.each(f.b, func(i int32) { in = in || i == k })
	}
	return in
}

// thinned drops the steps of a curve that a chart of this width cannot show: it
// keeps the first and last of every 1/400 of the height and its extremes.
func thinned(c []SealedArea) []SealedArea {
	const bins = 400
	if len(c) <= 4*bins {
		return c
	}
	low, span := c[0].Height, c[len(c)-1].Height-c[0].Height
	bin := func(x SealedArea) int { return int(bins * (x.Height - low) / span) }
	var out []SealedArea
	for i := 0; i < len(c); {
		j, least, most := i, i, i
		for ; j < len(c) && bin(c[j]) == bin(c[i]); j++ {
			if c[j].Area < c[least].Area {
				least = j
			}
			if c[j].Area > c[most].Area {
				most = j
			}
		}
		for k := i; k < j; k++ {
			if k == i || k == j-1 || k == least || k == most {
				out = append(out, c[k])
			}
		}
		i = j
	}
	return out
}
