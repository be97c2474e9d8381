package column

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// TestCutAsFromTheStart: cut by bores one after the other, each across gaps that are
// sealed, the space is the same as when all of it is built with the cuts, and columns
// outside the range that is told are as they were.
func TestCutAsFromTheStart(t *testing.T) {
	const h = 0.2
	for i, frame := range turns(3) {
		for _, gap := range []float64{0, 0.05, 0.115, 0.3} {
			halves := append(placed(back(frame), parted(gap)), moved(geomtest.Torus(5, 2, 40, 16), vec(16, 2, 0)))
			lat := latticeOver(t, geom.Identity(), h, halves...)
			sp := NewSpace(Snap(lat, halves, nil), sealWidth, nil)
			var cuts []*geom.Mesh
			changed := 0
			var lo, hi [2]int
			for n, bore := range []*geom.Mesh{
				moved(geomtest.Cylinder(0.3, 1.3, 24), vec(-1.5, 0, 0.4)), // from a room to the outside
				moved(geomtest.Cylinder(0.2, 4, 24), vec(0, 0.4, -2)),     // through the land between the rooms
				moved(geomtest.Cylinder(0.25, 1, 24), vec(3, 1.7, -0.5)),  // blind, over the outer edge of the gap
			} {
				turn := geomtest.RandomTurn(uint64(7*i + n))
				turn.T = geom.Vec{}
				one := geomtest.Transform(geomtest.Transform(bore, turn), back(frame))
				cuts = append(cuts, one)
				var after *Space
				after, lo, hi = sp.Cut(cuts[n:], sealWidth, nil)
				want := NewSpace(Snap(lat, halves, cuts), sealWidth, nil)
				msg := fmt.Sprintf("frame %d, gap %v, cut %d", i, gap, n)
				require.Equal(t, want.Start, after.Start, msg)
				require.Equal(t, want.Lo, after.Lo, msg)
				require.Equal(t, want.Hi, after.Hi, msg)
				require.Equal(t, want.LoFacet, after.LoFacet, msg)
				require.Equal(t, want.HiFacet, after.HiFacet, msg)
				require.Equal(t, want.blocked, after.blocked, msg)
				for f := range want.Solids.base[len(want.Solids.bodies)] {
					require.Equal(t, want.Solids.Normal(f), after.Solids.Normal(f), msg)
				}
				for c := range len(sp.Start) - 1 {
					x, y := c/sp.N[1], c%sp.N[1]
					if same := after.SameColumn(sp, c); !same {
						changed++
						assert.True(t, x >= lo[0] && x <= hi[0] && y >= lo[1] && y <= hi[1], msg)
					}
				}
				sp = after
			}
			assert.Positive(t, changed)
			assert.Less(t, hi[0], sp.N[0]-1, "a part of the lattice alone is looked at")
		}
	}
}

// Solids with more added are those snapped together.
func TestSolidsWithMore(t *testing.T) {
	a, b, c, d := geomtest.Sphere(3, 24, 12), geomtest.Sphere(2, 12, 6), geomtest.Sphere(1, 12, 6), geomtest.Sphere(1.5, 9, 6)
	l, err := NewLattice(geom.Identity(), a.Box(), 0.4)
	require.NoError(t, err)
	got := Snap(l, []*geom.Mesh{a}, []*geom.Mesh{c}).With([]*geom.Mesh{b}, []*geom.Mesh{d})
	assert.Equal(t, Snap(l, []*geom.Mesh{a, b}, []*geom.Mesh{c, d}), got)
}
