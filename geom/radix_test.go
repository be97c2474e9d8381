package geom

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestRadixSort: it is a stable sort by the bits from shift on.
func TestRadixSort(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, shift := range []int{0, 5, 17, 32, 63} {
		for _, span := range []uint64{1, 2, 100, 1 << 11, 1 << 20, 1 << 32, 1 << 62} {
			for _, n := range []int{0, 1, 2, 1000} {
				keys := make([]uint64, n)
				for i := range keys {
					keys[i] = (1<<62 - span/2 + r.Uint64N(span)) << shift
					keys[i] |= r.Uint64N(1 << shift)
				}
				want := slices.Clone(keys)
				slices.SortStableFunc(want, func(a, b uint64) int { return cmp.Compare(a>>shift, b>>shift) })
				assert.Equal(t, want, RadixSort(keys, shift), "%d keys in %d from bit %d", n, span, shift)
			}
		}
	}
}
