package flood

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// flooded runs g and asks that the forward model agrees.
func flooded(t *testing.T, g *Graph) *Result {
	t.Helper()
	require.Empty(t, disagree(g))
	r, err := Run(g)
	require.NoError(t, err)
	return r
}

// trapped returns the height of gas that stays in each pocket, summed over runs.
func trapped(r *Result) []int32 {
	out := make([]int32, len(r.Seals))
	for run, k := range r.Pocket {
		if k >= 0 {
			out[k] += r.g.Hi[run] - r.Level(int32(run), Never)
		}
	}
	return out
}

// uTube is two shafts, runs 0 (left) and 2 (right), to z = 20, joined by a channel
// with its roof at z = 5, run 1, where liquid enters. The left shaft is open at its
// top. Shafts are 4 x 4: a height is worth 16.
func uTube() *Graph {
	return &Graph{
		Lo: []int32{0, 0, 0}, Hi: []int32{20, 5, 20},
		Links:   []Link{{0, 1, 0, 5}, {1, 2, 0, 5}},
		Exits:   []Exit{{0, 20, 20, 0}},
		Sources: []int32{1},
	}
}

func TestUTubeClosedOnTheRight(t *testing.T) {
	r := flooded(t, uTube())
	assert.Equal(t, []int32{240 / 16}, trapped(r))
	assert.Equal(t, []int32{-1, -1, 0}, r.Pocket)
	assert.Equal(t, []Seal{{r.When(2, 5), 1, -1}}, r.Seals)
	assert.EqualValues(t, 5, r.Level(2, Never))
	assert.EqualValues(t, 20, r.Level(0, Never))
}

func TestUTubeWithSideExit(t *testing.T) {
	g := uTube()
	g.Exits = append(g.Exits, Exit{2, 10, 12, 1})
	r := flooded(t, g)
	assert.Equal(t, []int32{128 / 16}, trapped(r))
	assert.Equal(t, []Seal{{r.When(2, 12), -1, 1}}, r.Seals)
}

// A vent that leaves downhill is closed from below once liquid runs over the lip
// of its mouth, at 10: run 3 is its far end, with the exit at its bottom.
func TestUTubeWithDownhillExit(t *testing.T) {
	g := uTube()
	g.Lo, g.Hi = append(g.Lo, 6), append(g.Hi, 12)
	g.Links = append(g.Links, Link{2, 3, 10, 12})
	g.Exits = append(g.Exits, Exit{3, 6, 7, 1})
	r := flooded(t, g)
	assert.EqualValues(t, 10, r.Level(2, Never), "trapped in the shaft: 16 x (20 - 10)")
	assert.Equal(t, []int32{20 - 10 + 12 - 7}, trapped(r))
	assert.Equal(t, []Seal{{r.When(3, 7), -1, 1}}, r.Seals)
	assert.EqualValues(t, 20, r.Level(0, Never), "the other shaft fills on")
}

// weir is a basin, run 0, and beyond a weir at 10 a second one, run 1, with a
// passage for gas up to 12. Liquid enters the first.
func weir(exits ...Exit) *Graph {
	return &Graph{
		Lo: []int32{0, 2}, Hi: []int32{20, 20},
		Links: []Link{{0, 1, 10, 12}}, Exits: exits, Sources: []int32{0},
	}
}

func TestSecondBasinBehindWeir(t *testing.T) {
	for name, c := range map[string]struct {
		exits []Exit
		ends  []int32
	}{
		"exit over the first":                    {[]Exit{{0, 20, 20, 0}}, []int32{20, 12}},
		"exit over the second":                   {[]Exit{{1, 20, 20, 0}}, []int32{12, 20}},
		"side exit of the second":                {[]Exit{{0, 20, 20, 0}, {1, 13, 15, 1}}, []int32{20, 15}},
		"side exit of the second only":           {[]Exit{{1, 13, 15, 1}}, []int32{12, 15}},
		"exit of the second covered by spilling": {[]Exit{{1, 4, 6, 1}}, []int32{10, 6}},
		"the same, with one over the first":      {[]Exit{{0, 20, 20, 0}, {1, 4, 6, 1}}, []int32{20, 12}},
	} {
		r := flooded(t, weir(c.exits...))
		assert.Equal(t, c.ends, []int32{r.Level(0, Never), r.Level(1, Never)}, name)
	}
}

func TestFirstBasinWaitsWhileSecondFills(t *testing.T) {
	g := weir(Exit{0, 20, 20, 0})
	g.Lo, g.Hi = append(g.Lo, 4), append(g.Hi, 9) // a cup in the second basin, its rim at 5
	g.Links = append(g.Links, Link{1, 2, 4, 5})
	r := flooded(t, g)
	require.Equal(t, r.When(2, 5), r.Cut[2])
	assert.Equal(t, []int32{10, 5, 5}, []int32{r.Level(0, r.Cut[2]), r.Level(1, r.Cut[2]), r.Level(2, r.Cut[2])})
	assert.Equal(t, []int32{20 - 12, 9 - 5}, trapped(r))
}

