package bvh

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Nearest returns the surface point closest to p among those no farther than
// within mm (math.Inf(1) for all). Of facets equally far, by the square of the
// distance, the lowest number wins.
func (t *Tree) Nearest(p geom.Vec, within float64) (Hit, bool) {
	return t.NearestWhere(p, within, nil)
}

// Within tells whether the surface comes within a distance of p, that distance included:
// whether Nearest finds anything. It stops at the first box that lies there whole, for
// there is a facet in it, or at the first facet that comes there.
func (t *Tree) Within(p geom.Vec, within float64) bool {
	if !(within >= 0) || len(t.nodes) == 0 {
		return false
	}
	s := newSearch(p, within)
	s.any = true
	return t.anyBelow(&s, below(float64(within*within)), 0)
}

// anyBelow is Within for what is below a node.
func (t *Tree) anyBelow(s *search, whole float32, node int32) bool {
	var stack [maxDepth + 1]int32
	stack[0] = node
	for top := 1; top > 0; {
		top--
		n := &t.nodes[stack[top]]
		d := [2]float32{s.far(&n.box[0]), s.far(&n.box[1])}
		first := 0 // the nearer one goes on the stack last
		if d[0] < d[1] {
			first = 1
		}
		for _, k := range [2]int{first, 1 - first} {
			switch c := n.kids[k]; {
			case d[k] > s.cull:
			case s.farthest(&n.box[k]) <= whole:
				return true
			case c.count == inner:
				stack[top] = c.first
				top++
			default:
				if t.nearestInLeaf(s, c); s.hit.Facet >= 0 {
					return true
				}
			}
		}
	}
	return false
}

// Region is the part of a tree that comes within a distance of a place: for many
// questions about places near it.
type Region struct {
	t    *Tree
	tops []regionTop
}

// regionTop is a node or a leaf with its box.
type regionTop struct {
	box bounds
	kid child
}

// regionTops is how many boxes a region is cut into, if there are as many.
const regionTops = 16

// Around returns the region within a distance of p.
func (t *Tree) Around(p geom.Vec, within float64) Region {
	r := Region{t: t}
	if !(within >= 0) || len(t.nodes) == 0 {
		return r
	}
	s := newSearch(p, within)
	add := func(tops []regionTop, node int32) []regionTop {
		n := &t.nodes[node]
		for k := range n.kids {
			if !(s.far(&n.box[k]) > s.cull) {
				tops = append(tops, regionTop{n.box[k], n.kids[k]})
			}
		}
		return tops
	}
	var room [regionTops + 1]regionTop
	tops := add(room[:0], 0)
	for i := 0; i < len(tops) && len(tops) < regionTops; {
		if c := tops[i].kid; c.count != inner {
			i++
		} else {
			tops[i] = tops[len(tops)-1]
			tops = add(tops[:len(tops)-1], c.first)
		}
	}
	r.tops = slices.Clone(tops)
	return r
}

// Within is that of the tree, where all within that distance of p lies in the region.
func (r *Region) Within(p geom.Vec, within float64) bool {
	if !(within >= 0) {
		return false
	}
	s := newSearch(p, within)
	s.any = true
	whole := below(float64(within * within))
	for i := range r.tops {
		switch top := &r.tops[i]; {
		case s.far(&top.box) > s.cull:
		case s.farthest(&top.box) <= whole:
			return true
		case top.kid.count == inner:
			if r.t.anyBelow(&s, whole, top.kid.first) {
				return true
			}
		default:
			if r.t.nearestInLeaf(&s, top.kid); s.hit.Facet >= 0 {
				return true
			}
		}
	}
	return false
}

// WithinWhere is Within for the facets that keep accepts: whether NearestWhere finds
// anything.
func (t *Tree) WithinWhere(p geom.Vec, within float64, keep func(facet int32) bool) bool {
	s := newSearch(p, within)
	s.any, s.keep = true, keep
	if !(within >= 0) || len(t.nodes) == 0 {
		return false
	}
	t.nearest(&s)
	return s.hit.Facet >= 0
}

// NearestWhere is Nearest among the facets that keep accepts. keep must depend on
// the facet alone; it is asked only about facets that would be the answer so
// far. A nil keep accepts all.
func (t *Tree) NearestWhere(p geom.Vec, within float64, keep func(facet int32) bool) (Hit, bool) {
	return t.NearestFrom(-1, p, within, keep)
}

