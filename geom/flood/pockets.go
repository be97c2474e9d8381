package flood

import (
	"math"
	"slices"
)

// trap replays the pour backward. Links and exits open as their moments come, and
// gas that gains a way to an exit was cut off at that moment. What closed at one
// moment may open in any order.
//
// Most runs are no summit: one of their links closes only as they are full, so until then
// their gas is one with the neighbor's, and the links of both are as good as one's. So they
// are joined to a summit first, without an order, and only links between summits and exits
// are replayed.
func (r *Result) trap(full []Time) {
	g := r.g
	summit := r.summits(full)
	cut := slices.Repeat([]Time{Start}, len(g.Lo)) // of summits
	gas := gasField{parent: make([]int32, len(g.Lo)), next: make([]int32, len(g.Lo)), open: make([]bool, len(g.Lo))}
	for i := range cut {
		gas.parent[i], gas.next[i] = int32(i), int32(i)
	}
	release := func(root int32, t Time) {
		gas.each(root, func(run int32) { cut[run] = t })
		gas.open[root] = true
	}
	join := func(i int32) {
		l := &g.Links[i]
		a, b := gas.root(summit[l.A]), gas.root(summit[l.B])
		if a == b {
			return
		}
		switch {
		case gas.open[a] && !gas.open[b]:
			release(b, r.closes[i])
		case gas.open[b] && !gas.open[a]:
			release(a, r.closes[i])
		}
		gas.join(a, b)
	}
	leave := func(x int32) {
		if root := gas.root(summit[g.Exits[x].Run]); !gas.open[root] {
			release(root, r.closes[len(g.Links)+int(x)])
		}
	}
	links := int32(len(g.Links))
	events := make([]int32, 0, len(g.Exits)+len(g.Links)/8)
	for i, l := range g.Links {
		if summit[l.A] != summit[l.B] {
			events = append(events, int32(i))
		}
	}
	for x := range g.Exits {
		events = append(events, links+int32(x))
	}
	s := r.backward(events)
	for _, k := range s.order() {
		if i := events[k]; i < links {
			join(i)
		} else {
			leave(i - links)
		}
	}
	sortings.Put(s)
	for i, top := range summit {
		cut[i] = min(full[i], cut[top])
	}
	r.Cut = cut
}

// summits joins every run that has a link which closes only as the run is full to the run
// over that link, which is full no sooner, and returns for each the one it ends at.
func (r *Result) summits(full []Time) []int32 {
	summit := make([]int32, len(full))
	for i := range summit {
		summit[i] = int32(i)
	}
	for i, l := range r.g.Links {
		a, b := l.A, l.B
		if summit[a] != a || r.closes[i] != full[a] {
			if a, b = b, a; summit[a] != a || r.closes[i] != full[a] {
				continue
			}
		}
		summit[a] = find(summit, b) // a itself, where both are full at once and b was joined to it
	}
	for i := range summit {
		summit[i] = find(summit, int32(i))
	}
	return summit
}

// backward is to sort links and exits, given by their numbers in closes, from the last one
// that closes to the first, those that never do before all.
func (r *Result) backward(events []int32) *sorting {
	lastArc, high, low := int32(0), int32(math.MinInt32), int32(math.MaxInt32)
	for _, i := range events {
		if t := r.closes[i]; t != Never {
			arc, z := t.Split()
			lastArc, high, low = max(lastArc, arc), max(high, z), min(low, z)
		}
	}
	s := sortingOf(len(events))
	levels := uint64(int64(high) - int64(low) + 1) // they differ by little, so moments fit few digits
	for k, i := range events {
		if s.keys[k] = 0; r.closes[i] != Never {
			arc, z := r.closes[i].Split()
			s.keys[k] = 1 + uint64(lastArc-arc)*levels + uint64(int64(high)-int64(z))
		}
	}
	return s
}

// closing returns the moments at which links, then exits, are passed: Never for
// those out of the liquid's reach; and those at which runs are full.
func (r *Result) closing() (out, full []Time) {
	g := r.g
	full = make([]Time, len(g.Lo)) // most links are passed as one of their runs is full
	for i, hi := range g.Hi {
		full[i] = r.tree.when(int32(i), hi)
	}
	out = make([]Time, 0, len(g.Links)+len(g.Exits))
	for i := range g.Links {
		l := &g.Links[i]
		switch l.Hi {
		case g.Hi[l.A]:
			out = append(out, full[l.A])
		case g.Hi[l.B]: // from where the link opens on both runs are one pool
			out = append(out, full[l.B])
		default:
			out = append(out, r.tree.when(l.A, l.Hi))
		}
	}
	for _, x := range g.Exits {
		out = append(out, r.tree.when(x.Run, x.Hi))
	}
	return out, full
}

