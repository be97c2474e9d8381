package mold

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
	"pourproof/geom/geomtest"
)

// A stand-in is closed, has a fraction of the facets, corners of the mesh alone, and no
// place of the surface lies farther from it than a tenth of a pitch.
func TestStandInLiesOnTheSurface(t *testing.T) {
	const h = 0.5
	for name, c := range map[string]struct {
		mesh *geom.Mesh
		most float64 // share of the facets
	}{
		"ball":     {geomtest.Sphere(20, 300, 150), 0.15},
		"ring":     {geomtest.Torus(12, 3, 400, 150), 0.45},
		"box":      {geomtest.Subdivide(geomtest.Box(geom.Vec{}, geom.Vec{X: 30, Y: 20, Z: 10}), 6), 0.2},
		"cylinder": {geomtest.Subdivide(geomtest.Cylinder(2, 12, 72), 4), 0.6},
		"few":      {geomtest.Sphere(20, 60, 30), 1},
	} {
		s := standIn(c.mesh, h)
		assert.LessOrEqual(t, float64(len(s.Facets)), c.most*float64(len(c.mesh.Facets)), name)
		assert.True(t, geom.Inspect(s).Closed(), name)
		assert.InEpsilon(t, c.mesh.Volume(), s.Volume(), 0.003, name)
		corners := make(map[geom.Vec]bool, len(c.mesh.Vertices))
		for _, v := range c.mesh.Vertices {
			corners[v] = true
		}
		for _, v := range s.Vertices {
			require.True(t, corners[v], "%s: %v is no corner", name, v)
		}
		tree, worst := bvh.Build(s), 0.0
		for f := 0; f < len(c.mesh.Facets); f += 7 {
			near, _ := tree.Nearest(c.mesh.Triangle(f).Centroid(), math.Inf(1))
			worst = max(worst, near.Dist)
		}
		assert.LessOrEqual(t, worst, h/10, name)
	}
}

// Walls far thinner than a cell keep both their sides, and stay shut.
func TestStandInKeepsThinWalls(t *testing.T) {
	outer, inner := geomtest.Sphere(12, 300, 150), geomtest.Sphere(11.9, 300, 150)
	for f, c := range inner.Facets {
		inner.Facets[f] = [3]int32{c[0], c[2], c[1]}
	}
	shell := geomtest.Join(outer, inner)
	s := standIn(shell, 0.5)
	assert.Less(t, len(s.Facets), len(shell.Facets))
	assert.True(t, geom.Inspect(s).Closed())
	lat, err := column.NewLattice(geom.Identity(), s.Box(), 0.5)
	require.NoError(t, err)
	for c, spans := range partSpans(column.Snap(lat, []*geom.Mesh{s}, nil)) {
		p := lat.Point(lat.At(0, c/lat.N[1]), lat.At(1, c%lat.N[1]), 0)
		if r := math.Hypot(p.X, p.Y); r < 11 {
			require.Len(t, spans, 2, "wall above and below at %v", p)
		}
	}
}

// The order of facets and vertices changes nothing.
func TestStandInOfShuffledFacets(t *testing.T) {
	m := geomtest.Torus(12, 3, 300, 100)
	want := sortedCorners(standIn(m, 0.5))
	require.Less(t, len(want), len(m.Vertices))
	for seed := uint64(1); seed < 3; seed++ {
		other := geomtest.ShuffleFacets(m, seed)
		n := int32(len(other.Vertices))
		slices.Reverse(other.Vertices)
		for f := range other.Facets {
			for k := range other.Facets[f] {
				other.Facets[f][k] = n - 1 - other.Facets[f][k]
			}
		}
		assert.Equal(t, want, sortedCorners(standIn(other, 0.5)))
	}
}

func sortedCorners(m *geom.Mesh) []geom.Vec {
	out := slices.Clone(m.Vertices)
	slices.SortFunc(out, compareVec)
	return out
}

// A mold of flat faces cut into many facets traps at every tilt of a search what the
// same mold traps with few; at the mold's own cell the meshes themselves are cast.
func TestSearchOfManyFacets(t *testing.T) {
	part, halves := loadCase(t, "b0")
	job := NewJob()
	job.Cell = 0.5
	few, err := Close(*job, part, halves)
	require.NoError(t, err)
	part.Mesh = geomtest.Subdivide(part.Mesh, 6)
	for i := range halves {
		halves[i].Mesh = geomtest.Subdivide(halves[i].Mesh, 5)
		require.Greater(t, len(halves[i].Mesh.Facets), mostDrawn)
	}
	many, err := Close(*job, part, halves)
	require.NoError(t, err)
	cast, _ := many.castAt(2 * many.Cell)
	again, _ := many.castAt(2 * many.Cell)
	own, _ := many.castAt(many.Cell)
	for i := range cast {
		assert.Less(t, len(cast[i].Facets), len(halves[i].Mesh.Facets)/4)
		assert.Same(t, cast[i], again[i])
		assert.Same(t, halves[i].Mesh, own[i])
	}
	for _, tilt := range []Tilt{{}, *deg(10, 0), *deg(25, 140), *deg(60, 300)} {
		want, err := few.trial(tilt, 1, 1)
		require.NoError(t, err)
		got, err := many.trial(tilt, 1, 1)
		require.NoError(t, err)
		assert.InDelta(t, want.Trapped, got.Trapped, 1e-3*want.Trapped+0.01, "%v", tilt)
		assert.Equal(t, want.Pockets, got.Pockets)
		assert.InDelta(t, want.Level, got.Level, 1)
	}
}
