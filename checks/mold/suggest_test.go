package mold

import (
	"math/bits"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// TestVentsOfAComb: five teeth, none vented, need five vents, as many as the cavity
// has maxima (literature: every local top needs its own opening), listed by what
// each frees. Every one of the 32 sets of them is poured: only the full one leaves
// no pocket, and what a set frees is the sum of what its members free.
func TestVentsOfAComb(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 1
	m := s.close(t)
	f := pourUp(t, m, level)
	require.Len(t, f.Pockets, 5)
	require.NoError(t, m.SuggestVents(f))
	require.Len(t, f.Vents, 5)
	for i, want := range []float64{1008, 864, 720, 576, 432} { // 6 x 12 x height
		assert.InDelta(t, want, f.Vents[i].Gain, 0.02*want)
		assert.InDelta(t, want, f.Vents[i].Frees, 0.02*want)
		assert.Equal(t, i+1, f.Vents[i].ID)
		assert.Same(t, &f.Vents[i], f.Pockets[f.Vents[i].Pockets[0]-1].Vent)
	}
	assert.Less(t, f.VentsLeave, 1.0)
	for set := uint(0); set < 32; set++ {
		var some []SuggestedVent
		want := f.Trapped
		for i, v := range f.Vents {
			if set>>i&1 == 1 {
				some = append(some, v)
				want -= v.Frees
			}
		}
		if len(some) == 0 || testing.Short() && bits.OnesCount(set) < 4 {
			continue
		}
		with, err := m.With(specsOf(some))
		require.NoError(t, err)
		g := pourUp(t, with, level)
		assert.Len(t, g.Pockets, 5-len(some), "set %b", set)
		assert.InDelta(t, want, g.Trapped, 10, "set %b", set)
	}
}

// TestVentsOfJoinedAir: two rooms of different height over a floor, joined by a
// passage below both tops and cut off together: one pocket, which a vent in the
// higher room frees but for what stands above the passage in the lower one. The
// second vent is found by pouring with the first.
func TestVentsOfJoinedAir(t *testing.T) {
	b := &blockMold{
		block: boxAt(0, 0, 0, 60, 30, 40), split: 8,
		rooms: []box{boxAt(8, 8, 6, 52, 22, 12), boxAt(8, 8, 12, 20, 22, 30), boxAt(30, 8, 12, 42, 22, 26), boxAt(20, 12, 16, 30, 18, 20)},
		gate:  boxAt(10, 13, 0, 14, 17, 6),
		cuts:  []box{boxAt(48, 14, 12, 50, 16, 40)},
	}
	s := b.setup()
	s.job.Cell = 0.5
	m := s.close(t)
	f := pourUp(t, m, level)
	require.Len(t, f.Pockets, 1)
	require.NoError(t, m.SuggestVents(f))
	require.Len(t, f.Vents, 2)
	assert.InDelta(t, 12*14*18+12*14*14+10*6*4-12*14*6, f.Vents[0].Gain, 30, "all but the lower room above the passage")
	assert.InDelta(t, 12*14*6, f.Vents[1].Gain, 20)
	assert.Equal(t, []int{1}, f.Vents[1].Pockets)
	assert.Less(t, f.VentsLeave, 1.0)
}

// TestVentsKeepClear: the vent of b0 at 10 deg avoids a show face where there is
// another place, says so where there is none, and goes through one body although
// a lid lies over the pocket's top.
func TestVentsKeepClear(t *testing.T) {
	b := b0Blocks()
	up := tilted(10, 0)
	vent := func(s setup) SuggestedVent {
		s.job.Cell = 0.5
		m := s.close(t)
		f := pourUp(t, m, up)
		require.NoError(t, m.SuggestVents(f))
		require.Len(t, f.Vents, 1)
		return f.Vents[0]
	}
	free := vent(b.setup())
	assert.Greater(t, free.Mouth.X, 47.5)
	assert.Empty(t, free.Show)

	s := b.setup()
	s.job.Show = []ShowFace{{Name: "front", Box: []float64{47.5, 0, 19, 61, 40, 21}}}
	beside := vent(s)
	assert.Less(t, beside.Mouth.X, 47.5)
	assert.Empty(t, beside.Show)
	assert.Greater(t, beside.Frees, 400.0)

	s = b.setup()
	s.job.Show = []ShowFace{{Name: "front", Direction: &geom.Vec{Z: 1}}}
	assert.Greater(t, vent(s).Direction.X, 0.3, "it leaves through the side wall's upper edge")
	s.job.Show = []ShowFace{{Name: "all of it", Box: []float64{0, 0, 0, 60, 40, 30}}}
	assert.Equal(t, "all of it", vent(s).Show)

	s = b.setup()
	lid := boxAt(47.5, 5, 24, 60, 35, 30)
	s.halves[1].Mesh = geomtest.Grid(geomtest.Add(vec(0, 0, 15), vec(60, 40, 30)), geomtest.Cut(vec(10, 10, 15), vec(50, 30, 20)),
		geomtest.Cut(vec(29, 19, 20), vec(31, 21, 30)), geomtest.Cut(lid.lo, lid.hi))
	s.halves = append(s.halves, Body{Name: "lid", Mesh: geomtest.Grid(geomtest.Add(lid.lo, lid.hi))})
	under := vent(s)
	assert.Equal(t, "top", under.Half)
	for x := 0.0; x <= under.Length; x += 0.1 {
		p := under.Mouth.AddScaled(under.Direction, x)
		assert.False(t, p.X > 47.5 && p.Z > 24, "%v lies in the lid", p)
	}
}

// TestLongVentsAreWider: through 26 mm of rubber a 2 mm bore is over ten times as
// long as wide; 3.15 mm is the next preferred size (ISO 3, R10) that is not.
func TestLongVentsAreWider(t *testing.T) {
	b := b0Blocks()
	b.block.hi.Z = 46
	b.cuts[0].hi.Z = 46
	s := b.setup()
	s.job.Cell = 0.5
	m := s.close(t)
	f := pourUp(t, m, tilted(10, 0))
	require.NoError(t, m.SuggestVents(f))
	require.Len(t, f.Vents, 1)
	v := f.Vents[0]
	assert.InDelta(t, 26/v.Direction.Z, v.Length, 0.2)
	assert.Equal(t, 3.15, v.Diameter)
	assert.LessOrEqual(t, v.Length, ventSlender*v.Diameter)
}

// TestCoverIsSmallest against all sets in order of their size.
func TestCoverIsSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "candidates")
		list := make([]candidate, n)
		all := uint(0)
		for i := range list {
			list[i].frees = uint(rapid.IntRange(1, 31).Draw(t, "frees"))
			list[i].vent.Length = float64(rapid.IntRange(1, 3).Draw(t, "length"))
			all |= list[i].frees
		}
		sum := func(set uint) (freed uint, length float64) {
			for i := range list {
				if set>>i&1 == 1 {
					freed |= list[i].frees
					length += list[i].vent.Length
				}
			}
			return freed, length
		}
		got := uint(0)
		for _, i := range cover(list) {
			got |= 1 << i
		}
		freed, length := sum(got)
		assert.Equal(t, all, freed)
		for set := uint(0); set < 1<<n; set++ {
			if other, l := sum(set); other == all {
				assert.LessOrEqual(t, bits.OnesCount(got), bits.OnesCount(set))
				assert.False(t, bits.OnesCount(got) == bits.OnesCount(set) && l < length, "a shorter set of the same size")
			}
		}
	})
}
