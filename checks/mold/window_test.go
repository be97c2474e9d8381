package mold

import (
	"container/heap"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMeetIsNarrowingAll: which links are left as they are read off makes no
// difference. Windows at pieces all over a bunny's mold, two sides drawn by hand.
func TestMeetIsNarrowingAll(t *testing.T) {
	s := storedSetup(t, "bunny")
	s.job.Cell = 0.5
	m := s.close(t)
	p, err := m.newPour(tilted(20, 30), m.Cell)
	require.NoError(t, err)
	met := 0
	for i := int32(0); i < int32(len(p.lo)); i += int32(len(p.lo)) / 40 {
		c := int(p.col[i])
		at := [3]int{c / p.lat.N[1], c % p.lat.N[1], p.lat.NodeBelow(2, p.hi[i])}
		for _, down := range [2]bool{true, false} {
			lo, hi := p.around(at)
			lat := p.lat.Window(lo, hi, fineBits)
			w := p.window(&lat)
			runs := w.coarseRuns()
			w.seed(&runs, p.sides(lo, hi, &runs, func(piece int32) side {
				switch x := int(p.col[piece]) / p.lat.N[1]; {
				case x <= lo[0]+1:
					return near
				case x >= hi[0]-1:
					return far
				}
				return neither
			}))
			flags := slices.Clone(w.flag)
			z, ok, col := w.meet(down)
			w.flag = flags
			all := linkHeap{wayLinks{links: w.links(), down: down}}
			wantZ, wantOK, wantCol := w.narrowAll(&all, w.newForest())
			assert.Equal(t, wantOK, ok)
			assert.Equal(t, wantZ, z)
			assert.Equal(t, wantCol, col)
			if ok {
				met++
			}
		}
	}
	assert.Greater(t, met, 20)
}

// linkHeap gives out the widest opening first.
type linkHeap struct{ wayLinks }

func (h *linkHeap) Less(i, j int) bool { return h.wider(int32(i), int32(j)) }
func (h *linkHeap) Len() int           { return len(h.links) }
func (h *linkHeap) Swap(i, j int)      { h.links[i], h.links[j] = h.links[j], h.links[i] }
func (h *linkHeap) Push(x any)         { h.links = append(h.links, x.(fineLink)) }

func (h *linkHeap) Pop() any {
	last := len(h.links) - 1
	h.links = h.links[:last]
	return nil
}

// narrowAll joins the fine runs in the order of links, each narrowed before it would join
// two pieces (Kruskal 1956), until a piece holds both sides.
func (w *fineWindow) narrowAll(links *linkHeap, f forest) (height int32, ok bool, at [2]int) {
	heap.Init(links)
	for len(links.links) > 0 {
		l := &links.links[0]
		if !l.narrowed && f.root(l.A) != f.root(l.B) {
			z := w.edge(l, links.down)
			if l.narrowed = true; z != links.key(0) {
				l.Lo, l.Hi = z, z
				heap.Fix(links, 0)
				continue
			}
		}
		if f.join(l.A, l.B) {
			c := int(l.column)
			return links.key(0), true, [2]int{c / w.sp.N[1] >> fineBits, c % w.sp.N[1] >> fineBits}
		}
		heap.Pop(links)
	}
	return 0, false, at
}
