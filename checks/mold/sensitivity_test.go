package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestSensitivityOfTilt: under b0's ceiling 40 x 20, vented in the middle, a wedge
// of 1/2 19^2 tan(a) 20 mm3 stays at a tilt a; it is below 40 mm3 under 0.64 deg and
// the other way round a wedge stays on the other side. At 10 deg the pocket on the
// +x side is gone at level and not at 1 deg.
func TestSensitivityOfTilt(t *testing.T) {
	s := b0Blocks().setup()
	s.job.Cell = 0.5
	s.job.Tilt = deg(10, 0)
	m := s.close(t)
	f := pourUp(t, m, m.Up)
	require.Len(t, f.Pockets, 1)
	list, err := Sensitivities(m, f, SensitivityOptions{Allowed: 10})
	require.NoError(t, err)
	require.NotEmpty(t, list)
	tilt := list[0]
	assert.Equal(t, TiltChange, tilt.Change)
	assert.InDelta(t, 0, tilt.Gone, 1e-9, "gone at level")
	assert.InDelta(t, math.Pi/180, tilt.Still, 1e-9)
	// The vent is 2 mm wide: moved so that its rim reaches the ceiling's +x edge less
	// the wedge that is allowed, it frees the pocket.
	require.Len(t, list, 2)
	move := list[1]
	assert.Equal(t, VentMove, move.Change)
	edge := 20 - math.Sqrt(2*10/(tan(10)*20)) // of the mouth, from the middle, 10 mm3 left
	along := move.Toward.X * move.Gone
	assert.Greater(t, move.Toward.X, 0.8)
	assert.InDelta(t, edge-1, along, 1.5)
	assert.InDelta(t, 0.5, move.Gone-move.Still, 1e-9)
	confirmed(t, m, f, list, 10)
}

// confirmed pours both sides of every value again.
func confirmed(t *testing.T, m *Mold, f *Fill, list []Sensitivity, allowed float64) {
	t.Helper()
	stays := func(s *Sensitivity, at float64) float64 {
		if s.Change == TiltChange {
			return pourUp(t, m, UpFor(m.Rest, Tilt{at, s.Side})).Trapped
		}
		c := f.Ports[s.Channel-1]
		with, err := m.With([]BoreSpec{{At: c.Mouth.AddScaled(s.Toward, at), Diameter: c.Diameter, Direction: &geom.Vec{Z: 1}}})
		require.NoError(t, err)
		return pourUp(t, with, f.Up).Trapped
	}
	for i := range list {
		v := f.Pockets[list[i].Pocket-1].Volume
		assert.LessOrEqual(t, stays(&list[i], list[i].Gone), f.Trapped-v+allowed, "%v", list[i])
		assert.Greater(t, stays(&list[i], list[i].Still), allowed, "%v", list[i])
	}
}

// TestSensitivityWithoutAny: the teeth of the comb stay at every tilt up to the
// limit, and their next vent serves other air: it is said that they do.
func TestSensitivityWithoutAny(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 1
	m := s.close(t)
	f := pourUp(t, m, level)
	list, err := Sensitivities(m, f, SensitivityOptions{Limit: 30 * math.Pi / 180, Moves: -1})
	require.NoError(t, err)
	require.Len(t, list, len(f.Pockets))
	for i, s := range list {
		assert.True(t, s.Stays)
		assert.Equal(t, i+1, s.Pocket)
		assert.Equal(t, 12, s.Tried, "1, 2, 4, 8, 14 and 22 deg to both sides")
		assert.InDelta(t, 22*math.Pi/180, s.Gone, 1e-9)
		assert.InDelta(t, -s.Gone, s.Still, 1e-9)
	}
	for _, at := range []float64{list[0].Still, list[0].Gone} {
		assert.Greater(t, pourUp(t, m, UpFor(m.Rest, Tilt{at, list[0].Side})).Trapped, 0.8*f.Trapped)
	}
}

// TestSensitivityOfMany: past the pockets that are closed in on the value lies between two
// tilts of the scan, and both of its sides hold at the cell.
func TestSensitivityOfMany(t *testing.T) {
	s := b0Blocks().setup()
	s.job.Cell = 0.5
	s.job.Tilt = deg(10, 0)
	m := s.close(t)
	f := pourUp(t, m, m.Up)
	list, err := Sensitivities(m, f, SensitivityOptions{Allowed: 10, Pockets: -1, Moves: -1})
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.False(t, list[0].Stays)
	assert.Less(t, list[0].Gone, list[0].Still)
	confirmed(t, m, f, list, 10)
}

// TestHalveAndConfirm: with a threshold anywhere the value found is the first whole
// number beyond it, also where the coarse means are off by one.
func TestHalveAndConfirm(t *testing.T) {
	for limit := -20; limit <= 20; limit++ {
		if limit == 0 {
			continue
		}
		beyond := func(x int) bool { return limit > 0 && x >= limit || limit < 0 && x <= limit }
		far := 32
		if limit < 0 {
			far = -32
		}
		gone, still, err := halve(far, 0, func(x int) (bool, error) { return beyond(x), nil })
		require.NoError(t, err)
		assert.Equal(t, limit, gone)
		assert.Equal(t, 1, abs(gone-still))
		for _, off := range []int{-1, 1} {
			if gone+off == 0 {
				continue
			}
			g, s, ok, err := confirm(gone+off, still+off, func(x int) (bool, error) { return beyond(x), nil })
			require.NoError(t, err)
			assert.True(t, ok)
			assert.Equal(t, []int{gone, still}, []int{g, s}, "limit %d off %d", limit, off)
		}
	}
}
