package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// The check values of the closed mold. Volumes, places and lengths are those of the
// boxes that the molds are built of (own calculation).

// TestLocalOverlapAndGap: a pad of 20 x 5 mm that stands 0.2 mm into the bottom, and
// a recess of 10 x 8 mm, 0.3 mm deep.
func TestLocalOverlapAndGap(t *testing.T) {
	t.Parallel()
	part, bottom, top := b0Ops()
	pad := append(append(ops(nil), top...), geomtest.Add(vec(20, 2, 14.8), vec(40, 7, 15)))
	_, c := moldOf(part, bottom, pad).shut(t)
	require.Len(t, c.Overlaps, 1)
	assert.InDelta(t, 0.2, c.OverlapDepth, 0.005)
	assert.InDelta(t, 20, c.OverlapVolume, 0.4)
	at := c.Overlaps[0].At
	assert.True(t, at.X > 20 && at.X < 40 && at.Y > 2 && at.Y < 7 && math.Abs(at.Z-14.9) < 0.1, "%v", at)
	assert.Zero(t, c.GapMax)

	recess := append(append(ops(nil), top...), geomtest.Cut(vec(20, 1, 15), vec(30, 9, 15.3)))
	_, c = moldOf(part, bottom, recess).shut(t)
	assert.Empty(t, c.Overlaps)
	assert.InDelta(t, 0.3, c.GapMax, 0.005)
	assert.InDelta(t, 80, c.GapArea, 4)
	require.NotNil(t, c.GapAt)
	assert.True(t, c.GapAt.X > 20 && c.GapAt.X < 30 && c.GapAt.Y > 1 && c.GapAt.Y < 9, "%v", c.GapAt)
	// The way out through the recess: 1 mm to it and 1 mm beyond it.
	land, ok := c.LandMin()
	require.True(t, ok)
	assert.InDelta(t, 2, land, 0.3)
}

// TestSidewaysOverlap: pegs drawn 0.1 mm too wide per side for their sockets.
func TestSidewaysOverlap(t *testing.T) {
	t.Parallel()
	_, c := keyed(-0.1, geomtest.Point{X: 5, Y: 20}, geomtest.Point{X: 55, Y: 12}).shut(t)
	require.Len(t, c.Overlaps, 1)
	assert.InDelta(t, 0.1, c.OverlapDepth, 0.02)
}

// TestCurvedFacesTouch: a round plug in a round hole, cut into 64 and 96 facets:
// neither overlap nor gap; the same facets 0.05 mm apart are a gap.
func TestCurvedFacesTouch(t *testing.T) {
	t.Parallel()
	plugIn := func(r float64) setup {
		block := geomtest.Prism(0, geomtest.Layer{Height: 20, Loops: [][]geomtest.Point{geomtest.Rect(-20, -20, 20, 20), geomtest.Circle(geomtest.Point{}, 10, 96)}})
		round := geomtest.Circle(geomtest.Point{}, r, 64)
		hole := geomtest.Rect(-4, -4, 4, 4)
		plug := geomtest.Prism(0, geomtest.Layer{Height: 5, Loops: [][]geomtest.Point{round}},
			geomtest.Layer{Height: 10, Loops: [][]geomtest.Point{round, hole}}, geomtest.Layer{Height: 5, Loops: [][]geomtest.Point{round}})
		return setup{part: Body{Name: "part", Mesh: geomtest.Box(vec(-4, -4, 5), vec(4, 4, 15))},
			halves: []Body{{Name: "block", Mesh: block}, {Name: "plug", Mesh: plug}}}
	}
	_, c := plugIn(10).shut(t)
	assert.Empty(t, c.Overlaps)
	assert.Zero(t, c.GapMax)
	assert.InDelta(t, 2*math.Pi*10*20, c.Touching, 40)
	// 10 (1 - cos(pi/64)) + 10 (1 - cos(pi/96)) are the two sagittas.
	assert.InDelta(t, 0.0174, c.Tolerance, 0.003)
	_, c = plugIn(9.95).shut(t)
	assert.InDelta(t, 0.05, c.GapMax, 0.02)
	assert.Empty(t, c.Overlaps)
}

