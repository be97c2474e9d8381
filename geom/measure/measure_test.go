package measure

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func walls(t testing.TB, m *geom.Mesh, o Options) *Thickness {
	t.Helper()
	w, err := Walls(m, o)
	require.NoError(t, err)
	return w
}

// opposed are the facets with a thickness, and the least and most of them.
func opposed(w *Thickness) (n int, least, most float64) {
	least = math.Inf(1)
	for _, d := range w.Least {
		if !math.IsInf(d, 1) {
			n++
			least, most = min(least, d), max(most, d)
		}
	}
	return n, least, most
}

func slab(x, y, z float64) *geom.Mesh { return geomtest.Box(geom.Vec{}, geom.Vec{X: x, Y: y, Z: z}) }

// Every facet of both faces of a slab has its thickness, up to the edges, and no
// facet of the rim has any: own calculation.
func TestSlabs(t *testing.T) {
	for _, thick := range []float64{0.3, 0.6, 1, 2} {
		for name, m := range map[string]*geom.Mesh{
			"as it is": slab(40, 20, thick),
			"turned":   geomtest.Transform(slab(40, 20, thick), geomtest.RandomTurn(7)),
			"mirrored": slab(40, 20, thick).Map(func(v geom.Vec) geom.Vec { return geom.Vec{X: -v.X, Y: v.Y, Z: v.Z} }).Reversed(),
			"finer":    geomtest.Subdivide(slab(40, 20, thick), 5),
			"shuffled": geomtest.ShuffleFacets(geomtest.OtherDiagonal(slab(40, 20, thick)), 3),
		} {
			w := walls(t, m, Options{})
			_, least, most := opposed(w)
			assert.InDelta(t, thick, least, 2*w.Error(), "%s %v", name, thick)
			assert.InDelta(t, thick, most, 2*w.Error(), "%s %v", name, thick)
			area := 0.0
			for f, d := range w.Least {
				if !math.IsInf(d, 1) {
					area += w.Mesh.Triangle(f).Area()
				}
			}
			assert.InDelta(t, 2*40*20, area, 1e-6, "%s %v", name, thick)
		}
	}
}

// A cube has no thin wall: no two of its faces that are near each other are opposed.
func TestCubeHasNoThinWall(t *testing.T) {
	for seed := uint64(1); seed < 4; seed++ {
		n, _, _ := opposed(walls(t, geomtest.Transform(slab(20, 20, 20), geomtest.RandomTurn(seed)), Options{}))
		assert.Zero(t, n)
	}
}

// wedge is a prism whose faces meet at the angle a along the z axis; one of them lies
// in the plane y = 0.
func wedge(a, length, height float64) *geom.Mesh {
	s, c := math.Sincos(a)
	return geomtest.Prism(0, geomtest.Layer{Height: height, Loops: [][]geomtest.Point{{{X: 0, Y: 0}, {X: length, Y: 0}, {X: length * c, Y: length * s}}}})
}

// The ball at the distance u from a wedge's edge has the diameter 2 u tan(a/2): the
// values of the usual table, from 15 to 60 deg (own calculation).
func TestWedges(t *testing.T) {
	for _, c := range []struct{ deg, ball float64 }{{15, 0.26330}, {30, 0.53590}, {45, 0.82843}, {60, 1.15470}} {
		w := walls(t, wedge(c.deg*math.Pi/180, 24, 20), Options{Wedge: 1.06, Most: 20})
		n := 0
		for f, d := range w.Least {
			if math.IsInf(d, 1) {
				continue
			}
			u := math.Hypot(w.At[f].X, w.At[f].Y) // from the edge, along either face
			if math.Abs(w.Normal[f].Z) > 0.5 || u > 8 || u < 0.01 {
				continue // near the third face the ball touches that one
			}
			assert.InDelta(t, c.ball*u, d, 1e-4, "%v deg, %v from the edge", c.deg, u)
			n++
		}
		assert.Greater(t, n, 300, "%v deg", c.deg)
	}
}

