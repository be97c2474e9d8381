package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
	"pourproof/geom/measure"
)

func rubberIn(t testing.TB, s setup, o RubberOptions) []*HalfRubber {
	t.Helper()
	m, err := Close(s.job, s.part, s.halves)
	require.NoError(t, err)
	r, err := m.Rubber(o)
	require.NoError(t, err)
	require.Len(t, r, len(s.halves))
	return r
}

// The example mold has no wall below the limits, and no knife edge.
func TestRubberOfTheExample(t *testing.T) {
	for _, r := range rubberIn(t, demoSetup(t), RubberOptions{}) {
		for i := range r.Walls {
			assert.GreaterOrEqual(t, r.Walls[i].Least, 1.5, "%s: %+v", r.Name, r.Walls[i])
			assert.Less(t, r.Walls[i].Slender, 4.0)
		}
		assert.Empty(t, r.Knives)
	}
}

// Rubber of 0.3 mm beside closed voids (6 x 6 above the ceiling) and a bore is found
// at the default settings, where the case says it is.
func TestMembranesAreFound(t *testing.T) {
	for _, c := range []struct {
		name  string
		thick float64
	}{{"membrane01", 0.1}, {"membrane03", 0.3}} {
		found := map[string]*Wall{}
		for _, r := range rubberIn(t, storedSetup(t, c.name), RubberOptions{}) {
			for i := range r.Walls {
				w := &r.Walls[i]
				if math.Abs(w.Least-c.thick) > 2*r.Error {
					continue
				}
				assert.True(t, w.Around(), "%s: %+v", c.name, w)
				switch {
				case math.Abs(w.At.Z-10-c.thick/2) < 0.01:
					found["ceiling"] = w
				case math.Abs(w.At.X-30-c.thick/2) < 0.01:
					found["end"] = w
				case math.Abs(w.At.Y+c.thick/2) < 0.01:
					found["bore "+r.Name] = w
				}
			}
		}
		require.Len(t, found, 4, "%s", c.name)
		assert.InDelta(t, 36, found["ceiling"].Area, 1.5)
	}
}

// A blind channel that ends 0.3 mm under the block's top leaves a round membrane of
// 2 mm between channel and outside.
func TestBlindChannelLeavesAMembrane(t *testing.T) {
	var all []Wall
	for _, r := range rubberIn(t, storedSetup(t, "blind03"), RubberOptions{}) {
		all = append(all, r.Walls...)
	}
	require.Len(t, all, 1)
	w := all[0]
	assert.Equal(t, [2]Side{AtChannel, AtOutside}, w.Between)
	assert.Equal(t, ThinWall, w.Kind)
	assert.InDelta(t, 0.3, w.Least, 1e-4)
	assert.InDelta(t, math.Pi, w.Area, 0.35)
	assert.False(t, w.Molding)
}

// alone measures one solid that is cavity all around.
func alone(t testing.TB, mesh *geom.Mesh) ([]Wall, []Edge) {
	t.Helper()
	th, err := measure.Walls(mesh, measure.Options{Most: 7.5})
	require.NoError(t, err)
	n := len(mesh.Facets)
	m := &Mold{fixed: &fixed{halves: []*geom.Mesh{mesh}, joined: mesh, owner: []int32{0, int32(n)}, tree: bvh.Build(mesh)}, molding: make(moldingFaces, n)}
	for f := range m.molding {
		m.molding[f].Store(shapesPart)
	}
	w := &rubberWork{m: m, o: RubberOptions{Around: 5, Thin: 1.5, Knife: math.Pi / 4}, t: th, side: make([]Side, len(th.Least)), kind: make([]thin, len(th.Least))}
	for f, d := range th.Least {
		w.side[f] = AtCavity
		if d < 3 {
			w.kind[f] = thinInner
		}
	}
	walls, _ := w.walls()
	knives, _ := w.edges()
	return walls, knives
}

// onBlock is a block 40 mm wide and 10 high with a profile standing on it, 40 mm long.
func onBlock(profile ...geomtest.Point) *geom.Mesh {
	loop := append([]geomtest.Point{{X: -20, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 10}}, profile...)
	return geomtest.Prism(0, geomtest.Layer{Height: 40, Loops: [][]geomtest.Point{append(loop, geomtest.Point{X: -20, Y: 10})}})
}

// post is a disc of 20 x 5 mm with a turned profile standing on it.
func post(profile ...geomtest.Point) *geom.Mesh {
	p := append([]geomtest.Point{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 5}}, profile...)
	return geomtest.Revolve(p, 48)
}

