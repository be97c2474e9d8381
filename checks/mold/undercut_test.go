package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// ringMold is a block of 60 x 60 x 40 mm around a round part, parted at height 15: the
// part is a stack of discs, from 10 mm up, of the given radii and heights. A gate of 3 mm
// leads up from below, a vent of 2 mm out at the top.
func ringMold(sides int, discs ...[2]float64) setup {
	middle := geomtest.Point{X: 30, Y: 30}
	circle := func(r float64) []geomtest.Point { return geomtest.Circle(middle, r, sides) }
	outline := geomtest.Rect(0, 0, 60, 60)
	gate, vent := geomtest.Circle(middle, 1.5, 24), geomtest.Circle(geomtest.Point{X: 30, Y: 30}, 1, 24)
	type slab struct {
		from, to float64
		hole     []geomtest.Point
	}
	slabs := []slab{{0, 10, gate}}
	z := 10.0
	var body []geomtest.Layer
	for _, d := range discs {
		slabs = append(slabs, slab{z, z + d[1], circle(d[0])})
		body = append(body, geomtest.Layer{Height: d[1], Loops: [][]geomtest.Point{circle(d[0])}})
		z += d[1]
	}
	slabs = append(slabs, slab{z, 40, vent})
	half := func(lo, hi float64) *geom.Mesh {
		var layers []geomtest.Layer
		for _, s := range slabs {
			if a, b := max(s.from, lo), min(s.to, hi); a < b {
				layers = append(layers, geomtest.Layer{Height: b - a, Loops: [][]geomtest.Point{outline, s.hole}})
			}
		}
		return geomtest.Prism(lo, layers...)
	}
	return setup{part: Body{Name: "part", Mesh: geomtest.Prism(10, body...)},
		halves: []Body{{Name: "bottom", Mesh: half(0, 15)}, {Name: "top", Mesh: half(15, 40)}}}
}

func demold(t testing.TB, m *Mold) *Demolding {
	t.Helper()
	d, err := m.Demold()
	require.NoError(t, err)
	return d
}

// A lip of 1.5 mm on a rim of 20 mm: 1.5 +/- 0.05 deep, stretched to 1.075 (own
// calculation: 1 + 1.5/20; lip volume pi (21.5^2 - 20^2) x 2).
func TestRingLip(t *testing.T) {
	t.Parallel()
	const n = 192
	m := ringMold(n, [2]float64{20, 9}, [2]float64{21.5, 6}).close(t)
	d := demold(t, m)
	assert.Empty(t, d.Halves[0].Undercuts)
	require.Len(t, d.Halves[1].Undercuts, 1)
	u := d.Halves[1].Undercuts[0]
	assert.Equal(t, LockRing, u.Kind)
	assert.InDelta(t, 1.5, u.Depth, 0.05)
	assert.LessOrEqual(t, math.Abs(u.Depth-1.5), u.Error+20*(1-math.Cos(math.Pi/n)))
	require.NotNil(t, u.Stretch)
	assert.InDelta(t, 1.075, *u.Stretch, 0.002)
	assert.InDelta(t, 20, u.Radius, 0.1)
	ring := geomtest.CircleArea(21.5, n) - geomtest.CircleArea(20, n)
	assert.InEpsilon(t, 4*ring, u.Volume, 0.02)
	assert.InEpsilon(t, ring, u.Area, 0.02)
	assert.NotEmpty(t, u.Facets)
	assert.Less(t, u.Mean.Norm(), 0.05, "it holds all around")
	assert.Equal(t, []int{0, 1}, d.Order, "the half without an undercut comes off first")
	for _, h := range d.Halves {
		assert.Equal(t, PullParting, h.From)
		assert.Greater(t, h.Share, 0.95)
		assert.True(t, h.Sure())
	}
}

// BenchmarkDemold is how the part leaves both halves of the example.
func BenchmarkDemold(b *testing.B) {
	m := demoSetup(b).close(b)
	_, err := m.Demold() // what shapes the part is remembered
	require.NoError(b, err)
	for b.Loop() {
		if _, err := m.Demold(); err != nil {
			b.Fatal(err)
		}
	}
}
