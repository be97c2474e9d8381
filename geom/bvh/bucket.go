package bvh

import "sync"

const (
	// bucketFacets is about how many facets of a surface a bucket holds at least. Fewer make
	// more levels quick to build; by these the upper ones are found as well as by all facets.
	bucketFacets = 64
	// mostBucketBits is into how many powers of two each axis is cut for buckets at most:
	// as many counts as stay in a core's own memory.
	mostBucketBits = 5
	// middleBits are those of a doubled middle.
	middleBits = 29
)

// bucket is a cube's facets, prims[lo:hi], with the bounds of their doubled middles.
type bucket struct {
	mids   cellBox
	lo, hi int
}

// bucket puts the facets in order of the cubes in which their middles lie and returns the
// buckets: one for all where facets are few, two for a cube that holds facets wider than
// itself, which would widen the box of the others. One pass that counts and one that moves each
// facet to its place (American flag sort; McIlroy, Bostic and McIlroy 1993).
func (b *builder) bucket() []prim {
	axis := 0 // bits
	for axis < mostBucketBits && len(b.prims)>>(2*axis+4) >= bucketFacets {
		axis++
	}
	shift := middleBits - axis
	code := func(c *cellBox) int {
		return (int(c.lo[0]+c.hi[0])>>shift<<axis|int(c.lo[1]+c.hi[1])>>shift)<<axis | int(c.lo[2]+c.hi[2])>>shift
	}
	ends := make([]int32, 1<<(3*axis))
	for i := range b.prims {
		ends[code(&b.prims[i].box)]++
	}
	next, sum := make([]int32, len(ends)), int32(0)
	for c, n := range ends {
		next[c] = sum
		sum += n
		ends[c] = sum
	}
	var groups []prim
	for c, end := range ends {
		lo := int(next[c]) // none of the cubes before has facets left to bring here
		if c > 0 {
			lo = int(ends[c-1])
		}
		for next[c] < end {
			p := &b.prims[next[c]]
			if at := code(&p.box); at != c {
				q := &b.prims[next[at]]
				*p, *q = *q, *p
				next[at]++
			} else {
				next[c]++
			}
		}
		at := b.wideFirst(lo, int(end), 1<<(shift-1))
		for _, r := range [2][2]int{{lo, at}, {at, int(end)}} {
			if r[0] < r[1] {
				groups = append(groups, b.addBucket(c, axis, r[0], r[1]))
			}
		}
	}
	return groups
}

// wideFirst puts facets wider than so many cells before the others, and returns where
// these begin.
func (b *builder) wideFirst(lo, hi int, most int32) int {
	for i := lo; i < hi; i++ {
		if c := &b.prims[i].box; c.hi[0]-c.lo[0] > most || c.hi[1]-c.lo[1] > most || c.hi[2]-c.lo[2] > most {
			b.prims[i], b.prims[lo] = b.prims[lo], b.prims[i]
			lo++
		}
	}
	return lo
}

// addBucket notes a bucket of cube c and returns what stands for it.
func (b *builder) addBucket(c, axis, lo, hi int) prim {
	box := noCells
	for i := range b.prims[lo:hi] {
		box.include(&b.prims[lo+i].box)
	}
	mids, shift := box.doubled(), middleBits-axis
	for a := range 3 {
		at := int32(c >> (axis * (2 - a)) & (1<<axis - 1))
		mids.lo[a], mids.hi[a] = max(mids.lo[a], at<<shift), min(mids.hi[a], at<<shift+(1<<shift-1))
	}
	b.buckets = append(b.buckets, bucket{mids, lo, hi})
	return prim{box, int32(len(b.buckets) - 1), int32(hi - lo)}
}

// forkBuckets is fork for the facets of some buckets.
func (b *builder) forkBuckets(box, mids cellBox, groups []prim, depth int) (p piece) {
	if len(groups) == 1 {
		k := &b.buckets[groups[0].facet]
		return b.fork(groups[0].box, k.mids, k.lo, k.hi, depth)
	}
	facets := 0
	for i := range groups {
		facets += int(groups[i].facets)
	}
	if facets <= forkAbove {
		p.nodes = make([]node, 0, facets/4)
		p.root = b.growBuckets(&p.nodes, &box, &mids, groups, depth)
		return p
	}
	s := cutBuckets(groups, &mids, depth)
	p.top.box = [2]bounds{b.bounds(&s.box[0]), b.bounds(&s.box[1])}
	p.parts = new([2]piece)
	var wg sync.WaitGroup
	wg.Go(func() { p.parts[0] = b.forkBuckets(s.box[0], s.mids[0], groups[:s.at], depth+1) })
	p.parts[1] = b.forkBuckets(s.box[1], s.mids[1], groups[s.at:], depth+1)
	wg.Wait()
	return p
}

// growBuckets is grow for the facets of some buckets.
func (b *builder) growBuckets(nodes *[]node, box, mids *cellBox, groups []prim, depth int) child {
	if len(groups) == 1 {
		k := &b.buckets[groups[0].facet]
		return b.grow(nodes, box, &k.mids, k.lo, k.hi, depth)
	}
	s := cutBuckets(groups, mids, depth)
	at := len(*nodes)
	*nodes = append(*nodes, node{box: [2]bounds{b.bounds(&s.box[0]), b.bounds(&s.box[1])}})
	first := b.growBuckets(nodes, &s.box[0], &s.mids[0], groups[:s.at], depth+1)
	second := b.growBuckets(nodes, &s.box[1], &s.mids[1], groups[s.at:], depth+1)
	(*nodes)[at].kids = [2]child{first, second}
	return child{int32(at), inner}
}

// cutBuckets orders two or more buckets into two sides.
func cutBuckets(groups []prim, mids *cellBox, depth int) sides {
	if depth < sahDepth {
		p := cheapest(groups, mids)
		if p.axis < 0 {
			*mids = middles(groups)
			p = cheapest(groups, mids)
		}
		if p.axis >= 0 {
			return sides{p.partition(groups), p.box, p.mids}
		}
	}
	return halve(groups)
}
