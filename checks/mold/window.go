package mold

import (
	"cmp"
	"container/heap"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
	"pourproof/geom/flood"
)

// fineWindow finds where two sides meet in a finely cast window.
type fineWindow struct {
	p    *pour
	sp   *column.Space
	flag []side // per fine run: near | far<<… as bits 1 and 2
}

// seed marks the fine runs that are a coarse piece of either side.
func (w *fineWindow) seed(lo, hi [3]int, sideOf func(piece int32) side) {
	p := w.p
	w.flag = make([]side, len(w.sp.Lo))
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			c := i*p.lat.N[1] + j
			fine := ((i-lo[0])<<fineBits)*w.sp.N[1] + (j-lo[1])<<fineBits
			for a := p.start[c]; a < p.start[c+1]; a++ {
				s := sideOf(a)
				if s == neither {
					continue
				}
				for r := w.sp.Start[fine]; r < w.sp.Start[fine+1]; r++ {
					if w.sp.Lo[r] < p.hi[a] && p.lo[a] < w.sp.Hi[r] {
						w.flag[r] |= s
					}
				}
			}
		}
	}
}

// meet joins the fine runs in the order of falling Hi (rising Lo) until a piece
// holds both sides. A link's height as read off its columns is too wide by up to a
// fine pitch times the slope, so two links may stand in the wrong order: a link that
// would join two pieces is first narrowed to its edge, then waits for its turn again.
// It returns that height and the coarse column, counted from the window's first, at or
// before the link that did it.
//
// The heights as read off show within which bounds the answer lies: no link moves by
// more than reach. Links above the bounds are open anyway, and those below are not
// needed, so only the few between are narrowed.
func (w *fineWindow) meet(down bool) (height int32, ok bool, at [2]int) {
	links := linkHeap{links: w.links(), down: down}
	order := links.sorted()
	seeds := slices.Clone(w.flag)
	f := w.newForest()
	n := slices.IndexFunc(order, func(i uint64) bool { l := &links.links[uint32(i)]; return f.join(l.A, l.B) })
	if n < 0 {
		return 0, false, at
	}
	copy(w.flag, seeds)
	f = w.newForest()
	z, reach := int64(links.key(int(uint32(order[n])))), int64(w.reach())
	between := linkHeap{down: down}
	for _, i := range order {
		l := &links.links[uint32(i)]
		above := int64(links.key(int(uint32(i)))) - z
		if !down {
			above = -above
		}
		switch {
		case above > reach:
			f.join(l.A, l.B)
		case above >= -reach:
			between.links = append(between.links, *l)
		}
	}
	return w.narrow(&between, f)
}

// narrow is meet over the links of a heap.
func (w *fineWindow) narrow(links *linkHeap, f forest) (height int32, ok bool, at [2]int) {
	heap.Init(links)
	for len(links.links) > 0 {
		l := &links.links[0]
		if !l.narrowed && f.root(l.A) != f.root(l.B) {
			z := w.edge(l.Link, links.down)
			if l.narrowed = true; z != links.key(0) {
				l.Lo, l.Hi = z, z
				heap.Fix(links, 0)
				continue
			}
		}
		if f.join(l.A, l.B) {
			c := w.column(l.A)
			return links.key(0), true, [2]int{c / w.sp.N[1] >> fineBits, c % w.sp.N[1] >> fineBits}
		}
		heap.Pop(links)
	}
	return 0, false, at
}

// forest is a union-find over the window's fine runs, their flags joined with them.
type forest struct {
	w      *fineWindow
	parent []int32
}

func (w *fineWindow) newForest() forest {
	f := forest{w, make([]int32, len(w.flag))}
	for i := range f.parent {
		f.parent[i] = int32(i)
	}
	return f
}

func (f *forest) root(i int32) int32 {
	for f.parent[i] != i {
		f.parent[i] = f.parent[f.parent[i]]
		i = f.parent[i]
	}
	return i
}

// join makes one piece of two and tells whether they were two and it now holds both
// sides.
func (f *forest) join(a, b int32) bool {
	a, b = f.root(a), f.root(b)
	if a == b {
		return false
	}
	f.parent[b] = a
	f.w.flag[a] |= f.w.flag[b]
	return f.w.flag[a] == near|far
}

// fineLink is an opening between two fine runs.
type fineLink struct {
	flood.Link
	narrowed bool // to the edge between its columns
}

// linkHeap gives out the widest opening first: for gas (down) the highest Hi, for
// resin the lowest Lo; equal ones by their runs, so that the order is the same always.
type linkHeap struct {
	links []fineLink
	down  bool
}

func (h *linkHeap) key(i int) int32 {
	if h.down {
		return h.links[i].Hi
	}
	return h.links[i].Lo
}

// sorted returns the numbers of the links, in the lower halves, the widest first.
func (h *linkHeap) sorted() []uint64 {
	keys := make([]uint64, len(h.links))
	for i := range keys {
		z := uint32(h.key(i)) ^ 1<<31 // in the order of unsigned numbers
		if h.down {
			z = ^z
		}
		keys[i] = uint64(z)<<32 | uint64(i)
	}
	return geom.RadixSort(keys, 32)
}

