package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// moved returns the setup with one body passed through a job file's scale, turn
// and move: the part under the name part.
func (s setup) moved(name string, spec BodySpec) setup {
	out := setup{job: s.job, part: s.part, halves: append([]Body(nil), s.halves...)}
	if name == "part" {
		out.part.Mesh = spec.place(s.part.Mesh)
	}
	for i := range out.halves {
		if out.halves[i].Name == name {
			out.halves[i].Mesh = spec.place(s.halves[i].Mesh)
		}
	}
	return out
}

func (s setup) placement() *Assembly { return Placement(s.part, s.halves) }

// apply puts the moves of an assembly on the bodies.
func (s setup) apply(a *Assembly) setup {
	for _, m := range a.Moves {
		name := m.Body
		if m.Part {
			name = "part"
		}
		s = s.moved(name, BodySpec{Move: m.Shift, Turn: m.Turn, Scale: m.Factor})
	}
	return s
}

// TestPlacementInPlace: every stored mold lies together as it is.
func TestPlacementInPlace(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"b0", "keys", "bunny", "torus", "sphere", "weir", "parting-gap03", "shrink-box-101", "comb", "cup"} {
		a := storedSetup(t, name).placement()
		assert.True(t, a.Together, "%s: covered %.3f", name, a.Covered)
		assert.Empty(t, a.Moves, name)
	}
}

// TestPlacementLost is recipe S5 of the practice notes (FreeCAD issues 12278,
// 18051): the base mold's top moved down by 15 mm, the part moved to the origin.
func TestPlacementLost(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "b0").moved("top", BodySpec{Move: vec(0, 0, -15)}).moved("part", BodySpec{Move: vec(-10, -10, -10)})
	a := s.placement()
	require.False(t, a.Together)
	require.Len(t, a.Moves, 2)
	assert.Equal(t, "part", a.Moves[0].Body)
	assert.True(t, a.Moves[0].Part)
	assert.InDelta(t, 0, a.Moves[0].Shift.Dist(vec(10, 10, 10)), 0.02, "%+v", a.Moves)
	assert.Equal(t, "top", a.Moves[1].Body)
	assert.InDelta(t, 0, a.Moves[1].Shift.Dist(vec(0, 0, 15)), 0.02, "%+v", a.Moves)
	assert.Equal(t, 1.0, a.Moves[1].Factor)
	assert.Zero(t, a.Moves[1].Turn)
	assert.True(t, s.apply(a).placement().Together)
}

// TestPlacementMoves: one body of a mold shifted, turned or read in another unit is
// named, and what is said puts it back.
func TestPlacementMoves(t *testing.T) {
	t.Parallel()
	const inch = 1 / 25.4
	quarter := math.Pi / 2
	for _, k := range []struct {
		mold, body string
		spec       BodySpec
		factor     float64
	}{
		{"b0", "top", BodySpec{Move: vec(7, 3, 20)}, 1},
		{"b0", "bottom", BodySpec{Move: vec(0, 0, 30)}, 1},
		{"b0", "part", BodySpec{Move: vec(100, -3, 12)}, 1},
		{"keys", "top", BodySpec{Move: vec(40, 0, -12)}, 1},
		{"keys", "top", BodySpec{Turn: vec(2*quarter, 0, 0), Move: vec(0, 5, 40)}, 1},
		{"sphere", "bottom", BodySpec{Move: vec(60, 1, 2)}, 1},
		{"bunny", "back", BodySpec{Turn: vec(0, 0, quarter), Move: vec(-80, 0, 3)}, 1},
		{"bunny", "part", BodySpec{Turn: vec(quarter, 0, 0)}, 1},
		{"b0", "part", BodySpec{Scale: inch}, 25.4},
		{"keys", "top", BodySpec{Scale: inch}, 25.4},
		{"keys", "bottom", BodySpec{Scale: 10}, 0.1},
	} {
		s := storedSetup(t, k.mold).moved(k.body, k.spec)
		a := s.placement()
		require.Len(t, a.Moves, 1, "%s %s %+v: %+v", k.mold, k.body, k.spec, a)
		assert.Equal(t, k.body, a.Moves[0].Body, "%s %+v", k.mold, k.spec)
		assert.Equal(t, k.body == "part", a.Moves[0].Part)
		assert.InDelta(t, k.factor, a.Moves[0].Factor, 1e-4*k.factor)
		back := s.apply(a)
		after := back.placement()
		assert.True(t, after.Together, "%s %s %+v: %+v", k.mold, k.body, k.spec, a)
		assert.Less(t, back.worst(storedSetup(t, k.mold)), 0.3, "%s %s %+v: %+v", k.mold, k.body, k.spec, a.Moves)
	}
}

// worst returns how far any corner of the bodies' boxes lies from where it was.
func (s setup) worst(was setup) float64 {
	d := boxDistance(s.part.Mesh, was.part.Mesh)
	for i := range s.halves {
		d = max(d, boxDistance(s.halves[i].Mesh, was.halves[i].Mesh))
	}
	return d
}

func boxDistance(a, b *geom.Mesh) float64 {
	x, y := a.Box(), b.Box()
	return max(x.Min.Dist(y.Min), x.Max.Dist(y.Max))
}

// TestPlacementSwapped: the part given as a half and a half as the part.
func TestPlacementSwapped(t *testing.T) {
	t.Parallel()
	s := storedSetup(t, "keys")
	s.part, s.halves[1] = s.halves[1], s.part
	assert.Equal(t, "part", s.placement().PartIs)
}

// TestPlacementMissing: a mold whose third piece is not there.
func TestPlacementMissing(t *testing.T) {
	t.Parallel()
	// The base mold with its top cut in two at x = 30, one of them left out.
	part, halves := threePieces()
	require.True(t, Placement(part, halves).Together)
	a := Placement(part, halves[:2])
	require.NotNil(t, a.Bare, "%+v", a)
	assert.Empty(t, a.Moves)
	// The top right quarter: half of the roof, half of two walls, one wall.
	want := (20.0*20 + 2*20*5 + 20*5) / 2800
	assert.InDelta(t, want, a.Bare.Share, 0.03)
	assert.Greater(t, a.Bare.Direction.Z, 0.5)
}

// TestPlacementForeign: a half of another mold.
func TestPlacementForeign(t *testing.T) {
	t.Parallel()
	s, other := storedSetup(t, "bunny"), storedSetup(t, "torus")
	a := Placement(s.part, []Body{s.halves[0], other.halves[1]})
	assert.False(t, a.Together)
	assert.Equal(t, []string{other.halves[1].Name}, a.Foreign)
}

// TestMoveIsJobFile: what an assembly says is what a job file does.
func TestMoveIsJobFile(t *testing.T) {
	t.Parallel()
	for _, r := range append(quarterTurns(), geom.Identity()) {
		s := similar{2.5, r}
		s.rigid.T = vec(1, -2, 3)
		m := s.move("x", false)
		spec := BodySpec{Move: m.Shift, Turn: m.Turn, Scale: m.Factor}
		mesh := &geom.Mesh{Vertices: []geom.Vec{vec(1, 2, 3), vec(-4, 5, 6)}, Facets: nil}
		for i, v := range spec.place(mesh).Vertices {
			assert.InDelta(t, 0, v.Dist(s.apply(mesh.Vertices[i])), 1e-6, "%+v", r)
			assert.InDelta(t, 0, s.inverse().apply(s.apply(v)).Dist(v), 1e-9)
			assert.InDelta(t, 0, s.then(s.inverse()).apply(v).Dist(v), 1e-9)
		}
	}
}
