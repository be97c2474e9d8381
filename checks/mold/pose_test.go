package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func posed(t testing.TB, m *geom.Mesh, o PoseOptions) *PoseSearch {
	t.Helper()
	if o.Printer == nil {
		o.Printer = printer()
	}
	s, err := newRubber(m, o.Printer.Relief, 0).pose(upZ, o)
	require.NoError(t, err)
	require.NotEmpty(t, s.Points)
	return s
}

func TestSphereDirections(t *testing.T) {
	for _, n := range []int{1, 6, 7, 100, 500, 5000} {
		d := SphereDirections(n)
		assert.GreaterOrEqual(t, len(d), n)
		has := map[geom.Vec]bool{}
		for _, v := range d {
			assert.InDelta(t, 1, v.Norm(), 1e-12)
			has[v] = true
		}
		require.Len(t, has, len(d))
		for _, v := range d { // every mirror image is there
			for _, m := range []geom.Vec{xyz(-v.X, v.Y, v.Z), xyz(v.X, -v.Y, v.Z), xyz(v.X, v.Y, -v.Z), xyz(v.Y, v.X, v.Z)} {
				require.True(t, has[geom.Vec{X: m.X + 0, Y: m.Y + 0, Z: m.Z + 0}], "%v", m)
			}
		}
		for _, a := range []geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
			assert.True(t, has[a])
		}
	}
}

// A plain cup: its opening toward the film is never among the best.
func TestPoseOfACup(t *testing.T) {
	s := posed(t, roundCup(15, 2, 2, 20, 48), PoseOptions{Cell: 0.8})
	assert.GreaterOrEqual(t, len(s.Points), 500)
	best := 0
	for _, p := range s.Points {
		if p.Best {
			best++
			assert.Less(t, p.Build.Z, 0.5, "not within 60 deg of the film: %+v", p)
			assert.Less(t, p.CupArea, 100.0)
		}
	}
	assert.Positive(t, best)
	assert.InDelta(t, math.Pi*225, s.Now.CupArea, 0.02*math.Pi*225, "as it stands now")
	assert.False(t, s.Now.Best)
	assert.Equal(t, upZ, s.Now.Build)

	flat := posed(t, roundCup(15, 2, 2, 20, 48), PoseOptions{Cell: 0.8, Quick: true, Flat: true})
	assert.True(t, flat.Now.Flat)
	assert.InDelta(t, 22, flat.Now.Height, 1e-9)
	assert.InDelta(t, 27, s.Now.Height, 1e-9, "on supports")
}

// molds of three kinds for searches: a cup with a slanted floor, a block with two
// rooms, an arm on a post.
func poseMolds() []*geom.Mesh {
	wedge := roundCup(15, 2, 6, 14, 32).Map(func(v geom.Vec) geom.Vec {
		if v.Z == 6 {
			v.Z += v.X / 4
		}
		return v
	})
	rooms := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(50, 24, 20)), geomtest.Cut(xyz(3, 3, 3), xyz(21, 21, 20)), geomtest.Cut(xyz(29, 0, 6), xyz(47, 21, 20)))
	arm := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(12, 10, 30)), geomtest.Add(xyz(12, 2, 20), xyz(30, 8, 27)), geomtest.Cut(xyz(3, 3, 14), xyz(9, 7, 30)))
	return []*geom.Mesh{wedge, rooms, arm}
}

// The best direction of the search is, within 5 deg, the best of ten times as many.
func TestPoseAgainstTenTimesAsMany(t *testing.T) {
	for i, m := range poseMolds() {
		o := PoseOptions{Cell: 1.2}
		few := posed(t, m, o)
		o.Directions, o.Rounds = 5000, -1
		many := posed(t, m, o)
		assert.GreaterOrEqual(t, len(many.Points), 5000)
		a, b := few.Points[0], many.Points[0]
		angle := math.Acos(min(a.Build.Dot(b.Build), 1)) * 180 / math.Pi
		t.Logf("mold %d: %.3f weighs %.4f, of 5000 %.3f weighs %.4f, %.1f deg apart", i, a.Build, a.Burden(), b.Build, b.Burden(), angle)
		assert.LessOrEqual(t, angle, 5.0, "mold %d", i)
		assert.InDelta(t, b.Burden(), a.Burden(), 0.02*b.Burden(), "mold %d", i)
	}
}

// What is spared by knowing that a direction is beaten changes no answer.
func TestPoseSparesNothingThatCounts(t *testing.T) {
	for i, m := range poseMolds() {
		o := PoseOptions{Directions: 140, Rounds: -1, Cell: 1.2}
		few := posed(t, m, o)
		o.All = true
		all := posed(t, m, o)
		best := func(s *PoseSearch) []geom.Vec {
			var out []geom.Vec
			for _, p := range s.Points {
				assert.False(t, s == all && p.Assumed)
				if p.Best {
					out = append(out, p.Build)
				}
			}
			return out
		}
		assert.Equal(t, best(all), best(few), "mold %d", i)
		o = PoseOptions{Quick: true}
		few = posed(t, m, o)
		assert.GreaterOrEqual(t, len(few.Points), 500)
		o.All = true
		all = posed(t, m, o)
		require.NotEmpty(t, all.Distinct(3))
		assert.Equal(t, all.Distinct(3), few.Distinct(3), "mold %d: the three that are shown", i)
	}
}

