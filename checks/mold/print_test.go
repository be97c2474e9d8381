package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

var upZ = geom.Vec{Z: 1}

func xyz(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }

// printer has the defaults of the settings.
func printer() *Printer { return &NewJob().Printer }

// printed prints a mesh on its own, with columns 0.4 mm apart unless stated.
func printed(t testing.TB, m *geom.Mesh, build geom.Vec, o PrintOptions) *Printed {
	t.Helper()
	if o.Printer == nil {
		o.Printer = printer()
	}
	if o.Cell == 0 {
		o.Cell = 0.4
	}
	p, err := newRubber(m, o.Printer.Relief, o.Cell).print(build.Unit(), o)
	require.NoError(t, err)
	return p
}

// roundCup is a cup of n sides: inner radius r, wall and floor thick, inner depth.
func roundCup(r, wall, floor, depth float64, n int) *geom.Mesh {
	out, in := geomtest.Circle(geomtest.Point{}, r+wall, n), geomtest.Circle(geomtest.Point{}, r, n)
	return geomtest.Prism(0, geomtest.Layer{Height: floor, Loops: [][]geomtest.Point{out}},
		geomtest.Layer{Height: depth, Loops: [][]geomtest.Point{out, in}})
}

func TestSuctionBoundOfRoundCup(t *testing.T) {
	const n = 512
	p := printed(t, roundCup(15, 2, 2, 20, n), upZ, PrintOptions{})
	require.Len(t, p.Cups, 1)
	c := p.Cups[0]
	area := geomtest.CircleArea(15, n)
	assert.InDelta(t, area, c.Area, 1e-6*area, "the outline is exact")
	assert.InDelta(t, 71.622, c.Bound, 0.003, "p0 A of a 30 mm cup (literature.md 7)")
	assert.InDelta(t, area*20, c.Volume, 0.005*area*20)
	assert.InDelta(t, 2, c.From, 1e-5)
	assert.InDelta(t, 22, c.To, 1e-5)
	assert.False(t, c.Relieved)
	assert.Nil(t, c.Passage)
}

// boxCup is a block with a rectangular hollow, open at the top.
func boxCup(w, d, depth, wall, floor float64) *geom.Mesh {
	return geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(w+2*wall, d+2*wall, depth+floor)),
		geomtest.Cut(xyz(wall, wall, floor), xyz(w+wall, d+wall, depth+floor)))
}

func TestBoxCup(t *testing.T) {
	for _, s := range [][3]float64{{20, 30, 10}, {7.3, 12.1, 25}, {40, 4, 3}} {
		p := printed(t, boxCup(s[0], s[1], s[2], 3, 1.5), upZ, PrintOptions{})
		require.Len(t, p.Cups, 1)
		c := p.Cups[0]
		assert.InDelta(t, s[0]*s[1], c.Area, 1e-6*s[0]*s[1])
		assert.InDelta(t, s[0]*s[1]*s[2], c.Volume, 0.01*s[0]*s[1]*s[2])
		assert.InDelta(t, 1.5, c.From, 1e-5)
		assert.InDelta(t, 1.5+s[2], c.To, 1e-5)
	}
	p := printed(t, boxCup(20, 30, 10, 3, 1.5), upZ, PrintOptions{})
	assert.InDelta(t, 60.795, p.Cups[0].Bound, 0.001, "p0 A of 20 x 30 mm (literature.md 7)")
	down := printed(t, boxCup(20, 30, 10, 3, 1.5), upZ.Neg(), PrintOptions{})
	assert.Empty(t, down.Cups, "open to the platform's side, on supports")
	flat := printed(t, boxCup(20, 30, 10, 3, 1.5), upZ.Neg(), PrintOptions{Flat: true})
	require.Len(t, flat.Cups, 1, "the platform closes it")
	assert.InDelta(t, 600, flat.Cups[0].Area, 1e-3)
	assert.InDelta(t, 10, flat.Cups[0].To, 1e-5)
	assert.Empty(t, flat.Sealed, "it opens when the half is taken off")
}

// drained is the 30 mm cup of the check values, its floor 2 mm, with a hole of
// diameter d through the floor.
func drained(d float64) *geom.Mesh {
	const n = 128
	out, in := geomtest.Circle(geomtest.Point{}, 17, n), geomtest.Circle(geomtest.Point{}, 15, n)
	return geomtest.Prism(0, geomtest.Layer{Height: 2, Loops: [][]geomtest.Point{out, geomtest.Circle(geomtest.Point{X: 3, Y: 1}, d/2, n)}},
		geomtest.Layer{Height: 20, Loops: [][]geomtest.Point{out, in}})
}

func TestDrainAtTheClosedEnd(t *testing.T) {
	for _, k := range []struct {
		d, drop  float64
		relieved bool
	}{{1.5, 16.404, false}, {2, 5.7206, true}, {3, 1.3394, true}, {4, 0.4901, true}} {
		p := printed(t, drained(k.d), upZ, PrintOptions{})
		require.Len(t, p.Cups, 1, "%g mm", k.d)
		c := p.Cups[0]
		require.NotNil(t, c.Passage)
		assert.InDelta(t, k.d, c.Passage.Width, 0.002*k.d)
		assert.InDelta(t, k.drop, c.Passage.Drop, 0.01*k.drop, "%g mm (literature.md 7)", k.d)
		assert.InDelta(t, 2, c.Passage.Length, 0.02)
		assert.Equal(t, k.relieved, c.Relieved)
		assert.InDelta(t, 22, c.To, 1e-5)

		flat := printed(t, drained(k.d), upZ, PrintOptions{Flat: true})
		require.Len(t, flat.Cups, 1, "the drain meets the platform")
		assert.Nil(t, flat.Cups[0].Passage)
		assert.False(t, flat.Cups[0].Relieved)
		assert.InDelta(t, 71.622, flat.Cups[0].Bound, 0.05)
	}
}

func TestPassageDrop(t *testing.T) {
	flow := math.Pi * 15 * 15 // 1 mm/s
	for d, want := range map[float64]float64{1.5: 16.404, 2: 5.7206, 3: 1.3394, 4: 0.4901} {
		assert.InDelta(t, want, PassageDrop(flow, 1000, d, 2), 1e-4*want, "literature.md 7")
	}
}
