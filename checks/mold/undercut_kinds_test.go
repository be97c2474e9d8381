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

// grooved is a block of 40 x 30 x 20 mm parted at 8, with a part of 20 x 14 x 8 mm from
// height 5 and on its +x side a ledge of rubber, by mm deep, in the top half.
func grooved(by float64) *blockMold {
	return &blockMold{
		block: boxAt(0, 0, 0, 40, 30, 20), split: 8,
		rooms: []box{boxAt(10, 8, 5, 30-by, 22, 13), boxAt(10, 8, 5, 30, 22, 8.5), boxAt(10, 8, 10.5, 30, 22, 13)},
		gate:  boxAt(18, 14, 0, 20, 16, 5),
		cuts:  []box{boxAt(12, 14, 13, 14, 16, 20)},
	}
}

// A ledge on one side: 2 mm deep, the wall behind it 10 mm, stretch 1 + 2/10, and the
// half opens on the other side, towards the ledge (own calculation).
func TestLedgeOnOneSide(t *testing.T) {
	t.Parallel()
	s := grooved(2).setup()
	d := demold(t, s.close(t))
	require.Len(t, d.Halves[1].Undercuts, 1)
	u := d.Halves[1].Undercuts[0]
	assert.Equal(t, LockSide, u.Kind)
	assert.InDelta(t, 2, u.Depth, 0.05)
	assert.InDelta(t, 10, u.Wall, 0.05)
	require.NotNil(t, u.Stretch)
	assert.InDelta(t, 1.2, *u.Stretch, 0.01)
	assert.InDelta(t, 2*14*2, u.Volume, 2*14*2*0.05)
	assert.InDelta(t, 2*14, u.Area, 2*14*0.05)
	assert.InDelta(t, 1, u.Side.X, 1e-9)
	assert.InDelta(t, 28, u.At.X, 0.05)
	p := d.Halves[1].Peel
	assert.Equal(t, PeelFree, p.Why)
	assert.InDelta(t, 1, p.Toward.X, 1e-6, "the opening runs towards the ledge")
	assert.InDelta(t, 0, p.At.X, 0.3, "from the far edge of the block")
	assert.InDelta(t, 8, p.At.Z, 0.01, "at the parting face")
	assert.Equal(t, []int{0, 1}, d.Order)

	// The mirrored mold gives the mirrored findings.
	mirrored := demold(t, s.change(func(m *geom.Mesh) *geom.Mesh {
		return m.Map(func(p geom.Vec) geom.Vec { p.X = 40 - p.X; return p }).Reversed()
	}).close(t))
	require.Len(t, mirrored.Halves[1].Undercuts, 1)
	v := mirrored.Halves[1].Undercuts[0]
	assert.InDelta(t, u.Depth, v.Depth, 0.05)
	assert.InDelta(t, *u.Stretch, *v.Stretch, 0.01)
	assert.InDelta(t, 12, v.At.X, 0.05)
	assert.InDelta(t, -1, v.Side.X, 1e-9)
	assert.InDelta(t, 40, mirrored.Halves[1].Peel.At.X, 0.3)
	assert.InDelta(t, -1, mirrored.Halves[1].Peel.Toward.X, 1e-6)

	// Turned to stand anyhow, the same.
	r := geomtest.RandomTurn(7)
	turned := demold(t, s.turn(r, vec(19, 15, 5)).close(t))
	require.Len(t, turned.Halves[1].Undercuts, 1)
	w := turned.Halves[1].Undercuts[0]
	assert.Equal(t, LockSide, w.Kind)
	assert.InDelta(t, u.Depth, w.Depth, 0.05)
	assert.InDelta(t, *u.Stretch, *w.Stretch, 0.01)
	assert.InEpsilon(t, u.Volume, w.Volume, 0.05)
	assert.Greater(t, w.Side.Dot(r.Turn(vec(1, 0, 0))), 0.99, "ways of a lattice are good to a few degrees")
	assert.InDelta(t, 0, turned.Halves[1].Peel.At.Sub(r.Apply(vec(0, 15, 8))).Dot(r.Turn(vec(1, 0, 0))), 0.4)
	assert.Greater(t, turned.Halves[1].Peel.Toward.Dot(r.Turn(vec(1, 0, 0))), 0.99)
	assert.InDelta(t, 1, turned.Halves[1].Pull.Dot(r.Turn(vec(0, 0, 1))), 1e-6)
}

