package flood

// trap replays the pour backward. Links and exits open as their moments come, and
// gas that gains a way to an exit was cut off at that moment. What closed at one
// moment may open in any order.
func (r *Result) trap() {
	g, n := r.g, len(r.g.Lo)
	r.Cut = make([]Time, n)
	gas := gasField{parent: make([]int32, n), next: make([]int32, n), open: make([]bool, n)}
	for i := range r.Cut {
		r.Cut[i] = Start
		gas.parent[i], gas.next[i] = int32(i), int32(i)
	}
	release := func(root int32, t Time) {
		gas.each(root, func(run int32) { r.Cut[run] = t })
		gas.open[root] = true
	}
	closes := r.closes()
	for _, i := range order(len(closes), func(i int32) int64 { return -int64(closes[i]) }) {
		if x := int(i) - len(g.Links); x >= 0 {
			if root := gas.root(g.Exits[x].Run); !gas.open[root] {
				release(root, closes[i])
			}
			continue
		}
		a, b := gas.root(g.Links[i].A), gas.root(g.Links[i].B)
		if a == b {
			continue
		}
		switch {
		case gas.open[a] && !gas.open[b]:
			release(b, closes[i])
		case gas.open[b] && !gas.open[a]:
			release(a, closes[i])
		}
		gas.join(a, b)
	}
	r.pockets(closes)
	r.seals(closes)
}

// closes returns the moments at which links, then exits, are passed: Never for
// those out of the liquid's reach.
func (r *Result) closes() []Time {
	g := r.g
	out := make([]Time, 0, len(g.Links)+len(g.Exits))
	for _, l := range g.Links {
		out = append(out, r.tree.when(l.A, l.Hi))
	}
	for _, x := range g.Exits {
		out = append(out, r.tree.when(x.Run, x.Hi))
	}
	return out
}

// pockets numbers the gas cut off together: at one moment, and still joined over
// links that are not passed. Gas without volume gets no number.
func (r *Result) pockets(closes []Time) {
	g, n := r.g, len(r.g.Lo)
	piece := make([]int32, n)
	for i := range piece {
		piece[i] = int32(i)
	}
	for i, l := range g.Links {
		if t := r.Cut[l.A]; t == r.Cut[l.B] && t < closes[i] {
			a, b := find(piece, l.A), find(piece, l.B)
			piece[max(a, b)] = min(a, b)
		}
	}
	holds := make([]bool, n)
	for i := range piece {
		if t := r.Cut[i]; t != Never && r.Level(int32(i), t) < g.Hi[i] {
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
func (r *Result) seals(closes []Time) {
	g := r.g
	bare := func(run int32, t Time) *Seal {
		if k := r.Pocket[run]; k >= 0 && r.Seals[k].When == t && r.Seals[k].Link < 0 && r.Seals[k].Exit < 0 {
			return &r.Seals[k]
		}
		return nil
	}
	links := func(counts func(to int32, at Time) bool) {
		for i, l := range g.Links {
			for _, e := range [2][2]int32{{l.A, l.B}, {l.B, l.A}} {
				from, to := e[0], e[1]
				if r.Pocket[from] == r.Pocket[to] || !counts(to, closes[i]) {
					continue
				}
				if s := bare(from, closes[i]); s != nil {
					s.Link = int32(i)
				}
			}
		}
	}
	links(func(to int32, at Time) bool { return r.Cut[to] > at })
	for i, x := range g.Exits {
		if s := bare(x.Run, closes[len(g.Links)+i]); s != nil {
			s.Exit = int32(i)
		}
	}
	bridge := r.bridges(closes)
	links(func(to int32, at Time) bool { return bridge[to] && r.Cut[to] == at })
	links(func(int32, Time) bool { return true })
}

// bridges marks the runs without volume through which gas cut off at the same
// moment had its way: they touch gas that was cut off later, an exit, or another
// bridge.
func (r *Result) bridges(closes []Time) []bool {
	g, n := r.g, len(r.g.Lo)
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
