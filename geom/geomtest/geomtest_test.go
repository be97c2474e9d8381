package geomtest

import (
	"fmt"
	"math"
	"testing"

	"pourproof/geom"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// checkClosed asserts that every directed edge is met by as many in the other
// direction, that edges are of two facets where manifold is asked for, that no
// facet is degenerate and that no two vertices coincide.
func checkClosed(t *testing.T, m *geom.Mesh, manifold bool) {
	t.Helper()
	require.NotEmpty(t, m.Facets)
	edges := map[[2]int32]int{}
	used := make([]bool, len(m.Vertices))
	for f, c := range m.Facets {
		require.Greater(t, m.Triangle(f).Area(), 1e-12, "facet %d is degenerate", f)
		for k := range c {
			used[c[k]] = true
			edges[[2]int32{c[k], c[(k+1)%3]}]++
		}
	}
	for e, n := range edges {
		require.Equal(t, n, edges[[2]int32{e[1], e[0]}], "edge %v is open", e)
		if manifold {
			require.Equal(t, 1, n, "edge %v is shared by %d facets", e, 2*n)
		}
	}
	seen := map[geom.Vec]int{}
	for i, v := range m.Vertices {
		require.True(t, used[i], "vertex %d is loose", i)
		j, twice := seen[v]
		require.False(t, twice, "vertices %d and %d coincide", i, j)
		seen[v] = i
	}
}

func checkSolid(t *testing.T, m *geom.Mesh, volume float64) {
	t.Helper()
	checkClosed(t, m, true)
	require.InEpsilon(t, volume, m.Volume(), 1e-9)
}

func TestBox(t *testing.T) {
	m := Box(geom.Vec{X: -1, Y: 2, Z: 3}, geom.Vec{X: 1, Y: 5, Z: 7})
	checkSolid(t, m, 2*3*4)
	assert.Len(t, m.Facets, 12)
	assert.Len(t, m.Vertices, 8)
	assert.InDelta(t, 2*(2*3+3*4+4*2), m.Area(), 1e-12)
}

func TestCylinder(t *testing.T) {
	for _, n := range []int{3, 4, 64} {
		m := Cylinder(2.5, 8, n)
		checkSolid(t, m, CircleArea(2.5, n)*8)
		assert.Len(t, m.Facets, 4*n)
	}
	assert.InDelta(t, 2*2.5*2.5, CircleArea(2.5, 4), 1e-12, "square of diagonal 5")
	assert.InEpsilon(t, math.Pi*2.5*2.5, CircleArea(2.5, 1000), 1e-5)
}

func TestSphereTorusConverge(t *testing.T) {
	s := Sphere(3, 24, 12)
	checkSolid(t, s, RevolveVolume(SphereProfile(3, 12), 24))
	assert.Len(t, s.Facets, 2*24*11)
	assert.InEpsilon(t, 4*math.Pi/3*27, RevolveVolume(SphereProfile(3, 500), 1000), 1e-4)

	r := Torus(10, 2, 48, 16)
	checkSolid(t, r, RevolveVolume(TorusProfile(10, 2, 16), 48))
	assert.InEpsilon(t, 2*math.Pi*math.Pi*10*4, RevolveVolume(TorusProfile(10, 2, 1000), 1000), 1e-4, "Pappus")
}

func TestIcosphere(t *testing.T) {
	g := (1 + math.Sqrt(5)) / 2
	checkSolid(t, Icosphere(1, 0), 5.0/12*(3+math.Sqrt(5))*math.Pow(2/math.Sqrt(1+g*g), 3)) // icosahedron of that edge
	m := Icosphere(5, 4)
	checkClosed(t, m, true)
	assert.Len(t, m.Facets, 20*256)
	assert.InEpsilon(t, 4*math.Pi/3*125, m.Volume(), 0.01)
	for _, v := range m.Vertices {
		require.InDelta(t, 5, v.Norm(), 1e-12)
	}
}

func TestBumpy(t *testing.T) {
	m := Bumpy(10, 0.1, 60, 30)
	checkClosed(t, m, true)
	assert.Len(t, m.Facets, 2*60*29)
	assert.Greater(t, m.Volume(), 4*math.Pi/3*9*9*9*0.95)
}

func TestRevolveShapes(t *testing.T) {
	hemisphere := append([]Point{{0, 0}}, SphereProfile(4, 60)[30:]...)
	cases := map[string]struct {
		profile []Point
		round   float64 // volume for n to infinity
	}{
		"hemisphere":    {hemisphere, 2 * math.Pi / 3 * 64},
		"cone up":       {[]Point{{0, 0}, {3, 0}, {0, 5}}, math.Pi * 9 * 5 / 3},
		"cone down":     {[]Point{{0, 0}, {3, 5}, {0, 5}}, math.Pi * 9 * 5 / 3},
		"cup":           {[]Point{{0, 0}, {5, 0}, {5, 8}, {4, 8}, {4, 1}, {0, 1}}, math.Pi * (25*8 - 16*7)},
		"tube":          {[]Point{{2, 0}, {3, 0}, {3, 9}, {2, 9}}, math.Pi * 5 * 9},
		"double cone":   {[]Point{{0, -2}, {3, 0}, {0, 2}}, math.Pi * 9 * 4 / 3},
		"sealed bubble": {[]Point{{0, 0}, {5, 0}, {5, 10}, {0, 10}, {0, 7}, {2, 5}, {0, 3}}, math.Pi * (25*10 - 4*4.0/3)},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			for _, n := range []int{3, 7, 32} {
				m := Revolve(c.profile, n)
				checkSolid(t, m, RevolveVolume(c.profile, n))
			}
			assert.InEpsilon(t, c.round, RevolveVolume(c.profile, 2000), 5e-3)
			back := make([]Point, len(c.profile))
			for i, p := range c.profile {
				back[len(back)-1-i] = p
			}
			checkSolid(t, Revolve(back, 12), RevolveVolume(c.profile, 12))
		})
	}
	assert.PanicsWithValue(t, "geomtest: profile point 0 lies left of the axis: {-1 0}", func() {
		Revolve([]Point{{-1, 0}, {1, 0}, {1, 1}}, 8)
	})
}

