package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pourproof/geom"
)

// With the pressure of its own skin (35 mN/m) a bubble shrinks a little less than Boyle's
// 0.58161 at 60 psi gauge: 0.02 mm to 0.59021, 0.2 mm to 0.58250 (worked out apart).
func TestBubbleUnderPressure(t *testing.T) {
	assert.InDelta(t, 0.59021, BubbleUnder(0.02, 101.325, 515.0104, 35)/0.02, 1e-5)
	assert.InDelta(t, 0.58250, BubbleUnder(0.2, 101.325, 515.0104, 35)/0.2, 1e-5)
	assert.InDelta(t, 0.58161, BubbleUnder(1000, 101.325, 515.0104, 35)/1000, 1e-5)
	rapid.Check(t, func(t *rapid.T) {
		d, p1 := rapid.Float64Range(0.01, 10).Draw(t, "d"), rapid.Float64Range(50, 1000).Draw(t, "p1")
		x := BubbleUnder(d, 101.325, p1, 35)
		gas := func(d, p float64) float64 { return (p + 0.14/d) * d * d * d }
		assert.InEpsilon(t, gas(d, 101.325), gas(x, p1), 1e-5)
		assert.Equal(t, p1 > 101.325, x < d)
	})
}

// Rise in resin of 1.05 g/ml, mm/s (Stokes; Hadamard and Rybczynski).
func TestBubbleRise(t *testing.T) {
	for _, c := range [][4]float64{{1, 100, 5.7205, 8.5808}, {1, 500, 1.1441, 1.7162}, {0.5, 100, 1.4301, 2.1452}} {
		rigid, mobile := RiseSpeed(c[0], 1.05, c[1])
		assert.InDelta(t, c[2], rigid, 1e-3)
		assert.InDelta(t, c[3], mobile, 1e-3)
	}
}

// A vent whose exit lies below the cavity's top is plugged, or it runs out: the pot's
// pressure does not reach its resin.
func TestLowExitIsNoReserve(t *testing.T) {
	drip := 1.0
	vent := func(z float64) Channel {
		exit := vec(0, 0, z)
		return Channel{Role: Vent, Exit: &exit, Volume: 60, WeepsAt: &drip, Path: []geom.Vec{vec(0, 0, 20), exit}, Radius: []float64{1, 1}}
	}
	f := &Fill{Up: level, HighestPoint: 30, Pockets: []Pocket{{SealedAt: 20}}}
	m := &Mold{}
	for exit, want := range map[float64]float64{40: 60, 31: 60, 29: 0} {
		f.Ports = []Channel{vent(exit)}
		assert.InDelta(t, want, reserve(m, f), 1e-9, "exit at %g mm", exit)
	}
}
