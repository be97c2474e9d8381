package mold

import (
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSearchTilts: a flat ceiling with one vent at its -x end is freed by raising
// that end and by nothing else (by symmetry the best tilt has no part along y); the
// answer does not depend on the number of cores.
func TestSearchTilts(t *testing.T) {
	s := storedSetup(t, "ceiling-tangent")
	s.job.Cell = 0.5
	m := s.close(t)
	var first *TiltSearch
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2} {
		runtime.GOMAXPROCS(n)
		got, err := m.SearchTilts(TiltOptions{Rings: 2, Limit: math.Pi / 6, Cell: 1})
		require.NoError(t, err)
		if first == nil {
			first = got
		}
		assert.Equal(t, first, got, "%d cores", n)
	}
	require.NotEmpty(t, first.Points)
	assert.Less(t, first.Best.Trapped, 10.0)
	assert.Less(t, first.Best.Up.X, -0.01, "the -x side is raised")
	assert.InDelta(t, 0, first.Best.Up.Y, 0.15)
	for _, p := range first.Points {
		if p.Up.X > 0.1 {
			assert.Greater(t, p.Trapped, 500.0, "the vent's end low: %v", p.Up)
		}
	}
	stopped, err := m.SearchTilts(TiltOptions{Rings: 2, Cell: 1, Stop: func() bool { return true }})
	require.NoError(t, err)
	assert.True(t, stopped.Canceled)
	assert.Empty(t, stopped.Points)
}