func TestGrid(t *testing.T) {
	v := func(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }
	pocket := []Op{Add(v(0, 0, 0), v(10, 20, 30)), Cut(v(2, 3, 5), v(8, 9, 30))}
	checkSolid(t, Grid(pocket...), 10*20*30-6*6*25)
	assert.Equal(t, 10.0*20*30-6*6*25, GridVolume(pocket...))

	sealed := []Op{Add(v(0, 0, 0), v(5, 5, 5)), Cut(v(1, 1, 1), v(4, 4, 4)), Add(v(2, 2, 2), v(3, 3, 3))}
	checkSolid(t, Grid(sealed...), 125-27+1)
	assert.InDelta(t, 6*25+6*9+6, Grid(sealed...).Area(), 1e-12)

	// Two cubes that touch along a line share it: four facets at that edge.
	touching := Grid(Add(v(0, 0, 0), v(1, 1, 1)), Add(v(1, 1, 0), v(2, 2, 1)))
	checkClosed(t, touching, false)
	assert.InDelta(t, 2, touching.Volume(), 1e-12)
	assert.Len(t, touching.Vertices, 14)

	assert.Panics(t, func() { Grid(Add(v(0, 0, 0), v(1, 0, 1))) })
	assert.Empty(t, Grid().Facets)
}

func TestRandomBlocks(t *testing.T) {
	crowded := 0
	for seed := range uint64(60) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			ops := Blocks(seed)
			m := Grid(ops...)
			checkClosed(t, m, false)
			require.InEpsilon(t, GridVolume(ops...), m.Volume(), 1e-9)
			require.Equal(t, ops, Blocks(seed), "the seed decides")
			checkSolid(t, Grid(ManifoldBlocks(seed)...), GridVolume(ManifoldBlocks(seed)...))
		})
		if assertCrowded(Grid(Blocks(seed)...)) {
			crowded++
		}
	}
	assert.Greater(t, crowded, 0, "no solid touches itself: the random blocks are too tame")
}

func assertCrowded(m *geom.Mesh) bool {
	n := map[[2]int32]int{}
	for _, c := range m.Facets {
		for k := range c {
			e := [2]int32{c[k], c[(k+1)%3]}
			if n[e]++; n[e] > 1 {
				return true
			}
		}
	}
	return false
}

func TestPrismBlockWithBoreAndCavity(t *testing.T) {
	outline := Rect(0, 0, 40, 30)
	cavity := Rect(8, 6, 32, 24)
	bore, blind := Circle(Point{20, 15}, 2, 48), Circle(Point{36, 15}, 1.5, 24)
	layers := []Layer{
		{5, [][]Point{outline}},
		{6, [][]Point{outline, cavity}},
		{4, [][]Point{outline, bore}},
		{3, [][]Point{outline, bore, blind}},
	}
	want := 40*30*18 - 24*18*6 - CircleArea(2, 48)*7 - CircleArea(1.5, 24)*3
	assert.InEpsilon(t, want, PrismVolume(layers...), 1e-9)
	m := Prism(-5, layers...)
	checkSolid(t, m, want)
	assert.Equal(t, geom.Box{Min: geom.Vec{Z: -5}, Max: geom.Vec{X: 40, Y: 30, Z: 13}}, m.Box())
	level := 0.0
	for f := range m.Facets {
		if n := m.Triangle(f).Normal(); n.Z > 0.5 {
			level += m.Triangle(f).Area()
		}
	}
	assert.InEpsilon(t, 40*30+24*18-CircleArea(2, 48), level, 1e-9, "top, bottom of the blind hole, floor of the cavity")
}