// Of a half that is its own mirror image, mirrored directions weigh the same.
func TestMirroredPoses(t *testing.T) {
	m := geomtest.Grid(geomtest.Add(xyz(-20, -15, 0), xyz(20, 15, 12)), geomtest.Cut(xyz(-12, -8, 4), xyz(12, 8, 12)), geomtest.Cut(xyz(-16, -2, 8), xyz(16, 2, 12)))
	s := posed(t, m, PoseOptions{Directions: 140, Rounds: -1, All: true})
	at := map[geom.Vec]*PosePoint{}
	for i := range s.Points {
		at[s.Points[i].Build] = &s.Points[i]
	}
	pairs := 0
	for _, p := range s.Points {
		q := at[geom.Vec{X: -p.Build.X + 0, Y: p.Build.Y, Z: p.Build.Z}]
		require.NotNil(t, q)
		assert.InDelta(t, p.Scar, q.Scar, 1e-9)
		assert.InDelta(t, p.ScarAll, q.ScarAll, 1e-9)
		assert.InDelta(t, p.Step, q.Step, 1e-12)
		assert.InDelta(t, p.Height, q.Height, 1e-9)
		assert.Equal(t, p.Starts, q.Starts)
		assert.InDelta(t, p.CupArea, q.CupArea, 0.05*p.CupArea+8)
		assert.InDelta(t, p.CupVolume, q.CupVolume, 0.05*p.CupVolume+30)
		pairs++
	}
	assert.Greater(t, pairs, 140)
}

func TestPoseFitsThePrinter(t *testing.T) {
	m := geomtest.Box(xyz(0, 0, 0), xyz(100, 40, 10))
	pr := printer()
	pr.Size, pr.Raise = []float64{60, 60, 120}, 0
	s := posed(t, m, PoseOptions{Printer: pr, Quick: true})
	require.NotNil(t, s.Now.Fits)
	assert.False(t, *s.Now.Fits, "100 mm long on a platform of 60 x 60")
	require.NotNil(t, s.Points[0].Fits)
	assert.True(t, *s.Points[0].Fits)
	for _, p := range s.Points {
		if p.Build == xyz(1, 0, 0) {
			assert.True(t, *p.Fits, "standing on its end")
		}
	}
	pr.Size = []float64{74, 74, 120} // 100 mm fits across the corners of 74 mm only if thin
	m = geomtest.Box(xyz(0, 0, 0), xyz(100, 3, 10))
	assert.True(t, *posed(t, m, PoseOptions{Printer: pr, Quick: true}).Now.Fits, "turned by 45 deg")
	assert.Nil(t, posed(t, m, PoseOptions{Quick: true}).Now.Fits, "no size given")
}

func TestDistinctPoses(t *testing.T) {
	s := posed(t, roundCup(15, 2, 2, 20, 48), PoseOptions{Quick: true})
	d := s.Distinct(3)
	require.NotEmpty(t, d)
	assert.Equal(t, s.Points[0], d[0])
	for i := range d {
		for k := range i {
			assert.Greater(t, math.Acos(min(d[i].Build.Dot(d[k].Build), 1)), 14.9*math.Pi/180)
		}
	}
}

func TestPoseStops(t *testing.T) {
	n := 0
	s, err := newRubber(roundCup(15, 2, 2, 20, 24), 2, 0).pose(upZ, PoseOptions{Printer: printer(), Stop: func() bool { n++; return n > 800 }})
	require.NoError(t, err)
	assert.True(t, s.Canceled)
	assert.NotEmpty(t, s.Points)
}

// A search of a fine mesh looks at some of its facets: what they stand for is the whole,
// to a hundredth, and the order of facets does not matter. Large facets are all there.
func TestSharesStandForTheSurface(t *testing.T) {
	ball := geomtest.Join(geomtest.Bumpy(20, 0.1, 300, 150), geomtest.Box(xyz(30, 0, 0), xyz(60, 20, 10)))
	measure := func(m *geom.Mesh, most int) (area float64, step LayerStep, facets int) {
		s := newSolid(m)
		list := s.shares(most)
		for _, e := range list {
			if s.normal[e.facet].Dot(leaning(20)) < -0.5 {
				area += e.area
			}
		}
		return area, newStepped(s).steps(leaning(20), 0.05, list, func(int32) bool { return true }, nil), len(list)
	}
	area, step, _ := measure(ball, len(ball.Facets))
	for seed := range uint64(3) {
		few, fewSteps, n := measure(geomtest.ShuffleFacets(ball, seed), 10_000)
		assert.Less(t, n, 12_000)
		assert.InEpsilon(t, area, few, 0.01)
		assert.InEpsilon(t, step.Mean, fewSteps.Mean, 0.01)
		again, _, _ := measure(ball, 10_000)
		assert.InDelta(t, again, few, 1e-9, "in any order")
	}
}
