package flood

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"pourproof/geom"
)

// order returns the indices of keys in their order, ties by index: a radix sort. Where
// the bits that the keys differ in and an index do not fit a word it compares.
func order(keys []uint64) []int32 {
	n := len(keys)
	out := make([]int32, n)
	low, high := uint64(math.MaxUint64), uint64(0)
	for _, k := range keys {
		low, high = min(low, k), max(high, k)
	}
	index := bits.Len(uint(n))
	width := 0
	if n > 0 {
		width = bits.Len64(high - low)
	}
	if width+index > 64 {
		for i := range out {
			out[i] = int32(i)
		}
		slices.SortFunc(out, func(a, b int32) int { return cmp.Or(cmp.Compare(keys[a], keys[b]), cmp.Compare(a, b)) })
		return out
	}
	items := make([]uint64, n) // the key over the index
	for i, k := range keys {
		items[i] = (k-low)<<index | uint64(i)
	}
	for i, it := range geom.RadixSort(items, index) {
		out[i] = int32(it & (1<<index - 1))
	}
	return out
}
