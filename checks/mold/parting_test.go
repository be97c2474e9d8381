package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// steppedMold is parted at a height of 12 mm on one side and of 32 on the other, with an
// upright step between: the mean of its parting face leans by 18 deg, but only along z
// nothing of the part is in the way.
func steppedMold() setup {
	cuts := []geomtest.Op{
		geomtest.Cut(vec(10, 10, 8), vec(20, 20, 16)),
		geomtest.Cut(vec(14, 14, 0), vec(16, 16, 8)),
		geomtest.Cut(vec(14, 14, 16), vec(16, 16, 44)),
	}
	half := func(add ...geomtest.Op) *geom.Mesh { return geomtest.Grid(append(add, cuts...)...) }
	return setup{part: Body{Name: "part", Mesh: geomtest.Box(vec(10, 10, 8), vec(20, 20, 16))}, halves: []Body{
		{Name: "bottom", Mesh: half(geomtest.Add(vec(0, 0, 0), vec(30, 30, 12)), geomtest.Add(vec(30, 0, 0), vec(60, 30, 32)))},
		{Name: "top", Mesh: half(geomtest.Add(vec(0, 0, 12), vec(30, 30, 44)), geomtest.Add(vec(30, 0, 32), vec(60, 30, 44)))},
	}}
}

// threeMold is a beaker, open end down, between two halves parted at y = 25, around a core
// that stands on a plate below z = 0: the halves meet each other and the plate.
func threeMold() setup {
	hollow := []geomtest.Op{
		geomtest.Cut(vec(10, 10, 0), vec(40, 40, 30)),
		geomtest.Cut(vec(24, 40, 1), vec(27, 50, 4)),
		geomtest.Cut(vec(20, 30, 30), vec(22, 32, 40)),
	}
	half := func(lo, hi geom.Vec) *geom.Mesh {
		return geomtest.Grid(append([]geomtest.Op{geomtest.Add(lo, hi)}, hollow...)...)
	}
	return setup{
		part: Body{Name: "part", Mesh: geomtest.Grid(geomtest.Add(vec(10, 10, 0), vec(40, 40, 30)), geomtest.Cut(vec(13, 13, 0), vec(37, 37, 27)))},
		halves: []Body{
			{Name: "left", Mesh: half(vec(0, 25, 0), vec(50, 50, 40))},
			{Name: "right", Mesh: half(vec(0, 0, 0), vec(50, 25, 40))},
			{Name: "core", Mesh: geomtest.Grid(geomtest.Add(vec(0, 0, -8), vec(50, 50, 0)), geomtest.Add(vec(13, 13, 0), vec(37, 37, 27)))},
		},
	}
}

// A parting face that looks several ways: the pull is the one with nothing in the way,
// wherever the mold stands and however its facets are ordered.
func TestPullOfSeveralWays(t *testing.T) {
	t.Parallel()
	turn := geom.FrameFor(vec(0.3, -0.5, 0.8).Unit())
	for _, c := range []struct {
		name  string
		s     setup
		pulls []geom.Vec
		from  []PullSource
		share []float64 // of the face, by area
	}{
		// The faces of 30 x 30 and of 30 x 30 less the bore or the cavity, and the step of 30 x 20.
		{"step", steppedMold(), []geom.Vec{vec(0, 0, -1), vec(0, 0, 1)}, []PullSource{PullFreest, PullFreest}, []float64{1700.0 / 2300, 1700.0 / 2300}},
		{"three", threeMold(), []geom.Vec{vec(0, 1, 0), vec(0, -1, 0), vec(0, 0, -1)}, []PullSource{PullFreest, PullFreest, PullParting}, []float64{1100.0 / 1900, 1100.0 / 1900, 1}},
	} {
		for _, change := range []struct {
			name string
			f    func(*geom.Mesh) *geom.Mesh
			back func(geom.Vec) geom.Vec
		}{
			{"as drawn", func(m *geom.Mesh) *geom.Mesh { return m }, func(v geom.Vec) geom.Vec { return v }},
			{"shuffled", func(m *geom.Mesh) *geom.Mesh { return geomtest.ShuffleFacets(geomtest.Subdivide(m, 2), 5) }, func(v geom.Vec) geom.Vec { return v }},
			{"turned", func(m *geom.Mesh) *geom.Mesh { return m.Map(turn.TurnBack) }, turn.Turn},
		} {
			d := demold(t, c.s.change(change.f).close(t))
			for h := range d.Halves {
				r := &d.Halves[h]
				name := c.name + ", " + change.name + ", " + r.Name
				assert.Less(t, math.Acos(min(1, change.back(r.Pull).Dot(c.pulls[h]))), 0.001, name)
				assert.Equal(t, c.from[h], r.From, name)
				assert.InDelta(t, c.share[h], r.Share, 0.03, name)
				assert.Empty(t, r.Undercuts, name)
				assert.True(t, r.Sure(), name)
			}
		}
	}
}

// Every way of the sphere lies within 30 deg of one of the 26 that a parting face is
// searched from (the farthest 24.5 deg by a search on a fine grid).
func TestWaysCoverTheSphere(t *testing.T) {
	t.Parallel()
	worst := 1.0
	for i := 0; i <= 90; i++ {
		for j := 0; j < 360; j++ {
			s, c := math.Sincos(float64(i) * math.Pi / 180)
			sa, ca := math.Sincos(float64(j) * math.Pi / 180)
			n := vec(s*ca, s*sa, c)
			best := -1.0
			for k := range 27 {
				if d := vec(float64(k/9-1), float64(k/3%3-1), float64(k%3-1)); k != 13 {
					best = max(best, n.Dot(d.Unit()))
				}
			}
			worst = min(worst, best)
		}
	}
	assert.Greater(t, worst, facingAway)
}

// A vent of 1 mm along the parting plane is a vent up to its mouth, no gap of the parting
// faces where it meets the part.
func TestVentInThePartingPlaneIsNoGap(t *testing.T) {
	t.Parallel()
	groove := []geomtest.Op{
		geomtest.Cut(vec(10, 10, 10), vec(40, 30, 20)),
		geomtest.Cut(vec(23, 18, 0), vec(27, 22, 10)),
		geomtest.Cut(vec(40, 19, 14.5), vec(60, 21, 15.5)),
	}
	half := func(lo, hi geom.Vec) *geom.Mesh {
		return geomtest.Grid(append([]geomtest.Op{geomtest.Add(lo, hi)}, groove...)...)
	}
	m := setup{part: Body{Name: "part", Mesh: geomtest.Box(vec(10, 10, 10), vec(40, 30, 20))}, halves: []Body{
		{Name: "bottom", Mesh: half(vec(0, 0, 0), vec(60, 40, 15))},
		{Name: "top", Mesh: half(vec(0, 0, 15), vec(60, 40, 30))},
	}}.close(t)
	c, err := m.Closing()
	require.NoError(t, err)
	assert.Less(t, c.GapMax, 0.01)
}
