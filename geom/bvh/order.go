package bvh

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"pourproof/geom"
)

// A key says where in the order of a boxTree a facet stands: how large it is, so
// that a few large facets do not widen the boxes of many small ones; then its place
// along a curve through space (Morton 1966), which keeps near facets near; then
// which facet it is.
//
//	size 6 bits | place 3 x 10 bits | facet 28 bits
type key uint64

const (
	facetBits = 28 // of the facet's number: more than meshes have that can be read
	placeBits = 10 // of the place, along each axis
	mostSize  = 1<<6 - 1
	// sizeStep is by how many powers of two facets of one size may differ: with fewer
	// sizes large facets widen the boxes of small ones, with more the boxes of one
	// size lie in those of others.
	sizeStep = 4
	// digitBits are sorted at a time: three digits hold size and place.
	digitBits = (6 + 3*placeBits) / 3
	// shortRun is how many facets in one place are put in order by comparing them.
	shortRun = 32
	// chunk is how many facets one goroutine takes at a time.
	chunk = 1 << 14
)

// place is a key without the facet.
func (k key) place() key { return k >> facetBits }

func (k key) facet() int32 { return int32(k & (1<<facetBits - 1)) }

// inOrderOfPlace returns some facets of a mesh by size and place. Facets in one place
// are told apart by their corners, so that no order of facets in a file matters.
// Linear in the facets; 20 bytes a facet.
func inOrderOfPlace(m *geom.Mesh, some []int32) []int32 {
	n := len(some)
	keys, spare := make([]key, n), make([]key, n)
	for i, f := range some {
		keys[i] = key(f)
	}
	all := m.Box()
	sortByPlace(m, keys, spare, all, exponent(all))
	out := make([]int32, n)
	for i, k := range keys {
		out[i] = k.facet()
	}
	return out
}

// sortByPlace puts some facets in order, by their places in a box and by their size,
// which is below 2^largest. Where many of them lie in one place, which a few far away
// may cause, it goes on inside it.
func sortByPlace(m *geom.Mesh, keys, spare []key, all geom.Box, largest int) {
	size := all.Size()
	long := max(size.X, size.Y, size.Z)
	if !(long > 0) || math.IsInf(long, 1) {
		slices.SortFunc(keys, func(a, b key) int { return compareFacets(m, a.facet(), b.facet()) })
		return
	}
	per := (1<<placeBits - 1) / long
	inChunks(len(keys), func(lo, hi int) {
		for i, k := range keys[lo:hi] {
			b := m.Triangle(int(k.facet())).Box()
			p := b.Center().Sub(all.Min).Scale(per)
			s := mostSize - min(mostSize, (largest-exponent(b))/sizeStep)
			keys[lo+i] = key(s)<<(3*placeBits+facetBits) | key(spread(p.X)|spread(p.Y)<<1|spread(p.Z)<<2)<<facetBits | key(k.facet())
		}
	})
	sortDigits(keys, spare)
	for len(keys) > 0 {
		n := 1
		for n < len(keys) && keys[n].place() == keys[0].place() {
			n++
		}
		switch run := keys[:n]; {
		case n == 1:
		case n > shortRun:
			inside, most := middlesOf(m, run)
			sortByPlace(m, run, spare[:n], inside, most)
		default:
			slices.SortFunc(run, func(a, b key) int { return compareFacets(m, a.facet(), b.facet()) })
		}
		keys, spare = keys[n:], spare[n:]
	}
}

// middlesOf returns the bounds of the middles of facets' boxes, and the exponent of
// the largest box.
func middlesOf(m *geom.Mesh, keys []key) (all geom.Box, largest int) {
	var lock sync.Mutex
	all, largest = geom.EmptyBox(), math.MinInt
	inChunks(len(keys), func(lo, hi int) {
		mids, most := geom.EmptyBox(), math.MinInt
		for _, k := range keys[lo:hi] {
			b := m.Triangle(int(k.facet())).Box()
			mids, most = mids.Include(b.Center()), max(most, exponent(b))
		}
		lock.Lock()
		all, largest = all.Union(mids), max(largest, most)
		lock.Unlock()
	})
	return all, largest
}

// exponent returns e where the longest side of a box is in [2^(e-1), 2^e), but for one
// too small to matter.
func exponent(b geom.Box) int {
	s := b.Size()
	return int(math.Float64bits(max(s.X, s.Y, s.Z))>>52) - 1022
}

// spread puts two bits between every two bits of a whole number below 1<<placeBits.
func spread(x float64) uint64 {
	v := uint64(min(max(x, 0), 1<<placeBits-1))
	v = (v | v<<16) & 0x030000FF
	v = (v | v<<8) & 0x0300F00F
	v = (v | v<<4) & 0x030C30C3
	return (v | v<<2) & 0x09249249
}

// sortDigits sorts keys by place, one digit after the other, the least first; equal
// ones keep their order.
func sortDigits(keys, spare []key) {
	a, b := keys, spare[:len(keys)]
	for shift := facetBits; shift < 64; shift += digitBits {
		var at [1 << digitBits]int32
		for _, k := range a {
			at[k>>shift&(1<<digitBits-1)]++
		}
		sum := int32(0)
		for d, n := range at {
			at[d], sum = sum, sum+n
		}
		for _, k := range a {
			d := &at[k>>shift&(1<<digitBits-1)]
			b[*d] = k
			*d++
		}
		a, b = b, a
	}
	copy(keys, a)
}

