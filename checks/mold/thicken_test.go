package mold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// thickenSlowly is thicken node by node.
func thickenSlowly(w *sorter) {
	var front []int32
	for x, l := range w.of {
		if l != nothing && l != beyond {
			front = append(front, int32(x))
		}
	}
	for range 2 {
		var next []int32
		for _, x := range front {
			i, j, k := w.node(x)
			for a := max(i-1, 0); a <= min(i+1, w.lat.N[0]-1); a++ {
				for b := max(j-1, 0); b <= min(j+1, w.lat.N[1]-1); b++ {
					for c := max(k-1, 0); c <= min(k+1, w.lat.N[2]-1); c++ {
						y := w.index(a, b, c)
						if w.of[y] == nothing && w.run(a*w.lat.N[1]+b, c) < 0 {
							w.of[y] = w.of[x] | material
							next = append(next, y)
						}
					}
				}
			}
		}
		front = next
	}
}

func TestThickenAsNodeByNode(t *testing.T) {
	for _, name := range []string{"b0", "utube", "dome-vent3"} {
		part, halves := loadCase(t, name)
		job := NewJob()
		job.Cell = 0.4
		m, err := Close(*job, part, halves)
		require.NoError(t, err)
		w := newSorter(m)
		w.of = slices.Clone(m.labels.of)
		labelled := 0
		for x, l := range w.of {
			if l&material != 0 {
				w.of[x] = nothing
				labelled++
			}
		}
		require.Positive(t, labelled, name)
		thickenSlowly(w)
		assert.True(t, slices.Equal(w.of, m.labels.of), name)
	}
}
