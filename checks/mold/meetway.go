package mold

import (
	"cmp"
	"slices"

	"pourproof/geom"
	"pourproof/geom/flood"
)

// meet returns the height at which the two sides are joined: that of the narrowest link
// of the widest way between them, for gas (down) the highest, for resin the lowest. A
// link's height as read off its columns is too wide by up to a fine pitch times the
// slope: it is narrowed to its edge where that may matter. It returns that height and the
// coarse column, counted from the window's first, at or before that link.
//
// The heights as read off show within which bounds the answer lies: no link moves by
// more than reach. Links above the bounds are open anyway, and those below are not
// needed, so only of the few between some are narrowed.
func (w *fineWindow) meet(down bool) (height int32, ok bool, at [2]int) {
	all := wayLinks{links: w.links(), down: down}
	order := all.sorted()
	seeds := slices.Clone(w.flag)
	f := w.newForest()
	n := slices.IndexFunc(order, func(i uint64) bool { l := &all.links[uint32(i)]; return f.join(l.A, l.B) })
	if n < 0 {
		return 0, false, at
	}
	copy(w.flag, seeds)
	f = w.newForest()
	z, reach := int64(all.key(int32(order[n]))), int64(w.reach())
	between := wayLinks{down: down}
	for _, i := range order {
		l := &all.links[uint32(i)]
		above := int64(all.key(int32(i))) - z
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
	last := w.widest(&between, f)
	if last < 0 {
		return 0, false, at
	}
	c := int(between.links[last].column)
	return between.key(last), true, [2]int{c / w.sp.N[1] >> fineBits, c % w.sp.N[1] >> fineBits}
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

// fineLink is an opening between two fine runs, and their columns.
type fineLink struct {
	flood.Link
	column, beside int32
	narrowed       bool // to the edge between its columns
}

// wayLinks are links in order: the widest opening first, for gas (down) the highest Hi,
// for resin the lowest Lo; equal ones by their runs, so that the order is the same always.
type wayLinks struct {
	links []fineLink
	down  bool
	open  []int32 // a heap of those that a way may go on over, the widest on top
}

func (h *wayLinks) key(i int32) int32 {
	if h.down {
		return h.links[i].Hi
	}
	return h.links[i].Lo
}

// sorted returns the numbers of the links, in the lower halves, the widest first.
func (h *wayLinks) sorted() []uint64 {
	keys := make([]uint64, len(h.links))
	for i := range keys {
		z := uint32(h.key(int32(i))) ^ 1<<31 // in the order of unsigned numbers
		if h.down {
			z = ^z
		}
		keys[i] = uint64(z)<<32 | uint64(i)
	}
	return geom.RadixSort(keys, 32)
}

// wider tells whether link i comes before link j.
func (h *wayLinks) wider(i, j int32) bool {
	a, b := &h.links[i], &h.links[j]
	c := cmp.Compare(h.key(i), h.key(j))
	if h.down {
		c = -c
	}
	return cmp.Or(c, cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B)) < 0
}

func (h *wayLinks) push(i int32) {
	n := len(h.open)
	h.open = append(h.open, i)
	for n > 0 {
		up := (n - 1) / 2
		if !h.wider(i, h.open[up]) {
			break
		}
		h.open[n], n = h.open[up], up
	}
	h.open[n] = i
}

// pop takes the widest out.
func (h *wayLinks) pop() {
	last := len(h.open) - 1
	h.open[0] = h.open[last]
	if h.open = h.open[:last]; last > 0 {
		h.sink()
	}
}

// sink puts the one on top in its place.
func (h *wayLinks) sink() {
	n, i := 0, h.open[0]
	for {
		k := 2*n + 1
		if k >= len(h.open) {
			break
		}
		if k+1 < len(h.open) && h.wider(h.open[k+1], h.open[k]) {
			k++
		}
		if !h.wider(h.open[k], i) {
			break
		}
		h.open[n], n = h.open[k], k
	}
	h.open[n] = i
}

// widest goes from the pieces of the near side on, always over the widest link out of
// what is reached (Prim 1957), to the far side, and returns the narrowest link that it
// had to take; -1 where no way leads there. A link is narrowed once it is the widest,
// then waits for its turn again.
func (w *fineWindow) widest(links *wayLinks, f forest) (last int32) {
	from := linksOf(links.links, &f, len(w.flag))
	reached := make([]bool, len(w.flag))
	reach := func(piece int32) {
		reached[piece] = true
		for _, i := range from(piece) {
			links.push(i)
		}
	}
	for r := range w.flag {
		if r := int32(r); f.root(r) == r && w.flag[r]&near != 0 {
			reach(r)
		}
	}
	last = -1
	for len(links.open) > 0 {
		i := links.open[0]
		l := &links.links[i]
		a, b := f.root(l.A), f.root(l.B)
		if reached[a] && reached[b] {
			links.pop()
			continue
		}
		if !l.narrowed {
			z := w.edge(l, links.down)
			if l.narrowed = true; z != links.key(i) {
				l.Lo, l.Hi = z, z
				links.sink()
				continue
			}
		}
		links.pop()
		if last < 0 || links.wider(last, i) {
			last = i
		}
		if reached[a] {
			a = b
		}
		if w.flag[a]&far != 0 {
			return last
		}
		reach(a)
	}
	return -1
}

// linksOf sorts the links between different pieces by piece, of the pieces of n runs.
func linksOf(links []fineLink, f *forest, n int) func(piece int32) []int32 {
	start := make([]int32, n+1)
	for i := range links {
		if a, b := f.root(links[i].A), f.root(links[i].B); a != b {
			start[a]++
			start[b]++
		}
	}
	for i := range n {
		start[i+1] += start[i]
	}
	list := make([]int32, start[n])
	for i := range links {
		if a, b := f.root(links[i].A), f.root(links[i].B); a != b {
			start[a]--
			start[b]--
			list[start[a]], list[start[b]] = int32(i), int32(i)
		}
	}
	return func(piece int32) []int32 { return list[start[piece]:start[piece+1]] }
}
