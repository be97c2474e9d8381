package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Volumes are those of the boxes; the lattice takes them to a cell all around.
func TestLoosePieces(t *testing.T) {
	block := geomtest.Box(xyz(0, 0, 0), xyz(20, 20, 5))
	over := geomtest.Box(xyz(6, 7, 8), xyz(10, 11, 13))  // 80 mm3, 3 mm over the block
	beside := geomtest.Box(xyz(22, 2, 1), xyz(25, 5, 4)) // 27 mm3, 2 mm beside it
	m := geomtest.Join(over, beside, block)
	builds := []geom.Vec{upZ, upZ.Neg(), xyz(1, 0, 0), xyz(0, -1, 0), xyz(1, 2, 3), xyz(-2, 1, -1)}
	for _, build := range builds {
		p := printed(t, m, build, PrintOptions{Cell: 0.2})
		require.Len(t, p.Loose, 2, "build %v", build)
		assert.InDelta(t, 80, p.Loose[0].Volume, 80*0.08, "build %v", build)
		assert.InDelta(t, 27, p.Loose[1].Volume, 27*0.12, "build %v", build)
		for i, c := range []geom.Vec{xyz(8, 9, 10.5), xyz(23.5, 3.5, 2.5)} {
			assert.Equal(t, i+1, p.Loose[i].ID)
			d := p.Loose[i].At.Sub(c)
			assert.Less(t, max(d.X, -d.X, d.Y, -d.Y), 2.0, "inside, build %v", build)
		}
	}
}

func TestWhatTouchesIsNotLoose(t *testing.T) {
	block := geomtest.Box(xyz(0, 0, 0), xyz(20, 20, 5))
	for name, other := range map[string]*geom.Mesh{
		"a face in common": geomtest.Box(xyz(6, 7, 5), xyz(10, 11, 10)),
		"overlapping":      geomtest.Box(xyz(6, 7, 3), xyz(10, 11, 10)),
		"within":           geomtest.Box(xyz(6, 7, 1), xyz(10, 11, 4)),
	} {
		for _, build := range []geom.Vec{upZ, upZ.Neg(), xyz(1, 2, 3)} {
			assert.Empty(t, printed(t, geomtest.Join(block, other), build, PrintOptions{}).Loose, "%s, build %v", name, build)
		}
	}
}

// An upright slit of two lattice pitches leaves two pieces, a slot that ends in solid one.
func TestASlitMakesTwoPieces(t *testing.T) {
	cut := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(20, 10, 5)), geomtest.Cut(xyz(8, 0, 0), xyz(8.8, 10, 5)))
	p := printed(t, cut, upZ, PrintOptions{})
	require.Len(t, p.Loose, 1)
	assert.InDelta(t, 400, p.Loose[0].Volume, 400*0.06)
	slot := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(20, 10, 5)), geomtest.Cut(xyz(8, 0, 0), xyz(8.8, 9, 5)))
	assert.Empty(t, printed(t, slot, upZ, PrintOptions{}).Loose)
}
