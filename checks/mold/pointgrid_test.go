package mold

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/geom"
)

// A grid finds what a look at every point finds, and cubes stay few when points are
// far apart.
func TestPointGrid(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, spread := range []float64{1, 30, 1e6} {
		points := make([]geom.Vec, 300)
		for i := range points {
			points[i] = geom.Vec{X: spread * r.Float64(), Y: spread * r.Float64(), Z: r.Float64()}
		}
		g := newPointGrid(points, 0.7)
		assert.LessOrEqual(t, len(g.start), 64*len(points)+1025)
		for range 200 {
			p := geom.Vec{X: spread * (1.2*r.Float64() - 0.1), Y: spread * (1.2*r.Float64() - 0.1), Z: 3*r.Float64() - 1}
			var got, want []int32
			g.within(p, 0.7, func(i int32, d float64) { got = append(got, i) })
			for i, q := range points {
				if q.Dist(p) <= 0.7 {
					want = append(want, int32(i))
				}
			}
			slices.Sort(got)
			assert.Equal(t, want, got)
		}
	}
	newPointGrid(nil, 1).within(geom.Vec{}, 1, func(int32, float64) { t.Error("there is none") })
}
