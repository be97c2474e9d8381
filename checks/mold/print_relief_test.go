package mold

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func TestReliefHole(t *testing.T) {
	m := roundCup(15, 2, 2, 20, 96)
	p := printed(t, m, upZ, PrintOptions{})
	require.Len(t, p.Cups, 1)
	o := p.Cups[0].Hole
	require.NotNil(t, o)
	assert.Equal(t, xyz(0, 0, -1), o.Direction, "shortest through the floor")
	assert.InDelta(t, 2, o.Length, 1e-4)
	assert.InDelta(t, 2, o.At.Z, 1e-4, "at the end printed first")
	assert.InDelta(t, 0, o.Exit.Z, 1e-4)
	assert.InDelta(t, 2.5, o.Diameter, 1e-9, "2 mm is left after 0.15 mm of loss, in steps of half a millimetre")
	assert.Less(t, o.Drop, 10.0)
	assert.Less(t, o.Left, 0.05*p.Cups[0].Area)
	assert.False(t, o.Molding)

	flat := printed(t, m, upZ, PrintOptions{Flat: true})
	o = flat.Cups[0].Hole
	require.NotNil(t, o)
	assert.InDelta(t, 0, o.Direction.Z, 1e-9, "a hole to the platform would be closed by it")
	assert.InDelta(t, 2+o.Diameter/2, o.At.Z, 1e-4, "it lies on the floor")
	assert.Less(t, o.Left, 0.1*flat.Cups[0].Area)

	none := printed(t, m, upZ, PrintOptions{NoHoles: true})
	assert.Nil(t, none.Cups[0].Hole)
}

// A hole keeps clear of other openings: here bores run level under the floor.
func TestReliefHoleKeepsClear(t *testing.T) {
	ops := []geomtest.Op{geomtest.Add(xyz(0, 0, 0), xyz(40, 30, 20)), geomtest.Cut(xyz(4, 4, 8), xyz(36, 26, 20))}
	for y := 5.0; y < 26; y += 4 {
		ops = append(ops, geomtest.Cut(xyz(0, y, 3), xyz(40, y+3, 6)))
	}
	p := printed(t, geomtest.Grid(ops...), upZ, PrintOptions{})
	require.NotEmpty(t, p.Cups)
	o := p.Cups[0].Hole
	require.NotNil(t, o)
	assert.InDelta(t, 0, o.Direction.Z, 1e-9, "through a side wall: %v", o)
	assert.InDelta(t, 4, o.Length, 1e-3)
}

// With the largest holes a drawing takes, no pressure is left; the drawn diameter
// grows with speed and viscosity.
func TestReliefHoleDiameter(t *testing.T) {
	pr := printer()
	pr.Lift, pr.Viscosity = 5, 3000
	p := printed(t, roundCup(15, 2, 2, 20, 96), upZ, PrintOptions{Printer: pr})
	o := p.Cups[0].Hole
	require.NotNil(t, o)
	assert.Greater(t, o.Diameter, 2.5)
	assert.LessOrEqual(t, o.Drop, pr.ReliefDrop)
}

func TestRelievedCupsNeedNoHole(t *testing.T) {
	p := printed(t, drained(3), upZ, PrintOptions{})
	require.Len(t, p.Cups, 1)
	assert.True(t, p.Cups[0].Relieved)
	assert.Nil(t, p.Cups[0].Hole)
	assert.Empty(t, p.Curve, "relieved cups are not in the chart")
	narrow := printed(t, drained(1.5), upZ, PrintOptions{})
	assert.NotNil(t, narrow.Cups[0].Hole)
	assert.NotEmpty(t, narrow.Curve)
	fast := printer()
	fast.Lift = 5
	p = printed(t, drained(2), upZ, PrintOptions{Printer: fast})
	assert.InDelta(t, 5*5.7206, p.Cups[0].Passage.Drop, 0.3)
	assert.False(t, p.Cups[0].Relieved, "wide enough, but lifted too fast")
}

