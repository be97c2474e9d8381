package flood

// order lines the arcs up in the order in which they fill. From the leaf the
// liquid falls into, a pool rises to its saddle; before the merged pool rises,
// every basin beyond the saddle is filled: first, of those the pool spills into,
// the one where the liquid falls lowest.
func (t *tree) order(g *Graph) {
	t.arc = make([]int32, len(t.birth))
	for i := range t.arc {
		t.arc[i] = -1
	}
	next := int32(0)
	fill := func(n int32) {
		t.arc[n] = next
		next++
	}
	type climb struct{ at, goal int32 }
	wet := make([]bool, len(g.Lo))
	for _, root := range t.entries(g) {
		leaf := t.nodeOf(t.reach[root.run])
		fill(leaf)
		stack := []climb{{leaf, root.node}}
		for len(stack) > 0 {
			c := &stack[len(stack)-1]
			if c.at == c.goal {
				stack = stack[:len(stack)-1]
				continue
			}
			p := t.parent[c.at]
			child, leaf := t.spill(g, p, wet)
			if child < 0 { // every basin is full: now the merged pool rises
				fill(p)
				c.at = p
				continue
			}
			fill(leaf)
			stack = append(stack, climb{leaf, child})
		}
	}
}

// spill returns the basin below node p into which the full ones spill next, and
// the leaf where that liquid gathers; child is -1 when none is left. Liquid at
// the saddle's height spreads over level floors of that height (wet).
func (t *tree) spill(g *Graph, p int32, wet []bool) (child, leaf int32) {
	z := t.birth[p]
	full := func(run int32) bool {
		if g.Lo[run] == z {
			return wet[run]
		}
		return t.arc[t.childOf(run, p)] >= 0
	}
	for grown := true; grown; {
		grown = false
		for _, i := range t.saddles[p] {
			l := g.Links[i]
			a, b := full(l.A), full(l.B)
			if a && !b && g.Lo[l.B] == z {
				wet[l.B], grown = true, true
			}
			if b && !a && g.Lo[l.A] == z {
				wet[l.A], grown = true, true
			}
		}
	}
	best := int32(-1)
	child = -1
	for _, i := range t.saddles[p] {
		l := g.Links[i]
		for _, e := range [2][2]int32{{l.A, l.B}, {l.B, l.A}} {
			from, to := e[0], e[1]
			if !full(from) || full(to) {
				continue
			}
			if r := t.reach[to]; best < 0 || g.lower(r, best) {
				best, child = r, t.childOf(to, p)
			}
		}
	}
	if child < 0 {
		return -1, -1
	}
	return child, t.nodeOf(best)
}

// childOf returns the child of node p in whose pool run lies.
func (t *tree) childOf(run, p int32) int32 { return t.at(t.nodeOf(run), t.birth[p]-1) }

type entry struct{ run, node int32 }

// entries returns, for every separate space that has a source, the source whose
// liquid falls lowest, and the space's root node. Spaces come in the order of
// their first source.
func (t *tree) entries(g *Graph) []entry {
	var out []entry
	for _, s := range g.Sources {
		root := t.nodeOf(s)
		for t.parent[root] >= 0 {
			root = t.parent[root]
		}
		known := false
		for i := range out {
			if out[i].node != root {
				continue
			}
			known = true
			if g.lower(t.reach[s], t.reach[out[i].run]) {
				out[i].run = s
			}
		}
		if !known {
			out = append(out, entry{s, root})
		}
	}
	return out
}

// when returns the moment at which the level of run passes z: while the arc with
// birth <= z < top fills.
func (t *tree) when(run, z int32) Time {
	n := t.at(t.nodeOf(run), z)
	if t.arc[n] < 0 {
		return Never
	}
	return timeOf(t.arc[n], z)
}

// level returns the height of the liquid in run at the moment w.
func (t *tree) level(run int32, w Time, lo, hi int32) int32 {
	n := t.nodeOf(run)
	if w <= timeOf(t.arc[n], lo) {
		return lo
	}
	begun := func(n int32) bool { return w >= timeOf(t.arc[n], t.birth[n]) }
	for p := t.parent[n]; p >= 0 && begun(p); p = t.parent[n] {
		if n = t.jump[n]; !begun(n) {
			n = p
		}
	}
	z := t.top[n]
	if Time(t.arc[n]) == w.arc() {
		z = w.level()
	}
	return min(max(z, lo), hi)
}
