package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoRooms is a mold of two parts of 20 x 20 x 10, 20 mm apart, with a vent each and a
// runner between them, from which a sprue rises at x.
func twoRooms(x float64) *blockMold {
	return &blockMold{
		block: boxAt(-10, -10, 0, 70, 30, 30), split: 12,
		rooms: []box{boxAt(0, 0, 10, 20, 20, 20), boxAt(40, 0, 10, 60, 20, 20)},
		gate:  boxAt(x-2, 8, 10, x+2, 12, 30),
		cuts:  []box{boxAt(20, 8, 10, 40, 12, 14), boxAt(1, 9, 20, 3, 11, 30), boxAt(57, 9, 20, 59, 11, 30)},
	}
}

// One sprue feeds two cavities: both mouths are gates, whether the sprue stands in the
// middle, where both channels reach its exit, or to one side, where the longer one joins
// the other. The syringe seals both: no air leaves through either.
func TestRunnerToTwoCavities(t *testing.T) {
	t.Parallel()
	for _, x := range []float64{30, 26} {
		m := twoRooms(x).setup().close(t)
		require.Len(t, m.Channels, 4, channelList(m))
		a, b := &m.Channels[1], &m.Channels[2] // in the order of their mouths
		assert.Equal(t, []Role{Vent, Gate, Gate, Vent}, []Role{m.Channels[0].Role, a.Role, b.Role, m.Channels[3].Role}, channelList(m))
		assert.True(t, a.Assumed && b.Assumed)
		assert.True(t, SameExit(a, b))
		assert.InDelta(t, 0, a.Exit.Dist(vec(x, 10, 30)), 0.3)
		assert.InDelta(t, 0, a.Mouth.Dist(vec(20, 10, 12)), 0.3)
		assert.InDelta(t, 0, b.Mouth.Dist(vec(40, 10, 12)), 0.3)
		assert.InDelta(t, 4, a.Diameter, 0.05)
		assert.InDelta(t, 4, b.Diameter, 0.05)
		assert.Zero(t, a.Joins)
		if x == 26 {
			assert.Equal(t, a.ID, b.Joins)
			assert.InDelta(t, 10, b.Length, 1, "to where the other mouth is as near")
		}
		// The runner of 20 x 4 x 4 and the sprue above it.
		f := pourUp(t, m, vec(0, 0, 1))
		assert.InEpsilon(t, 20*16+16*16, f.Ports[1].Volume+f.Ports[2].Volume, 0.02)
		assert.InEpsilon(t, 8000, f.Filled, 0.01)

		// Without its vent the second cavity keeps its air: the sprue is no way out.
		one := twoRooms(x)
		one.cuts = one.cuts[:2]
		m = one.setup().close(t)
		require.Len(t, m.Channels, 3, channelList(m))
		f = pourUp(t, m, vec(0, 0, 1))
		assert.InDelta(t, 4000, f.Trapped, 1)
	}
}

// Two vents gathered into one above: the one farther from it is an arm, no blind channel,
// and both let air out.
func TestGatheredVents(t *testing.T) {
	t.Parallel()
	b := &blockMold{
		block: boxAt(0, 0, 0, 60, 40, 40), split: 15,
		rooms: []box{boxAt(10, 10, 10, 50, 30, 20)},
		gate:  boxAt(28, 18, 0, 32, 22, 10),
		cuts:  []box{boxAt(11, 19, 20, 13, 21, 28), boxAt(11, 19, 26, 49, 21, 28), boxAt(47, 19, 20, 49, 21, 40)},
	}
	m := b.setup().close(t)
	require.Len(t, m.Channels, 3, channelList(m))
	far, near := &m.Channels[0], &m.Channels[2]
	assert.Equal(t, []Role{Vent, Gate, Vent}, []Role{far.Role, m.Channels[1].Role, near.Role}, channelList(m))
	assert.Equal(t, near.ID, far.Joins)
	assert.Equal(t, *near.Exit, *far.Exit)
	// A wedge of the ceiling's end beyond the mouth: 1 mm to the wall, 20 wide.
	f := pourUp(t, m, tilted(20, 0))
	assert.InDelta(t, 0.5*tan(20)*20, f.Trapped, 1.0, "stated error %v", f.TrappedError)
	// The other way round the gathering way runs downhill to the vent that resin rises
	// in first, and is closed there before the far end's air is out.
	f = pourUp(t, m, tilted(-20, 0))
	assert.Greater(t, f.Trapped, 100.0)

	// A bore tried out elsewhere leaves them as they are; one through the gathering way too.
	for _, at := range []float64{14, 30} {
		n, err := m.With([]BoreSpec{{At: vec(at, 12, 20), Diameter: 2}})
		require.NoError(t, err)
		require.Len(t, n.Channels, 4, channelList(n))
		arms := 0
		for i := range n.Channels {
			if n.Channels[i].Joins != 0 {
				arms++
				assert.Equal(t, Vent, n.Channels[i].Role)
				assert.NotNil(t, n.Channels[i].Exit)
			}
		}
		assert.Equal(t, 1, arms, channelList(n))
	}
}
