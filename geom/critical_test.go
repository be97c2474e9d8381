package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// The sum of indices is the Euler characteristic: 2 for a ball, 0 for a ring, for any
// direction, level faces included; and both add up over shells.
func TestCriticalIndices(t *testing.T) {
	box := geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 2, Z: 3})
	for name, want := range map[string]struct {
		mesh *geom.Mesh
		chi  int
	}{
		"box":         {box, 2},
		"ball":        {geomtest.Icosphere(10, 3), 2},
		"ring":        {geomtest.Torus(20, 7, 40, 24), 0},
		"two":         {geomtest.Join(box, geomtest.Torus(20, 7, 40, 24)), 2},
		"box of void": {geomtest.Join(geomtest.Box(geom.Vec{X: -5, Y: -5, Z: -5}, geom.Vec{X: 9, Y: 9, Z: 9}), box.Reversed()), 4},
	} {
		chi, vertices := want.mesh.EulerCharacteristic()
		assert.Equal(t, want.chi, chi, name)
		mates := want.mesh.Mates()
		for k := range 40 {
			a, z := float64(k)*2.4, math.Sin(float64(k))
			r := math.Sqrt(1 - z*z)
			up := geom.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: z}
			if k == 0 {
				up = geom.Vec{Z: 1}
			}
			sum, fans, ok := want.mesh.CriticalIndices(up, mates)
			require.True(t, ok, name)
			assert.Equal(t, chi, sum, "%s along %v", name, up)
			assert.Equal(t, vertices, fans)
		}
	}
}

func TestCriticalIndicesOfOpenMeshes(t *testing.T) {
	box := geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 2, Z: 3})
	box.Facets = box.Facets[1:]
	_, _, ok := box.CriticalIndices(geom.Vec{Z: 1}, box.Mates())
	assert.False(t, ok, "an open mesh has no such sum")
	// Two boxes that touch in one vertex: a fan for each, and one vertex less.
	pair := geomtest.Join(geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 1, Z: 1}), geomtest.Box(geom.Vec{X: 1, Y: 1, Z: 1}, geom.Vec{X: 2, Y: 2, Z: 2}))
	w := geom.NewWelder(len(pair.Facets))
	for f := range pair.Facets {
		c := pair.Triangle(f)
		w.Add(c.A, c.B, c.C)
	}
	pair = w.Mesh()
	sum, fans, ok := pair.CriticalIndices(geom.Vec{Z: 1}, pair.Mates())
	require.True(t, ok)
	chi, vertices := pair.EulerCharacteristic()
	assert.Equal(t, 4, sum)
	assert.Equal(t, 3, chi)
	assert.Equal(t, vertices+1, fans)
}