// A slot wider above than below locks on two opposite sides: the half opens between
// them, along the slot.
func TestDovetailOnTwoSides(t *testing.T) {
	t.Parallel()
	b := grooved(0)
	b.rooms = []box{boxAt(15, 6, 5, 25, 24, 11), boxAt(12, 6, 10, 28, 24, 13)}
	d := demold(t, b.setup().close(t))
	cuts := d.Halves[1].Undercuts
	require.Len(t, cuts, 2)
	for _, u := range cuts {
		assert.Equal(t, LockSide, u.Kind)
		assert.InDelta(t, 3, u.Depth, 0.05)
		assert.InDelta(t, 12, u.Wall, 0.05)
	}
	assert.InDelta(t, -1, cuts[0].Side.Dot(cuts[1].Side), 1e-6)
	assert.Equal(t, PeelAlong, d.Halves[1].Peel.Why)
	assert.InDelta(t, 1, math.Abs(d.Halves[1].Peel.Toward.Y), 1e-6)
}

// A conical cavity that widens upward, as a dovetail all around: 3 mm deep on a rim of
// 15 mm at the parting face (own calculation).
func TestConicalDovetail(t *testing.T) {
	t.Parallel()
	const n = 128
	p := func(r, z float64) geomtest.Point { return geomtest.Point{X: r, Y: z} }
	s := setup{
		part: Body{Name: "part", Mesh: geomtest.Revolve([]geomtest.Point{p(0, 10), p(15, 10), p(15, 15), p(18, 21), p(0, 21)}, n)},
		halves: []Body{
			{Name: "bottom", Mesh: geomtest.Revolve([]geomtest.Point{p(1.5, 0), p(30, 0), p(30, 15), p(15, 15), p(15, 10), p(1.5, 10)}, n)},
			{Name: "top", Mesh: geomtest.Revolve([]geomtest.Point{p(15, 15), p(30, 15), p(30, 32), p(1, 32), p(1, 21), p(18, 21)}, n)},
		},
	}
	d := demold(t, s.close(t))
	assert.Empty(t, d.Halves[0].Undercuts)
	require.Len(t, d.Halves[1].Undercuts, 1)
	u := d.Halves[1].Undercuts[0]
	assert.Equal(t, LockRing, u.Kind)
	assert.InDelta(t, 3, u.Depth, 0.05)
	assert.InDelta(t, 1.2, *u.Stretch, 0.005)
	assert.InDelta(t, 15, u.At.Sub(vec(0, 0, u.At.Z)).Norm(), 0.05)

	// Pulled the other way, the floor of each half lies ahead of the part.
	for h, pull := range []geom.Vec{{Z: 1}, {Z: -1}} {
		s.halves[h].Pull = &pull
	}
	wrong := demold(t, s.close(t))
	for _, h := range wrong.Halves {
		require.NotEmpty(t, h.Undercuts)
		assert.Equal(t, LockFloor, h.Undercuts[0].Kind, h.Name)
		assert.Nil(t, h.Undercuts[0].Stretch)
		assert.Equal(t, PullGiven, h.From)
	}
	assert.Greater(t, wrong.Halves[0].Undercuts[0].Depth, 13.0, "from near the gate to the edge of the part")
}

