package bvh

import (
	"cmp"
	"slices"

	"pourproof/geom"
)

// First returns the first facet along the unit vector dir no farther than limit mm,
// whichever way it faces: the first that All would list.
func (t *Tree) First(origin, dir geom.Vec, limit float64) (Hit, bool) {
	r, ok := newRay(origin, dir, t.reach)
	if !ok || len(t.nodes) == 0 || !(limit >= 0) {
		return Hit{}, false
	}
	best := firstHit{at: limit, facet: -1}
	t.first(&r, &best)
	if best.facet < 0 {
		return Hit{}, false
	}
	return r.hit(best.facet, best.at, best.sense), true
}

type firstHit struct {
	at    float64
	facet int32
	sense int8
}

// entered is a node put off, with where the ray enters it.
type entered struct{ node, at int32 }

func (t *Tree) first(r *ray, best *firstHit) {
	var stack [maxDepth]entered
	at, top := int32(0), 0
	far := reachOf(best.at)
	for {
		n := &t.nodes[at]
		d0, d1 := r.enter(n, far)
		near := 0
		if d1 < d0 {
			near = 1
		}
		a, b := n.kids[near&1], n.kids[near&1^1]
		d0, d1 = min(d0, d1), max(d0, d1)
		at = -1
		if d0 <= far {
			if a.count == inner {
				at = a.first
			} else if t.firstInLeaf(r, a, best) {
				far = reachOf(best.at)
			}
		}
		if d1 <= far {
			switch {
			case b.count != inner:
				if t.firstInLeaf(r, b, best) {
					far = reachOf(best.at)
				}
			case at < 0:
				at = b.first
			default:
				stack[top] = entered{b.first, d1}
				top++
			}
		}
		for at < 0 {
			if top == 0 {
				return
			}
			top--
			if stack[top].at <= far {
				at = stack[top].node
			}
		}
	}
}

func (t *Tree) firstInLeaf(r *ray, c child, best *firstHit) (better bool) {
	for i := c.first; i < c.first+c.count; i++ {
		at, sense := r.cross(&t.corner[i])
		if sense == 0 || !(at >= 0 && at <= best.at) {
			continue
		}
		if f := t.facet[i]; best.facet < 0 || at < best.at || f < best.facet {
			*best, better = firstHit{at, f, sense}, true
		}
	}
	return better
}

// All returns every crossing along the unit vector dir up to limit mm, ordered by
// distance and then facet number. The hits replace what buf held; it grows where
// needed. For a line that passes through the whole of a closed mesh the senses
// sum to zero.
func (t *Tree) All(origin, dir geom.Vec, limit float64, buf []Hit) []Hit {
	hits := buf[:0]
	r, ok := newRay(origin, dir, t.reach)
	if !ok || !(limit >= 0) {
		return hits
	}
	t.along(&r, reachOf(limit), func(c child) bool {
		for i := c.first; i < c.first+c.count; i++ {
			at, sense := r.cross(&t.corner[i])
			if sense != 0 && at >= 0 && at <= limit {
				hits = append(hits, r.hit(t.facet[i], at, sense))
			}
		}
		return true
	})
	slices.SortFunc(hits, func(a, b Hit) int {
		return cmp.Or(cmp.Compare(a.Dist, b.Dist), cmp.Compare(a.Facet, b.Facet))
	})
	return hits
}

// Blocked reports whether a facet crosses the segment between a and b, which see
// each other otherwise. Facets through an end, to within roundings (2^-44 of the
// largest coordinate), do not block: both may lie on the surface. Blocked(a, b)
// equals Blocked(b, a).
func (t *Tree) Blocked(a, b geom.Vec) bool {
	if b.Less(a) {
		a, b = b, a
	}
	length := a.Dist(b)
	r, ok := newRay(a, b.Sub(a).Unit(), t.reach)
	if !ok {
		return false
	}
	end := float64(0x1p-44 * (t.reach + largest(a) + length))
	blocked := false
	t.along(&r, reachOf(length), func(c child) bool {
		for i := c.first; i < c.first+c.count && !blocked; i++ {
			at, sense := r.cross(&t.corner[i])
			blocked = sense != 0 && at > end && at < length-end
		}
		return !blocked
	})
	return blocked
}

// along calls visit for the leaves that the ray meets before far, in no special
// order, until it returns false.
func (t *Tree) along(r *ray, far int32, visit func(child) bool) {
	if len(t.nodes) == 0 {
		return
	}
	var stack [maxDepth + 1]int32
	for top := 1; top > 0; {
		top--
		n := &t.nodes[stack[top]]
		d0, d1 := r.enter(n, far)
		for k, d := range [2]int32{d0, d1} {
			if d > far {
				continue
			}
			if c := n.kids[k]; c.count == inner {
				stack[top] = c.first
				top++
			} else if !visit(c) {
				return
			}
		}
	}
}

func (r *ray) hit(facet int32, at float64, sense int8) Hit {
	return Hit{Facet: facet, Sense: sense, Point: r.origin.AddScaled(r.dir, at), Dist: at}
}