func TestPrismShapes(t *testing.T) {
	outline := Rect(0, 0, 30, 30)
	holes := [][]Point{outline}
	for i := range 9 {
		holes = append(holes, Circle(Point{5 + 10*float64(i%3), 5 + 10*float64(i/3)}, 3, 5+i))
	}
	star := make([]Point, 20)
	for i, p := range Circle(Point{15, 15}, 12, 20) {
		star[i] = p
		if i%2 == 1 {
			star[i] = Point{15 + (p.X-15)/3, 15 + (p.Y-15)/3}
		}
	}
	cases := map[string][]Layer{
		"nine bores":        {{4, holes}},
		"island in a ring":  {{2, [][]Point{outline}}, {5, [][]Point{outline, Circle(Point{15, 15}, 12, 40), Circle(Point{15, 15}, 5, 20)}}},
		"star-shaped hole":  {{1, [][]Point{outline, star}}, {1, [][]Point{outline}}},
		"star on a plate":   {{1, [][]Point{outline}}, {1, [][]Point{star}}},
		"stepped cone":      {{1, [][]Point{Circle(Point{}, 9, 30)}}, {1, [][]Point{Circle(Point{}, 6, 20)}}, {1, [][]Point{Circle(Point{}, 3, 10)}}},
		"overhanging plate": {{3, [][]Point{Circle(Point{15, 15}, 4, 16)}}, {1, [][]Point{outline}}},
		"two posts":         {{3, [][]Point{Circle(Point{8, 15}, 4, 16), Circle(Point{22, 15}, 4, 16)}}, {1, [][]Point{outline}}},
		"counterbore":       {{3, [][]Point{outline, Circle(Point{15, 15}, 2, 16)}}, {2, [][]Point{outline, Circle(Point{15, 15}, 5, 16)}}},
	}
	for name, layers := range cases {
		t.Run(name, func(t *testing.T) {
			m := Prism(0, layers...)
			checkSolid(t, m, PrismVolume(layers...))
			checkSolid(t, OtherDiagonal(m), PrismVolume(layers...))
		})
	}
	assert.Panics(t, func() { Prism(0, Layer{1, [][]Point{outline, Rect(20, 20, 40, 40)}}) }, "crossing loops")
	assert.Panics(t, func() { Prism(0, Layer{1, [][]Point{outline, Rect(0, 0, 10, 10)}}) }, "touching loops")
	assert.Panics(t, func() { Prism(0, Layer{0, [][]Point{outline}}) })
}

func TestTriangulateCoversOnce(t *testing.T) {
	// A spiral corridor: long, thin, not convex anywhere useful.
	spiral := []Point{{0, 0}, {9, 0}, {9, 9}, {1, 9}, {1, 3}, {6, 3}, {6, 6}, {4, 6}, {4, 5}, {5, 5}, {5, 4}, {2, 4}, {2, 8}, {8, 8}, {8, 1}, {0, 1}}
	sum := 0.0
	for _, c := range triangulate([][]Point{counterClockwise(spiral)}) {
		p := counterClockwise(spiral)
		a := PolygonArea([]Point{p[c[0]], p[c[1]], p[c[2]]})
		require.Greater(t, a, 0.0)
		sum += a
	}
	assert.InDelta(t, math.Abs(PolygonArea(spiral)), sum, 1e-12)
}

func TestChanges(t *testing.T) {
	for seed := range uint64(8) {
		ops := ManifoldBlocks(seed)
		m, want := Grid(ops...), GridVolume(ops...)
		sub := Subdivide(m, 2)
		checkSolid(t, sub, want)
		assert.Len(t, sub.Facets, 16*len(m.Facets))
		assert.InEpsilon(t, m.Area(), sub.Area(), 1e-9)

		other := OtherDiagonal(m)
		checkSolid(t, other, want)
		for f := range other.Facets {
			require.NotEqual(t, m.Facets[f], other.Facets[f], "every rectangle is cut the other way")
		}

		mixed := ShuffleFacets(m, seed)
		checkSolid(t, mixed, want)
		assert.NotEqual(t, m.Facets, mixed.Facets)
		assert.Equal(t, mixed, ShuffleFacets(m, seed))

		checkSolid(t, Transform(m, RandomTurn(seed)), want)
		apart := Transform(m, geom.Rigid{X: geom.Vec{X: 1}, Y: geom.Vec{Y: 1}, Z: geom.Vec{Z: 1}, T: geom.Vec{X: 100}})
		checkSolid(t, Join(m, apart), 2*want)
	}
	ring := Torus(10, 3, 12, 8)
	flipped := OtherDiagonal(ring)
	checkSolid(t, flipped, ring.Volume())
	assert.NotEqual(t, ring.Facets, flipped.Facets)
	assert.Equal(t, Icosphere(1, 1).Facets, OtherDiagonal(Icosphere(1, 1)).Facets, "no flat quadrilaterals there")
}
