package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// leaning is a build direction an angle in degrees off z, towards x.
func leaning(deg float64) geom.Vec {
	s, c := math.Sincos(deg * math.Pi / 180)
	return xyz(s, 0, c)
}

// A round cup of radius R and depth D tilted by a, with 2 R tan a < D: the low side
// of its inner rim frees it D cos a above its lowest point; then it holds
// pi R^2 (D - R tan a), and every level across all of its wall is an ellipse of
// pi R^2 / cos a.
func TestTiltedCup(t *testing.T) {
	const n, r, depth = 256, 15.0, 20.0
	a := 30 * math.Pi / 180
	p := printed(t, roundCup(r, 2, 2, depth, n), leaning(30), PrintOptions{})
	require.Len(t, p.Cups, 1)
	c := p.Cups[0]
	area := geomtest.CircleArea(r, n)
	assert.InDelta(t, depth*math.Cos(a), c.To-c.From, 1e-4)
	assert.InDelta(t, area/math.Cos(a), c.Area, 1e-4*area)
	assert.InDelta(t, area*(depth-r*math.Tan(a)), c.Volume, 0.01*c.Volume)
	require.NotNil(t, c.Lip)
	assert.InDelta(t, 0, c.Lip.Dist(xyz(-15, 0, 22)), 1e-3, "the inner rim's low side")
	assert.InDelta(t, 0, c.Deepest.Dist(xyz(-15, 0, 2)), 1e-3)

	flatter := printed(t, roundCup(r, 2, 2, depth, n), leaning(89), PrintOptions{})
	for _, c := range flatter.Cups {
		assert.Less(t, c.Volume, 500.0, "nearly on its side it holds little")
	}
	assert.Empty(t, printed(t, roundCup(r, 2, 2, depth, n), leaning(120), PrintOptions{}).Cups)
}

// Rings of walls: a middle cup and an annular groove around it, which merge where
// the inner wall ends.
func TestAnnularGroove(t *testing.T) {
	const n = 128
	loop := func(r float64) []geomtest.Point { return geomtest.Circle(geomtest.Point{}, r, n) }
	m := geomtest.Prism(0, geomtest.Layer{Height: 3, Loops: [][]geomtest.Point{loop(20)}},
		geomtest.Layer{Height: 8, Loops: [][]geomtest.Point{loop(20), loop(18), loop(10), loop(8)}},
		geomtest.Layer{Height: 6, Loops: [][]geomtest.Point{loop(20), loop(18)}})
	p := printed(t, m, upZ, PrintOptions{})
	require.Len(t, p.Cups, 2)
	area := func(r float64) float64 { return geomtest.CircleArea(r, n) }
	whole, inner := p.Cups[0], p.Cups[1]
	assert.InDelta(t, area(18), whole.Area, 1e-3*area(18))
	assert.InDelta(t, (area(18)-area(10)+area(8))*8+area(18)*6, whole.Volume, 0.01*whole.Volume)
	assert.InDelta(t, 17, whole.To, 1e-5)
	assert.InDelta(t, 11, whole.AreaAt, 1e-4, "where the two have merged")
	assert.Equal(t, whole.ID, inner.Into, "the smaller one merges")
	assert.InDelta(t, area(8), inner.Area, 1e-3*area(8))
	assert.InDelta(t, 11, inner.To, 1e-5)
	assert.InDelta(t, area(8)*8, inner.Volume, 0.01*inner.Volume)
	at := func(z float64) float64 { return curveAt(p, z) }
	assert.InDelta(t, area(18)-area(10)+area(8), at(7), 0.01*area(18))
	assert.InDelta(t, area(18), at(14), 0.01*area(18))
	assert.Zero(t, at(17.5))
	assert.Zero(t, at(1))

	// The groove alone, its inner wall the higher one: two cups of their own.
	m = geomtest.Prism(0, geomtest.Layer{Height: 3, Loops: [][]geomtest.Point{loop(20)}},
		geomtest.Layer{Height: 8, Loops: [][]geomtest.Point{loop(20), loop(18), loop(10), loop(8)}},
		geomtest.Layer{Height: 6, Loops: [][]geomtest.Point{loop(10), loop(8)}})
	p = printed(t, m, upZ, PrintOptions{})
	require.Len(t, p.Cups, 2)
	assert.InDelta(t, area(18)-area(10), p.Cups[0].Area, 1e-3*area(18), "the groove")
	assert.InDelta(t, 11, p.Cups[0].To, 1e-5)
	assert.InDelta(t, area(8), p.Cups[1].Area, 1e-3*area(8))
	assert.InDelta(t, 17, p.Cups[1].To, 1e-5)
	assert.Zero(t, p.Cups[0].Into)
	assert.Zero(t, p.Cups[1].Into)
}

