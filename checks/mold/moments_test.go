package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// With a node for every column the grid says what the stages say: a node is below the
// level of a stage just when its moment has come by then, and what never comes is the
// air that is left.
func TestMomentsAgreeWithStages(t *testing.T) {
	t.Parallel()
	for name, turn := range map[string]*Tilt{"b0": {Angle: 0.1745}, "weir2": {}} {
		s := storedSetup(t, name)
		s.job.Tilt, s.job.Cell = turn, 0.5
		m := s.close(t)
		f, err := m.Pour(m.Up)
		require.NoError(t, err, name)
		g := f.Moments(1 << 30)
		require.Equal(t, f.stages.lat.N, g.N)
		compared := 0
		for r, l := range f.stages.level {
			for z := max(f.stages.lat.NodeAbove(2, f.stages.lo[r]), 0); f.stages.lat.At(2, z) < f.stages.hi[r]; z++ {
				at := g.At[int(f.stages.x[r])+g.N[0]*(int(f.stages.y[r])+g.N[1]*z)]
				require.NotEqual(t, uint8(MomentNone), at, name)
				for k, pct := range stagesAt {
					moment := 1 + pct/100*(MomentLast-1)
					if wet := f.stages.lat.At(2, z) < l[k]; wet {
						require.LessOrEqual(t, float64(at), moment+0.5, "%s stage %d", name, k) // half a step of rounding
					} else {
						require.GreaterOrEqual(t, float64(at), moment-0.5, "%s stage %d", name, k)
					}
					compared++
				}
				assert.Equal(t, f.stages.lat.At(2, z) >= l[len(stagesAt)-1], at == MomentNever, name)
			}
		}
		assert.Greater(t, compared, 50_000, name)
	}
}

// A coarse grid keeps to its bound and to the volumes: what comes by half time is half.
func TestMomentsOnACoarseGrid(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0")
	s.job.Tilt, s.job.Cell = &Tilt{Angle: 0.1745}, 0.5
	m := s.close(t)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	for _, most := range []int{20_000, 3_000} {
		g := f.Moments(most)
		require.LessOrEqual(t, len(g.At), most)
		require.Len(t, g.At, g.N[0]*g.N[1]*g.N[2])
		var count [256]float64
		for _, at := range g.At {
			count[at]++
		}
		half, all := 0.0, 0.0
		for at := 1; at <= MomentLast; at++ {
			all += count[at]
			if at <= MomentLast/2 {
				half += count[at]
			}
		}
		assert.InDelta(t, 0.5, half/all, 0.08)
		volume := all * g.Step * g.Step * g.Step // a node counts where any column of its block does
		assert.Greater(t, volume, f.Filled)
		assert.Less(t, volume, 2*f.Filled)
		assert.Positive(t, count[MomentNever])
	}
	assert.Nil(t, (&Fill{}).Moments(100))
}

// The pockets that a tilt keeps hold what the tilt says it traps: their columns fill
// the volume, and the top lies in the highest of them.
func TestTiltsKeepTheirPockets(t *testing.T) {
	t.Parallel()
	m := storedSetup(t, "b0").close(t)
	for _, turn := range []Tilt{{Angle: 0.1745}, {Angle: 0.35, Side: 1}, {Angle: 0.9, Side: 3}} {
		p, err := m.trial(turn, 0.8, 1)
		require.NoError(t, err)
		require.Len(t, p.Air, min(p.Pockets, tiltPockets))
		frame := PourFrame(p.Up)
		sum := 0.0
		for i, k := range p.Air {
			sum += k.Volume
			require.True(t, i == 0 || k.Volume <= p.Air[i-1].Volume)
			require.LessOrEqual(t, len(k.Columns), tiltColumns)
			require.NotEmpty(t, k.Columns)
			air, top := 0.0, frame.Turn(k.Top)
			for _, c := range k.Columns {
				require.Less(t, c.Lo, c.Hi)
				require.LessOrEqual(t, float64(c.Hi), top.Z+1e-4)
				air += float64(c.Hi-c.Lo) * k.Width * k.Width
			}
			assert.InDelta(t, k.Volume, air, 3+0.25*k.Volume, "columns are thinned out, and hold the air in channels too")
		}
		assert.InDelta(t, p.Trapped, sum, 3)
		assert.Positive(t, sum)
	}
}
