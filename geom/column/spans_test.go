package column

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// quantum is one quantum in pitches, the unit of onNodes.
const quantum = 1.0 / (1 << mainBits)

// slab is a block of 4 x 4 pitches between two heights in pitches.
func slab(lo, hi float64) *geom.Mesh {
	return geomtest.Box(vec(1, 1, lo), vec(5, 5, hi))
}

// upward returns the stretches of every line of axis 2 that meets material, all the
// same, in pitches above node 2.
func upward(t *testing.T, bodies, cuts []*geom.Mesh) [][2]float64 {
	lat := cubeLattice(t, geom.Identity(), 8)
	place := func(in []*geom.Mesh) (out []*geom.Mesh) {
		for _, m := range in {
			out = append(out, onNodes(&lat, m))
		}
		return out
	}
	l := Snap(lat, place(bodies), place(cuts)).Cast(2)
	require.Zero(t, l.Odd)
	var all [][2]float64
	lines := 0
	for line := 0; line+1 < len(l.Start); line++ {
		var one [][2]float64
		for k := l.Start[line]; k < l.Start[line+1]; k++ {
			one = append(one, [2]float64{float64(l.Lo[k]-lat.At(2, 2)) * quantum, float64(l.Hi[k]-lat.At(2, 2)) * quantum})
		}
		if one == nil {
			continue
		}
		if all != nil {
			require.Equal(t, all, one)
		}
		all = one
		lines++
	}
	assert.Contains(t, []int{0, 16}, lines, "4 x 4 lines")
	return all
}

func TestThinStretches(t *testing.T) {
	one := func(m ...*geom.Mesh) []*geom.Mesh { return m }
	assert.Empty(t, upward(t, one(slab(2, 2+quantum)), nil), "one quantum is rounding")
	assert.Equal(t, [][2]float64{{2, 2 + 2*quantum}}, upward(t, one(slab(2, 2+2*quantum)), nil), "two are shape")
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(slab(2, 3), slab(3, 5)), nil), "touching")
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(slab(2, 3), slab(3+quantum, 5)), nil), "one quantum apart")
	assert.Equal(t, [][2]float64{{2, 3}, {3 + 2*quantum, 5}}, upward(t, one(slab(2, 3), slab(3+2*quantum, 5)), nil))
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(slab(2, 4), slab(3, 5)), nil), "overlapping bodies")
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(geomtest.Join(slab(2, 4), slab(3, 5))), nil), "overlapping shells")
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(geomtest.Join(slab(2, 5), slab(3, 4))), nil), "nested outward shell")
	assert.Equal(t, [][2]float64{{2, 3}, {4, 5}}, upward(t, one(geomtest.Join(slab(2, 5), slab(3, 4).Reversed())), nil), "void")
	assert.Equal(t, [][2]float64{{2, 5}}, upward(t, one(geomtest.Join(slab(2, 5), slab(3, 4).Reversed()), slab(3, 4)), nil), "void filled by another body")
	assert.Empty(t, upward(t, one(slab(2, 4).Reversed()), nil), "an inward shell alone holds nothing")
	assert.Equal(t, [][2]float64{{2, 3}}, upward(t, one(slab(2, 4)), one(slab(3, 5))), "cut")
	assert.Empty(t, upward(t, one(slab(2, 4)), one(slab(2, 4))), "cut away whole")
	assert.Empty(t, upward(t, one(slab(2, 4)), one(slab(2+quantum, 4))), "cut down to one quantum")
	assert.Equal(t, [][2]float64{{2, 3}, {4, 5}}, upward(t, one(slab(2, 4), slab(3, 5)), one(slab(3, 4))), "a cut goes through every body")
}

func TestOpenBodyIsCountedAndHoldsNothing(t *testing.T) {
	lat := cubeLattice(t, geom.Identity(), 8)
	m := slab(2, 4)
	lid := &geom.Mesh{Vertices: m.Vertices}
	for f, tri := range m.Facets {
		if m.Triangle(f).Normal().Z < 0.5 {
			lid.Facets = append(lid.Facets, tri)
		}
	}
	require.Len(t, lid.Facets, 10)
	l := Snap(lat, []*geom.Mesh{onNodes(&lat, lid)}, nil).Cast(2)
	assert.Equal(t, 16, l.Odd)
	assert.Empty(t, l.Lo)

	// Under it a closed body that ends one quantum below stays.
	l = Snap(lat, []*geom.Mesh{onNodes(&lat, lid), onNodes(&lat, slab(1, 2-quantum))}, nil).Cast(2)
	assert.Equal(t, 16, l.Odd)
	require.Len(t, l.Lo, 16)
	assert.Equal(t, lat.At(2, 3), l.Lo[0])
	assert.Equal(t, lat.At(2, 4)-1, l.Hi[0])

	// Seen from the side the hole does no harm.
	l = Snap(lat, []*geom.Mesh{onNodes(&lat, lid)}, nil).Cast(0)
	assert.Zero(t, l.Odd)
	assert.Len(t, l.Lo, 8)
}

func TestEachVisitsBothEnds(t *testing.T) {
	m := geomtest.Box(vec(-1, -2, -3), vec(3, 2, 1))
	for axis := range 3 {
		lat := latticeOver(t, geom.Identity(), 0.3, m)
		l := Snap(lat, []*geom.Mesh{m}, nil).Cast(axis)
		n := 0
		l.Each(&lat, func(p geom.Vec, _ int32, leaving bool) {
			want, at := [3]float64{-1, -2, -3}[axis], [3]float64{p.X, p.Y, p.Z}[axis]
			if leaving {
				want += 4
			}
			require.InDelta(t, want, at, lat.Q)
			require.True(t, m.Box().Grow(lat.Q).Contains(p))
			n++
		})
		require.Equal(t, 2*len(l.Lo), n)
		require.NotZero(t, n)
	}
}

// Every line's crossings come in order, by whichever way their number is sorted.
func TestOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 0))
	for n := 1; n < 70; n++ {
		for range 60 {
			c := make([]uint64, n)
			for i := range c {
				c[i] = r.Uint64N(uint64(n)) << r.UintN(60)
			}
			want := slices.Sorted(slices.Values(c))
			order(c)
			require.Equal(t, want, c, "%d crossings", n)
		}
	}
}