// TestOtherFacetsTouch: halves whose faces are cut into other triangles.
func TestOtherFacetsTouch(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0")
	s.halves[0].Mesh = geomtest.Subdivide(geomtest.OtherDiagonal(s.halves[0].Mesh), 2)
	_, c := s.shut(t)
	assert.Empty(t, c.Overlaps)
	assert.Zero(t, c.GapMax)
}

// TestScale: a cavity 1.01 times the part, about its middle, and about its corner,
// where half of the part's faces lie right.
func TestScale(t *testing.T) {
	t.Parallel()
	m, c := storedSetup(t, "shrink-box-101").shut(t)
	assert.InDelta(t, 1.01, m.Fit.Scale, 0.0003)
	assert.InDelta(t, 0.3, 100*(c.Cast.Cavity.X/c.Cast.Drawn.X-1)-0.7, 0.03)
	m, _ = storedSetup(t, "shrink-sphere-101").shut(t)
	assert.InDelta(t, 1.01, m.Fit.Scale, 0.0003)
	m, _ = storedSetup(t, "shrink-box-101-origin").shut(t)
	assert.InDelta(t, 1.01, m.Fit.Scale, 0.0003)
	assert.InDelta(t, 0, m.Fit.Offset.Dist(vec(0.3, 0.2, 0.15)), 0.02)

	part, bottom, top := b0Ops()
	bottom[1] = geomtest.Cut(vec(10, 10, 10), vec(50.4, 30.2, 16))
	top[1] = geomtest.Cut(vec(10, 10, 14), vec(50.4, 30.2, 20.1))
	m, c = moldOf(part, bottom, top).shut(t)
	assert.InDelta(t, 1.01, m.Fit.Scale, 0.0003)
	assert.InDelta(t, 0, m.Fit.Offset.Dist(vec(0.2, 0.1, 0.05)), 0.02)
	assert.Less(t, math.Abs(c.Deviation.Max), 0.005)
	// 40.4 mm less 0.2 % of shrink.
	m.Job = *NewJob()
	assert.InDelta(t, 40.4*0.998, m.castSize().Size.X, 0.01)
	m.Job.Printer.Undersize = 0.6 // 34.8 of 35 mm: practice notes, source 24
	assert.InDelta(t, 40.4*0.994*0.998, m.castSize().Size.X, 0.01)
}

// TestShift: the part 0.5 mm beside its cavity, and one half beside the other.
func TestShift(t *testing.T) {
	t.Parallel()
	m, _ := storedSetup(t, "b0").moved("part", BodySpec{Move: vec(0.5, 0, 0)}).shut(t)
	assert.True(t, m.Fit.Applied)
	assert.InDelta(t, 0, m.Fit.Offset.Dist(vec(-0.5, 0, 0)), 0.02, "%v", m.Fit)

	for _, name := range []string{"b0", "keys", "bunny"} {
		s := storedSetup(t, name)
		last := s.halves[len(s.halves)-1].Name
		_, c := s.moved(last, BodySpec{Move: vec(0.5, 0, 0)}).shut(t)
		require.NotNil(t, c.HalvesOffset, name)
		assert.InDelta(t, 0, c.HalvesOffset.Shift.Dist(vec(0.5, 0, 0)), 0.02, "%s: %+v", name, c.HalvesOffset)
		assert.Equal(t, "the cavity", c.HalvesOffset.From)
	}
}

// TestShiftByKeys: the cavity lies in one half alone, so only the keys tell.
func TestShiftByKeys(t *testing.T) {
	t.Parallel()
	part := ops{geomtest.Add(vec(15, 10, 5), vec(45, 30, 15))}
	bottom := ops{geomtest.Add(vec(0, 0, 0), vec(60, 40, 15)), geomtest.Cut(vec(15, 10, 5), vec(45, 30, 16))}
	top := ops{geomtest.Add(vec(0, 0, 15), vec(60, 40, 25)), geomtest.Cut(vec(29, 19, 14), vec(31, 21, 26))}
	for _, m := range []geomtest.Point{{X: 6, Y: 6}, {X: 54, Y: 20}} {
		bottom = append(bottom, geomtest.Add(vec(m.X-2.5, m.Y-2.5, 15), vec(m.X+2.5, m.Y+2.5, 18)))
		top = append(top, geomtest.Cut(vec(m.X-2.7, m.Y-2.7, 14), vec(m.X+2.7, m.Y+2.7, 18.2)))
	}
	s := moldOf(part, bottom, top)
	_, c := s.moved("top", BodySpec{Move: vec(0.12, -0.08, 0)}).shut(t)
	require.NotNil(t, c.HalvesOffset)
	assert.Equal(t, "the keys", c.HalvesOffset.From)
	assert.InDelta(t, 0, c.HalvesOffset.Shift.Dist(vec(0.12, -0.08, 0)), 0.005, "%+v", c.HalvesOffset)
}

