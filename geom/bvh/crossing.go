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
	// crossingShare how many more for each facet of the mesh: half a second and
	// one a million facets. A mesh that nowhere crosses itself needs some 20 a facet.
	crossingBudget = 1 << 24
	crossingShare  = 32
	// wideCut is how many boxes' pairs are opened in a row to make the pieces.
	wideCut = 1 << 12
)

// FindCrossings finds where a mesh crosses itself by more than deeper mm: both ends of
// the piercing edge are farther from the other facet, and that facet's edges farther
// from the place. It must be more than roundings of the coordinates. d is what Inspect
// finds in the mesh. Places are those of the piercing, in no way dependent on the order
// of facets.
//
// Facets of one terrain are not held against each other: on a smooth surface few are
// left. About 0.15 s of processor time a million facets of a smooth surface, 1 s where
// nothing is smooth, shared out to all processors; bounded, whatever crosses. 12 bytes
// a facet, and 40 for each that may meet one of another terrain.
func FindCrossings(m *geom.Mesh, d *geom.Defects, deeper float64) Crossings {
	sides, boxes := survey(m)
	terrain := terrains(m, d.Mates(), sides)
	return findCrossings(m, d, terrain, contested(terrain, boxes), deeper, crossingBudget+crossingShare*len(m.Facets))
}

// findCrossings looks for them among some facets.
func findCrossings(m *geom.Mesh, d *geom.Defects, terrain, some []int32, deeper float64, budget int) Crossings {
	var out Crossings
	if len(some) == 0 {
		return out
	}
	t := newBoxTree(m, terrain, some)
	pieces := t.crossingPieces()
	for i := range pieces {
		p := &pieces[i]
		p.tree, p.shell, p.deeper = t, d.ShellOf, deeper
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

// twoParts are to be held against each other, or one against itself.
type twoParts struct{ a, b part }

// crossingPieces opens pairs of boxes, the first ones first, until there are enough.
func (t *boxTree) crossingPieces() []crossing {
	top := part{int32(len(t.levels) - 1), 0}
	queue := []twoParts{{top, top}}
	for opened := 0; len(queue) > 0 && len(queue) < manyPieces && opened < wideCut; opened++ {
		p := queue[0]
		if p.a.level <= 1 && p.b.level <= 1 {
			queue = append(queue[1:], p)
			continue
		}
		queue = t.open(queue[1:], p)
	}
	out := make([]crossing, len(queue))
	for i := range out {
		out[i].stack = []twoParts{queue[i]}
	}
	return out
}

// open appends the pairs that a pair of which one is above the blocks holds: of two
// boxes the larger is opened.
func (t *boxTree) open(queue []twoParts, p twoParts) []twoParts {
	a, b := p.a, p.b
	if a != b && (a.level == 0 || b.level > 0 && t.span(a) < t.span(b)) {
		a, b = b, a
	}
	lo, hi := t.parts(a)
	for i := lo; i < hi; i++ {
		q := part{a.level - 1, i}
		if a != b {
			queue = t.push(queue, q, b)
			continue
		}
		for k := lo; k <= i; k++ {
			queue = t.push(queue, part{a.level - 1, k}, q)
		}
	}
	return queue
}

// push appends a pair of parts if facets of it may cross.
func (t *boxTree) push(queue []twoParts, a, b part) []twoParts {
	if t.oneTerrain(a, b) {
		return queue
	}
	if p, q := t.boxOf(a), t.boxOf(b); a != b && !p.touches(&q) {
		return queue
	}
	return append(queue, twoParts{a, b})
}

// oneTerrain reports whether all facets of two parts belong to one terrain.
func (t *boxTree) oneTerrain(a, b part) bool {
	l := t.labels[a.level][a.at]
	return l != noTerrain && l == t.labels[b.level][b.at]
}

// span is the sum of the sides of a part's box.
func (t *boxTree) span(p part) float32 {
	b := t.boxOf(p)
	return b.x[1] - b.x[0] + b.y[1] - b.y[0] + b.z[1] - b.z[0]
}

// crossing is the state of one piece of the search.
type crossing struct {
	tree   *boxTree
	shell  []int32
	deeper float64
	stack  []twoParts // what is still to be held against each other
	looks  int        // in the last search
	found  Crossings
}

// search goes on until it is through or has looked at so many pairs.
func (s *crossing) search(most int) {
	for s.looks = 0; len(s.stack) > 0 && s.looks < most; {
		p := s.stack[len(s.stack)-1]
		s.stack = s.stack[:len(s.stack)-1]
		s.looks++
		if p.a.level > 1 || p.b.level > 1 {
			s.stack = s.tree.open(s.stack, p)
		} else {
			s.facets(p.a, p.b)
		}
	}
}

// facets holds the facets of two parts, no larger than blocks, or of one, against each
// other.
func (s *crossing) facets(a, b part) {
	t := s.tree
	lo, hi := t.facetsOf(a)
	from, to := t.facetsOf(b)
	var boxes [blockFacets]bounds
	for k := from; k < to; k++ {
		boxes[k-from] = t.facetBox(k)
	}
	other := t.boxOf(b)
	for i := lo; i < hi; i++ {
		if a == b {
			to = i
		}
		if box := t.facetBox(i); box.touches(&other) {
			s.against(i, &box, boxes[:to-from], from)
		}
	}
}

// facetsOf returns the places, from lo to before hi, of the facets of a part no
// larger than a block.
func (t *boxTree) facetsOf(p part) (lo, hi int32) {
	if p.level == 0 {
		return p.at, p.at + 1
	}
	return t.parts(p)
}

// against holds a facet, by its place in the order and its box, against those that begin
// at another place.
func (s *crossing) against(a int32, box *bounds, boxes []bounds, from int32) {
	s.looks += len(boxes)
	for i := range boxes {
		b := from + int32(i)
		if box.touches(&boxes[i]) && !s.tree.oneTerrain(part{0, a}, part{0, b}) {
			s.pair(s.tree.facet[a], s.tree.facet[b])
		}
	}
}

// pair holds two facets against each other.
func (s *crossing) pair(f, g int32) {
	m := s.tree.mesh
	if shareEdge(&m.Facets[f], &m.Facets[g]) {
		return
	}
	a, b := m.Triangle(int(f)), m.Triangle(int(g))
	both, deep := onBothSides(&a, &b, s.deeper)
	if !both {
		return
	}
	if both, deeper := onBothSides(&b, &a, s.deeper); !both || !deep && !deeper {
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

// onBothSides reports whether the corners of b lie on both sides of a, and whether
// farther than half of deeper, which leaves room for roundings: the quick half of
// crossingPoint. Of two triangles that cross one has an edge with both ends that far
// from the other.
func onBothSides(a, b *geom.Triangle, deeper float64) (both, deep bool) {
	n := a.AreaVec()
	p, q, r := n.Dot(b.A.Sub(a.A)), n.Dot(b.B.Sub(a.A)), n.Dot(b.C.Sub(a.A))
	lo, hi := min(p, q, r), max(p, q, r)
	if !(lo < 0 && hi > 0) {
		return false, false
	}
	least := float64(deeper*deeper) * n.Norm2() / 4
	return true, lo*lo > least && hi*hi > least
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
