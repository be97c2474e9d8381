package mold

import (
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
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

// TestTiltsOfADome: under an inverted hemisphere R 10 tilted by a, air stays above
// the rim's top: pi (R-h)^2 (2R+h) / 3 with h = R sin a (literature: spherical cap).
// It shrinks with the tilt toward its vented side and never ends, so the best tilt
// lies on the limit, whatever that is, and no tilt beyond it is proposed.
func TestTiltsOfADome(t *testing.T) {
	s := storedSetup(t, "dome-cup")
	s.job.Cell = 0.5
	m := s.close(t)
	for _, limit := range []float64{30, 45} {
		got, err := m.SearchTilts(TiltOptions{Cell: 1, Rings: 3, Limit: limit * math.Pi / 180, Sequences: -1})
		require.NoError(t, err)
		sin := math.Sin(limit * math.Pi / 180)
		left := math.Pi * (10 - 10*sin) * (10 - 10*sin) * (20 + 10*sin) / 3
		assert.InDelta(t, limit, got.Best.Tilt.Angle*180/math.Pi, 0.01)
		assert.InDelta(t, left, got.BestFill.Trapped, 0.02*left)
		assert.Empty(t, got.Free())
		for _, p := range []TiltPoint{got.Best, got.Fewest} {
			assert.LessOrEqual(t, p.Tilt.Angle, got.Limit+1e-9)
		}
	}
}

// TestTiltsBySymmetry: a sphere with its vent on top is best poured level, or so
// near to it that the vent's 2 mm mouth still covers the top: R 20, asin(1/20) =
// 2.9 deg. Beyond that a cap h = R (1 - cos(tilt - 2.9 deg)) stays, 1 mm3 of it at
// 9 deg: that is its margin to every side.
func TestTiltsBySymmetry(t *testing.T) {
	s := storedSetup(t, "sphere")
	s.job.Cell = 0.5
	m := s.close(t)
	got, err := m.SearchTilts(TiltOptions{Cell: 0.5, Rings: 3, Limit: math.Pi / 4})
	require.NoError(t, err)
	assert.LessOrEqual(t, got.Best.Tilt.Angle*180/math.Pi, 9.0)
	assert.Equal(t, 0, got.Best.Pockets)
	r, edge := 20.0, math.Asin(1.0/20)
	air := func(deg float64) float64 {
		h := r * (1 - math.Cos(deg*math.Pi/180-edge))
		return math.Pi * h * h * (3*r - h) / 3
	}
	require.Less(t, air(8), 1.0)
	require.Greater(t, air(10), 1.0)
	assert.InDelta(t, 8.5, got.NowMargin.Angle*180/math.Pi, 1.51)
	assert.False(t, got.NowMargin.AtLeast)
	assert.InDelta(t, air(10), got.worstWithin(m.Up, 10.01*math.Pi/180), 1.5)
	for _, p := range got.Points {
		if a := p.Tilt.Angle * 180 / math.Pi; a > 14 {
			// Not sharpened: the level is known to half a pitch on the free surface.
			h := r * (1 - math.Cos(p.Tilt.Angle-edge))
			assert.InDelta(t, air(a), p.Trapped, math.Pi*h*(2*r-h)*0.25, "%.1f deg @ %.0f", a, p.Tilt.Side*180/math.Pi)
			assert.Equal(t, 1, p.Pockets, "a convex body has one high point at every tilt")
		}
	}
}

// TestVentCountIsCountOfMaxima: convex bodies and a ring have one high point at a
// generic tilt, so one vent frees them (literature: a torus has one maximum in every
// generic direction).
func TestVentCountIsCountOfMaxima(t *testing.T) {
	for _, c := range []struct {
		name string
		up   geom.Vec
	}{{"torus", tilted(30, 0)}, {"torus", tilted(35, 60)}, {"sphere", tilted(30, 70)}} {
		s := storedSetup(t, c.name)
		s.job.Cell = 0.5
		m := s.close(t)
		f := pourUp(t, m, c.up)
		require.Len(t, f.Pockets, 1, c.name)
		require.NoError(t, m.SuggestVents(f))
		require.Len(t, f.Vents, 1, c.name)
		assert.Less(t, f.VentsLeave, 0.05*f.Trapped+1, c.name)
	}
}