// Fins and pins with their slenderness, height over mean thickness: own calculations.
func TestFinsAndPins(t *testing.T) {
	for _, c := range []struct {
		name                              string
		mesh                              *geom.Mesh
		kind                              WallKind
		least, mean, height, area, within float64
	}{
		{"fin", onBlock(geomtest.Point{X: 0.5, Y: 10}, geomtest.Point{X: 0.5, Y: 18}, geomtest.Point{X: -0.5, Y: 18}, geomtest.Point{X: -0.5, Y: 10}), Fin, 1, 1, 8, 320, 0.01},
		{"fin that tapers from 1.2 mm to nothing", onBlock(geomtest.Point{X: 0.6, Y: 10}, geomtest.Point{X: 0, Y: 18}, geomtest.Point{X: -0.6, Y: 10}), Fin, 0, 0.6, 8, 320, 0.05},
		{"stout fin, slender", onBlock(geomtest.Point{X: 1, Y: 10}, geomtest.Point{X: 1, Y: 22}, geomtest.Point{X: -1, Y: 22}, geomtest.Point{X: -1, Y: 10}), Fin, 2, 2, 12, 480, 0.01},
		{"round pin", post(geomtest.Point{X: 0.6, Y: 5}, geomtest.Point{X: 0.6, Y: 11}, geomtest.Point{X: 0, Y: 11}), Pin, 1.2, 1.2, 6, math.Pi * 1.2 * 6 / 2, 0.08},
		{"spike", post(geomtest.Point{X: 0.6, Y: 5}, geomtest.Point{X: 0, Y: 13}), Pin, 0.03, 0.8, 8, math.Pi * 0.6 * 8.02 / 2, 0.1},
	} {
		for _, turned := range []bool{false, true} {
			mesh := c.mesh
			if turned {
				mesh = geomtest.Transform(geomtest.ShuffleFacets(geomtest.OtherDiagonal(mesh), 5), geomtest.RandomTurn(9))
			}
			walls, knives := alone(t, mesh)
			require.Len(t, walls, 1, c.name)
			w := walls[0]
			assert.Equal(t, c.kind, w.Kind, c.name)
			assert.InDelta(t, c.least, w.Least, 0.04, c.name)
			assert.InDelta(t, c.mean, w.Mean, 0.02+0.1*c.mean, c.name)
			assert.InDelta(t, c.height, w.Height, 0.1, c.name)
			assert.InEpsilon(t, c.area, w.Area, 0.01+c.within, c.name)
			assert.InEpsilon(t, c.height/c.mean, w.Slender, 0.12, c.name)
			if c.name == "fin that tapers from 1.2 mm to nothing" {
				require.Len(t, knives, 1)
				assert.InDelta(t, 2*math.Atan(0.6/8), knives[0].Angle, 1e-3)
				assert.InDelta(t, 40, knives[0].Length, 1e-6)
			} else {
				assert.Empty(t, knives, c.name)
			}
		}
	}
}

// What is held all around is a wall, and so is a bar held at both ends.
func TestHeldWalls(t *testing.T) {
	box := func(x0, y0, z0, x1, y1, z1 float64) (lo, hi geom.Vec) {
		return geom.Vec{X: x0, Y: y0, Z: z0}, geom.Vec{X: x1, Y: y1, Z: z1}
	}
	block := geomtest.Add(box(0, 0, 0, 30, 30, 20))
	membrane, _ := alone(t, geomtest.Grid(block, geomtest.Cut(box(8, 8, 5, 20, 16, 9)), geomtest.Cut(box(8, 8, 9.8, 20, 16, 15))))
	require.Len(t, membrane, 1)
	assert.Equal(t, ThinWall, membrane[0].Kind)
	assert.InDelta(t, 0.8, membrane[0].Least, 1e-4)
	assert.InDelta(t, 96, membrane[0].Area, 1)
	assert.InDelta(t, 4, membrane[0].Height, 0.2)
	bar, _ := alone(t, geomtest.Grid(block, geomtest.Cut(box(8, 8, 5, 22, 22, 20)), geomtest.Add(box(8, 14, 10, 22, 15, 11))))
	require.Len(t, bar, 1)
	assert.Equal(t, ThinWall, bar[0].Kind)
	assert.InDelta(t, 1, bar[0].Least, 1e-4)
}

// Knife edges below 45 deg, along their whole length; a wedge of 46 deg has none.
func TestKnifeEdges(t *testing.T) {
	for deg, some := range map[float64]bool{20: true, 44: true, 46: false, 60: false, 90: false} {
		s, c := math.Sincos(deg * math.Pi / 180)
		_, knives := alone(t, geomtest.Transform(geomtest.Prism(0, geomtest.Layer{Height: 25, Loops: [][]geomtest.Point{{{X: 0, Y: 0}, {X: 12, Y: 0}, {X: 12 * c, Y: 12 * s}}}}), geomtest.RandomTurn(2)))
		if !some {
			assert.Empty(t, knives, "%v deg", deg)
			continue
		}
		require.Len(t, knives, 1, "%v deg", deg)
		assert.InDelta(t, deg*math.Pi/180, knives[0].Angle, 2e-5)
		assert.InDelta(t, 25, knives[0].Length, 1e-6)
	}
}
