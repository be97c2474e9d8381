package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// The cradle is one closed body that overlaps nothing of the block, holds its lower face
// to within a millimetre, leaves the gate free and stands with the middle of mass well
// inside its foot; turned with the mold it turns along.
func TestCradle(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]setup{"demo": demoSetup(t), "b0": storedSetup(t, "b0")} {
		m := s.close(t)
		for _, up := range []geom.Vec{tilted(15, 0), tilted(30, 130)} {
			f, err := m.Pour(up)
			require.NoError(t, err)
			c := NewCradle(m, f)
			require.NotNil(t, c)
			for _, e := range c.Mesh.Mates() {
				require.GreaterOrEqual(t, e, int32(0), "%s: closed, every edge with two facets", name)
			}
			assert.Positive(t, c.Mesh.Volume())
			assert.Len(t, geom.Inspect(c.Mesh).Shells, 1, "%s: in one piece", name)
			assert.InDelta(t, c.Volume, c.Mesh.Volume(), 1e-6*c.Volume)
			assert.Greater(t, c.Margin, 10.0, "%s stands", name)
			held := 0
			for i := range m.Halves {
				tree := bvh.Build(m.Halves[i].Mesh)
				for _, v := range c.Mesh.Vertices {
					hits := tree.All(v, geom.Vec{X: 0.48, Y: 0.6, Z: 0.64}, 1000, nil)
					assert.Zero(t, len(hits)%2, "%s: %v lies in the block", name, v)
					if h, ok := tree.Nearest(v, 1.2); ok && h.Dist < 1.2 {
						held++
					}
				}
			}
			assert.Greater(t, held, 200, "%s touches the block, but for its play", name)
			for i := range f.Ports {
				p := &f.Ports[i]
				if p.Role == Gate && p.Exit != nil && p.ExitAxis.Dot(up) < 0.5 {
					way := bvh.Build(c.Mesh)
					h, ok := way.Nearest(p.Exit.AddScaled(p.ExitAxis, 5), 50)
					assert.False(t, ok && h.Dist < 5, "%s: the gate is free", name)
				}
			}
		}
		f, err := m.Pour(m.Rest)
		require.NoError(t, err)
		assert.Nil(t, NewCradle(m, f), "a level block needs none")
	}
}

func TestHullAndDistance(t *testing.T) {
	box := geomtest.Box(xyz(0, 0, 0), xyz(4, 2, 7))
	h := geom.HullAbove(append(box.Vertices, xyz(1, 1, 1), xyz(2, 0, 3)))
	require.Len(t, h, 4)
	assert.InDelta(t, -1, newOutline(h).distance(xyz(1, 1, 0)), 1e-12)
	assert.InDelta(t, 3, newOutline(h).distance(xyz(7, 1, 0)), 1e-12)
	assert.InDelta(t, math.Sqrt2, newOutline(h).distance(xyz(5, 3, 0)), 1e-12)
	assert.InDelta(t, 0, sumsOf(box).centroid().Dist(xyz(2, 1, 3.5)), 1e-12)
}

// The lowest place along any slope is that of a plain look at all points.
func TestCradleBlocks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Float64Range(-50, 50)
		var points []geom.Vec
		for range rapid.IntRange(1, 400).Draw(t, "points") {
			points = append(points, xyz(coord.Draw(t, "x"), coord.Draw(t, "y"), coord.Draw(t, "z")))
		}
		rise := rapid.Float64Range(-6, 6)
		a, b := rise.Draw(t, "a"), rise.Draw(t, "b")
		want := math.Inf(1)
		for _, p := range points {
			want = min(want, p.Z-float64(a*p.X)-float64(b*p.Y))
		}
		blocks := newPointBlocks(points, (&geom.Mesh{Vertices: points}).Box())
		if got := blocks.lowest(a, b); got != want {
			t.Fatalf("%v, not %v", got, want)
		}
	})
}

// plainDistance looks at every side.
func plainDistance(polygon []geom.Vec, p geom.Vec) float64 {
	near, inside := math.Inf(1), true
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		near = min(near, geom.ClosestOnSegment(p, a, b).Dist(p))
		inside = inside && b.Sub(a).Cross(p.Sub(a)).Z >= 0
	}
	if inside {
		return -near
	}
	return near
}

// Of an outline of many short sides and a few long ones, near its corners too.
func TestOutlineLikePlain(t *testing.T) {
	var corners []geom.Vec
	for i := range 400 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 700)
		corners = append(corners, xyz(40*c, 30*s, 0))
	}
	o := newOutline(geom.HullAbove(corners))
	require.Greater(t, len(o.boxes), 10)
	rapid.Check(t, func(t *rapid.T) {
		p := xyz(rapid.Float64Range(-80, 80).Draw(t, "x"), rapid.Float64Range(-60, 60).Draw(t, "y"), 0)
		if rapid.Bool().Draw(t, "near") {
			p = corners[rapid.IntRange(0, len(corners)-1).Draw(t, "corner")].AddScaled(p, 1e-3)
		}
		if got, want := o.distance(p), plainDistance(o.corners, p); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%v, not %v", got, want)
		}
	})
}
