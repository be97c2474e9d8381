package mold

import (
	"slices"
	"sync"
)

// A bore changes little of a closed mold. What the walk through the void found without
// it stays true, and goes on from the nodes that the bore opens; of the channels only
// those are told apart again that lie beside what is new. Where a bore does not only open
// the space is sorted from the start.

// walked is what the walk through the void found beside the channels, for a later one to
// build on.
type walked struct {
	skins []int32   // nodes outside the part within the skin
	rough [][]int32 // cores that were roughness of the skin and no channels
}

// sortBored is sort for a mold that has more bores than the one before it, at its pitch.
func (m *Mold) sortBored() error {
	var lo, hi [2]int
	was := m.before
	m.space, lo, hi = was.space.Cut(m.cuts()[len(was.bores):], m.Seal, m.openWay)
	ok, err := m.relabel(lo, hi)
	if !ok && err == nil {
		err = m.label()
	}
	if err != nil {
		return err
	}
	m.measureChannels()
	return nil
}

// relabel is label for a mold that bores were added to, from column lo to hi (both
// included) of its space; false where that takes a start from the beginning. Cost: a
// copy of the labels, and what the bores open.
func (m *Mold) relabel(lo, hi [2]int) (ok bool, err error) {
	was := m.before
	w := &sorter{labels: *was.labels, m: m, sp: m.space}
	w.of = copied(w.of)
	fresh, ok := w.opened(&sorter{labels: *was.labels, sp: was.space}, lo, hi)
	if !ok {
		return false, nil
	}
	w.spread()
	grown := w.grownBeside(was.walked.skins)
	changed := slices.Concat(fresh, w.skins, w.cores, w.ends, grown)
	w.growInto(grown)
	w.kept, w.rough = was.keptChannels(), slices.Clone(was.walked.rough)
	changed = append(changed, w.release(changed)...)
	if err := w.split(); err != nil {
		return false, err
	}
	w.thickenAround(changed)
	m.labels, m.Channels = &w.labels, w.channels
	m.walked = &walked{slices.Concat(was.walked.skins, w.skins), w.rough}
	return true, nil
}

// labelMemory holds labels of molds that were tried out: fresh memory costs more than what
// is done in it.
var labelMemory sync.Pool

// copied returns a copy of labels.
func copied(of []label) []label {
	if old, ok := labelMemory.Get().(*[]label); ok {
		return append((*old)[:0], of...)
	}
	return slices.Clone(of)
}

// forget gives the memory of a mold that was tried out (With) to the next one. It must not
// be asked anything more.
func (m *Mold) forget() {
	labelMemory.Put(&m.labels.of)
	m.labels = nil
}

// opened looks for nodes that are void now, or that more steps lead from, and puts those
// that a walk goes on from into the queue. It returns the nodes that are void now; false
// where one is void no longer or a step is closed.
func (w *sorter) opened(old *sorter, lo, hi [2]int) (fresh []int32, ok bool) {
	var more []int32
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			c := i*w.lat.N[1] + j
			if w.sp.SameColumn(old.sp, c) {
				continue
			}
			for k := range w.lat.N[2] {
				x := int32(c*w.lat.N[2] + k)
				a, b := old.steps(x), w.steps(x)
				if a&^b != 0 {
					return nil, false
				}
				if b&^a == 0 {
					continue
				}
				more = append(more, x)
				if a&isVoid == 0 {
					fresh = append(fresh, x)
					w.of[x] = nothing
					if w.inPart(c, k) {
						w.of[x] = cavity
					}
				}
			}
		}
	}
	for _, x := range more {
		w.goOn(x)
		w.around(x, w.goOn)
	}
	return fresh, true
}

// goOn puts a node that a walk may leave into the queue.
func (w *sorter) goOn(x int32) {
	if l := w.of[x]; l != nothing && l != beyond {
		w.queue = append(w.queue, x)
	}
}

// isVoid is the bit of steps that says that there is void at all.
const isVoid = 1 << 7

// steps returns one bit for each of the six steps that lead from a node of void, and
// isVoid; 0 in material.
func (w *sorter) steps(x int32) (bits uint8) {
	i, j, k := w.node(x)
	if w.run(i*w.lat.N[1]+j, k) < 0 {
		return 0
	}
	nz := int32(w.lat.N[2])
	bits = isVoid
	w.around(x, func(y int32) {
		axis := 0 // of the step
		switch d := max(y-x, x-y); {
		case d == 1:
		case d == nz:
			axis = 1
		default:
			axis = 2
		}
		if y > x {
			axis += 3
		}
		bits |= 1 << axis
	})
	return bits
}

// inPart tells whether node k of column c lies inside the fitted part.
func (w *sorter) inPart(c, k int) bool {
	z := w.lat.At(2, k)
	return slices.ContainsFunc(w.parts[c], func(s span) bool { return s.lo <= z && z <= s.hi })
}

// grownBeside returns the skin nodes, new ones and of those known, that lie in front of
// a core: of a new one, if they were known.
func (w *sorter) grownBeside(known []int32) (grown []int32) {
	for _, x := range w.skins {
		if y := w.front(x); y >= 0 && w.isCore(y) {
			grown = append(grown, x)
		}
	}
	near := w.boxOf(w.cores).grow(w.frontReach(), w.lat.N)
	for _, x := range known {
		if w.of[x] == cavity && near.holds(w.node(x)) {
			if y := w.front(x); y >= 0 && w.of[y] == core {
				grown = append(grown, x)
			}
		}
	}
	return grown
}

