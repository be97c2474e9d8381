package flood

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"sync"

	"pourproof/geom"
)

// sorting is keys to be sorted, and the memory for it, kept for the next ones.
type sorting struct {
	keys         []uint64
	items, spare []uint64
	out          []int32
}

var sortings = sync.Pool{New: func() any { return new(sorting) }}

// sortingOf returns room for n keys, to be given back.
func sortingOf(n int) *sorting {
	s := sortings.Get().(*sorting)
	s.keys = sized(s.keys, n)
	return s
}

// sized returns s with length n, its contents undefined.
func sized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// order returns the indices of the keys in their order, ties by index: a radix sort. Where
// the bits that the keys differ in and an index do not fit a word it compares. The indices
// last until the sorting is given back.
func (s *sorting) order() []int32 {
	keys, n := s.keys, len(s.keys)
	s.out = sized(s.out, n)
	out := s.out
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
	s.items, s.spare = sized(s.items, n), sized(s.spare, n)
	for i, k := range keys {
		s.items[i] = (k-low)<<index | uint64(i) // the key over the index
	}
	for i, it := range geom.RadixSortIn(s.items, s.spare, index) {
		out[i] = int32(it & (1<<index - 1))
	}
	return out
}
