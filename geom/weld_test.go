package geom_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// slowWeld is the twin: a Go map from coordinates, whose == joins -0 and +0.
func slowWeld(soup []geom.Triangle) *geom.Mesh {
	m, index := &geom.Mesh{}, map[geom.Vec]int32{}
	for _, t := range soup {
		var f [3]int32
		for k, v := range [3]geom.Vec{t.A, t.B, t.C} {
			i, ok := index[v]
			if !ok {
				i = int32(len(m.Vertices))
				index[v] = i
				m.Vertices = append(m.Vertices, v)
			}
			f[k] = i
		}
		m.Facets = append(m.Facets, f)
	}
	return m
}

func TestWelderEqualsMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 300).Draw(t, "facets")
		values := rapid.SliceOfN(rapid.OneOf(rapid.Float64(), rapid.Map(rapid.Float32(), func(x float32) float64 { return float64(x) }),
			rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1, -1})), 1, 12).Draw(t, "values")
		pick := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		v := func() geom.Vec {
			return geom.Vec{X: values[pick.IntN(len(values))], Y: values[pick.IntN(len(values))], Z: values[pick.IntN(len(values))]}
		}
		// a hint far too small makes the table grow
		w := geom.NewWelder(rapid.IntRange(0, 2*n).Draw(t, "hint"))
		var soup []geom.Triangle
		for range n {
			tri := geom.Triangle{A: v(), B: v(), C: v()}
			soup = append(soup, tri)
			w.Add(tri.A, tri.B, tri.C)
		}
		want, got := slowWeld(soup), w.Mesh()
		require.Equal(t, len(want.Vertices), len(got.Vertices))
		for i := range want.Vertices {
			require.Equal(t, want.Vertices[i], got.Vertices[i])
			require.False(t, math.Signbit(got.Vertices[i].X) && got.Vertices[i].X == 0, "-0 kept")
		}
		require.Equal(t, len(want.Facets), len(got.Facets))
		for i := range want.Facets {
			require.Equal(t, want.Facets[i], got.Facets[i])
		}
	})
}

func TestWelderKeepsNearVerticesApart(t *testing.T) {
	w := geom.NewWelder(2)
	w.Add(geom.Vec{X: 1}, geom.Vec{Y: 1}, geom.Vec{Z: 1})
	w.Add(geom.Vec{X: math.Nextafter(1, 2)}, geom.Vec{Y: 1}, geom.Vec{Z: 1})
	assert.Len(t, w.Mesh().Vertices, 4)
}

func TestWelderSurvivesNaN(t *testing.T) {
	w := geom.NewWelder(0)
	nan := geom.Vec{X: math.NaN()}
	for range 5000 {
		w.Add(nan, nan, nan)
	}
	assert.Len(t, w.Mesh().Vertices, 15000)
}

func TestWelderGrowsFromLoose(t *testing.T) {
	// no two corners equal: six times the vertices that the hint leads to expect
	w := geom.NewWelder(1000)
	for i := range 1000 {
		x := float64(i)
		w.Add(geom.Vec{X: x}, geom.Vec{X: x, Y: 1}, geom.Vec{X: x, Z: 1})
	}
	m := w.Mesh()
	require.Len(t, m.Vertices, 3000)
	assert.Equal(t, [3]int32{2997, 2998, 2999}, m.Facets[999])
}

func BenchmarkWelder(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		orders := map[string]*geom.Mesh{"ordered": m, "shuffled": geomtest.ShuffleFacets(m, 1)}
		for _, order := range []string{"ordered", "shuffled"} {
			m := orders[order]
			b.Run(order, func(b *testing.B) {
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					weld(m)
				}
				meter.Per("facet", len(m.Facets))
			})
		}
	})
}
