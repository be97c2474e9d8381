package bvh

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// A joined tree answers to the last bit what a tree built over the whole mesh does.
func TestJoinAnswersAsBuild(t *testing.T) {
	bodies := []*geom.Mesh{
		geomtest.Sphere(5, 24, 12),
		{},
		geomtest.Box(geom.Vec{X: 4, Y: -3, Z: -3}, geom.Vec{X: 10, Y: 3, Z: 3}), // passes through the ball
		{Vertices: []geom.Vec{{X: 20}, {X: 21}, {Y: 21}}, Facets: [][3]int32{{0, 1, 2}}},
		geomtest.Torus(8, 2, 40, 12),
	}
	for n := range len(bodies) + 1 {
		whole := &geom.Mesh{}
		var trees []*Tree
		for _, m := range bodies[:n] {
			whole.Append(m)
			trees = append(trees, Build(m))
		}
		if n%2 == 1 {
			trees = BuildAll(bodies[:n]...)
		}
		got, want := Join(whole, trees...), Build(whole)
		require.NoError(t, got.Audit())
		if n%2 == 1 {
			assert.Same(t, &trees[0].corner[0], &got.corner[0], "without a copy")
		}
		assert.Equal(t, want.reach, got.reach)
		assert.Same(t, whole, got.Mesh())
		r := rand.New(rand.NewPCG(uint64(n), 1))
		place := func() geom.Vec {
			return geom.Vec{X: 30*r.Float64() - 12, Y: 24*r.Float64() - 12, Z: 12*r.Float64() - 6}
		}
		for range 400 {
			p, q := place(), place()
			g, gok := got.Nearest(p, 9)
			w, wok := want.Nearest(p, 9)
			require.Equal(t, wok, gok)
			require.Equal(t, w, g)
			d := q.Sub(p)
			require.Equal(t, want.All(p, d.Unit(), d.Norm(), nil), got.All(p, d.Unit(), d.Norm(), nil))
			require.Equal(t, want.Blocked(p, q), got.Blocked(p, q))
		}
	}
}

// What cannot be joined is built.
func TestJoinOfOthers(t *testing.T) {
	box := geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 1, Z: 1})
	two := geomtest.Join(box, box)
	tree := Join(two, Build(box)) // facets are missing
	require.NoError(t, tree.Audit())
	pair := Join(two, Build(box), Build(box))
	four := Join(geomtest.Join(two, two), pair, pair)
	require.NoError(t, four.Audit())
	assert.False(t, four.joined, "trees of trees would grow deep")
	var many []*Tree
	whole := &geom.Mesh{}
	for range mostJoined + 1 {
		whole.Append(box)
		many = append(many, Build(box))
	}
	require.NoError(t, Join(whole, many...).Audit())
	require.NoError(t, Join(whole, many[:3]...).Audit())
}
