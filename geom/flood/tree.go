package flood

import "math"

// tree is the tree of basins: a leaf for every place where liquid can gather, a
// parent where pools merge (two or more, if at one level). Its arcs are the
// pools: node n is filled from its birth level up to the birth of its parent.
type tree struct {
	birth, top []int32 // levels between which the node's pool rises
	parent     []int32 // -1 for none
	children   [][]int32
	jump       []int32 // an ancestor farther up, so that long climbs are short; the root itself
	alias      []int32 // the node itself, or the one it was fused into
	arc        []int32 // place in the order of filling, -1 if never reached
	node       []int32 // per run: node in whose arc its bottom lies; while built, -2-r: the same as run r
	reach      []int32 // per run: the lowest run that liquid at its bottom reaches going down

	// Links at the birth level of a node in which pools merge, listed by what lies
	// at their ends (2 x link, +1 at B).
	saddle  []int32 // per node: the first such link, -1 for none
	rim     []int32 // per place, which is a node or a level floor's run: its first end, -1 for none
	rimNext []int32 // per end: the next at its place
	todo    []int32 // places that spill has yet to look at
}

// pools is the union-find of runs while the links are swept upward.
type pools struct {
	comp []int32 // parent
	node []int32 // per root: its current node, -1 before it has one
	rep  []int32 // per root without a node: the run that will name it
	low  []int32 // per root: its lowest level
}

// build sweeps the links upward. A run whose bottom lies at the level of the
// link that joins it adds no basin of its own: it is absorbed.
func (t *tree) build(g *Graph) {
	n := len(g.Lo)
	t.node = make([]int32, n)
	p := pools{make([]int32, n), make([]int32, n), make([]int32, n), make([]int32, n)}
	for i := range p.comp {
		p.comp[i], p.node[i], p.rep[i], p.low[i], t.node[i] = int32(i), -1, int32(i), g.Lo[i], -1
	}
	s := sortingOf(len(g.Links))
	for i := range s.keys {
		s.keys[i] = uint64(int64(g.Links[i].Lo) - math.MinInt32)
	}
	byLo := s.order()
	for _, i := range byLo {
		t.merge(&p, g.Links[i])
	}
	for i := range p.comp {
		if p.comp[i] == int32(i) {
			t.ensure(&p, int32(i))
		}
	}
	t.name()
	t.leap()
	t.reachDown(g, byLo)
	sortings.Put(s)
}

// leap gives every node a pointer to an ancestor such that any ancestor is at
// most about 2 log2(depth) pointers away (Myers 1983, skew-binary numbers).
func (t *tree) leap() {
	t.jump = make([]int32, len(t.birth))
	depth := make([]int32, len(t.birth))
	var stack []int32
	for n := range t.birth {
		if t.jump[n] = int32(n); t.parent[n] < 0 {
			stack = append(stack, int32(n))
		}
	}
	for len(stack) > 0 {
		n := stack[len(stack)-1]
		stack = append(stack[:len(stack)-1], t.children[n]...)
		if p := t.parent[n]; p >= 0 {
			depth[n], t.jump[n] = depth[p]+1, p
			if j := t.jump[p]; depth[p]-depth[j] == depth[j]-depth[t.jump[j]] {
				t.jump[n] = t.jump[j]
			}
		}
	}
}

// at returns the first of node n and its ancestors whose top lies above z.
func (t *tree) at(n, z int32) int32 {
	for z >= t.top[n] {
		if j := t.jump[n]; z >= t.top[j] {
			n = j
		} else {
			n = t.parent[n]
		}
	}
	return n
}

// merge joins the two pools of link l at its level.
func (t *tree) merge(p *pools, l Link) {
	a, b := find(p.comp, l.A), find(p.comp, l.B)
	if a == b {
		return
	}
	if p.low[a] > p.low[b] || p.low[a] == p.low[b] && a > b {
		a, b = b, a // a is the deeper
	}
	p.comp[b] = a
	switch {
	case p.low[b] < l.Lo: // two real basins
		p.node[a] = t.fuse(t.ensure(p, a), t.ensure(p, b), l.Lo)
	case p.low[a] < l.Lo: // b has no depth below this level: absorbed
		t.node[p.rep[b]] = t.ensure(p, a)
	default: // a level floor
		t.node[p.rep[b]] = -2 - p.rep[a]
	}
}

