package mold

// nodeBox is a box of lattice nodes, both ends included.
type nodeBox struct{ lo, hi [3]int }

// boxOf holds nodes; for none it is empty.
func (l *labels) boxOf(nodes []int32) nodeBox {
	b := nodeBox{l.lat.N, [3]int{-1, -1, -1}}
	for _, x := range nodes {
		i, j, k := l.node(x)
		for a, n := range [3]int{i, j, k} {
			b.lo[a], b.hi[a] = min(b.lo[a], n), max(b.hi[a], n)
		}
	}
	return b
}

// grow returns the box with more steps to every side, inside n nodes; an empty one stays
// empty.
func (b nodeBox) grow(steps int, n [3]int) nodeBox {
	if b.lo[0] > b.hi[0] {
		return b
	}
	for a := range n {
		b.lo[a], b.hi[a] = max(b.lo[a]-steps, 0), min(b.hi[a]+steps, n[a]-1)
	}
	return b
}

func (b nodeBox) holds(i, j, k int) bool {
	return i >= b.lo[0] && i <= b.hi[0] && j >= b.lo[1] && j <= b.hi[1] && k >= b.lo[2] && k <= b.hi[2]
}

func (b nodeBox) nodes() int {
	n := 1
	for a := range b.lo {
		n *= max(b.hi[a]-b.lo[a]+1, 0)
	}
	return n
}

func (b nodeBox) index(i, j, k int) int {
	return ((i-b.lo[0])*(b.hi[1]-b.lo[1]+1)+j-b.lo[1])*(b.hi[2]-b.lo[2]+1) + k - b.lo[2]
}

// each visits the nodes in order.
func (b nodeBox) each(visit func(i, j, k int)) {
	for i := b.lo[0]; i <= b.hi[0]; i++ {
		for j := b.lo[1]; j <= b.hi[1]; j++ {
			for k := b.lo[2]; k <= b.hi[2]; k++ {
				visit(i, j, k)
			}
		}
	}
}
