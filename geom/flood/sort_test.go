package flood

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestOrder: keys of any width come in the order that comparing them gives, ties by index.
func TestOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		base, width := rng.Uint64(), rng.IntN(65)
		s := sortingOf(rng.IntN(200))
		keys := s.keys
		for i := range keys {
			keys[i] = base ^ rng.Uint64()>>min(64-width, 63)
			if width == 0 {
				keys[i] = base
			}
		}
		want := make([]int32, len(keys))
		for i := range want {
			want[i] = int32(i)
		}
		slices.SortStableFunc(want, func(a, b int32) int { return cmp.Compare(keys[a], keys[b]) })
		require.Equal(t, want, slices.Clone(s.order()), "%d keys of %d bits", len(keys), width)
		sortings.Put(s)
	}
}
