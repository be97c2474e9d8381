package measure

// edgeTable numbers edges in the order in which they are added: open addressing (Knuth,
// The Art of Computer Programming, 6.4), at most half full.
type edgeTable struct {
	keys  []uint64 // of the edges
	slots []int32  // 1 + the edge's number by hash, 0 = free
	shift uint     // 64 - log2(len(slots))
}

const leastEdgeBits = 10

// empty takes all edges out and keeps the room.
func (e *edgeTable) empty() {
	e.keys = e.keys[:0]
	clear(e.slots)
}

// slot returns where an edge stands, or would.
func (e *edgeTable) slot(key uint64) int {
	const golden = 0x9E3779B97F4A7C15 // 2^64 over the golden ratio (Fibonacci hashing)
	h, mask := int(key*golden>>(e.shift&63)), len(e.slots)-1
	for e.slots[h] != 0 && e.keys[e.slots[h]-1] != key {
		h = (h + 1) & mask
	}
	return h
}

// find returns the number of an edge, -1 for one that is not there.
func (e *edgeTable) find(key uint64) int32 {
	if len(e.keys) == 0 {
		return -1
	}
	return e.slots[e.slot(key)] - 1
}

// add adds an edge and reports whether it was not there.
func (e *edgeTable) add(key uint64) bool {
	if 2*len(e.keys) >= len(e.slots) {
		e.grow()
	}
	h := e.slot(key)
	if e.slots[h] != 0 {
		return false
	}
	e.keys = append(e.keys, key)
	e.slots[h] = int32(len(e.keys))
	return true
}

func (e *edgeTable) grow() {
	bits := uint(leastEdgeBits)
	for 1<<bits < 4*len(e.keys) {
		bits++
	}
	e.slots, e.shift = make([]int32, 1<<bits), 64-bits
	for i, key := range e.keys {
		e.slots[e.slot(key)] = int32(i + 1)
	}
}