// TestKeyPatterns: whether the mold closes turned by 180 deg.
func TestKeyPatterns(t *testing.T) {
	t.Parallel()
	p := func(x, y float64) geomtest.Point { return geomtest.Point{X: x, Y: y} }
	for _, k := range []struct {
		name       string
		reversible bool
		keys       []geomtest.Point
	}{
		{"four in a rectangle", true, []geomtest.Point{p(5, 5), p(55, 5), p(5, 35), p(55, 35)}},
		{"two across", true, []geomtest.Point{p(5, 5), p(55, 35)}},
		{"two beside the middle", true, []geomtest.Point{p(5, 5), p(5, 35)}},
		{"one of four moved", false, []geomtest.Point{p(5, 5), p(55, 5), p(5, 35), p(50, 35)}},
		{"three", false, []geomtest.Point{p(5, 5), p(55, 20), p(20, 35)}},
	} {
		_, c := keyed(0.15, k.keys...).shut(t)
		require.Len(t, c.Keys, len(k.keys), k.name)
		if k.name != "two beside the middle" { // turned about the keys' middle the blocks do not line up, but it closes
			assert.Equal(t, k.reversible, c.Reversible(), "%s: %+v", k.name, c.Turns)
		}
		for _, key := range c.Keys {
			assert.InDelta(t, 0.15, key.Clearance, 0.02, k.name)
			assert.InDelta(t, 3, key.Depth, 0.01, k.name)
			assert.Equal(t, "bottom", key.Half)
			assert.Equal(t, "top", key.Socket)
		}
	}
}

// TestMirroredKeys: three keys at the corners of an isosceles triangle fit their mirror
// image across its axis, and no turn; a block turned about its axis says the same.
func TestMirroredKeys(t *testing.T) {
	t.Parallel()
	p := func(x, y float64) geomtest.Point { return geomtest.Point{X: x, Y: y} }
	m, c := keyed(0.15, p(5, 5), p(55, 5), p(30, 35)).shut(t)
	require.Len(t, c.Turns, 1)
	assert.True(t, c.Turns[0].Mirror && c.Turns[0].Harmless, "the cavity is its own mirror image: %+v", c.Turns)
	assert.InDelta(t, 1, math.Abs(c.Turns[0].Axis.X), 1e-9)
	assert.True(t, c.Reversible())
	_, again := keyed(0.15, p(5, 5), p(55, 5), p(30, 35)).move(geom.AxisTurn(m.Pulls[0], 0.3)).shut(t)
	require.Len(t, again.Turns, 1)
	assert.InDelta(t, 1, math.Abs(again.Turns[0].Axis.Dot(geom.AxisTurn(m.Pulls[0], 0.3).Turn(vec(1, 0, 0)))), 1e-6)
	_, none := keyed(0.15, p(5, 5), p(55, 5), p(35, 35)).shut(t)
	assert.Empty(t, none.Turns)
}

// TestKeysOfTheExample: four round keys with 0.15 mm of clearance a side, one out of
// the pattern.
func TestKeysOfTheExample(t *testing.T) {
	t.Parallel()
	_, c := demoSetup(t).shut(t)
	require.Len(t, c.Keys, 4)
	for _, k := range c.Keys {
		assert.InDelta(t, 0.15, k.Clearance, 0.02)
		assert.InDelta(t, 4, k.Depth, 0.02)
		assert.Equal(t, "bottom", k.Half)
	}
	assert.False(t, c.Reversible())
	assert.False(t, c.NoKeys)
	assert.Zero(t, c.GapMax)
	assert.Empty(t, c.Overlaps)
	land, ok := c.LandMin() // the knob's 22 mm to the block's 32 mm
	require.True(t, ok)
	assert.InDelta(t, 10, land, 0.05)
}

