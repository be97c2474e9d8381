package geom

import "math/bits"

// RadixSort returns keys sorted by their bits from number shift on, equal ones in their
// order; keys is used up. It goes from the least digit up over the bits that the keys
// differ in, up to 13 at a time (32 KB of counts). Cost: some 3 ns a key and digit.
func RadixSort(keys []uint64, shift int) []uint64 {
	return RadixSortIn(keys, make([]uint64, len(keys)), shift)
}

// RadixSortIn is RadixSort with memory for as many keys, which it may return.
func RadixSortIn(keys, spare []uint64, shift int) []uint64 {
	if len(keys) == 0 {
		return keys
	}
	low, high := keys[0], keys[0]
	for _, k := range keys {
		low, high = min(low, k), max(high, k)
	}
	low = low >> shift << shift
	const most = 13
	var start [1 << most]int32
	spare = spare[:len(keys)]
	width := bits.Len64((high - low) >> shift)
	for passes := (width + most - 1) / most; passes > 0; passes-- {
		size := (width + passes - 1) / passes
		mask := uint64(1)<<size - 1
		clear(start[:mask+1])
		for _, k := range keys {
			start[(k-low)>>(shift&63)&mask&(1<<most-1)]++
		}
		at := int32(0)
		for d, n := range start[:mask+1] {
			start[d], at = at, at+n
		}
		for _, k := range keys {
			p := &start[(k-low)>>(shift&63)&mask&(1<<most-1)]
			spare[*p] = k
			*p++
		}
		keys, spare = spare, keys
		shift, width = shift+size, width-size
	}
	return keys
}
