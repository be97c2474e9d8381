package measure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Between the faces of a wedge the ball of a facet is least next to its corner nearest
// the edge: 2 u tan(a/2) (own calculation), found to slideGain wherever the columns fell.
func TestLeastNextToACorner(t *testing.T) {
	for _, deg := range []float64{5, 15, 28} {
		a := deg * math.Pi / 180
		w := walls(t, wedge(a, 24, 20), Options{Most: 20})
		n := 0
		for f, d := range w.Least {
			tri := w.Mesh.Triangle(f)
			if math.Abs(w.Normal[f].Z) > 0.5 || math.IsInf(d, 1) {
				continue
			}
			u := func(v geom.Vec) float64 { return math.Hypot(v.X, v.Y) }
			first, last := min(u(tri.A), u(tri.B), u(tri.C)), max(u(tri.A), u(tri.B), u(tri.C))
			if last > 8 || last-first < 0.5 {
				continue // near the third face the ball touches that one
			}
			want := 2 * (float64(first*cornerShare) + float64(u(tri.Centroid())*(1-cornerShare))) * math.Tan(a/2)
			assert.LessOrEqual(t, d, want/(1-slideGain)+1e-4, "%v deg, %v mm from the edge", deg, first)
			assert.GreaterOrEqual(t, d, 2*first*math.Tan(a/2)-1e-4, "%v deg, %v mm from the edge", deg, first)
			n++
		}
		assert.Greater(t, n, 100, "%v deg", deg)
	}
}

// What an end of a stretch is listed with against its slow twin, the least ball through any of
// many places of the disc about the other end.
func TestNearestPlace(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		turn := func(v geom.Vec, most float64, name string) geom.Vec {
			x, y := v.Perpendicular()
			a, tilt := rapid.Float64Range(0, 2*math.Pi).Draw(r, name), rapid.Float64Range(0, most).Draw(r, name)
			return v.Scale(math.Cos(tilt)).AddScaled(x, math.Sin(tilt)*math.Cos(a)).AddScaled(y, math.Sin(tilt)*math.Sin(a))
		}
		d := geom.Vec{Z: 1}
		inward := turn(d, 0.9, "facet a")
		normal := turn(inward, math.Pi/6, "facet b")
		length, size := rapid.Float64Range(0.1, 8).Draw(r, "length"), rapid.Float64Range(0, 1).Draw(r, "size")
		size *= length
		if normal.Dot(d) < 0.2 {
			r.Skip("a grazing stretch")
		}
		w := pair{length: length, den: 1 + inward.Dot(normal)}
		got := float64(w.nearest(inward.Dot(d), normal.Dot(d), size))
		end := d.Scale(length)
		x, y := normal.Perpendicular()
		slow := math.Inf(1)
		for ring := range 31 {
			for k := range 90 {
				a, s := 2*math.Pi*float64(k)/90, size*float64(ring)/30
				v := end.AddScaled(x, s*math.Cos(a)).AddScaled(y, s*math.Sin(a))
				if rise := inward.Dot(v); rise > 0 {
					slow = min(slow, v.Norm2()/rise)
				}
			}
		}
		assert.LessOrEqual(r, got, slow*1.02)
		assert.GreaterOrEqual(r, got, slow*0.97)
	})
}

// Few columns and the neighbours' contacts find what many columns find, but for some of what is
// rough at the scale of its facets.
func TestManyColumns(t *testing.T) {
	for name, c := range map[string]struct {
		mesh          *geom.Mesh
		none, thicker float64 // at most, of all facets
	}{
		"bumpy":  {geomtest.Bumpy(6, 1.5, 60, 40), 0.13, 0.21},
		"blocks": {geomtest.Transform(geomtest.Grid(geomtest.ManifoldBlocks(5)...), geomtest.RandomTurn(4)), 0, 0},
		"comb":   {comb(), 0.01, 0.01},
	} {
		w, many := walls(t, c.mesh, Options{}), walls(t, c.mesh, Options{Directions: 60, Pitch: 0.12})
		n, none, thicker := 0, 0, 0
		for f, d := range many.Least {
			switch {
			case math.IsInf(d, 1):
			case math.IsInf(w.Least[f], 1):
				none++
			case w.Least[f] > d*1.02:
				thicker++
			default:
				n++
			}
		}
		all := float64(n + none + thicker)
		require.Greater(t, all, 40.0, name)
		assert.LessOrEqual(t, float64(none)/all, c.none, name)
		assert.LessOrEqual(t, float64(thicker)/all, c.thicker, name)
	}
}

