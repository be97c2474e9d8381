package measure

import (
	"testing"

	"pgregory.net/rapid"
)

// A table of edges says what a map of them does.
func TestEdgeTableLikeMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var table edgeTable
		for range rapid.IntRange(1, 3).Draw(t, "rounds") {
			table.empty()
			want := map[uint64]int32{}
			most := rapid.SampledFrom([]int32{3, 40, 1 << 30}).Draw(t, "most")
			for range rapid.IntRange(0, 2000).Draw(t, "edges") {
				key := edgeKey(rapid.Int32Range(0, most).Draw(t, "a"), rapid.Int32Range(0, most).Draw(t, "b"))
				n, known := want[key]
				if !known {
					n = -1
				}
				if got := table.find(key); got != n {
					t.Fatalf("%x: %d, not %d", key, got, n)
				}
				if added := table.add(key); added == known {
					t.Fatalf("%x: added %v", key, added)
				}
				if !known {
					want[key] = int32(len(want))
				}
			}
		}
	})
}
