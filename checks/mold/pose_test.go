package mold

import (
	"fmt"
	"math"
	"testing"
	"time"

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
	s, err := newRubber(m, o.Printer.Relief).pose(upZ, o)
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
		assert.Len(t, has, len(d))
		for _, v := range d { // every mirror image is there
			for _, m := range []geom.Vec{xyz(-v.X, v.Y, v.Z), xyz(v.X, -v.Y, v.Z), xyz(v.X, v.Y, -v.Z), xyz(v.Y, v.X, v.Z)} {
				assert.True(t, has[geom.Vec{X: m.X + 0, Y: m.Y + 0, Z: m.Z + 0}], "%v", m)
			}
		}
		for _, a := range []geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
			if n >= 6 {
				assert.True(t, has[a])
			}
		}
	}
}

// A plain cup: its opening toward the film is never among the best.
func TestPoseOfACup(t *testing.T) {
	s := posed(t, roundCup(15, 2, 2, 20, 48), PoseOptions{})
	best := 0
	for _, p := range s.Points {
		if p.Best {
			best++
			// From the tilt on at which less than a fifth of the cup stays closed.
			assert.Less(t, p.Build.Z, math.Cos(60*math.Pi/180), "%+v", p)
			assert.Less(t, p.CupArea, 100.0)
		}
		assert.GreaterOrEqual(t, p.CupArea, 0.0)
	}
	assert.Positive(t, best)
	assert.InDelta(t, math.Pi*225, s.Now.CupArea, 0.02*math.Pi*225, "as it stands now")
	assert.False(t, s.Now.Best)
}

func TestPPPose(t *testing.T) {
	for _, name := range []string{"b0", "sphere", "keys", "bunny"} {
		part, halves := loadCase(t, name)
		m, err := Close(*NewJob(), part, halves)
		require.NoError(t, err)
		for h := range halves {
			t0 := time.Now()
			s, err := m.Pose(h, PoseOptions{})
			require.NoError(t, err)
			n := 0
			for _, p := range s.Points {
				if !p.Assumed {
					n++
				}
			}
			fmt.Printf("%s %d: %d points %d cast cell %.2f %v facets %d now %+v\n", name, h, len(s.Points), n, s.Cell, time.Since(t0), len(halves[h].Mesh.Facets), s.Now)
			for i, p := range s.Points {
				if i < 4 {
					fmt.Printf("   %.3f b %.2f %+v\n", p.Build, p.Burden(), p)
				}
			}
		}
	}
}

var _ = geomtest.Box