// compareFacets orders facets by their corners.
func compareFacets(m *geom.Mesh, f, g int32) int {
	a, b := inOrder(m.Triangle(int(f))), inOrder(m.Triangle(int(g)))
	for _, p := range [3][2]geom.Vec{{a.A, b.A}, {a.B, b.B}, {a.C, b.C}} {
		if p[0].Less(p[1]) {
			return -1
		}
		if p[1].Less(p[0]) {
			return 1
		}
	}
	return cmp.Compare(f, g)
}

// inChunks calls do for ranges that make up 0 to n, on all processors.
func inChunks(n int, do func(lo, hi int)) {
	var next atomic.Int64
	var group sync.WaitGroup
	work := func() {
		for lo := int(next.Add(chunk)) - chunk; lo < n; lo = int(next.Add(chunk)) - chunk {
			do(lo, min(lo+chunk, n))
		}
	}
	for range min(runtime.GOMAXPROCS(0), (n+chunk-1)/chunk) - 1 {
		group.Go(work)
	}
	work()
	group.Wait()
}

// A boxTree is a tree of boxes that needs no links: the facets stand in order of size
// and place, every four of them share a box, and every two boxes of a level one of the
// next. It is quick to make and small, 18 bytes a facet; its boxes lie in each other
// more than those of a Tree.
type boxTree struct {
	mesh   *geom.Mesh
	facet  []int32    // in order: level 0
	levels [][]bounds // levels[0] are the facets', kept where these are few; levels[1] are the blocks; the last holds one box
	labels [][]int32  // of each box: the terrain to which all facets in it belong, else noTerrain
}

const (
	// blockFacets is how many facets share a box of the second level.
	blockFacets = 4
	// keptBoxes is the part of all facets below which a tree keeps the boxes of its facets,
	// 24 bytes each.
	keptBoxes = 4
)

// part is a box of a boxTree with all below it.
type part struct{ level, at int32 }

// parts returns what a box of a level above the facets holds: boxes of the level
// below, from lo to before hi.
func (t *boxTree) parts(p part) (lo, hi int32) {
	n := int32(2)
	if p.level == 1 {
		n = blockFacets
	}
	below := len(t.facet)
	if p.level > 1 {
		below = len(t.levels[p.level-1])
	}
	return p.at * n, min(p.at*n+n, int32(below))
}

func (t *boxTree) boxOf(p part) bounds {
	if p.level == 0 {
		return t.facetBox(p.at)
	}
	return t.levels[p.level][p.at]
}

// facetBox returns the box of a facet by its place in the order.
func (t *boxTree) facetBox(at int32) bounds {
	if t.levels[0] != nil {
		return t.levels[0][at]
	}
	return outward(t.mesh.Triangle(int(t.facet[at])).Box(), 0)
}

// newBoxTree makes the tree of some facets of a mesh whose facets belong to terrains.
func newBoxTree(m *geom.Mesh, terrain, some []int32) *boxTree {
	t := &boxTree{mesh: m, facet: inOrderOfPlace(m, some), levels: make([][]bounds, 1), labels: make([][]int32, 1)}
	t.labels[0] = make([]int32, len(t.facet))
	for i, f := range t.facet {
		t.labels[0][i] = terrain[f]
	}
	if len(some) < len(m.Facets)/keptBoxes {
		boxes := make([]bounds, len(t.facet))
		for i := range boxes {
			boxes[i] = t.facetBox(int32(i))
		}
		t.levels[0] = boxes
	}
	for n, below := blockFacets, len(t.facet); len(t.levels) < 2 || below > 1; n = 2 {
		level := int32(len(t.levels))
		boxes, labels := make([]bounds, (below+n-1)/n), make([]int32, (below+n-1)/n)
		inChunks(len(boxes), func(lo, hi int) {
			for i := lo; i < hi; i++ {
				boxes[i], labels[i] = t.around(part{level, int32(i)})
			}
		})
		t.levels, t.labels, below = append(t.levels, boxes), append(t.labels, labels), len(boxes)
	}
	return t
}

// around returns the box and the label of a part from those of the level below.
func (t *boxTree) around(p part) (bounds, int32) {
	lo, hi := t.parts(p)
	box, label := t.boxOf(part{p.level - 1, lo}), t.labels[p.level-1][lo]
	for i := lo + 1; i < hi; i++ {
		b := t.boxOf(part{p.level - 1, i})
		box.include(&b)
		if t.labels[p.level-1][i] != label {
			label = noTerrain
		}
	}
	return box, label
}

// include widens the box to hold another.
func (b *bounds) include(c *bounds) {
	b.x = [2]float32{min(b.x[0], c.x[0]), max(b.x[1], c.x[1])}
	b.y = [2]float32{min(b.y[0], c.y[0]), max(b.y[1], c.y[1])}
	b.z = [2]float32{min(b.z[0], c.z[0]), max(b.z[1], c.z[1])}
}