// pockets numbers the gas cut off together: at one moment, and still joined over
// links that are not passed. Gas without volume gets no number.
func (r *Result) pockets() {
	g, n := r.g, len(r.g.Lo)
	piece := make([]int32, n)
	for i := range piece {
		piece[i] = int32(i)
	}
	for i, l := range g.Links {
		if t := r.Cut[l.A]; t == r.Cut[l.B] && t < r.closes[i] {
			a, b := find(piece, l.A), find(piece, l.B)
			piece[max(a, b)] = min(a, b)
		}
	}
	holds := make([]bool, n)
	for i := range piece {
		if r.Cut[i] != Never && r.end[i] < g.Hi[i] {
			holds[find(piece, int32(i))] = true
		}
	}
	r.Pocket = make([]int32, n)
	for i := range piece { // a piece's root is its lowest run
		switch root := find(piece, int32(i)); {
		case !holds[root]:
			r.Pocket[i] = -1
		case root == int32(i):
			r.Pocket[i] = int32(len(r.Seals))
			r.Seals = append(r.Seals, Seal{r.Cut[i], -1, -1})
		default:
			r.Pocket[i] = r.Pocket[root]
		}
	}
}

// seals names what closed at the moment a pocket was cut off: of several, a link
// to gas that was cut off later, then an exit, then a link to gas without volume
// through which the way led on, then a link to other gas cut off with it; of
// these the first.
func (r *Result) seals() {
	g := r.g
	open := 0 // pockets whose seal is not known yet
	for _, s := range r.Seals {
		if s.When != Start {
			open++
		}
	}
	bare := func(run int32, t Time) *Seal {
		if k := r.Pocket[run]; k >= 0 && r.Seals[k].When == t && r.Seals[k].Link < 0 && r.Seals[k].Exit < 0 {
			return &r.Seals[k]
		}
		return nil
	}
	var around []int32 // links out of a pocket that closed as it was cut off
	for i := range g.Links {
		l, t := &g.Links[i], r.closes[i]
		if r.Pocket[l.A] != r.Pocket[l.B] && (bare(l.A, t) != nil || bare(l.B, t) != nil) {
			around = append(around, int32(i))
		}
	}
	links := func(counts func(to int32, at Time) bool) {
		for _, i := range around {
			l, t := &g.Links[i], r.closes[i]
			for _, e := range [2][2]int32{{l.A, l.B}, {l.B, l.A}} {
				if !counts(e[1], t) {
					continue
				}
				if s := bare(e[0], t); s != nil {
					s.Link = i
					open--
				}
			}
		}
	}
	links(func(to int32, at Time) bool { return r.Cut[to] > at })
	for i, x := range g.Exits {
		if s := bare(x.Run, r.closes[len(g.Links)+i]); s != nil {
			s.Exit = int32(i)
			open--
		}
	}
	if open == 0 {
		return
	}
	bridge := r.bridges()
	links(func(to int32, at Time) bool { return bridge[to] && r.Cut[to] == at })
	links(func(int32, Time) bool { return true })
}

// bridges marks the runs without volume through which gas cut off at the same
// moment had its way: they touch gas that was cut off later, an exit, or another
// bridge.
func (r *Result) bridges() []bool {
	g, n, closes := r.g, len(r.g.Lo), r.closes
	thin := func(run int32, t Time) bool { return r.Pocket[run] < 0 && r.Cut[run] == t }
	piece := make([]int32, n)
	for i := range piece {
		piece[i] = int32(i)
	}
	for i, l := range g.Links {
		if thin(l.A, closes[i]) && thin(l.B, closes[i]) {
			piece[find(piece, l.A)] = find(piece, l.B)
		}
	}
	leads := make([]bool, n) // per piece
	for i, x := range g.Exits {
		if thin(x.Run, closes[len(g.Links)+i]) {
			leads[find(piece, x.Run)] = true
		}
	}
	for i, l := range g.Links {
		for _, e := range [2][2]int32{{l.A, l.B}, {l.B, l.A}} {
			if from, to := e[0], e[1]; thin(from, closes[i]) && r.Cut[to] > closes[i] {
				leads[find(piece, from)] = true
			}
		}
	}
	bridge := make([]bool, n)
	for i := range bridge {
		bridge[i] = leads[find(piece, int32(i))]
	}
	return bridge
}

// gasField is a union-find of runs whose members can be listed: next links the
// members of one piece in a ring.
type gasField struct {
	parent, next []int32
	open         []bool
}

func (f *gasField) root(i int32) int32 { return find(f.parent, i) }

func (f *gasField) join(a, b int32) {
	f.parent[b] = a
	f.open[a] = f.open[a] || f.open[b]
	f.next[a], f.next[b] = f.next[b], f.next[a]
}

func (f *gasField) each(root int32, do func(run int32)) {
	for i := f.next[root]; ; i = f.next[i] {
		do(i)
		if i == root {
			return
		}
	}
}
