package mold

import (
	"encoding/binary"
	"slices"

	"pourproof/geom"
)

// freeMap tells how far around a place there is neither a label nor the part's skin:
// nine tenths of the places that a pour's columns ask about lie in the open air beside
// the block. And it tells where no channel is near, as along most of the cavity.
type freeMap struct {
	n      [3]int
	far    []uint8 // per block of nodes: blocks to the nearest that holds something, at most 255; 0 there
	beside []bool  // per block: it or one around it holds a node of a channel
}

// freeBlock is the edge of a block in nodes: their labels along the third axis are
// looked at as one word.
const freeBlock = 8

// newFreeMap measures the free space around labels and the part's skin. Cost: linear in
// the nodes, an eighth of a nanosecond each.
func newFreeMap(l *labels, near *nearMap) *freeMap {
	f := &freeMap{}
	for a, n := range l.lat.N {
		f.n[a] = (n + freeBlock - 1) / freeBlock
	}
	f.far, f.beside = make([]uint8, f.n[0]*f.n[1]*f.n[2]), make([]bool, f.n[0]*f.n[1]*f.n[2])
	bore := make([]bool, len(f.far))
	for b := range f.far {
		f.far[b] = 255
	}
	ny, nz := l.lat.N[1], l.lat.N[2]
	for c := range l.lat.N[0] * ny {
		row, b := l.of[c*nz:(c+1)*nz], f.block(c/ny, c%ny, 0)
		for ; len(row) >= freeBlock; row = row[freeBlock:] {
			if binary.LittleEndian.Uint64(row) != 0 {
				f.far[b] = 0
				bore[b] = bore[b] || slices.ContainsFunc(row[:freeBlock], isChannel)
			}
			b++
		}
		for _, of := range row {
			if of != nothing {
				f.far[b] = 0
				bore[b] = bore[b] || isChannel(of)
			}
		}
	}
	for b := range bore {
		if bore[b] {
			f.markAround(b)
		}
	}
	near.each(func(row geom.Box) { f.hold(l, row) })
	f.spread()
	return f
}

// with returns the map for labels that are others in a box of nodes. Cost: linear in the
// blocks and the box.
func (f *freeMap) with(l *labels, box nodeBox) *freeMap {
	out := &freeMap{n: f.n, far: slices.Clone(f.far), beside: slices.Clone(f.beside)}
	bore := make([]bool, len(f.far))
	box.each(func(i, j, k int) {
		if of := l.of[l.index(i, j, k)]; of != nothing {
			b := out.block(i, j, k)
			out.far[b] = 0
			bore[b] = bore[b] || isChannel(of)
		}
	})
	for b := range bore {
		if bore[b] {
			out.markAround(b)
		}
	}
	out.spread()
	return out
}

// isChannel tells whether a label is that of a node in a channel.
func isChannel(l label) bool { return l >= firstChannel && l&material == 0 }

// markAround notes a block and those around it as beside a channel.
func (f *freeMap) markAround(b int) {
	i, j, k := b/f.n[2]/f.n[1], b/f.n[2]%f.n[1], b%f.n[2]
	for x := max(i-1, 0); x <= min(i+1, f.n[0]-1); x++ {
		for y := max(j-1, 0); y <= min(j+1, f.n[1]-1); y++ {
			for z := max(k-1, 0); z <= min(k+1, f.n[2]-1); z++ {
				f.beside[(x*f.n[1]+y)*f.n[2]+z] = true
			}
		}
	}
}

// block returns the number of the block that a node lies in, or of the nearest one.
func (f *freeMap) block(i, j, k int) int {
	at := func(axis, node int) int { return min(int(uint(max(node, 0))/freeBlock), f.n[axis]-1) }
	return (at(0, i)*f.n[1]+at(1, j))*f.n[2] + at(2, k)
}

// hold marks the blocks of the nodes nearest to places in a box, one more each way for
// rounding.
func (f *freeMap) hold(l *labels, box geom.Box) {
	i0, j0, k0 := l.place(box.Min)
	i1, j1, k1 := l.place(box.Max)
	for i := i0 - 1; i <= i1+freeBlock; i += freeBlock {
		for j := j0 - 1; j <= j1+freeBlock; j += freeBlock {
			for k := k0 - 1; k <= k1+freeBlock; k += freeBlock {
				f.far[f.block(min(i, i1+1), min(j, j1+1), min(k, k1+1))] = 0
			}
		}
	}
}

// spread works out the distances, the larger of those along the axes, from the blocks
// before and then from those behind (Rosenfeld and Pfaltz 1968).
func (f *freeMap) spread() {
	for _, sense := range [2]int{-1, 1} {
		for n := range f.far {
			b := n
			if sense > 0 {
				b = len(f.far) - 1 - n
			}
			if f.far[b] > 0 {
				f.far[b] = min(f.far[b], f.least(b, sense))
			}
		}
	}
}

// least returns the least distance among a block's neighbours on one side, and one more,
// at most 255.
func (f *freeMap) least(b, sense int) uint8 {
	i, j, k := b/f.n[2]/f.n[1], b/f.n[2]%f.n[1], b%f.n[2]
	least := uint8(254)
	look := func(x, y, z int) {
		if x >= 0 && y >= 0 && z >= 0 && x < f.n[0] && y < f.n[1] && z < f.n[2] {
			least = min(least, f.far[(x*f.n[1]+y)*f.n[2]+z])
		}
	}
	for z := k - 1; z <= k+1; z++ {
		look(i+sense, j-1, z)
		look(i+sense, j, z)
		look(i+sense, j+1, z)
		look(i, j+sense, z)
	}
	look(i, j, k+sense)
	return least + 1
}

// freeFor returns how many of the places that follow p, at most step mm one after the other
// along a line, are as free of labels and skin as p; -1 where p may not be free.
func (l *labels) freeFor(p geom.Vec, step float64) int32 {
	i, j, k := l.place(p)
	far := l.free.far[l.free.block(i, j, k)]
	if far == 0 {
		return -1
	}
	return int32(float64(int(far-1)*freeBlock) * l.lat.Pitch() / step)
}

// besideChannel tells whether a node of a channel may be within two steps of the node
// nearest to p.
func (l *labels) besideChannel(p geom.Vec) bool {
	i, j, k := l.place(p)
	return l.free.beside[l.free.block(i, j, k)]
}
