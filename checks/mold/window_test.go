package mold

import (
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
			w, lo, hi := p.window(at)
			w.seed(lo, hi, func(piece int32) side {
				switch x := int(p.col[piece]) / p.lat.N[1]; {
				case x <= lo[0]+1:
					return near
				case x >= hi[0]-1:
					return far
				}
				return neither
			})
			flags := slices.Clone(w.flag)
			z, ok, col := w.meet(down)
			w.flag = flags
			all := linkHeap{links: w.links(), down: down}
			wantZ, wantOK, wantCol := w.narrow(&all, w.newForest())
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