// Wedges wider than asked for have no thickness, others have.
func TestWidestWedge(t *testing.T) {
	for deg, some := range map[float64]bool{25: true, 29: true, 31: false, 45: false, 90: false} {
		n, _, _ := opposed(walls(t, wedge(deg*math.Pi/180, 8, 30), Options{Most: 4}))
		assert.Equal(t, some, n > 0, "%v deg", deg)
	}
}

// A post is as thick as it is wide at each height: a cone of 4 to 1 mm over 20 mm,
// its ball 2 R/cos(slope) (own calculation); 64 facets around leave 1.5 % off the
// middle of a facet.
func TestConicalPin(t *testing.T) {
	m := geomtest.Revolve([]geomtest.Point{{X: 0, Y: 0}, {X: 2, Y: 0}, {X: 0.5, Y: 20}, {X: 0, Y: 20}}, 64)
	w := walls(t, m, Options{})
	slope := math.Atan(1.5 / 20)
	n := 0
	for f, d := range w.Least {
		if math.Abs(w.Normal[f].Z) > 0.5 {
			assert.True(t, math.IsInf(d, 1) || d > 7, "end face at %v: %v", w.At[f], d)
			continue
		}
		z := w.At[f].Z
		if math.IsInf(d, 1) || z < 1 || z > 19 {
			continue
		}
		// The contact opposite lies a little higher: the ball at p is centred on the axis.
		assert.InEpsilon(t, 2*(2-1.5*z/20)/math.Cos(slope), d, 0.03, "at %v", z)
		n++
	}
	assert.Greater(t, n, 500)
}

// A fin of 40 x 8 mm that tapers from 1.2 mm to nothing: 1.2 (1 - y/8) at the height
// y, up to the ball's slant of 0.3 % (own calculation).
func TestTaperedFin(t *testing.T) {
	m := geomtest.Prism(0, geomtest.Layer{Height: 40, Loops: [][]geomtest.Point{{{X: -0.6, Y: 0}, {X: 0.6, Y: 0}, {X: 0, Y: 8}}}})
	w := walls(t, m, Options{})
	_, least, _ := opposed(w)
	assert.Less(t, least, 0.01)
	n := 0
	for f, d := range w.Least {
		if y := w.At[f].Y; !math.IsInf(d, 1) && y > 0.2 {
			assert.InDelta(t, 1.2*(1-y/8), d, 0.006, "at %v", y)
			n++
		}
	}
	assert.Greater(t, n, 1000)
}

// A thin place of 0.5 x 0.5 mm behind a face of 60 x 60 mm is found: 0.3 mm of rubber
// are left at the end of a bore.
func TestSmallThinPlaceOnALargeFace(t *testing.T) {
	m := geomtest.Grid(geomtest.Add(geom.Vec{}, geom.Vec{X: 60, Y: 60, Z: 20}), geomtest.Cut(geom.Vec{X: 31.1, Y: 17.3, Z: 0.3}, geom.Vec{X: 31.6, Y: 17.8, Z: 25}))
	w := walls(t, m, Options{})
	_, least, _ := opposed(w)
	assert.InDelta(t, 0.3, least, 2*w.Error())
	for f, d := range w.Least {
		if d < 1 {
			assert.InDelta(t, 31.35, w.At[f].X, 1, "at %v", w.At[f])
			assert.InDelta(t, 17.55, w.At[f].Y, 1, "at %v", w.At[f])
		}
	}
}

// An inner corner that points at a face: no two faces are opposed, the ball between
// corner and face is 1.5 mm (own calculation).
func TestCornerTowardFace(t *testing.T) {
	m := geomtest.Prism(0, geomtest.Layer{Height: 20, Loops: [][]geomtest.Point{geomtest.Rect(0, 0, 40, 30), {{X: 20, Y: 1.5}, {X: 25, Y: 6.5}, {X: 20, Y: 11.5}, {X: 15, Y: 6.5}}}})
	w := walls(t, m, Options{Most: 4})
	_, least, _ := opposed(w)
	assert.InDelta(t, 1.5, least, 0.01)
}

