package bvh

import (
	"math"
	"testing"

	"pourproof/geom"
	"pourproof/geom/geomtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nearestByLoop is Nearest as its documentation says it.
func nearestByLoop(m *geom.Mesh, p geom.Vec, within float64, keep func(int32) bool) (Hit, bool) {
	best, found, hit := 0.0, false, Hit{}
	for f := range m.Facets {
		q := m.Triangle(f).Closest(p)
		d2 := q.Sub(p).Norm2()
		if math.Sqrt(d2) <= within && (!found || d2 < best) && (keep == nil || keep(int32(f))) {
			best, found, hit = d2, true, Hit{Facet: int32(f), Point: q, Dist: math.Sqrt(d2)}
		}
	}
	return hit, found
}

func TestNearestMatchesLoop(t *testing.T) {
	third := func(f int32) bool { return f%3 == 1 }
	for name, m := range allMeshes() {
		tree := Build(m)
		for _, p := range somePoints(m, 60, 1) {
			for _, within := range []float64{math.Inf(1), 2, 0.01, 0, -1} {
				want, ok := nearestByLoop(m, p, within, nil)
				got, gotOK := tree.Nearest(p, within)
				require.Equal(t, ok, gotOK, "%s, %v within %v", name, p, within)
				require.Equal(t, want, got, "%s, %v within %v", name, p, within)
				guess := int32(len(m.Facets)) * 3 / 7
				fromGuess, guessOK := tree.NearestFrom(guess, p, within, nil)
				require.Equal(t, ok, guessOK, "%s, %v within %v", name, p, within)
				require.Equal(t, want, fromGuess, "%s, %v within %v", name, p, within)
				require.Equal(t, ok, tree.Within(p, within), "%s, %v within %v", name, p, within)
				for _, off := range []float64{0, 0.3, 5} { // regions around places so far away
					r := tree.Around(p.AddScaled(geom.Vec{X: 0.36, Y: 0.48, Z: -0.8}, off), within+off*(1+1e-9))
					require.Equal(t, ok, r.Within(p, within), "%s, %v within %v, seen from %v mm away", name, p, within, off)
				}
				odd := func(f int32) bool { return f&1 != 0 }
				_, some := tree.NearestWhere(p, within, odd)
				require.Equal(t, some, tree.WithinWhere(p, within, odd), "%s, %v within %v", name, p, within)
				require.Equal(t, ok, ok && tree.Within(p, got.Dist), "at its own distance")
				require.False(t, ok && got.Dist > 0 && tree.Within(p, math.Nextafter(got.Dist, 0)), "%s, %v", name, p)
			}
			want, ok := nearestByLoop(m, p, math.Inf(1), third)
			got, gotOK := tree.NearestWhere(p, math.Inf(1), third)
			require.Equal(t, ok, gotOK, "%s, %v", name, p)
			require.Equal(t, want, got, "%s, %v", name, p)
		}
	}
}

func TestNearestOnTheLimit(t *testing.T) {
	tree := Build(geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 1, Z: 1}))
	for _, d := range []float64{0.1, 1.0 / 3, 7e-5, 12345.678} {
		p := geom.Vec{X: 1 + d, Y: 0.5, Z: 0.5}
		reach := p.X - 1
		h, ok := tree.Nearest(p, reach)
		require.True(t, ok, "a facet exactly as far as asked is found")
		assert.Equal(t, reach, h.Dist)
		assert.Equal(t, geom.Vec{X: 1, Y: 0.5, Z: 0.5}, h.Point)
		_, ok = tree.Nearest(p, math.Nextafter(reach, 0))
		assert.False(t, ok)
	}
}

// All facets of a sphere are equally far from its middle, but for rounding; the
// lowest number must win in every order.
func TestNearestTies(t *testing.T) {
	cube := geomtest.Subdivide(geomtest.Box(geom.Vec{X: -1, Y: -1, Z: -1}, geom.Vec{X: 1, Y: 1, Z: 1}), 3)
	for seed := range uint64(20) {
		m := geomtest.ShuffleFacets(cube, seed)
		want, _ := nearestByLoop(m, geom.Vec{}, 2, nil)
		got, ok := Build(m).Nearest(geom.Vec{}, 2)
		require.True(t, ok)
		require.Equal(t, want, got, "seed %d", seed)
		require.Equal(t, 1.0, got.Dist)
	}
}

func TestNearestTinyAndHuge(t *testing.T) {
	for _, size := range []float64{1e-200, 1e-30, 1e-9, 1e9, 1e30} {
		m := geomtest.Icosphere(1, 2).Map(func(v geom.Vec) geom.Vec { return v.Scale(size) })
		tree := Build(m)
		require.NoError(t, tree.Audit())
		for _, p := range somePoints(geomtest.Icosphere(1, 2), 20, 7) {
			p = p.Scale(size)
			want, _ := nearestByLoop(m, p, math.Inf(1), nil)
			got, ok := tree.Nearest(p, math.Inf(1))
			require.True(t, ok, "size %v, point %v", size, p)
			require.Equal(t, want, got, "size %v, point %v", size, p)
		}
	}
}
