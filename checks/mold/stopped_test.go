package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// A gate of 4 mm that ends 0.5 mm and one of 3 mm that ends 4 mm before the cavity, beside
// a vent that is carried through, a pit that runs past the part, one too shallow, one too
// wide, and one whose rubber is as thick as anywhere.
func TestStoppedBores(t *testing.T) {
	t.Parallel()
	s := b0Blocks().setup() // part from 10,10,10 to 50,30,20 in a block of 60 x 40 x 30
	cut := func(m *geom.Mesh, half string) *geom.Mesh {
		ops := []geomtest.Op{geomtest.Add(vec(0, 0, 15), vec(60, 40, 30)), geomtest.Cut(vec(10, 10, 10), vec(50, 30, 20)), geomtest.Cut(vec(29, 19, 20), vec(31, 21, 30))}
		if half == "top" {
			ops = append(ops,
				geomtest.Cut(vec(13, 13, 20.5), vec(17, 17, 30)), // 0.5 mm left
				geomtest.Cut(vec(40, 20, 24), vec(43, 23, 30)),   // 4 mm left
				geomtest.Cut(vec(4, 20, 17), vec(7, 23, 30)),     // past the part
				geomtest.Cut(vec(20, 13, 29.2), vec(23, 16, 30)), // a dimple
				geomtest.Cut(vec(33, 11, 25), vec(48, 18, 30)),   // wide
				geomtest.Cut(vec(22, 24, 27), vec(25, 27, 30)),   // 7 mm left
			)
			return geomtest.Grid(ops...)
		}
		return m
	}
	for i := range s.halves {
		s.halves[i].Mesh = cut(s.halves[i].Mesh, s.halves[i].Name)
	}
	for _, change := range []struct {
		name string
		f    func(*geom.Mesh) *geom.Mesh
	}{
		{"as drawn", func(m *geom.Mesh) *geom.Mesh { return m }},
		{"shuffled", func(m *geom.Mesh) *geom.Mesh { return geomtest.ShuffleFacets(geomtest.Subdivide(m, 2), 3) }},
	} {
		m := s.change(change.f).close(t)
		require.Len(t, m.Stopped, 2, change.name)
		a, b := m.Stopped[0], m.Stopped[1]
		assert.Equal(t, "top", a.Half)
		assert.InDelta(t, 0.5, a.Left, 1e-6, change.name)
		assert.InDelta(t, 4, a.Width, 1e-3, change.name)
		assert.InDelta(t, 0, a.End.Dist(vec(15, 15, 20.5)), 1e-6, change.name)
		assert.InDelta(t, 0, a.Ahead.Dist(vec(15, 15, 20)), 1e-6, change.name)
		assert.InDelta(t, 4, b.Left, 1e-6, change.name)
		assert.InDelta(t, 3, b.Width, 1e-3, change.name)
		assert.InDelta(t, 0, b.End.Dist(vec(41.5, 21.5, 24)), 1e-6, change.name)
	}
}

// A slanted bore of 3 mm that ends in a drill's point of 118 deg, 1 mm before a ball.
func TestStoppedBoreWithAPoint(t *testing.T) {
	t.Parallel()
	const n = 48
	p := func(r, z float64) geomtest.Point { return geomtest.Point{X: r, Y: z} }
	tip := 1.5 / math.Tan(59*math.Pi/180)
	ball := geomtest.Sphere(12, 96, 48)
	top := geomtest.Revolve([]geomtest.Point{p(12, 0), p(30, 0), p(30, 30), p(1.5, 30), p(1.5, 13+tip), p(0, 13), p(0, 12.02), p(6, 10.45), p(10.45, 6)}, n)
	bottom := geomtest.Revolve([]geomtest.Point{p(2, -30), p(30, -30), p(30, 0), p(12, 0), p(10.45, -6), p(6, -10.45), p(2, -11.85)}, n)
	m := setup{part: Body{Name: "part", Mesh: ball}, halves: []Body{{Name: "bottom", Mesh: bottom}, {Name: "top", Mesh: top}}}.close(t)
	require.Len(t, m.Stopped, 1)
	s := m.Stopped[0]
	assert.Equal(t, "top", s.Half)
	assert.InDelta(t, 1, s.Left, 0.02)
	assert.InDelta(t, 0, math.Hypot(s.End.X, s.End.Y), 1e-6)
	assert.Greater(t, s.Width, 1.0)
	assert.Less(t, s.Width, 3.1)
}

// The molds that are right have none.
func TestNoStoppedBore(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"b0", "keys", "dome-cup", "utube", "blind03"} {
		assert.Empty(t, storedSetup(t, name).close(t).Stopped, name)
	}
	assert.Empty(t, demoSetup(t).close(t).Stopped)
}