// The facets of a mesh that is finer than the columns get their thickness from
// their neighbours: all of a sphere of 4 mm that 12 000 columns meet at 0.06 a facet.
func TestFinerThanTheColumns(t *testing.T) {
	w := walls(t, geomtest.Icosphere(2, 6), Options{})
	n, least, most := opposed(w)
	assert.Greater(t, w.Missed, 60_000)
	assert.Greater(t, n, len(w.Least)*99/100)
	assert.InDelta(t, 4, least, 0.02)
	assert.InDelta(t, 4, most, 0.02)
}

// A piece that no column meets is measured by rays.
func TestMissedPiece(t *testing.T) {
	m := slab(30, 30, 30)
	m.Append(geomtest.Box(geom.Vec{X: 50}, geom.Vec{X: 50.01, Y: 0.02, Z: 0.02}))
	w := walls(t, m, Options{Pitch: 1, Directions: 3})
	n, _, most := opposed(w)
	require.Equal(t, 12, n)
	assert.InDelta(t, 0.02, most, 1e-6)
}

// The answer does not depend on the number of goroutines.
func TestSharesDoNotMatter(t *testing.T) {
	for name, m := range map[string]*geom.Mesh{"bumpy": geomtest.Bumpy(6, 1.5, 60, 40), "of several chunks": geomtest.Bumpy(6, 1.5, 140, 70)} {
		one := walls(t, m, Options{Shares: 1, Most: 20})
		for _, n := range []int{2, 3, 5} {
			o := walls(t, m, Options{Shares: n, Most: 20})
			o.Options.Shares = 1
			assert.True(t, reflect.DeepEqual(one, o), "%s: %d", name, n)
		}
	}
}

// Splitting leaves a closed mesh of the same shape whose facets are small or have short edges.
func TestRefine(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m := geomtest.Grid(geomtest.Blocks(rapid.Uint64Range(1, 500).Draw(r, "seed"))...)
		edge := rapid.Float64Range(0.7, 5).Draw(r, "edge")
		fine, parent := refine(m, edge)
		require.Len(r, parent, len(fine.Facets))
		all, from := refineAll(m, edge)
		assert.Equal(r, all, fine)
		assert.Equal(r, from, parent)
		assert.InEpsilon(r, m.Volume(), fine.Volume(), 1e-9)
		assert.InEpsilon(r, m.Area(), fine.Area(), 1e-9)
		area := make([]float64, len(m.Facets))
		for f, mates := 0, fine.Mates(); f < len(fine.Facets); f++ {
			tri := fine.Triangle(f)
			area[parent[f]] += tri.Area()
			assert.Greater(r, tri.Normal().Dot(m.Triangle(int(parent[f])).Normal()), 0.999)
			longest := max(tri.A.Dist(tri.B), tri.B.Dist(tri.C), tri.C.Dist(tri.A))
			assert.True(r, longest <= edge || longest <= 2*edge && tri.Area() <= edge*edge/6, "%v mm, %v mm2", longest, tri.Area())
			assert.False(r, slices.Contains(mates[3*f:3*f+3], geom.Open))
		}
		for f := range area {
			assert.InEpsilon(r, m.Triangle(f).Area(), area[f], 1e-9)
		}
	})
}

// refineAll is the slow twin of refine: every pass goes over all facets.
func refineAll(m *geom.Mesh, edge float64) (*geom.Mesh, []int32) {
	s := &splitter{m: &geom.Mesh{Vertices: slices.Clone(m.Vertices), Facets: slices.Clone(m.Facets)}, edge: edge}
	parent := upTo(len(m.Facets))
	for s.mark(); len(s.middle.keys) > 0; s.mark() {
		parent = s.pass(parent)
	}
	return s.m, parent
}
