package mold

import (
	"fmt"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// b0Trapped is the air that B0 keeps when its +x or -x side is raised (own
// calculation: the wedge above the mouth's highest edge, 19 mm from the wall).
func b0Trapped(angle float64) float64 { return 0.5 * 19 * 19 * tan(angle) * 20 }

// assertB0 pours B0 at its two tilts and asks for 1 % of the closed form.
func assertB0(t *testing.T, m *Mold, turn func(geom.Vec) geom.Vec) {
	t.Helper()
	assert.Len(t, m.Channels, 2, channelList(m))
	for _, angle := range []float64{10, 20} {
		f := pourUp(t, m, turn(tilted(angle, 0)))
		want := b0Trapped(angle)
		assert.InDelta(t, want, f.Trapped, 0.01*want, "%v deg: stated error %.2f", angle, f.TrappedError)
		assert.Len(t, f.Pockets, 1)
		assert.Zero(t, f.Unreached)
	}
}

func same(v geom.Vec) geom.Vec { return v }

// TestOtherFacets: the same solid drawn with other facets gives the same air.
func TestOtherFacets(t *testing.T) {
	t.Parallel()
	b0 := b0Blocks().setup()
	assertB0(t, b0.close(t), same)
	other := b0.change(geomtest.OtherDiagonal)
	for i := range b0.halves {
		a, b := b0.halves[i].Mesh.Facets, other.halves[i].Mesh.Facets
		n := 0
		for f := range a {
			if a[f] != b[f] {
				n++
			}
		}
		require.Equal(t, len(a), n, "facets drawn the other way")
	}
	assertB0(t, other.close(t), same)
	split := storedSetup(t, "b0").change(func(m *geom.Mesh) *geom.Mesh { return geomtest.Subdivide(m, 2) })
	assertB0(t, split.close(t), same)
}

// TestMoved: where the mold lies in its file changes nothing.
func TestMoved(t *testing.T) {
	t.Parallel()
	b0 := storedSetup(t, "b0")
	quarter := geom.Rigid{X: vec(0, -1, 0), Y: vec(1, 0, 0), Z: vec(0, 0, 1)}
	assertB0(t, b0.move(quarter).close(t), quarter.Turn)
	assertB0(t, b0.shift(vec(1e-4, 1e-4, 1e-4)).close(t), same)
	// The coordinates are those of a file: rounded to float32 (step 0.0078 mm at 1e5).
	far := b0.shift(vec(1e5, 1e5, 0)).change(func(m *geom.Mesh) *geom.Mesh {
		return m.Map(func(v geom.Vec) geom.Vec {
			return vec(float64(float32(v.X)), float64(float32(v.Y)), float64(float32(v.Z)))
		})
	})
	assertB0(t, far.close(t), same)
}

// TestCellsAndPlaces: neither the cell nor where the lattice falls shows in the
// answer by more than 1 %.
func TestCellsAndPlaces(t *testing.T) {
	t.Parallel()
	for _, cell := range []float64{1, 0.5, 0.25} {
		for _, d := range []geom.Vec{{}, vec(0.5, 0, 0), vec(0, 0.5, 0), vec(0, 0, 0.5), vec(0.5, 0.25, 0.75)} {
			if cell == 0.25 && d.X*d.Y == 0 && d.Norm() > 0 {
				continue // the fine cell: at rest and off by a fraction along all axes at once
			}
			t.Run(fmt.Sprintf("%v mm off by %v", cell, d), func(t *testing.T) {
				s := storedSetup(t, "b0").shift(d.Scale(cell))
				s.job.Cell = cell
				assertB0(t, s.close(t), same)
			})
		}
	}
}

// TestShuffledFacets: the order of the facets in the files changes no bit.
func TestShuffledFacets(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"b0", "utube-downhill"} {
		s := storedSetup(t, name)
		seed := uint64(0)
		mixed := s.change(func(m *geom.Mesh) *geom.Mesh { seed++; return geomtest.ShuffleFacets(m, seed) })
		a, b := s.close(t), mixed.close(t)
		require.Equal(t, a.Channels, b.Channels)
		up := tilted(10, 20)
		f, g := pourUp(t, a, up), pourUp(t, b, up)
		require.NotEmpty(t, f.Pockets)
		require.NoError(t, a.SuggestVents(f))
		require.NoError(t, b.SuggestVents(g))
		assert.Equal(t, answers(f), answers(g))
	}
}

// answers is a fill without the facts kept for pictures.
func answers(f *Fill) Fill {
	g := *f
	g.air = nil
	return g
}

// TestTurnedMold: part, halves, gate and up turned together keep every pocket's
// volume to within the stated error.
func TestTurnedMold(t *testing.T) {
	cases := []struct {
		name  string
		up    geom.Vec
		cell  float64
		turns int
	}{
		{"b0", tilted(10, 0), 0, 12},
		{"utube", level, 0, 12},
		{"weir", level, 0.5, 12},
		{"bunny", tilted(10, 0), 0.5, 12},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := storedSetup(t, c.name)
			s.job.Cell = c.cell
			m := s.close(t)
			want := pourUp(t, m, c.up)
			require.NotEmpty(t, want.Pockets)
			gate := gateOf(t, m).Mouth
			for k := range c.turns {
				r := geomtest.RandomTurn(uint64(k) + 1)
				turned := s.turn(r, gate).close(t)
				assert.False(t, gateOf(t, turned).Assumed)
				assertPockets(t, want, pourUp(t, turned, r.Turn(c.up)), fmt.Sprintf("turn %d", k+1))
			}
			mirror := func(v geom.Vec) geom.Vec { return vec(-v.X, v.Y, v.Z) }
			mirrored := s.change(func(m *geom.Mesh) *geom.Mesh { return m.Map(mirror).Reversed() })
			assertPockets(t, want, pourUp(t, mirrored.close(t), mirror(c.up)), "mirrored")
		})
	}
}

// assertPockets compares two fills pocket by pocket, largest first.
func assertPockets(t *testing.T, want, got *Fill, what string) {
	t.Helper()
	if !assert.Equal(t, len(want.Pockets), len(got.Pockets), what) {
		return
	}
	for i, p := range want.Pockets {
		q := got.Pockets[i]
		assert.LessOrEqual(t, math.Abs(p.Volume-q.Volume), min(p.Error, q.Error), "%s: pocket %d, %.3f +- %.3f and %.3f +- %.3f", what, p.ID, p.Volume, p.Error, q.Volume, q.Error)
		assert.InDelta(t, p.Depth, q.Depth, 0.05, "%s: depth of pocket %d", what, p.ID)
	}
	assert.InDelta(t, want.Unreached, got.Unreached, 1e-9, what)
}

// TestThreads: any number of threads gives the same bits.
func TestThreads(t *testing.T) {
	var first []any
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		m := storedSetup(t, "utube-rising").close(t)
		f := pourUp(t, m, tilted(10, 200))
		require.NoError(t, m.SuggestVents(f))
		require.NotEmpty(t, f.Pockets)
		require.NotNil(t, f.Pockets[0].Vent)
		got := []any{m.Channels, m.Fit, answers(f), m.AirMesh(f, 1)}
		if first == nil {
			first = got
		}
		assert.Equal(t, first, got, "%d threads", n)
	}
}
