package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// The meshes of the example and of a ring agree with themselves, whichever way is up.
func TestSelfProof(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]setup{"demo": demoSetup(t), "torus": storedSetup(t, "torus"), "sphere": storedSetup(t, "sphere")} {
		m := s.close(t)
		for _, up := range []geom.Vec{upZ, leaning(25)} {
			f, err := m.Pour(up)
			require.NoError(t, err)
			p, err := ProveSelf(m, nil, f)
			require.NoError(t, err)
			require.Len(t, p.Bodies, 1+len(m.Halves))
			assert.True(t, p.Poured)
			assert.InDelta(t, 0, p.Balance, BalanceDoubt, name)
			for i := range p.Bodies {
				b := &p.Bodies[i]
				assert.Empty(t, b.Why, "%s %s", name, b.Name)
				assert.Empty(t, b.VolumeWhy)
				assert.Equal(t, b.Euler, b.Indices, "%s %s", name, b.Name)
				assert.True(t, b.VolumesAgree(), "%s %s: %g against %g, %g", name, b.Name, b.Divergence, b.Columns, b.Error)
				assert.Less(t, b.Error, 0.05*b.Divergence, "and the error says something")
			}
			if name == "torus" {
				assert.Zero(t, p.Bodies[0].Euler)
			}
		}
	}
}

// What cannot be held against each other is said, and a surface that passes through
// itself shows.
func TestSelfProofOfFaultyMeshes(t *testing.T) {
	box := geomtest.Box(xyz(0, 0, 0), xyz(20, 30, 40))
	var b BodyProof
	b.topology(box, box.Mates(), upZ)
	require.NoError(t, b.volumes(box, sumsOf(box), upZ, false))
	assert.True(t, b.Closed && b.VolumesAgree() && b.IndicesAgree())
	assert.Equal(t, 2, b.Indices)

	open := &geom.Mesh{Vertices: box.Vertices, Facets: box.Facets[1:]}
	b = BodyProof{}
	b.topology(open, open.Mates(), upZ)
	require.NoError(t, b.volumes(open, sumsOf(open), upZ, false))
	assert.NotEmpty(t, b.Why)
	assert.NotEmpty(t, b.VolumeWhy)

	twice := geomtest.Join(box, geomtest.Box(xyz(10, 10, 10), xyz(30, 40, 50)))
	b = BodyProof{}
	b.topology(twice, twice.Mates(), upZ)
	require.NoError(t, b.volumes(twice, sumsOf(twice), upZ, true))
	assert.Equal(t, 4, b.Indices)
	assert.Contains(t, b.VolumeWhy, "overlap")
	b = BodyProof{Closed: true} // the same as one shell
	require.NoError(t, b.volumes(twice, sumsOf(twice), upZ, false))
	assert.False(t, b.VolumesAgree(), "%g against %g, %g", b.Divergence, b.Columns, b.Error)
	assert.InDelta(t, 2*24000, b.Divergence, 1e-6)
	assert.InDelta(t, 2*24000-10*20*30, b.Columns, b.Error)

	b.Indices, b.Euler, b.Why = 3, 2, ""
	assert.False(t, b.IndicesAgree())
}

func sumsOf(m *geom.Mesh) *amounts {
	s := amountsOf(m)
	return &s
}