// Rubber in a hole across the part passes through it: it has no way to give.
func TestRubberThroughThePart(t *testing.T) {
	t.Parallel()
	b := grooved(0)
	b.rooms = []box{boxAt(10, 8, 5, 30, 12, 13), boxAt(10, 18, 5, 30, 22, 13), boxAt(10, 8, 11, 30, 22, 13), boxAt(10, 8, 5, 30, 22, 6)}
	b.gate, b.cuts = boxAt(18, 9, 0, 20, 11, 5), []box{boxAt(18, 9, 13, 20, 11, 20)}
	d := demold(t, b.setup().close(t))
	for _, h := range d.Halves {
		require.Len(t, h.Undercuts, 1, h.Name)
		u := h.Undercuts[0]
		assert.Equal(t, LockThrough, u.Kind, h.Name)
		assert.InDelta(t, 7, u.Depth, 0.1, "from the middle of the hole to the nearest side of the part")
		assert.Nil(t, u.Stretch)
	}
}

// A core wider within than the opening that it leaves by: 2 mm all around on a neck of 4.
func TestCoreWithAHead(t *testing.T) {
	t.Parallel()
	const n = 96
	p := func(r, z float64) geomtest.Point { return geomtest.Point{X: r, Y: z} }
	s := setup{
		part: Body{Name: "part", Mesh: geomtest.Join(geomtest.Revolve([]geomtest.Point{p(0, 10), p(14, 10), p(14, 22), p(4, 22), p(4, 18), p(6, 18), p(6, 13), p(0, 13)}, n))},
		halves: []Body{
			{Name: "bottom", Mesh: geomtest.Revolve([]geomtest.Point{p(1.5, 0), p(26, 0), p(26, 15), p(14, 15), p(14, 10), p(1.5, 10)}, n)},
			{Name: "top", Mesh: geomtest.Revolve([]geomtest.Point{p(14, 15), p(26, 15), p(26, 34), p(0, 34), p(0, 13), p(6, 13), p(6, 18), p(4, 18), p(4, 22), p(14, 22)}, n)},
		},
	}
	m, err := Close(s.job, s.part, s.halves)
	require.NoError(t, err)
	d := demold(t, m)
	require.Len(t, d.Halves[1].Undercuts, 1)
	u := d.Halves[1].Undercuts[0]
	assert.Equal(t, LockCore, u.Kind)
	assert.InDelta(t, 2, u.Depth, 0.05)
	assert.InDelta(t, 4, u.Radius, 0.15)
	assert.InDelta(t, 1.5, *u.Stretch, 0.02)
}

// Molds without an undercut have none, with their keys and channels: they do not count.
func TestNoUndercut(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"b0", "keys", "dome-cup", "torus"} {
		d := demold(t, storedSetup(t, name).close(t))
		for _, h := range d.Halves {
			assert.Empty(t, h.Undercuts, "%s %s", name, h.Name)
			assert.True(t, h.Sure(), "%s %s: %v", name, h.Name, h.Share)
		}
		assert.Len(t, d.Order, len(d.Halves))
	}
}

// Walls without draft: the core's own, with its section, and the cavity's around it.
func TestSteepWalls(t *testing.T) {
	t.Parallel()
	b := &blockMold{
		block: boxAt(0, 0, 0, 40, 30, 40), split: 30,
		rooms: []box{boxAt(8, 6, 8, 32, 9, 30), boxAt(8, 21, 8, 32, 24, 30), boxAt(8, 6, 8, 11, 24, 30), boxAt(29, 6, 8, 32, 24, 30), boxAt(8, 6, 30, 32, 24, 33)},
		gate:  boxAt(18, 6.5, 0, 20, 8.5, 8),
		cuts:  []box{boxAt(18, 14, 33, 20, 16, 40)},
	}
	d := demold(t, b.setup().close(t))
	walls := d.Halves[0].Walls
	require.GreaterOrEqual(t, len(walls), 2)
	cores := []float64{walls[0].Core, walls[1].Core}
	slices.Sort(cores)
	assert.InDelta(t, 22, walls[0].Depth, 1e-6)
	assert.InDelta(t, 22, walls[1].Depth, 1e-6)
	assert.Zero(t, cores[0], "the outer walls go around the part")
	assert.InDelta(t, 18*12, cores[1], 1e-6, "the core's section")
	assert.Equal(t, []int{1, 0}, d.Order, "the half with the deep walls keeps the part")
}
