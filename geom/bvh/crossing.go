package bvh

import (
	"runtime"
	"sync"
	"sync/atomic"

	"pourproof/geom"
)

// Crossings are the places where a mesh's surface passes through itself: pairs of
// facets of which an edge of one pierces the other. Touching is no crossing, and
// facets that lie in each other are none.
type Crossings struct {
	Within, Between geom.Places // pairs of facets of one shell, and of two
	Partial         bool        // the search was given up; there may be more
}

const (
	// manyPieces is into how many pieces the search is cut, whatever the number
	// of processors.
	manyPieces = 256
	// crossingBudget is how many pairs of facets or boxes are looked at, at most, and
	// crossingShare how many more for each facet of the mesh: a few seconds. A mesh
	// that nowhere crosses itself needs some 20 a facet.
	crossingBudget = 1 << 26
	crossingShare  = 32
	// wideCut is how many boxes' pairs are opened in a row to make the pieces.
	wideCut = 1 << 12
)

// Crossings finds where the mesh crosses itself by more than deeper mm: both ends of
// the piercing edge are farther from the other facet, and that facet's edges farther
// from the place. It must be more than roundings of the coordinates. shell holds the shell of each facet (geom.Defects.ShellOf).
// Places are those of the piercing, in no way dependent on the order of facets.
// About 0.5 s a million facets on two cores where little crosses; bounded.
func (t *Tree) Crossings(shell []int32, deeper float64) Crossings {
	return t.crossings(shell, deeper, crossingBudget+crossingShare*len(t.facet))
}

func (t *Tree) crossings(shell []int32, deeper float64, budget int) Crossings {
	var out Crossings
	if len(t.nodes) == 0 {
		return out
	}
	pieces := t.crossingPieces()
	for i := range pieces {
		p := &pieces[i]
		p.tree, p.shell, p.deeper = t, shell, deeper
	}
	// Every piece may use its share, then those that are not through what is left.
	unfinished := make([]*crossing, len(pieces))
	for i := range pieces {
		unfinished[i] = &pieces[i]
	}
	for range 2 {
		share := budget / max(len(unfinished), 1)
		inParallel(unfinished, func(p *crossing) { p.search(share) })
		rest := unfinished[:0]
		for _, p := range unfinished {
			budget -= p.looks
			if len(p.stack) > 0 {
				rest = append(rest, p)
			}
		}
		unfinished = rest
	}
	for i := range pieces {
		out.Within.Merge(&pieces[i].found.Within)
		out.Between.Merge(&pieces[i].found.Between)
	}
	out.Partial = len(unfinished) > 0
	return out
}

func inParallel(list []*crossing, do func(*crossing)) {
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(list)) {
		group.Go(func() {
			for i := next.Add(1) - 1; int(i) < len(list); i = next.Add(1) - 1 {
				do(list[i])
			}
		})
	}
	group.Wait()
}

// twoBoxes are two subtrees that are to be held against each other, or one against
// itself.
type twoBoxes struct {
	a, b child
	box  [2]bounds
	same bool
}

// crossingPieces opens pairs of boxes, the first ones first, until there are enough.
func (t *Tree) crossingPieces() []crossing {
	queue := []twoBoxes{{a: child{0, inner}, same: true}}
	for opened := 0; len(queue) > 0 && len(queue) < manyPieces && opened < wideCut; opened++ {
		p := queue[0]
		if p.a.count != inner && p.b.count != inner {
			queue = append(queue[1:], p)
			continue
		}
		queue = t.open(queue[1:], &p)
	}
	out := make([]crossing, len(queue))
	for i := range out {
		out[i].stack = []twoBoxes{queue[i]}
	}
	return out
}

// open appends the pairs that a pair with an inner box holds.
func (t *Tree) open(queue []twoBoxes, p *twoBoxes) []twoBoxes {
	switch {
	case p.same:
		n := &t.nodes[p.a.first]
		for k := range n.kids {
			queue = append(queue, twoBoxes{a: n.kids[k], same: true})
		}
		if n.box[0].touches(&n.box[1]) {
			queue = append(queue, twoBoxes{a: n.kids[0], b: n.kids[1], box: n.box})
		}
	case p.a.count == inner && (p.b.count != inner || p.box[0].span() >= p.box[1].span()):
		n := &t.nodes[p.a.first]
		for k := range n.kids {
			if n.box[k].touches(&p.box[1]) {
				queue = append(queue, twoBoxes{a: n.kids[k], b: p.b, box: [2]bounds{n.box[k], p.box[1]}})
			}
		}
	default:
		n := &t.nodes[p.b.first]
		for k := range n.kids {
			if n.box[k].touches(&p.box[0]) {
				queue = append(queue, twoBoxes{a: p.a, b: n.kids[k], box: [2]bounds{p.box[0], n.box[k]}})
			}
		}
	}
	return queue
}

// span is the sum of a box's sides.
func (b *bounds) span() float32 { return b.x[1] - b.x[0] + b.y[1] - b.y[0] + b.z[1] - b.z[0] }

// crossing is the state of one piece of the search.
type crossing struct {
	tree   *Tree
	shell  []int32
	deeper float64
	stack  []twoBoxes // what is still to be held against each other
	looks  int        // in the last search
	found  Crossings

	lists [2][maxLeaf]boxed // room for two leaves
	turn  int
}