// TestMissingBoss: the part has a boss of 6 x 6 x 4 mm that the mold was not cut
// for; and the other way round.
func TestMissingBoss(t *testing.T) {
	t.Parallel()
	part, bottom, top := b0Ops()
	boss := geomtest.Add(vec(17, 17, 20), vec(23, 23, 24))
	_, c := moldOf(append(append(ops(nil), part...), boss), bottom, top).shut(t)
	require.Len(t, c.Features, 1, "%+v", c.Features)
	assert.True(t, c.Features[0].Missing)
	assert.InDelta(t, 144, c.Features[0].Volume, 3)
	assert.InDelta(t, 0, c.Features[0].At.Dist(vec(20, 20, 22)), 0.2, "%v", c.Features[0].At)
	assert.InDelta(t, -4, c.Deviation.Max, 0.3)

	hollow := append(append(ops(nil), top...), geomtest.Cut(vec(17, 17, 19), vec(23, 23, 24)))
	_, c = moldOf(part, bottom, hollow).shut(t)
	require.Len(t, c.Features, 1, "%+v", c.Features)
	assert.False(t, c.Features[0].Missing)
	assert.InDelta(t, 144, c.Features[0].Volume, 10)
	assert.InDelta(t, 0, c.Features[0].At.Dist(vec(20, 20, 22)), 0.5, "%v", c.Features[0].At)
}

// TestRemeshedPart: the same sphere with coarser facets lies within both chord
// errors.
func TestRemeshedPart(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "sphere")
	box := s.part.Mesh.Box()
	s.part.Mesh = geomtest.Icosphere(box.Size().X/2, 4).Map(box.Center().Add)
	m, c := s.shut(t)
	// On a sphere the middle of a facet strays 8/3 as far as the arc across its edges.
	assert.LessOrEqual(t, math.Abs(c.Deviation.Max), 8./3*(m.Part.ChordError+m.Halves[0].ChordError))
	assert.Empty(t, c.Features)
	assert.False(t, c.Mirrored)
	assert.False(t, m.Fit.Applied, "%+v", m.Fit)
}

// TestMirrored: a part with a left and a right, and its mirror image's mold.
func TestMirrored(t *testing.T) {
	t.Parallel()
	shape := func(a func(lo, hi geom.Vec) geomtest.Op) ops {
		return ops{a(vec(10, 10, 10), vec(50, 30, 16)), a(vec(10, 10, 16), vec(22, 30, 20)), a(vec(22, 10, 16), vec(30, 16, 18))}
	}
	part := geomtest.Grid(shape(geomtest.Add)...)
	_, bottom, _ := b0Ops()
	bottom[1] = geomtest.Cut(vec(10, 10, 10), vec(50, 30, 15))
	top := append(ops{geomtest.Add(vec(0, 0, 15), vec(60, 40, 30)), geomtest.Cut(vec(10, 10, 14), vec(50, 30, 15))}, shape(geomtest.Cut)...)
	s := setup{part: Body{Name: "part", Mesh: part}, halves: []Body{bodyOf("bottom", bottom...), bodyOf("top", top...)}}
	_, c := s.shut(t)
	assert.False(t, c.Mirrored)
	s.part.Mesh = mirroredX(part, 30)
	_, c = s.shut(t)
	assert.True(t, c.Mirrored)
}

