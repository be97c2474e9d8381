package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func closing(t *testing.T, s setup) *Closing {
	t.Helper()
	c, err := s.close(t).Closing()
	require.NoError(t, err)
	return c
}

// TestClosedBlock: B0 meets on 60 x 40 less 40 x 20 mm, without gap or overlap; its
// land is the 10 mm beside the cavity (own calculation).
func TestClosedBlock(t *testing.T) {
	t.Parallel()
	c := closing(t, storedSetup(t, "b0"))
	assert.Zero(t, c.OverlapVolume)
	assert.Zero(t, c.GapMax)
	assert.InDelta(t, 1600, c.Touching, 16)
	assert.Empty(t, c.Keys)
	assert.True(t, c.NoKeys)
	land, ok := c.LandMin()
	require.True(t, ok)
	assert.InDelta(t, 10, land, 0.05)
	assert.InDelta(t, 0, c.Deviation.Max, 0.001)
}

// TestOverlapAndGap: halves driven 0.2 mm into each other over 1600 mm2, and halves
// 0.3 mm apart.
func TestOverlapAndGap(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0")
	down := geom.Identity()
	down.T = vec(0, 0, -0.2)
	for i := range s.halves {
		if s.halves[i].Name == "top" {
			s.halves[i].Mesh = geomtest.Transform(s.halves[i].Mesh, down)
		}
	}
	c := closing(t, s)
	assert.InDelta(t, 0.2, c.OverlapDepth, 0.005)
	assert.InDelta(t, 320, c.OverlapVolume, 6.4)
	c = closing(t, storedSetup(t, "parting-gap03"))
	assert.InDelta(t, 0.3, c.GapMax, 0.02)
	assert.Zero(t, c.OverlapVolume)
}

// TestKeysOfABlock: three keys with 0.15 mm clearance a side, placed so that the
// mold closes one way only.
func TestKeysOfABlock(t *testing.T) {
	t.Parallel()
	c := closing(t, storedSetup(t, "keys"))
	require.Len(t, c.Keys, 3)
	for _, k := range c.Keys {
		assert.InDelta(t, 0.15, k.Clearance, 0.02)
		assert.Greater(t, k.ToCavity, 4.0)
	}
	assert.False(t, c.Reversible())
}
