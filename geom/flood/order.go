package flood

import "slices"

// climb is a pool on its way from the basin that is full so far to its goal.
type climb struct {
	at, goal int32
	into     []int32 // heap of the runs that pools below the parent of at spill into, lowest fall first
}

// order lines the arcs up in the order in which they fill. From the leaf the
// liquid falls into, a pool rises to its saddle; before the merged pool rises,
// every basin beyond the saddle is filled: first, of those the pool spills into,
// the one where the liquid falls lowest.
func (t *tree) order(g *Graph) {
	t.arc = make([]int32, len(t.birth))
	for i := range t.arc {
		t.arc[i] = -1
	}
	t.rims(g)
	next := int32(0)
	fill := func(n int32) {
		t.arc[n] = next
		next++
	}
	wet := make([]bool, len(g.Lo))
	for _, root := range t.entries(g) {
		leaf := t.node[t.reach[root.run]]
		fill(leaf)
		stack := []climb{{at: leaf, goal: root.node}}
		for {
			c := &stack[len(stack)-1]
			full := c.at
			if full == c.goal {
				if stack = stack[:len(stack)-1]; len(stack) == 0 {
					break
				}
				c = &stack[len(stack)-1]
			}
			t.spill(g, full, wet, &c.into)
			child, leaf := t.lowest(g, t.parent[c.at], &c.into)
			if child < 0 { // every basin is full: now the merged pool rises
				c.at = t.parent[c.at]
				fill(c.at)
				continue
			}
			fill(leaf)
			stack = append(stack, climb{at: leaf, goal: child})
		}
	}
}

// rims lists the links that open at a node's birth level by what lies at their
// ends: a basin below that level or a run whose bottom is at it (a level floor).
func (t *tree) rims(g *Graph) {
	t.saddle = slices.Repeat([]int32{-1}, len(t.birth))
	t.rim = slices.Repeat([]int32{-1}, len(t.birth)+len(g.Lo))
	t.rimNext = make([]int32, 2*len(g.Links))
	for i := len(g.Links) - 1; i >= 0; i-- {
		l := g.Links[i]
		p := t.at(t.node[l.A], l.Lo)
		if t.birth[p] != l.Lo || len(t.children[p]) == 0 {
			continue
		}
		t.saddle[p] = int32(i)
		for side, run := range [2]int32{l.A, l.B} {
			place := t.floor(run)
			if g.Lo[run] < l.Lo {
				place = t.childOf(run, p)
			}
			end := int32(2*i + side)
			t.rimNext[end], t.rim[place] = t.rim[place], end
		}
	}
}

// floor returns the place of a level floor's run among the rims, behind the nodes.
func (t *tree) floor(run int32) int32 { return int32(len(t.birth)) + run }

// spill finds what liquid runs into now that the basin n is full: over links at
// its saddle, and over level floors of that height, which it wets.
func (t *tree) spill(g *Graph, n int32, wet []bool, into *[]int32) {
	z, p := t.top[n], t.parent[n]
	t.todo = append(t.todo[:0], n)
	for len(t.todo) > 0 {
		place := t.todo[len(t.todo)-1]
		t.todo = t.todo[:len(t.todo)-1]
		for end := t.rim[place]; end >= 0; end = t.rimNext[end] {
			l := g.Links[end/2]
			to := l.A
			if end%2 == 0 {
				to = l.B
			}
			switch {
			case g.Lo[to] < z:
				if t.arc[t.childOf(to, p)] < 0 {
					t.push(g, into, to)
				}
			case !wet[to]:
				wet[to] = true
				t.todo = append(t.todo, t.floor(to))
			}
		}
	}
}

// lowest takes the basin below p into which the full ones spill next, and the
// leaf where that liquid gathers; child is -1 when all are full.
func (t *tree) lowest(g *Graph, p int32, into *[]int32) (child, leaf int32) {
	for len(*into) > 0 {
		to := t.pop(g, into)
		if child := t.childOf(to, p); t.arc[child] < 0 {
			return child, t.node[t.reach[to]]
		}
	}
	return -1, -1
}

// push and pop keep a binary heap of runs, the one with the lowest fall first.
func (t *tree) push(g *Graph, heap *[]int32, run int32) {
	h := append(*heap, run)
	for i := len(h) - 1; i > 0 && g.lower(t.reach[h[i]], t.reach[h[(i-1)/2]]); i = (i - 1) / 2 {
		h[i], h[(i-1)/2] = h[(i-1)/2], h[i]
	}
	*heap = h
}

func (t *tree) pop(g *Graph, heap *[]int32) int32 {
	h := *heap
	run, n := h[0], len(h)-1
	h[0] = h[n]
	for i, k := 0, 1; k < n; k = 2*i + 1 {
		if k+1 < n && g.lower(t.reach[h[k+1]], t.reach[h[k]]) {
			k++
		}
		if !g.lower(t.reach[h[k]], t.reach[h[i]]) {
			break
		}
		h[i], h[k] = h[k], h[i]
		i = k
	}
	*heap = h[:n]
	return run
}

// childOf returns the child of node p in whose pool run lies.
func (t *tree) childOf(run, p int32) int32 { return t.at(t.node[run], t.birth[p]-1) }

type entry struct{ run, node int32 }

// entries returns, for every separate space that has a source, the source whose
// liquid falls lowest, and the space's root node. Spaces come in the order of
// their first source.
func (t *tree) entries(g *Graph) []entry {
	var out []entry
	for _, s := range g.Sources {
		root := t.node[s]
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
	n := t.at(t.node[run], z)
	if t.arc[n] < 0 {
		return Never
	}
	return timeOf(t.arc[n], z)
}

// level returns the height of the liquid in run at the moment w.
func (t *tree) level(run int32, w Time, lo, hi int32) int32 {
	n := t.node[run]
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