// Behind a weir at 10 lie two sub-basins with floors at 3 and 1, parted by a ridge
// at 6. The one the liquid falls into fills first, then the other, then both.
func TestTwoSubBasinsBehindOneWeir(t *testing.T) {
	g := &Graph{
		Lo: []int32{0, 3, 1}, Hi: []int32{20, 20, 20},
		Links:   []Link{{0, 1, 10, 20}, {1, 2, 6, 20}},
		Exits:   []Exit{{1, 18, 20, 0}},
		Sources: []int32{0},
	}
	r := flooded(t, g)
	order := []Time{r.When(0, 9), r.When(1, 3), r.When(1, 5), r.When(2, 1), r.When(2, 5), r.When(1, 6), r.When(1, 9), r.When(0, 10)}
	assert.IsIncreasing(t, order)
	assert.Equal(t, r.When(2, 6), r.When(1, 6))
	assert.Equal(t, []int32{10, 6, 4}, []int32{r.Level(0, r.When(2, 4)), r.Level(1, r.When(2, 4)), r.Level(2, r.When(2, 4))})

	// Over the ridge itself, run 3, it falls into the deeper one.
	g.Lo, g.Hi = append(g.Lo, 6), append(g.Hi, 20)
	g.Links = []Link{{0, 3, 10, 20}, {1, 3, 6, 20}, {2, 3, 6, 20}}
	r = flooded(t, g)
	assert.IsIncreasing(t, []Time{r.When(0, 9), r.When(2, 5), r.When(1, 3), r.When(1, 6), r.When(0, 10)})
}

func TestOneOfTwoSubBasinsIsClosedByTheOther(t *testing.T) {
	// Sub-basin 1 takes the spill and covers the low passage, up to 4, that joins
	// its neighbour 2 to the exit in it; 2 has no other.
	g := &Graph{
		Lo: []int32{0, 1, 3}, Hi: []int32{20, 20, 9},
		Links:   []Link{{0, 1, 10, 20}, {1, 2, 3, 4}},
		Exits:   []Exit{{1, 20, 20, 0}},
		Sources: []int32{0},
	}
	r := flooded(t, g)
	assert.Equal(t, []int32{5}, trapped(r))
	assert.Equal(t, []int32{20, 20, 4}, []int32{r.Level(0, Never), r.Level(1, Never), r.Level(2, Never)})
	assert.EqualValues(t, 10, r.Level(0, r.Cut[2]))
}

func TestSourceAboveFallsToTheLowestPlace(t *testing.T) {
	// A shelf, run 0, a step below it, run 1, a hole, run 2, and a shallower one
	// beside the shelf, run 3.
	g := &Graph{
		Lo: []int32{15, 9, 0, 7}, Hi: []int32{20, 20, 20, 20},
		Links:   []Link{{0, 1, 15, 20}, {1, 2, 9, 20}, {0, 3, 15, 20}},
		Exits:   []Exit{{0, 20, 20, 0}},
		Sources: []int32{0},
	}
	r := flooded(t, g)
	assert.Empty(t, r.Seals)
	assert.IsIncreasing(t, []Time{r.When(2, 0), r.When(2, 8), r.When(1, 9), r.When(1, 14), r.When(3, 7), r.When(3, 14), r.When(0, 15)})
	assert.EqualValues(t, 15, r.Level(2, r.When(3, 8)))
}

func TestGateBelow(t *testing.T) {
	// From a gate at the bottom a slope of three runs fills upward; its top is
	// under a lid.
	g := &Graph{
		Lo: []int32{0, 4, 8}, Hi: []int32{10, 14, 18},
		Links:   []Link{{0, 1, 4, 10}, {1, 2, 8, 14}},
		Exits:   []Exit{{1, 14, 14, 0}},
		Sources: []int32{0},
	}
	r := flooded(t, g)
	assert.Equal(t, []int32{18 - 14}, trapped(r))
	assert.IsIncreasing(t, []Time{r.When(0, 3), r.When(1, 4), r.When(2, 8), r.When(2, 14)})
}

func TestLevelFloor(t *testing.T) {
	// Five runs at 3 in a row; the far one borders a pit, which is filled across
	// the floor before the floor rises as one.
	g := &Graph{Exits: []Exit{{2, 8, 8, 0}}, Sources: []int32{0}}
	for i := range int32(5) {
		g.Lo, g.Hi = append(g.Lo, 3), append(g.Hi, 8)
		if i > 0 {
			g.Links = append(g.Links, Link{i, i - 1, 3, 8})
		}
	}
	r := flooded(t, g)
	assert.Empty(t, r.Seals)
	for i := range int32(5) {
		assert.Equal(t, r.When(0, 4), r.When(i, 4))
	}
	g.Lo, g.Hi = append(g.Lo, 0), append(g.Hi, 8)
	g.Links = append(g.Links, Link{4, 5, 3, 8})
	r = flooded(t, g)
	assert.IsIncreasing(t, []Time{r.When(5, 0), r.When(5, 2), r.When(0, 3)})
	assert.EqualValues(t, 3, r.Level(0, r.When(5, 2)))
	assert.Equal(t, r.When(5, 3), r.When(0, 3))
}

