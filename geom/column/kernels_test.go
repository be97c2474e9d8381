package column

import (
	"cmp"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// within is the rule of a scan in whole numbers of any size: the lines of r inside a
// facet's outline, seen with the area above zero; a line on an edge counts to the facet
// at its right, on a level edge to the one above.
func within(sc *scanner, a, b, c *[3]int32, r rect) (lines []int32) {
	at := func(p *[3]int32, axis int) *big.Int { return big.NewInt(int64(p[axis])) }
	cross := func(a, b *[3]int32, u, v int64) *big.Int {
		dx, dy := new(big.Int).Sub(at(b, sc.u), at(a, sc.u)), new(big.Int).Sub(at(b, sc.v), at(a, sc.v))
		px, py := new(big.Int).Sub(big.NewInt(u), at(a, sc.u)), new(big.Int).Sub(big.NewInt(v), at(a, sc.v))
		return dx.Sub(dx.Mul(dx, py), dy.Mul(dy, px))
	}
	area := cross(a, b, int64(c[sc.u]), int64(c[sc.v])).Sign()
	if area == 0 {
		return nil
	}
	if area < 0 {
		b, c = c, b
	}
	owns := func(a, b *[3]int32, u, v int64) bool {
		side := cross(a, b, u, v).Sign()
		return side > 0 || side == 0 && (b[sc.v] < a[sc.v] || b[sc.v] == a[sc.v] && b[sc.u] > a[sc.u])
	}
	for col := r.u0; col < r.u1; col++ {
		for row := r.v0; row < r.v1; row++ {
			u, v := int64(sc.firstU+col)<<sc.bits, int64(sc.firstV+row)<<sc.bits
			if owns(a, b, u, v) && owns(b, c, u, v) && owns(c, a, u, v) {
				lines = append(lines, col*sc.nv+row)
			}
		}
	}
	return lines
}

// One line, a few and many are told by different ways, which find the same lines and
// the same heights, bit by bit; corners lie on lines, near them, or anywhere.
func TestWaysOfScanningAgree(t *testing.T) {
	singles, ties := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		lat := cubeLattice(t, turns(1)[0], 12)
		sc := lat.scanner(rapid.IntRange(0, 2).Draw(t, "axis"))
		size := rapid.SampledFrom([]int32{1, 2, 3, 12}).Draw(t, "size") << lat.Bits
		grain := rapid.SampledFrom([]int32{1 << lat.Bits, 1 << (lat.Bits - 1), 3, 1}).Draw(t, "grain")
		var p [3][3]int32
		for i := range p {
			for axis := range 3 {
				p[i][axis] = 3<<lat.Bits + rapid.Int32Range(0, size/grain).Draw(t, "place")*grain + rapid.Int32Range(-1, 1).Draw(t, "off")*(grain&1)
			}
		}
		cells := make([]cell, 3)
		sc.cellsOf(p[:], cells)
		r := rectOf(cells[0], cells[1], cells[2])
		tag := rapid.Uint32Range(0, 99).Draw(t, "facet")
		found := func(way func(s *scanner)) []crossing {
			s := sc
			way(&s)
			slices.SortFunc(s.hits, func(a, b crossing) int { return cmp.Or(cmp.Compare(a.line, b.line), cmp.Compare(a.key, b.key)) })
			return s.hits
		}
		few := found(func(s *scanner) { s.few(&p[0], &p[1], &p[2], r, tag) })
		var lines []int32
		for _, h := range few {
			lines = append(lines, h.line)
		}
		require.Equal(t, within(&sc, &p[0], &p[1], &p[2], r), lines)
		require.Equal(t, few, found(func(s *scanner) { s.many(&p[1], &p[2], &p[0], r, tag) }), "from another corner")
		var one []crossing
		for col := r.u0; col < r.u1; col++ {
			for row := r.v0; row < r.v1; row++ {
				one = append(one, found(func(s *scanner) { s.single(&p[0], &p[1], &p[2], col, row, tag) })...)
			}
		}
		require.Equal(t, few, one)
		singles += len(one)
		if grain>>(lat.Bits-1) > 0 {
			ties += len(one)
		}
	})
	if !testing.Short() { // which draws a fifth as many
		require.Greater(t, singles, 60)
		require.Greater(t, ties, 40)
	}
}