// NearestFrom is NearestWhere with a guess: a facet that may be the answer or near it,
// as that for a place close by is; -1 for none. The better the guess, the less is looked
// at; the answer does not depend on it.
func (t *Tree) NearestFrom(guess int32, p geom.Vec, within float64, keep func(facet int32) bool) (Hit, bool) {
	s := newSearch(p, within)
	s.keep = keep
	if !(within >= 0) || len(t.nodes) == 0 {
		return Hit{}, false
	}
	if guess >= 0 {
		s.take(t.mesh.Triangle(int(guess)), guess)
	}
	t.nearest(&s)
	if s.hit.Facet < 0 {
		return Hit{}, false
	}
	return s.hit, true
}

// search is the state of one Nearest.
type search struct {
	p      geom.Vec
	lo, hi [3]float32 // p rounded down and up
	within float64
	best   float64 // squared distance of hit
	cull   float32 // what lies farther, squared, cannot be the answer
	hit    Hit
	keep   func(int32) bool
	any    bool // the first hit will do
}

func newSearch(p geom.Vec, within float64) search {
	return search{p: p, within: within, hit: Hit{Facet: -1}, best: math.Inf(1), cull: above(float64(within * within)),
		lo: [3]float32{roundDown(p.X), roundDown(p.Y), roundDown(p.Z)}, hi: [3]float32{roundUp(p.X), roundUp(p.Y), roundUp(p.Z)}}
}

// above returns a float32 that no bound of search.far exceeds whose exact value
// is at most d2. The bound is a sum of three squares of differences in single
// precision: each rounds at most 4 times by 2^-24, and 2^-20 holds 16 of them.
func above(d2 float64) float32 { return roundUp(d2 + float64(d2*0x1p-20)) }

// below returns a float32 such that the exact value is at most d2 wherever
// search.farthest does not exceed it, as above does for far: negative where d2 is so
// small that squares in single precision may vanish.
func below(d2 float64) float32 {
	if d2 < 0x1p-100 {
		return -1
	}
	return roundDown(d2 - float64(d2*0x1p-20))
}

// farthest returns an upper bound of the squared distance from p to any point of the
// box, up to the roundings that below allows for: endless for a box with nothing in it.
func (s *search) farthest(b *bounds) float32 {
	x := max(s.hi[0]-b.x[0], b.x[1]-s.lo[0])
	y := max(s.hi[1]-b.y[0], b.y[1]-s.lo[1])
	z := max(s.hi[2]-b.z[0], b.z[1]-s.lo[2])
	return float32(x*x) + float32(y*y) + float32(z*z)
}

// far returns a lower bound of the squared distance from p to the box, up to the
// roundings that above allows for. It squares distances below zero, because the
// least of numbers takes fewer instructions than the greatest.
func (s *search) far(b *bounds) float32 {
	x := min(s.hi[0]-b.x[0], b.x[1]-s.lo[0], 0)
	y := min(s.hi[1]-b.y[0], b.y[1]-s.lo[1], 0)
	z := min(s.hi[2]-b.z[0], b.z[1]-s.lo[2], 0)
	return float32(x*x) + float32(y*y) + float32(z*z)
}

// waiting is a node put off, with a bound of how far it is.
type waiting struct {
	node int32
	far  float32
}

func (t *Tree) nearest(s *search) {
	var stack [maxDepth]waiting
	at, top := int32(0), 0
	for {
		n := &t.nodes[at]
		d0, d1 := s.far(&n.box[0]), s.far(&n.box[1])
		a, b := n.kids[0], n.kids[1]
		if d1 < d0 {
			a, b, d0, d1 = b, a, d1, d0
		}
		at = -1
		if !(d0 > s.cull) {
			if a.count == inner {
				at = a.first
			} else {
				t.nearestInLeaf(s, a)
			}
		}
		if !(d1 > s.cull) {
			switch {
			case b.count != inner:
				t.nearestInLeaf(s, b)
			case at < 0:
				at = b.first
			default:
				stack[top] = waiting{b.first, d1}
				top++
			}
		}
		for at < 0 {
			if top == 0 {
				return
			}
			top--
			if !(stack[top].far > s.cull) {
				at = stack[top].node
			}
		}
	}
}

func (t *Tree) nearestInLeaf(s *search, c child) {
	for i := c.first; i < c.first+c.count; i++ {
		s.take(t.corner[i].triangle(), t.facet[i])
		if s.any && s.hit.Facet >= 0 {
			s.cull = -1 // nothing is nearer than that
			return
		}
	}
}

// take notes a facet that is nearer than what was found so far.
func (s *search) take(t geom.Triangle, f int32) {
	q := t.Closest(s.p)
	d2 := q.Sub(s.p).Norm2()
	if !(d2 < s.best || (d2 == s.best && f < s.hit.Facet)) {
		return
	}
	d := math.Sqrt(d2)
	if d > s.within || (s.keep != nil && !s.keep(f)) {
		return
	}
	s.best, s.cull = d2, above(d2)
	s.hit = Hit{Facet: f, Point: q, Dist: d}
}