// ensure gives the root c its leaf if it has no node yet.
func (t *tree) ensure(p *pools, c int32) int32 {
	if p.node[c] < 0 {
		p.node[c] = t.add(p.low[c])
		t.node[p.rep[c]] = p.node[c]
	}
	return p.node[c]
}

func (t *tree) add(birth int32) int32 {
	t.birth, t.top = append(t.birth, birth), append(t.top, math.MaxInt32)
	t.parent, t.children = append(t.parent, -1), append(t.children, nil)
	t.alias = append(t.alias, int32(len(t.alias)))
	return int32(len(t.birth) - 1)
}

// fuse returns the node in which a and b merge at level z. Merges at one level
// share one node, so that the order of the links does not matter.
func (t *tree) fuse(a, b, z int32) int32 {
	ma := len(t.children[a]) > 0 && t.birth[a] == z
	mb := len(t.children[b]) > 0 && t.birth[b] == z
	switch {
	case ma && mb: // one takes over the other's children, which is it by another number
		if len(t.children[a]) < len(t.children[b]) {
			a, b = b, a
		}
		for _, k := range t.children[b] {
			t.adopt(k, a, z)
		}
		t.children[b], t.alias[b] = nil, a
		return a
	case ma:
		t.adopt(b, a, z)
		return a
	case mb:
		t.adopt(a, b, z)
		return b
	}
	n := t.add(z)
	t.adopt(a, n, z)
	t.adopt(b, n, z)
	return n
}

func (t *tree) adopt(child, parent, z int32) {
	t.parent[child], t.top[child] = parent, z
	t.children[parent] = append(t.children[parent], child)
}

// name gives every run the number of the node in whose arc its bottom lies.
func (t *tree) name() {
	for run := range t.node {
		first := run
		for t.node[first] < -1 {
			first = int(-2 - t.node[first])
		}
		node := find(t.alias, t.node[first])
		for r := run; r != first; {
			next := int(-2 - t.node[r])
			t.node[r], r = node, next
		}
		t.node[first] = node
	}
}

// reachDown finds for every run the lowest run that liquid lying on its bottom
// reaches without rising: over links that open at that bottom, downward or
// level. Of equal heights the lower number wins.
func (t *tree) reachDown(g *Graph, byLo []int32) {
	n := len(g.Lo)
	t.reach = make([]int32, n)
	level := make([]int32, n) // union-find of runs on one level floor
	for i := range t.reach {
		t.reach[i], level[i] = int32(i), int32(i)
	}
	best := func(r, c int32) {
		if g.lower(c, t.reach[r]) {
			t.reach[r] = c
		}
	}
	// Links come in ascending Lo, so what lies below is final. Within one level:
	// first the steps down, then the level floors share the best.
	for i := 0; i < len(byLo); {
		z, j := g.Links[byLo[i]].Lo, i
		for ; j < len(byLo) && g.Links[byLo[j]].Lo == z; j++ {
			l := g.Links[byLo[j]]
			la, lb := g.Lo[l.A], g.Lo[l.B]
			switch {
			case la == z && lb < z:
				best(l.A, t.reach[find(level, l.B)])
			case lb == z && la < z:
				best(l.B, t.reach[find(level, l.A)])
			}
		}
		for ; i < j; i++ {
			l := g.Links[byLo[i]]
			if g.Lo[l.A] != z || g.Lo[l.B] != z {
				continue
			}
			a, b := find(level, l.A), find(level, l.B)
			best(a, t.reach[l.A])
			best(a, t.reach[l.B])
			best(a, t.reach[b])
			level[b] = a
		}
	}
	for r := range t.reach {
		best(int32(r), t.reach[find(level, int32(r))])
	}
}

// lower orders runs by their bottoms, ties by number.
func (g *Graph) lower(a, b int32) bool {
	return g.Lo[a] < g.Lo[b] || g.Lo[a] == g.Lo[b] && a < b
}
