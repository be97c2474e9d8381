package distance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom/geomtest"
)

// byLoop is the slow twin: every node against every node of the set.
func byLoop(nu, nv int, set []bool) (square []int32) {
	for i := range nu * nv {
		best := int32(None)
		for j, in := range set {
			if du, dv := i/nv-j/nv, i%nv-j%nv; in {
				best = min(best, int32(du*du+dv*dv))
			}
		}
		square = append(square, best)
	}
	return square
}

func check(t require.TestingT, p *Plane, nu, nv int, set []bool) {
	p.Measure(nu, nv, func(i int) bool { return set[i] })
	require.Equal(t, byLoop(nu, nv, set), p.Square[:nu*nv])
	for i, j := range p.Nearest[:nu*nv] {
		if p.Square[i] == None {
			require.EqualValues(t, -1, j)
			continue
		}
		require.True(t, set[j], "the nearest node is one of the set")
		du, dv := i/nv-int(j)/nv, i%nv-int(j)%nv
		require.EqualValues(t, p.Square[i], du*du+dv*dv, "it lies as far away as said")
	}
}

func TestMatchesLoop(t *testing.T) {
	var p Plane // used again, so that what an earlier lattice left does no harm
	rapid.Check(t, func(t *rapid.T) {
		nu, nv := rapid.IntRange(1, 24).Draw(t, "nu"), rapid.IntRange(1, 24).Draw(t, "nv")
		share := rapid.SampledFrom([]float64{0, 0.01, 0.1, 0.5, 0.95, 1}).Draw(t, "share")
		r := rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "seed")))
		set := make([]bool, nu*nv)
		for i := range set {
			set[i] = r.Float64() < share
		}
		check(t, &p, nu, nv, set)
	})
}

// One seed at the corner: at (4, 3) the square is 25 (literature: exact Euclidean
// distance transform, own calculation).
func TestCheckValues(t *testing.T) {
	var p Plane
	p.Measure(6, 5, func(i int) bool { return i == 0 })
	assert.EqualValues(t, 25, p.Square[4*5+3])
	assert.EqualValues(t, 0, p.Nearest[4*5+3])
	p.Measure(8, 6, func(i int) bool { return i == 0 || i == 7*6+5 })
	assert.EqualValues(t, 3*3+3*3, p.Square[3*6+3], "not the 16 + 4 of the other seed")
	p.Measure(3, 4, func(int) bool { return false })
	for i := range 12 {
		assert.EqualValues(t, None, p.Square[i])
	}
}

// The largest lattice that the type allows keeps its squares exact.
func TestFarApart(t *testing.T) {
	var p Plane
	const n = 32767
	p.Measure(n, 2, func(i int) bool { return i == 0 })
	assert.EqualValues(t, (n-1)*(n-1)+1, p.Square[(n-1)*2+1])
}

// BenchmarkMeasure transforms random sets and, as "gyroid", a section through a
// surface with wide and narrow places.
func BenchmarkMeasure(b *testing.B) {
	for _, n := range []int{256, 512, 2048} {
		r := rand.New(rand.NewPCG(1, 2))
		random, gyroid := make([]bool, n*n), make([]bool, n*n)
		for i := range random {
			random[i] = r.Float64() < 0.3
			x, y := float64(i/n)*6*math.Pi/float64(n), float64(i%n)*6*math.Pi/float64(n)
			gyroid[i] = math.Abs(math.Sin(x+0.1)*math.Cos(y+0.1)+math.Sin(y+0.1)*math.Cos(1)+math.Sin(1)*math.Cos(x+0.1)) < 0.55
		}
		for name, set := range map[string][]bool{"random": random, "gyroid": gyroid} {
			b.Run(fmt.Sprintf("%s/%d", name, n), func(b *testing.B) {
				var p Plane
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					p.Measure(n, n, func(i int) bool { return set[i] })
				}
				meter.Per("cell", n*n)
			})
		}
	}
}
