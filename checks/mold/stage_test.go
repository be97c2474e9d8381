package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// At every stage the levels of the runs hold just the resin that the stage says is
// in, no level ever falls, and the last stage is the end of the pour.
func TestStagesHoldTheResinTheySay(t *testing.T) {
	t.Parallel()
	for name, turn := range map[string]*Tilt{"b0": {Angle: 0.1745}, "utube": {}, "weir2": {}} {
		s := storedSetup(t, name)
		s.job.Tilt, s.job.Cell = turn, 0.5
		m := s.close(t)
		f, err := m.Pour(m.Up)
		require.NoError(t, err, name)
		require.Len(t, f.Stages, len(stagesAt), name)
		h := f.Cell
		air := 0.0
		for k, g := range f.Stages {
			sum := 0.0
			for r, l := range f.stages.level {
				sum += float64(l[k]-f.stages.lo[r]) * f.stages.lat.Q * h * h
				if k > 0 {
					require.GreaterOrEqual(t, l[k], l[k-1], "%s stage %d", name, k)
				}
				if k == len(stagesAt)-1 {
					air += float64(f.stages.hi[r]-l[k]) * f.stages.lat.Q * h * h
				}
			}
			// All runs of the arc that fills rise together by one quantum.
			step := float64(len(f.stages.level)) * f.stages.lat.Q * h * h
			assert.InDelta(t, g.Filled, sum, step, "%s stage %d", name, k)
			require.NotNil(t, m.AirAtStage(f, k, geom.Vec{X: 1}, f.LowestCavityPoint.X))
		}
		channelAir := 0.0
		for i := range f.Pockets {
			channelAir += f.Pockets[i].ChannelVolume
		}
		assert.InDelta(t, f.Trapped+channelAir, air, 0.02*f.Cavity, "%s: what is left at the end is the air that stays", name)
		assert.Nil(t, m.AirAtStage(f, len(f.Stages), geom.Vec{X: 1}, 0))
	}
}

// In a box with a level floor of 800 mm2 the level stands where the volume says:
// z = 10 + V/800 (b0: the room runs from z 10 to 20).
func TestStageLevelsOfABox(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0")
	s.job.Cell = 0.5
	m := s.close(t)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	for _, g := range f.Stages[:4] {
		want := 10 + g.Filled/800
		assert.InDelta(t, want, g.Level, 0.05, "%v %%", g.Percent)
		require.Len(t, g.Front, 1)
		assert.InDelta(t, want, g.Front[0].Z, 0.05)
		assert.True(t, g.Front[0].X > 10 && g.Front[0].X < 50 && g.Front[0].Y > 10 && g.Front[0].Y < 30)
		// The air of a section through the middle, 40 mm long: what is above the level.
		a := m.AirAtStage(f, 2, geom.Vec{Y: 1}, 20).Box()
		assert.InDelta(t, 10+f.Stages[2].Filled/800, a.Min.Z, 0.05)
		assert.InDelta(t, 40, a.Max.X-a.Min.X, 2)
	}
	assert.Empty(t, f.Stages[4].Front)
}

// A weir keeps two pools: while the far one fills, the near one stands at the
// weir's edge.
func TestStagesShowEveryPool(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "weir")
	s.job.Cell = 0.5
	m := s.close(t)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	most := 0
	for _, g := range f.Stages {
		most = max(most, len(g.Front))
	}
	assert.Equal(t, 2, most)
}