func TestLevelCeiling(t *testing.T) {
	// A ceiling at 10 over seven runs with a flush exit in it holds nothing.
	g := &Graph{Sources: []int32{0}, Exits: []Exit{{3, 10, 10, 0}}}
	for i := range int32(7) {
		g.Lo, g.Hi = append(g.Lo, 0), append(g.Hi, 10)
		if i > 0 {
			g.Links = append(g.Links, Link{i - 1, i, 0, 10})
		}
	}
	r := flooded(t, g)
	assert.Empty(t, r.Seals)
	for i := range int32(7) {
		assert.EqualValues(t, 10, r.Level(i, Never))
	}

	// Teeth that rise from it are a pocket each, whatever the order of the links,
	// though the ceiling closes behind all of them at one moment.
	for _, teeth := range [][]int32{{1, 5}, {0, 2, 4, 6}, {1, 2, 5}} {
		for _, backward := range []bool{false, true} {
			h := &Graph{Lo: g.Lo, Hi: append([]int32(nil), g.Hi...), Exits: g.Exits, Sources: g.Sources}
			for _, run := range teeth {
				h.Hi[run] = 14
			}
			for i := range g.Links {
				if backward {
					i = len(g.Links) - 1 - i
				}
				l := g.Links[i]
				l.Hi = min(h.Hi[l.A], h.Hi[l.B])
				h.Links = append(h.Links, l)
			}
			r := flooded(t, h)
			want := []int32{4, 4, 4, 4}[:len(teeth)]
			if teeth[1] == 2 && teeth[0] == 1 { // neighbours are one
				want = []int32{8, 4}
			}
			assert.Equal(t, want, trapped(r), "teeth %v", teeth)
			for run, k := range r.Pocket {
				assert.Equal(t, h.Hi[run] == 14, k >= 0)
			}
		}
	}
}

func TestNothingReached(t *testing.T) {
	g := uTube()
	g.Sources = nil
	r := flooded(t, g)
	assert.Equal(t, []bool{false, false, false}, r.Reached)
	assert.Empty(t, r.Seals)
	assert.Equal(t, Never, r.When(0, 0))
	assert.EqualValues(t, 0, r.Level(0, Never))

	// A space apart from the source's, without an exit.
	g = uTube()
	g.Lo, g.Hi = append(g.Lo, 4), append(g.Hi, 7)
	r = flooded(t, g)
	assert.Equal(t, []bool{true, true, true, false}, r.Reached)
	assert.Equal(t, []int32{15, 3}, trapped(r))
	assert.Equal(t, Seal{Start, -1, -1}, r.Seals[1])
}

func TestNoExits(t *testing.T) {
	g := uTube()
	g.Exits = nil
	r := flooded(t, g)
	assert.Equal(t, []bool{true, true, true}, r.Reached)
	assert.Equal(t, []int32{45}, trapped(r))
	assert.Equal(t, []Seal{{Start, -1, -1}}, r.Seals)
	assert.Equal(t, []Time{Start, Start, Start}, r.Cut)
}

func TestEmptyGraph(t *testing.T) {
	r := flooded(t, &Graph{})
	assert.Empty(t, r.Seals)
	assert.Empty(t, r.Reached)
}

// Of two sources in one space the one from which liquid falls lowest counts;
// separate spaces are poured one after the other.
func TestSeveralSources(t *testing.T) {
	g := weir(Exit{0, 20, 20, 0}, Exit{1, 20, 20, 0})
	g.Sources = []int32{1, 0}
	r := flooded(t, g)
	assert.IsIncreasing(t, []Time{r.When(0, 0), r.When(1, 2), r.When(0, 10)})

	g.Links = nil
	r = flooded(t, g)
	assert.IsIncreasing(t, []Time{r.When(1, 2), r.When(1, 20), r.When(0, 0)})
}

func TestRefusesWhatDoesNotFit(t *testing.T) {
	for want, spoil := range map[string]func(g *Graph){
		"link 1 (0 to 6)":   func(g *Graph) { g.Links[1].Hi = 6 },
		"link 0 (-1 to 5)":  func(g *Graph) { g.Links[0].Lo = -1 },
		"link 1 (4 to 3)":   func(g *Graph) { g.Links[1].Lo, g.Links[1].Hi = 4, 3 },
		"exit 0 (20 to 21)": func(g *Graph) { g.Exits[0].Hi = 21 },
		"exit 0 (-1 to 20)": func(g *Graph) { g.Exits[0].Lo = -1 },
		"exit 0 (20 to 19)": func(g *Graph) { g.Exits[0].Hi = 19 },
	} {
		g := uTube()
		spoil(g)
		_, err := Run(g)
		assert.ErrorContains(t, err, want)
	}
}