// TestTwoCavities: two parts in one block, the second cavity 0.3 mm too deep.
func TestTwoCavities(t *testing.T) {
	t.Parallel()
	part := ops{geomtest.Add(vec(5, 10, 10), vec(25, 30, 20)), geomtest.Add(vec(35, 10, 10), vec(55, 30, 20))}
	bottom := ops{geomtest.Add(vec(0, 0, 0), vec(60, 40, 15)), geomtest.Cut(vec(5, 10, 10), vec(25, 30, 16)), geomtest.Cut(vec(35, 10, 9.7), vec(55, 30, 16))}
	top := ops{geomtest.Add(vec(0, 0, 15), vec(60, 40, 30)), geomtest.Cut(vec(5, 10, 14), vec(25, 30, 20)), geomtest.Cut(vec(35, 10, 14), vec(55, 30, 20)), geomtest.Cut(vec(14, 19, 19), vec(16, 21, 31)), geomtest.Cut(vec(44, 19, 19), vec(46, 21, 31))}
	_, c := moldOf(part, bottom, top).shut(t)
	require.Len(t, c.Cavities, 2)
	left, right := c.Cavities[0], c.Cavities[1]
	if left.Middle.X > right.Middle.X {
		left, right = right, left
	}
	assert.InDelta(t, 0, left.Deviation.Max, 0.01)
	assert.InDelta(t, 0.3, right.Deviation.Max, 0.01)
	assert.InDelta(t, 4000, left.Volume, 0.1)
}

// TestThreePieces: every two of three halves meet; one moved into its neighbour by
// 0.2 mm overlaps it over 40 x 15 less 20 x 5 mm, less half the vent.
func TestThreePieces(t *testing.T) {
	t.Parallel()
	part, halves := threePieces()
	s := setup{part: part, halves: halves}
	_, c := s.shut(t)
	assert.Len(t, c.Faces, 3)
	assert.Empty(t, c.Overlaps)
	assert.InDelta(t, 1600+500-20, c.Touching, 25)
	_, c = s.moved("right", BodySpec{Move: vec(-0.2, 0, 0)}).shut(t)
	require.NotEmpty(t, c.Overlaps)
	assert.InDelta(t, 0.2, c.OverlapDepth, 0.01)
	assert.Equal(t, "left", c.Overlaps[0].A)
	assert.Equal(t, "right", c.Overlaps[0].B)
	assert.InDelta(t, 0.2*480, c.Overlaps[0].Volume, 4)
}

// TestSections: plates of known thickness, and shapes that have none.
func TestSections(t *testing.T) {
	t.Parallel()
	plate := func(thick float64) *geom.Mesh {
		return geomtest.Grid(geomtest.Add(vec(0, 0, 0), vec(20, 20, 5)), geomtest.Add(vec(20, 0, 2), vec(30, 20, 2+thick)))
	}
	turned := geom.AxisTurn(vec(1, 2, 3).Unit(), 0.7)
	for _, w := range []float64{0.4, 0.7} {
		for _, m := range []*geom.Mesh{plate(w), geomtest.Transform(plate(w), turned)} {
			got, err := thinSections(m)
			require.NoError(t, err)
			require.Len(t, got, 1)
			assert.InDelta(t, w, got[0].Width, 0.01)
			assert.InDelta(t, 200, got[0].Area, 20)
		}
	}
	for _, m := range []*geom.Mesh{plate(1.2), geomtest.Sphere(10, 64, 32), geomtest.Box(vec(0, 0, 0), vec(5, 5, 5)), geomtest.Torus(20, 5, 64, 32)} {
		got, err := thinSections(m)
		require.NoError(t, err)
		assert.Empty(t, got)
	}
}

// TestStubs: a square gate of 4 mm, a square vent of 2 mm, a parting line around 40 x
// 20 mm, and a show face on top.
func TestStubs(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0")
	up := vec(0, 0, 1)
	s.job.Show = []ShowFace{{Name: "lid", Direction: &up}}
	_, c := s.shut(t)
	area, show := map[string]float64{}, map[string]string{}
	var line Stub
	for _, x := range c.Stubs {
		area[x.What], show[x.What] = x.Area, x.Show
		if x.Channel == 0 {
			line = x
		}
	}
	assert.InDelta(t, 4, area["vent 1"], 0.05)
	assert.InDelta(t, 16, area["gate 2"], 0.2)
	assert.Equal(t, "lid", show["vent 1"])
	assert.Empty(t, show["gate 2"])
	assert.InDelta(t, 120, line.Length, 3)
	assert.Empty(t, line.Show)
	s.job.Show = []ShowFace{{Box: []float64{9, 9, 12, 12, 31, 17}}}
	_, c = s.shut(t)
	for _, x := range c.Stubs {
		if x.Channel == 0 {
			assert.Equal(t, "show face 1", x.Show)
		}
	}
}
