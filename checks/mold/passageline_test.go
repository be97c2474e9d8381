package mold

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// middleNearSlowly is middleNear that asks the mesh about every place.
func middleNearSlowly(w *printing, p, along geom.Vec, step float64) station {
	u, v := along.Perpendicular()
	best := w.stationAt(p)
	for moves := 0; step > 5e-4 && moves < 64; {
		from := best.at
		for k := range 8 {
			s, c := octant(k)
			if q := w.stationAt(from.AddScaled(u, c*step).AddScaled(v, s*step)); q.radius > best.radius {
				best = q
			}
		}
		if best.at == from {
			step /= 2
		} else {
			moves++
		}
	}
	return best
}

func TestMiddleNearAsPlaceByPlace(t *testing.T) {
	tube := []geomtest.Point{{X: 1.5, Y: 0}, {X: 6, Y: 0}, {X: 6, Y: 20}, {X: 2.5, Y: 20}, {X: 1, Y: 12}} // narrow at its middle
	w := &printing{rubber: newRubber(geomtest.Revolve(tube, 96), 2, 0)}
	r := rand.New(rand.NewPCG(3, 1))
	for range 60 {
		p := geom.Vec{X: 3*r.Float64() - 1.5, Y: 3*r.Float64() - 1.5, Z: 24*r.Float64() - 2}
		along := geom.Vec{X: r.Float64() - 0.5, Y: r.Float64() - 0.5, Z: 1}.Unit()
		step := 0.02 + float64(0.5*r.Float64())
		require.Equal(t, middleNearSlowly(w, p, along, step), w.middleNear(p, along, step))
	}
	mid := w.middleNear(geom.Vec{X: 0.6, Y: -0.3, Z: 12}, geom.Vec{Z: 1}, 0.25)
	assert.InDelta(t, 1, mid.radius, 0.02, "the bore's own radius")
}