// Several passages share the flow: two alike lose half, and the widest is named.
func TestPassagesShareTheFlow(t *testing.T) {
	const n = 128
	out, in := geomtest.Circle(geomtest.Point{}, 17, n), geomtest.Circle(geomtest.Point{}, 15, n)
	hole := func(x, d float64) []geomtest.Point { return geomtest.Circle(geomtest.Point{X: x, Y: 1}, d/2, 64) }
	cup := func(holes ...[]geomtest.Point) *Passage {
		m := geomtest.Prism(0, geomtest.Layer{Height: 2, Loops: append([][]geomtest.Point{out}, holes...)}, geomtest.Layer{Height: 20, Loops: [][]geomtest.Point{out, in}})
		p := printed(t, m, upZ, PrintOptions{NoHoles: true})
		require.Len(t, p.Cups, 1)
		require.NotNil(t, p.Cups[0].Passage)
		return p.Cups[0].Passage
	}
	two := cup(hole(-6, 1.5), hole(5, 1.5))
	assert.Equal(t, 2, two.Count)
	assert.InDelta(t, 16.404/2, two.Drop, 0.02*16.404/2)
	near := cup(hole(-2, 1.5), hole(2, 1.5), hole(9, 1.5))
	assert.Equal(t, 3, near.Count)
	assert.InDelta(t, 16.404/3, near.Drop, 0.02*16.404/3)
	mixed := cup(hole(-6, 3), hole(5, 1.5))
	assert.InDelta(t, 3, mixed.Width, 0.01)
	assert.InDelta(t, 1/(1/1.3394+1/16.404), mixed.Drop, 0.03)
}

// A cup of narrow width that runs out of the block's side has no neck: no cup.
func TestGrooveIsNoCup(t *testing.T) {
	for _, width := range []float64{0.8, 1.5, 3, 6} {
		m := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(60, 30, 20)), geomtest.Cut(xyz(0, 10, 8), xyz(60, 10+width, 20)))
		assert.Empty(t, printed(t, m, upZ, PrintOptions{}).Cups, "%g mm", width)
	}
}

// Scars: an arm that sticks out of a post, its level underside.
func TestScars(t *testing.T) {
	m := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(10, 10, 30)), geomtest.Add(xyz(10, 2, 20), xyz(25, 8, 30)))
	p := printed(t, m, upZ, PrintOptions{})
	assert.InDelta(t, 100+15*6, p.Scars.Area, 1e-9, "on supports its foot too")
	p = printed(t, m, upZ, PrintOptions{Flat: true})
	require.Len(t, p.Scars.Patches, 1)
	s := p.Scars.Patches[0]
	assert.InDelta(t, 90, s.Area, 1e-9)
	assert.InDelta(t, 20, s.Low, 1e-9)
	assert.InDelta(t, 6, s.Width, 0.01)
	assert.Zero(t, p.Scars.Molding)
	assert.Empty(t, p.Starts, "it hangs on the post's side")

	// Tilted by more than the self-support angle nothing but edges needs supports.
	assert.Zero(t, printed(t, m, leaning(21), PrintOptions{Flat: true}).Scars.Area)
	assert.Positive(t, printed(t, m, leaning(19), PrintOptions{Flat: true}).Scars.Area)
}

// Free starts: a block that hangs from an arm, and one a layer above the platform.
func TestStarts(t *testing.T) {
	hanging := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(10, 10, 30)), geomtest.Add(xyz(10, 2, 24), xyz(25, 8, 30)),
		geomtest.Add(xyz(18, 2, 12), xyz(24, 8, 24)))
	p := printed(t, hanging, upZ, PrintOptions{})
	require.Len(t, p.Starts, 1)
	s := p.Starts[0]
	assert.InDelta(t, 12, s.Height, 1e-5)
	assert.InDelta(t, 36, s.Area, 0.04*36)
	assert.InDelta(t, 24, s.Joins, 1e-4)
	assert.True(t, s.At.X >= 18 && s.At.X <= 24, "%v", s.At)

	table := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(4, 4, 20)), geomtest.Add(xyz(20, 0, 0), xyz(24, 4, 20)), geomtest.Add(xyz(0, 0, 20), xyz(24, 4, 24)))
	assert.Empty(t, printed(t, table, upZ, PrintOptions{}).Starts, "legs of one height: the first contact")
	short := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(4, 4, 20)), geomtest.Add(xyz(20, 0, 1), xyz(24, 4, 20)), geomtest.Add(xyz(0, 0, 20), xyz(24, 4, 24)))
	require.Len(t, printed(t, short, upZ, PrintOptions{}).Starts, 1, "a leg a millimetre short")
	assert.Empty(t, printed(t, geomtest.Icosphere(10, 3), upZ, PrintOptions{}).Starts)
	loose := geomtest.Join(geomtest.Box(xyz(0, 0, 0), xyz(10, 10, 10)), geomtest.Box(xyz(20, 0, 5), xyz(30, 10, 10)))
	require.Len(t, printed(t, loose, upZ, PrintOptions{}).Starts, 1, "a loose piece in the air")
}

