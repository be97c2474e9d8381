package measure

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Every place of a split facet lies in the piece that is found there: its distance from
// the piece is rounding, whichever way the facet is turned.
func TestPieceHoldsItsPoint(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		share := rapid.Float64Range(0, 1)
		given := geomtest.Grid(geomtest.Blocks(rapid.Uint64Range(1, 500).Draw(r, "seed"))...)
		turn := geom.FrameFor(geom.Vec{X: share.Draw(r, "x") - 0.5, Y: share.Draw(r, "y") - 0.5, Z: 0.7}.Unit())
		given = given.Map(turn.Turn)
		fine, parent := refine(given, rapid.Float64Range(0.3, 2).Draw(r, "edge"))
		p := newPieces(given, fine, parent)
		if len(fine.Facets) > len(given.Facets) {
			require.Len(r, p.whole, len(given.Facets))
		}
		for range 60 {
			f := rapid.IntRange(0, len(given.Facets)-1).Draw(r, "facet")
			tri := given.Triangle(f)
			u, v := share.Draw(r, "u"), share.Draw(r, "v")
			if u+v > 1 {
				u, v = 1-u, 1-v
			}
			q := tri.A.AddScaled(tri.B.Sub(tri.A), u).AddScaled(tri.C.Sub(tri.A), v)
			k := p.at(int32(f), q)
			assert.EqualValues(r, f, parent[k])
			assert.Less(r, fine.Triangle(int(k)).Closest(q).Dist(q), 1e-9)
		}
	})
}

// A facet without area has pieces too, and a point of it one of them.
func TestPieceOfAnEmptyFacet(t *testing.T) {
	m := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 4}, {X: 9}}, Facets: [][3]int32{{0, 1, 2}}}
	fine, parent := refine(m, 1)
	require.Greater(t, len(parent), 3)
	k := newPieces(m, fine, parent).at(0, geom.Vec{X: 5})
	assert.Less(t, k, int32(len(parent)))
	assert.GreaterOrEqual(t, k, int32(0))
}