// curveAt reads the curve of sealed area.
func curveAt(p *Printed, z float64) float64 {
	a := 0.0
	for _, s := range p.Curve {
		if s.Height <= z {
			a = s.Area
		}
	}
	return a
}

func TestTorus(t *testing.T) {
	const n = 96
	m := geomtest.Torus(20, 5, n, 48)
	assert.Empty(t, printed(t, m, upZ, PrintOptions{}).Cups, "lying on supports: open from below")
	assert.Empty(t, printed(t, m, xyz(1, 0, 0), PrintOptions{}).Cups, "standing")
	assert.Empty(t, printed(t, m, xyz(1, 0, 0), PrintOptions{Flat: true}).Cups)
	flat := printed(t, m, upZ, PrintOptions{Flat: true})
	require.Len(t, flat.Cups, 1, "lying on the platform")
	c := flat.Cups[0]
	assert.InDelta(t, geomtest.CircleArea(20, n), c.Area, 0.01*c.Area)
	assert.InDelta(t, 10, c.To, 1e-4)
	assert.Empty(t, flat.Sealed)
	for _, build := range []geom.Vec{upZ, xyz(1, 0, 0)} {
		assert.Empty(t, printed(t, m, build, PrintOptions{}).Starts)
	}
	assert.Positive(t, printed(t, m, upZ, PrintOptions{}).Scars.Area)
}

func TestSealedVoid(t *testing.T) {
	outer, inner := geomtest.Box(xyz(0, 0, 0), xyz(30, 24, 20)), geomtest.Box(xyz(4, 5, 6), xyz(24, 18.2, 15))
	p := printed(t, geomtest.Join(outer, inner.Reversed()), upZ, PrintOptions{})
	require.Len(t, p.Sealed, 1)
	v := p.Sealed[0]
	assert.InDelta(t, 2376, v.Volume, 0.005*2376)
	assert.True(t, geom.Box{Min: xyz(4, 5, 6), Max: xyz(24, 18.2, 15)}.Contains(v.At), "%v", v.At)
	require.Len(t, p.Cups, 1, "until its roof is printed it is a cup")
	assert.Equal(t, v.ID, p.Cups[0].Void)
	assert.InDelta(t, 264, p.Cups[0].Area, 1e-3)

	solid := printed(t, geomtest.Join(outer, inner), upZ, PrintOptions{})
	assert.Empty(t, solid.Sealed, "wound outward it is solid")
	assert.Empty(t, solid.Cups)
	tilt := printed(t, geomtest.Join(outer, inner.Reversed()), leaning(40), PrintOptions{Flat: true})
	require.Len(t, tilt.Sealed, 1)
	assert.InDelta(t, 2376, tilt.Sealed[0].Volume, 0.005*2376)
}

// Two rooms of a block, joined low down by a bore, one of them drained: neither is
// closed; without the drain they are one cup from the bore up.
func TestRoomsThatAreJoined(t *testing.T) {
	block := func(drain bool) *geom.Mesh {
		ops := []geomtest.Op{geomtest.Add(xyz(0, 0, 0), xyz(50, 24, 20)), geomtest.Cut(xyz(3, 3, 3), xyz(21, 21, 20)),
			geomtest.Cut(xyz(29, 3, 3), xyz(47, 21, 20)), geomtest.Cut(xyz(21, 9, 6), xyz(29, 14, 11))}
		if drain {
			ops = append(ops, geomtest.Cut(xyz(10, 10, 0), xyz(13, 13, 3)))
		}
		return geomtest.Grid(ops...)
	}
	p := printed(t, block(false), upZ, PrintOptions{})
	require.Len(t, p.Cups, 2)
	assert.InDelta(t, 2*18*18, p.Cups[0].Area, 2*18*18*0.07, "both rooms and the bore")
	assert.InDelta(t, 6, p.Cups[1].To, 1e-5, "they merge at the bore's floor")
	assert.Equal(t, p.Cups[0].ID, p.Cups[1].Into)

	p = printed(t, block(true), upZ, PrintOptions{})
	var sealed []Cup
	for _, c := range p.Cups {
		if !c.Relieved {
			sealed = append(sealed, c)
		}
	}
	require.Len(t, sealed, 1, "the other room until the bore joins it")
	assert.InDelta(t, 6, sealed[0].To, 1e-5)
	assert.InDelta(t, 324, sealed[0].Area, 0.1)
}