// search goes on until it is through or has looked at so many pairs.
func (s *crossing) search(most int) {
	for s.looks = 0; len(s.stack) > 0 && s.looks < most; {
		p := s.stack[len(s.stack)-1]
		s.stack = s.stack[:len(s.stack)-1]
		s.looks++
		switch {
		case p.same && p.a.count != inner:
			s.pairs(s.leaf(p.a, nil), true, nil)
		case p.a.count != inner && p.b.count != inner:
			s.pairs(s.leaf(p.a, &p.box[1]), false, s.leaf(p.b, &p.box[0]))
		default:
			s.stack = s.tree.open(s.stack, &p)
		}
	}
}

// boxed is a facet by its place in leaf order, with its box.
type boxed struct {
	box geom.Box
	at  int32
}

// leaf lists the facets of a leaf that may touch another box.
func (s *crossing) leaf(c child, other *bounds) []boxed {
	list := s.lists[s.turn][:0]
	for i := c.first; i < c.first+c.count; i++ {
		b := s.tree.corner[i].triangle().Box()
		if other == nil || other.meets(&b) {
			list = append(list, boxed{b, i})
		}
	}
	s.turn ^= 1
	return list
}

// meets reports whether the boxes have a point in common.
func (b *bounds) meets(c *geom.Box) bool {
	return float64(b.x[0]) <= c.Max.X && c.Min.X <= float64(b.x[1]) && float64(b.y[0]) <= c.Max.Y && c.Min.Y <= float64(b.y[1]) &&
		float64(b.z[0]) <= c.Max.Z && c.Min.Z <= float64(b.z[1])
}

// pairs holds the facets of two lists, or of one, against each other.
func (s *crossing) pairs(a []boxed, same bool, b []boxed) {
	for i := range a {
		if same {
			b = a[:i]
		}
		s.looks += len(b)
		for j := range b {
			if x, y := &a[i].box, &b[j].box; x.Min.X <= y.Max.X && y.Min.X <= x.Max.X && x.Min.Y <= y.Max.Y && y.Min.Y <= x.Max.Y &&
				x.Min.Z <= y.Max.Z && y.Min.Z <= x.Max.Z {
				s.pair(a[i].at, b[j].at)
			}
		}
	}
}

// pair holds two facets, by their places in leaf order, against each other.
func (s *crossing) pair(i, j int32) {
	f, g := s.tree.facet[i], s.tree.facet[j]
	if shareEdge(&s.tree.mesh.Facets[f], &s.tree.mesh.Facets[g]) {
		return
	}
	a, b := s.tree.corner[i].triangle(), s.tree.corner[j].triangle()
	if !onBothSides(&a, &b) || !onBothSides(&b, &a) {
		return
	}
	at, ok := crossingPoint(inOrder(a), inOrder(b), s.deeper)
	switch {
	case !ok:
	case s.shell[f] == s.shell[g]:
		s.found.Within.Add(at)
	default:
		s.found.Between.Add(at)
	}
}

// shareEdge reports whether two facets share two vertices: they meet in that edge,
// or lie in one plane.
func shareEdge(a, b *[3]int32) bool {
	n := 0
	for _, v := range a {
		if v == b[0] || v == b[1] || v == b[2] {
			n++
		}
	}
	return n >= 2
}

// onBothSides reports whether the corners of b lie on both sides of a: the quick
// half of crossingPoint.
func onBothSides(a, b *geom.Triangle) bool {
	n := a.AreaVec()
	p, q, r := n.Dot(b.A.Sub(a.A)), n.Dot(b.B.Sub(a.A)), n.Dot(b.C.Sub(a.A))
	return min(p, q, r) < 0 && max(p, q, r) > 0
}

// inOrder returns the triangle with its corners in the order of Vec.Less, so that
// what is computed of it does not depend on how a file lists them.
func inOrder(t geom.Triangle) geom.Triangle {
	if t.B.Less(t.A) {
		t.A, t.B = t.B, t.A
	}
	if t.C.Less(t.B) {
		t.B, t.C = t.C, t.B
	}
	if t.B.Less(t.A) {
		t.A, t.B = t.B, t.A
	}
	return t
}

// crossingPoint returns the least of the places where an edge of one triangle pierces
// the other by more than deeper.
func crossingPoint(a, b geom.Triangle, deeper float64) (least geom.Vec, ok bool) {
	for range 2 {
		n := b.Normal()
		for _, e := range [3][2]geom.Vec{{a.A, a.B}, {a.A, a.C}, {a.B, a.C}} {
			if at, hit := pierces(e[0], e[1], &b, n, deeper); hit && (!ok || at.Less(least)) {
				least, ok = at, true
			}
		}
		a, b = b, a
	}
	return least, ok
}

// pierces returns where the segment from p to q passes the triangle with unit
// normal n.
func pierces(p, q geom.Vec, t *geom.Triangle, n geom.Vec, deeper float64) (geom.Vec, bool) {
	d, e := n.Dot(p.Sub(t.A)), n.Dot(q.Sub(t.A))
	if !(min(d, e) < -deeper && max(d, e) > deeper) {
		return geom.Vec{}, false
	}
	at := p.Lerp(q, d/(d-e))
	for _, s := range [3][2]geom.Vec{{t.A, t.B}, {t.B, t.C}, {t.C, t.A}} {
		side := s[1].Sub(s[0])
		if !(n.Dot(side.Cross(at.Sub(s[0]))) > deeper*side.Norm()) {
			return geom.Vec{}, false
		}
	}
	return at, true
}