// Layer steps: t |n_z| (literature.md 7), and none on level floors.
func TestLayerSteps(t *testing.T) {
	all := func(int32) bool { return true }
	steps := func(m *geom.Mesh, build geom.Vec) LayerStep {
		return newStepped(newSolid(m)).steps(build, 0.05, newSolid(m).shares(len(m.Facets)), all, make([]float32, len(m.Facets)))
	}
	box := geomtest.Box(xyz(0, 0, 0), xyz(10, 20, 30))
	s := steps(box, upZ)
	for f, c := range s.Facets {
		assert.Zero(t, c, "facet %d", f)
	}
	assert.Zero(t, s.Worst, "upright walls have none")
	assert.InDelta(t, 400, s.Level, 1e-9, "and level floors are left out")
	for deg, want := range map[float64]float64{10: 49.240, 45: 35.355, 60: 43.301} {
		// Turned by deg about y: faces of normal x and z lie at deg and 90 - deg.
		s := steps(box, leaning(deg))
		c, n := math.Cos(deg*math.Pi/180), math.Sin(deg*math.Pi/180)
		assert.InDelta(t, 0.05*max(c, n), s.Worst, 1e-9)
		assert.InDelta(t, s.Worst, slices.Max(s.Facets), 1e-8)
		assert.Zero(t, slices.Min(s.Facets), "those of normal y")
		assert.InDelta(t, want, 1000*max(c, n)*0.05, 5e-4, "literature.md 7")
		assert.InDelta(t, 0.05*(400*c+1200*n)/(400+1200+600), s.Mean, 1e-9, "faces of normal y are upright")
	}
	// A floor that rises less than a layer over its length has none.
	s = steps(box, leaning(0.2))
	assert.InDelta(t, 400, s.Level, 1e-9)
	// A ball: mean of |n_z| over the sphere is a half, and only the poles are level.
	s = steps(geomtest.Icosphere(10, 5), upZ)
	assert.InDelta(t, 0.025, s.Mean, 0.0005)
	assert.Greater(t, s.Worst, 0.0495)
	assert.Less(t, s.Level, 4*math.Pi*10*0.05*2, "two caps a layer or two deep")
	// A floor with a fillet is still level.
	r := []geomtest.Point{{X: 0, Y: 0}, {X: 20, Y: 0}, {X: 20, Y: 10}, {X: 15, Y: 10}}
	for k := 1; k < 16; k++ {
		a := math.Pi / 2 * float64(k) / 16
		r = append(r, geomtest.Point{X: 10 + 5*math.Cos(a), Y: 10 - 5*math.Sin(a)})
	}
	r = append(r, geomtest.Point{X: 10, Y: 5}, geomtest.Point{X: 0, Y: 5})
	s = steps(geomtest.Revolve(r, 96), upZ)
	assert.Less(t, s.Worst, 0.0499)
	assert.Greater(t, s.Level, math.Pi*(400+100)*0.95)
}

// A hole cut into a hollow that is known makes the hollow that is cast with it, plugs of
// passages or none.
func TestHoleInAKnownHollow(t *testing.T) {
	m := drained(1.5)
	w, err := newRubber(m, 2, 0).begin(upZ, PrintOptions{Printer: printer(), Cell: 0.4}, nil)
	require.NoError(t, err)
	room, err := newClearance(m, 2.2, 0)
	require.NoError(t, err)
	require.NotNil(t, room.plugs)
	middle := m.Box().Center()
	for _, c := range []*clearance{nil, room} {
		known := w.open
		if c != nil {
			known = w.hollow(c, nil, nil)
		}
		for k := range 8 {
			s, a := octant(k)
			axis := xyz(a, s, -0.4).Unit()
			b := bore{start: middle, mouth: middle, exit: middle.AddScaled(axis, 30), axis: axis,
				spec: BoreSpec{At: middle, Diameter: 2}, mesh: cylinder(middle, axis, 1, 30)}
			got, want := w.hollow(c, []bore{b}, known), w.hollow(c, []bore{b}, nil)
			require.NotEqual(t, known.lo, got.lo, "the hole changes something")
			require.Equal(t, [][]int32{want.start, want.lo, want.hi, want.col, want.floor}, [][]int32{got.start, got.lo, got.hi, got.col, got.floor})
			require.Equal(t, want.rise.outside, got.rise.outside)
			require.Equal(t, want.rise.run(w.least()), got.rise.run(w.least()))
			w.release(got)
			w.release(want)
		}
		assert.Same(t, known.room, c)
	}
}
