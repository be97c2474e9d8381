package mold

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestFreeMapSkipsNothing: along lines through a closed mold and the air around it, no
// place that is said to be free has a label, and most places in the air are skipped.
func TestFreeMapSkipsNothing(t *testing.T) {
	m := chimneys(18, 18).rocked(t, 1)
	rng := rand.New(rand.NewPCG(1, 2))
	around := m.box().Grow(10)
	size := around.Size()
	looked, skipped, labelled := 0, 0, 0
	for range 20000 {
		p := around.Min.Add(geom.Vec{X: size.X * rng.Float64(), Y: size.Y * rng.Float64(), Z: size.Z * rng.Float64()})
		d := geom.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}.Unit()
		more := m.labels.freeFor(p, 0.5)
		looked++
		if m.labelAt(p) != nothing {
			labelled++
			require.Negative(t, more, "%v", p)
		}
		for n := range min(more, 1000) + 1 {
			skipped++
			require.Equal(t, nothing, m.labelAt(p.AddScaled(d, 0.5*float64(n))), "%v, %d along %v", p, n, d)
		}
	}
	assert.Greater(t, labelled, looked/50)
	assert.Greater(t, skipped, 5*looked)
}

// TestFreeMapDistances: the two passes give the distances that looking at every block
// does.
func TestFreeMapDistances(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		f := &freeMap{n: [3]int{1 + rng.IntN(9), 1 + rng.IntN(9), 1 + rng.IntN(9)}}
		var held [][3]int
		for b := range f.n[0] * f.n[1] * f.n[2] {
			f.far = append(f.far, 255)
			if rng.IntN(60) == 0 {
				f.far[b] = 0
				held = append(held, [3]int{b / f.n[2] / f.n[1], b / f.n[2] % f.n[1], b % f.n[2]})
			}
		}
		f.spread()
		for b, far := range f.far {
			at := [3]int{b / f.n[2] / f.n[1], b / f.n[2] % f.n[1], b % f.n[2]}
			want := 255
			for _, h := range held {
				want = min(want, max(abs(h[0]-at[0]), abs(h[1]-at[1]), abs(h[2]-at[2])))
			}
			require.Equal(t, want, int(far), "%v of %v", at, f.n)
		}
	}
}

// TestBesideChannelLeavesNothingOut: where no channel is said to be near none is, and
// around the channels some are said to be.
func TestBesideChannelLeavesNothingOut(t *testing.T) {
	m := chimneys(18, 18).rocked(t, 1)
	rng := rand.New(rand.NewPCG(5, 6))
	around := m.box().Grow(2)
	size := around.Size()
	near, far := 0, 0
	for range 20000 {
		p := around.Min.Add(geom.Vec{X: size.X * rng.Float64(), Y: size.Y * rng.Float64(), Z: size.Z * rng.Float64()})
		switch {
		case !m.labels.besideChannel(p):
			far++
			require.Equal(t, nothing, m.labels.channelNear(p), "%v", p)
		case m.labels.channelNear(p) != nothing:
			near++
		}
	}
	assert.Greater(t, near, 20)
	assert.Greater(t, far, 5000)
}