// isCore tells whether the walk found node x to be core, whatever became of it.
func (w *sorter) isCore(x int32) bool {
	l := w.of[x]
	if l != cavity && l < firstChannel || l&material != 0 {
		return l == core
	}
	i, j, k := w.node(x)
	return !w.inPart(i*w.lat.N[1]+j, k) && !w.m.nearPart(w.point(x))
}

// frontReach is how many steps a skin node's front is off at most along any axis: skin
// to the part, skin and a pitch out again, and half a cell's diagonal to a node.
func (w *sorter) frontReach() int { return int(2*w.m.Skin/w.lat.Pitch()) + 3 }

// release makes cores again of the kept channels, and of roughness, that lie so near to
// a changed node that both count when channels are told apart (within a thin mouth of a
// wide one, in one group, in one core), or to one that is released. It returns them.
func (w *sorter) release(changed []int32) (released []int32) {
	reach := max(2, int(slitWidth/w.lat.Pitch())+2)
	for front := changed; len(front) > 0; {
		near := w.nodesNear(front, reach)
		front = nil
		w.kept = slices.DeleteFunc(w.kept, func(c keptChannel) bool {
			touched := slices.ContainsFunc(c.members, near)
			if touched {
				front = append(front, c.members...)
			}
			return touched
		})
		w.rough = slices.DeleteFunc(w.rough, func(members []int32) bool {
			touched := slices.ContainsFunc(members, near)
			if touched {
				front = append(front, members...)
			}
			return touched
		})
		released = append(released, front...)
	}
	for _, x := range released {
		w.of[x] = core
	}
	w.cores = append(w.cores, released...)
	return released
}

// nodesNear returns a function that tells whether a node is no more than some steps
// along any axis from one of a list.
func (w *sorter) nodesNear(list []int32, steps int) func(x int32) bool {
	box := w.boxOf(list).grow(steps, w.lat.N)
	mark := sync.OnceValue(func() []bool { return w.marked(list, steps, box) }) // most ask from outside the box only
	return func(x int32) bool {
		i, j, k := w.node(x)
		return box.holds(i, j, k) && mark()[box.index(i, j, k)]
	}
}

// marked marks the nodes of a box no more than some steps from one of a list.
func (w *sorter) marked(list []int32, steps int, box nodeBox) []bool {
	marked := make([]bool, box.nodes())
	for _, x := range list {
		i, j, k := w.node(x)
		b := nodeBox{[3]int{i, j, k}, [3]int{i, j, k}}.grow(steps, w.lat.N)
		for a := b.lo[0]; a <= b.hi[0]; a++ {
			for c := b.lo[1]; c <= b.hi[1]; c++ {
				from := box.index(a, c, b.lo[2])
				row := marked[from : from+b.hi[2]-b.lo[2]+1]
				for n := range row {
					row[n] = true
				}
			}
		}
	}
	return marked
}

// thickenAround is thicken where nodes of void have come or their labels changed, and
// measures the free space anew.
func (w *sorter) thickenAround(changed []int32) {
	if box := w.boxOf(changed).grow(2, w.lat.N); box.nodes() < len(w.of)/8 {
		w.thickenIn(box)
		w.free = w.free.with(&w.labels, box)
		return
	}
	for x, l := range w.of {
		if l&material != 0 {
			w.of[x] = nothing
		}
	}
	w.thicken()
	w.free = newFreeMap(&w.labels, w.m.fixed.near)
}

// thickenIn is thicken for a box of nodes.
func (w *sorter) thickenIn(inner nodeBox) {
	outer := inner.grow(1, w.lat.N)
	// The labelled node of void, first in number, next to each node of material; -1 for
	// none, and for void.
	giver := make([]int32, 0, outer.nodes())
	inVoid := func(i, j, k int) int32 {
		y := w.index(i, j, k)
		if l := w.of[y]; l != nothing && l != beyond && l&material == 0 {
			return y
		}
		return -1
	}
	beside := func(i, j, k int) int32 { return giver[outer.index(i, j, k)] }
	outer.each(func(i, j, k int) {
		g := int32(-1)
		if w.run(i*w.lat.N[1]+j, k) < 0 {
			g = w.firstAround(i, j, k, inVoid)
		}
		giver = append(giver, g)
	})
	inner.each(func(i, j, k int) {
		x := w.index(i, j, k)
		if w.run(i*w.lat.N[1]+j, k) >= 0 {
			return
		}
		g := beside(i, j, k)
		if g < 0 {
			g = w.firstAround(i, j, k, beside)
		}
		if w.of[x] = nothing; g >= 0 {
			w.of[x] = w.of[g] | material
		}
	})
}

// firstAround returns the least answer, negative ones left out, for a node and the 26
// around it; -1 for none.
func (w *sorter) firstAround(i, j, k int, of func(i, j, k int) int32) int32 {
	least := int32(-1)
	for a := max(i-1, 0); a <= min(i+1, w.lat.N[0]-1); a++ {
		for b := max(j-1, 0); b <= min(j+1, w.lat.N[1]-1); b++ {
			for c := max(k-1, 0); c <= min(k+1, w.lat.N[2]-1); c++ {
				if g := of(a, b, c); g >= 0 && (least < 0 || g < least) {
					least = g
				}
			}
		}
	}
	return least
}
