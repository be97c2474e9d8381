package geom_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
)

func TestSumEqualsBigArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-1e24, 1e24), rapid.Float64Range(-1e3, 1e3),
			rapid.Float64Range(-1e-9, 1e-9)), 0, 40).Draw(t, "x")
		exact := new(big.Float).SetPrec(300)
		for _, x := range xs {
			exact.Add(exact, new(big.Float).SetFloat64(x))
		}
		want, _ := exact.Float64()
		var s, half geom.Sum
		for i, x := range xs {
			if i%2 == 0 {
				s.Add(x)
			} else {
				half.Add(x)
			}
		}
		s.Merge(half)
		// each addend is rounded by at most 2^-41, the result once more by 2^-53 of itself
		assert.InDelta(t, want, s.Value(), float64(len(xs))*math.Ldexp(1, -41)+math.Abs(want)*math.Ldexp(1, -52))
	})
}

func TestSumDoesNotDependOnOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	xs := make([]float64, 1000)
	for i := range xs {
		xs[i] = (r.Float64() - 0.5) * math.Exp(40*r.Float64()-20)
	}
	sum := func() float64 {
		var s geom.Sum
		for _, x := range xs {
			s.Add(x)
		}
		return s.Value()
	}
	want := sum()
	for range 20 {
		r.Shuffle(len(xs), func(i, j int) { xs[i], xs[j] = xs[j], xs[i] })
		require.Equal(t, want, sum())
	}
}

func TestSumLeavesOutWhatDoesNotFit(t *testing.T) {
	var s geom.Sum
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 2.5} {
		s.Add(x)
	}
	assert.Equal(t, 2.5, s.Value())
}

func TestCentroid(t *testing.T) {
	box := boxMesh(geom.Vec{X: 1, Y: 2, Z: 3}, geom.Vec{X: 5, Y: 4, Z: 9})
	assert.InDelta(t, 0, box.Centroid().Dist(geom.Vec{X: 3, Y: 3, Z: 6}), 1e-12)

	// a cone's centroid lies a quarter of its height above the base
	cone := prism(64, 10, 20)
	for i, v := range cone.Vertices {
		if v.Z == 20 {
			cone.Vertices[i] = geom.Vec{Z: 20}
		}
	}
	assert.InDelta(t, 0, cone.Centroid().Dist(geom.Vec{Z: 5}), 1e-9)

	two := together(cube(0, 2), cube(10, 1)) // 8 at (1,1,1) and 1 at (10.5,10.5,10.5)
	want := (8*1 + 1*10.5) / 9.0
	assert.InDelta(t, 0, two.Centroid().Dist(geom.Vec{X: want, Y: want, Z: want}), 1e-12)

	flat := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 2}, {Y: 2}}, Facets: [][3]int32{{0, 1, 2}, {0, 2, 1}}}
	assert.Equal(t, geom.Vec{X: 1, Y: 1}, flat.Centroid())
}

func TestCentroidSameBitsShuffled(t *testing.T) {
	m := ball(20, 30).Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: 100, Y: -7, Z: 3}) })
	want := m.Centroid()
	for seed := range uint64(5) {
		// the corner a facet begins with enters the triple product's rounding
		assert.InDelta(t, 0, shuffled(m, seed).Centroid().Dist(want), 1e-10)
	}
}

func TestChordErrorOfPrism(t *testing.T) {
	for _, n := range []int{13, 16, 24, 48, 64, 180} {
		r := 12.5
		want := r * (1 - math.Cos(math.Pi/float64(n)))
		assert.InDelta(t, want, prism(n, r, 40).ChordError(), 2e-6, "%d sides", n)
		assert.InDelta(t, want, prism(n, r, 40).Reversed().ChordError(), 2e-6, "%d sides, a bore", n)
	}
	assert.Zero(t, prism(12, 10, 5).ChordError(), "30 degrees is a real edge")
	assert.Zero(t, prism(6, 10, 5).ChordError())
}

func TestChordErrorIgnoresSlantedWalls(t *testing.T) {
	// a box whose side walls are bent outward at half height by 2 degrees each:
	// each wall bends at one edge only, so nothing says it stands for a curve
	m := boxMesh(geom.Vec{}, geom.Vec{X: 40, Y: 30, Z: 20})
	upper := boxMesh(geom.Vec{}, geom.Vec{X: 40, Y: 30, Z: 20})
	d := 20 * math.Tan(2*math.Pi/180)
	taper := func(v geom.Vec, z float64) geom.Vec {
		if v.Z == z {
			return geom.Vec{X: d + v.X*(1-2*d/40), Y: d + v.Y*(1-2*d/30), Z: v.Z}
		}
		return v
	}
	lower := m.Map(func(v geom.Vec) geom.Vec { return taper(v, 0) })
	upper = upper.Map(func(v geom.Vec) geom.Vec { return taper(v, 20).Add(geom.Vec{Z: 20}) })
	both := together(without(lower, 2, 3), without(upper, 0, 1)) // the faces where they meet
	both = weld(both)
	require.True(t, geom.Inspect(both).Closed())
	assert.Zero(t, both.ChordError())
}

func TestChordErrorOfBall(t *testing.T) {
	// The mesh of n rings lies r (1 - cos) inside the sphere at the middles of its
	// quads, where ring and column sagittas add: at the equator twice
	// r (1 - cos(pi/2n)). An estimate from one direction sees at least one of them.
	for _, n := range []int{16, 32, 64} {
		one := 20 * (1 - math.Cos(math.Pi/float64(2*n)))
		got := ball(n, 20).ChordError()
		assert.GreaterOrEqual(t, got, 0.9*one, "%d rings", n)
		assert.LessOrEqual(t, got, 2.2*one, "%d rings", n)
	}
}