// comb is a block with three fins of 0.8 mm that taper.
func comb() *geom.Mesh {
	loop := []geomtest.Point{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 6}}
	for x := 15.0; x > 0; x -= 5 {
		loop = append(loop, geomtest.Point{X: x + 0.5, Y: 6}, geomtest.Point{X: x + 0.3, Y: 12}, geomtest.Point{X: x - 0.3, Y: 12}, geomtest.Point{X: x - 0.5, Y: 6})
	}
	return geomtest.Prism(0, geomtest.Layer{Height: 25, Loops: [][]geomtest.Point{append(loop, geomtest.Point{X: 0, Y: 6})}})
}

// Under a closed void in a plate the thickness is that up to the void, although the balls
// around it touch the plate's top, from which no walk leads into the void. Facets are
// smaller than the columns' distance: one in thirty may be met by none that sees the void.
func TestAVoidBetween(t *testing.T) {
	plate := geomtest.Grid(geomtest.Add(geom.Vec{}, geom.Vec{X: 10, Y: 10, Z: 3}), geomtest.Cut(geom.Vec{X: 4, Y: 4, Z: 0.5}, geom.Vec{X: 6, Y: 6, Z: 1}))
	w := walls(t, geomtest.Subdivide(plate, 4), Options{})
	under, past, beside := 0, 0, 0
	for f, d := range w.Least {
		c := w.Mesh.Triangle(f).Centroid()
		if w.Normal[f].Z > -0.5 || c.Z > 0.1 {
			continue
		}
		switch off := max(math.Abs(c.X-5), math.Abs(c.Y-5)); {
		case off < 0.7 && math.Abs(d-3) < 1e-4:
			past++
		case off < 0.7:
			assert.InDelta(t, 0.5, d, 1e-4, "at %v", c)
			under++
		case off > 2 && off < 4:
			assert.InDelta(t, 3, d, 1e-4, "at %v", c)
			beside++
		}
	}
	assert.Greater(t, under, 100)
	assert.LessOrEqual(t, past, under/30)
	assert.Greater(t, beside, 20)
}

// A facet that lies under a ledge with its border only gets its thickness from the
// neighbour that lies under it whole.
func TestThinNearAnEdgeOnly(t *testing.T) {
	tried := 0
	for x := 7.0; x < 9; x += 0.15 {
		ledge := geomtest.Prism(0, geomtest.Layer{Height: 10, Loops: [][]geomtest.Point{{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 20}, {X: x, Y: 20}, {X: x, Y: 1}, {X: 0, Y: 1}}}})
		w := walls(t, ledge, Options{})
		for f := range w.Least {
			tri := w.Mesh.Triangle(f)
			c, v := tri.Centroid(), [3]geom.Vec{tri.A, tri.B, tri.C}
			if w.Normal[f].Y > -0.5 || c.X < x+0.3 { // nearer to it a ball may rest on the ledge's edge
				continue
			}
			for k := range 3 {
				h := 3*int32(f) + int32(k)
				on := w.Contact[w.Mates[h]/3]
				if at := c.Lerp(v[k].Lerp(v[(k+1)%3], 0.5), edgeShare); at.X > x-0.01 || on < 0 || w.Normal[on].Y < 0.5 {
					continue
				}
				w.Least[f], w.Contact[f] = math.Inf(1), -1
				assert.True(t, w.beside(h, on, 2))
				assert.InDelta(t, 1, w.Least[f], 1e-9)
				assert.Less(t, w.At[f].X, x)
				tried++
			}
		}
	}
	assert.Greater(t, tried, 4)
}