func (h *linkHeap) Less(i, j int) bool {
	a, b := &h.links[i], &h.links[j]
	c := cmp.Compare(h.key(i), h.key(j))
	if h.down {
		c = -c
	}
	return cmp.Or(c, cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B)) < 0
}

func (h *linkHeap) Len() int      { return len(h.links) }
func (h *linkHeap) Swap(i, j int) { h.links[i], h.links[j] = h.links[j], h.links[i] }
func (h *linkHeap) Push(x any)    { h.links = append(h.links, x.(fineLink)) }

func (h *linkHeap) Pop() any {
	last := len(h.links) - 1
	h.links = h.links[:last]
	return nil
}

// edge returns the height of the edge between the two columns of a link, where
// the rubber comes down (rises) between them: where the planes of their roofs
// (floors) meet, or, if a wall stands between, where the plane of the limiting one
// reaches that wall.
func (w *fineWindow) edge(l flood.Link, down bool) int32 {
	sp := w.sp
	end, facet, z := sp.Hi, sp.HiFacet, l.Hi
	if !down {
		end, facet, z = sp.Lo, sp.LoFacet, l.Lo
	}
	a, b := l.A, l.B
	if end[a] != z {
		a, b = b, a // a limits the link
	}
	if end[a] != z || end[b] == z || facet[a] < 0 {
		return z
	}
	from, to := w.place(a, z), w.place(b, z)
	d := from.Dist(to)
	e := to.Sub(from).Unit()
	sa, okA := w.slope(facet[a], e)
	if !okA {
		return z
	}
	reach := w.reach()
	move := func(mm float64) int32 {
		dz := int32(math.Round(mm / sp.Q))
		if dz > reach || dz < -reach || (dz > 0) == down { // an edge only ever narrows the way
			return z
		}
		return z + dz
	}
	if facet[b] >= 0 {
		if sb, ok := w.slope(facet[b], e); ok && sa != sb {
			// Heights over the distance x from column a: sa x and hb + sb (x - d).
			hb := float64(end[b]-z) * sp.Q
			if x := (hb - sb*d) / (sa - sb); x >= 0 && x <= d {
				return move(sa * x)
			}
		}
	}
	off := int32(thinStep)
	if !down {
		off = -off
	}
	hit, ok := w.p.m.fixed.tree.First(w.place(b, z+off), e.Neg(), d)
	if !ok {
		return z
	}
	return move(sa * (d - hit.Dist))
}

// reach is how many quanta an edge between two columns may lie off: four pitches, a
// slope of 76 deg.
func (w *fineWindow) reach() int32 { return 4 << w.sp.Bits }

// slope returns how a facet rises along the level direction e; ok is false where
// it is steeper than 89.4 deg.
func (w *fineWindow) slope(facet int32, e geom.Vec) (rise float64, ok bool) {
	n := w.sp.Solids.Normal(facet)
	up := n.Dot(w.sp.Frame.Z)
	if up*up < 1e-4 {
		return 0, false
	}
	return -n.Dot(e) / up, true
}

// thinStep is how many quanta beyond a surface a ray starts, to be off it.
const thinStep = 8

// place returns the CAD place of fine run r's column at height z.
func (w *fineWindow) place(r, z int32) geom.Vec {
	sp, c := w.sp, w.column(r)
	return sp.Point(sp.At(0, c/sp.N[1]), sp.At(1, c%sp.N[1]), z)
}

// column returns the number of fine run r's column.
func (w *fineWindow) column(r int32) int {
	c, _ := slices.BinarySearch(w.sp.Start, r+1)
	c-- // the last column whose first run is at or before r
	for w.sp.Start[c+1] <= r {
		c++
	}
	return c
}

// links lists the openings between neighbouring fine columns.
func (w *fineWindow) links() []fineLink {
	var out []fineLink
	sp := w.sp
	pair := func(c, d, axis int) {
		a, b := sp.Start[c], sp.Start[d]
		for a < sp.Start[c+1] && b < sp.Start[d+1] {
			lo, hi := max(sp.Lo[a], sp.Lo[b]), min(sp.Hi[a], sp.Hi[b])
			if lo < hi {
				if lo, hi, ok := sp.Open(c/sp.N[1], c%sp.N[1], axis, lo, hi); ok {
					out = append(out, fineLink{Link: flood.Link{A: a, B: b, Lo: lo, Hi: hi}})
				}
			}
			if sp.Hi[a] < sp.Hi[b] {
				a++
			} else {
				b++
			}
		}
	}
	for c := 0; c+1 < len(sp.Start); c++ {
		if c/sp.N[1]+1 < sp.N[0] {
			pair(c, c+sp.N[1], 0)
		}
		if c%sp.N[1]+1 < sp.N[1] {
			pair(c, c+1, 1)
		}
	}
	return out
}
