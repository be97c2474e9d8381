package mold

// pools fills a ledger element by element from the gate, at one attitude, as if air
// always gave way: resin goes to the lowest place it can reach, a pool rises,
// spills, and joins its neighbour.
type pools struct {
	l     *ledger
	rank  []int32
	resin []bool
	of    []int32      // union-find over resin elements; the last one is the gate
	brink []*brinkHeap // per root: elements beside the pool that are not resin, lowest first
	order []int32      // filled, in order
}

// brinkHeap holds elements, the lowest rank on top; those that became resin since
// are dropped when they come up.
type brinkHeap struct {
	rank []int32
	list []int32
}

// push adds an element. Written out, as container/heap would box every one of them.
func (h *brinkHeap) push(x int32) {
	h.list = append(h.list, x)
	i := len(h.list) - 1
	for i > 0 {
		up := (i - 1) / 2
		if h.rank[h.list[up]] <= h.rank[x] {
			break
		}
		h.list[i] = h.list[up]
		i = up
	}
	h.list[i] = x
}

// drop takes off the lowest.
func (h *brinkHeap) drop() {
	n := len(h.list) - 1
	x := h.list[n]
	h.list = h.list[:n]
	if n == 0 {
		return
	}
	i := 0
	for {
		k := 2*i + 1
		if k >= n {
			break
		}
		if k+1 < n && h.rank[h.list[k+1]] < h.rank[h.list[k]] {
			k++
		}
		if h.rank[x] <= h.rank[h.list[k]] {
			break
		}
		h.list[i] = h.list[k]
		i = k
	}
	h.list[i] = x
}

func newPools(l *ledger, rank []int32, resin []bool) *pools {
	n := len(l.at)
	p := &pools{l: l, rank: rank, resin: append([]bool(nil), resin...), of: make([]int32, n+1), brink: make([]*brinkHeap, n+1)}
	gate := &brinkHeap{rank: rank}
	p.of[n], p.brink[n] = int32(n), gate
	for e := range l.at {
		p.of[e] = int32(e)
		if l.source[e] && !p.resin[e] {
			gate.push(int32(e))
		}
	}
	for e := range l.at {
		if p.resin[e] {
			p.join(int32(e))
		}
	}
	return p
}

func (p *pools) root(i int32) int32 {
	for p.of[i] != i {
		p.of[i] = p.of[p.of[i]]
		i = p.of[i]
	}
	return i
}

// join makes a resin element part of the pools beside it.
func (p *pools) join(e int32) {
	own := &brinkHeap{rank: p.rank}
	p.brink[e] = own
	for _, x := range p.l.beside(e) {
		if !p.resin[x] {
			own.push(x)
		}
	}
	for _, x := range p.l.beside(e) {
		if p.resin[x] && p.brink[p.root(x)] != nil {
			p.unite(e, x)
		}
	}
	if p.l.source[e] {
		p.unite(e, int32(len(p.l.at)))
	}
}

func (p *pools) unite(a, b int32) {
	a, b = p.root(a), p.root(b)
	if a == b {
		return
	}
	if len(p.brink[a].list) < len(p.brink[b].list) {
		a, b = b, a
	}
	p.of[b] = a
	for _, x := range p.brink[b].list {
		p.brink[a].push(x)
	}
	p.brink[b] = nil
}

// lowest returns the lowest element beside a pool, -1 if there is none.
func (p *pools) lowest(pool int32) int32 {
	h := p.brink[p.root(pool)]
	for len(h.list) > 0 {
		if e := h.list[0]; !p.resin[e] {
			return e
		}
		h.drop()
	}
	return -1
}

// run fills until nothing is left to reach.
func (p *pools) run() {
	for {
		e := p.lowest(int32(len(p.l.at)))
		if e < 0 {
			return
		}
		e = p.fall(e)
		p.resin[e] = true
		p.order = append(p.order, e)
		p.join(e)
	}
}

// fall follows resin that runs over e down to the place that it fills: down over
// air, and in a pool that it lands on to that pool's lowest side.
func (p *pools) fall(e int32) int32 {
	for {
		low := e
		for _, x := range p.l.beside(e) {
			if !p.resin[x] {
				if p.rank[x] < p.rank[low] {
					low = x
				}
			} else if y := p.lowest(x); y >= 0 && p.rank[y] < p.rank[low] {
				low = y
			}
		}
		if low == e {
			return e
		}
		e = low
	}
}

// poured is one filling at one attitude.
type poured struct {
	order []int32   // elements in the order they fill, trapped ones left out
	sum   []float64 // mm3 in after each, of the resin that came in
	end   []bool    // resin when nothing more goes in
}

// fill pours from a state. Air that every way out is shut to stays: replayed from
// the last element to the first, an element that joins no open air was trapped.
func (l *ledger) fill(rank []int32, resin []bool) *poured {
	p := newPools(l, rank, resin)
	p.run()
	n := len(l.at)
	gas := make([]int32, n)
	open := make([]bool, n)
	is := make([]bool, n)
	for e := range gas {
		gas[e] = int32(e)
	}
	root := func(i int32) int32 {
		for gas[i] != i {
			gas[i] = gas[gas[i]]
			i = gas[i]
		}
		return i
	}
	release := func(e int32) {
		is[e], open[e] = true, l.exit[e]
		for _, x := range l.beside(e) {
			if is[x] {
				a, b := root(e), root(x)
				gas[b] = a
				open[a] = open[a] || open[b]
			}
		}
	}
	for e := range gas {
		if !p.resin[e] {
			release(int32(e))
		}
	}
	trapped := make([]bool, n)
	for i := len(p.order) - 1; i >= 0; i-- {
		e := p.order[i]
		release(e)
		trapped[e] = !open[root(e)]
	}
	out := &poured{end: append([]bool(nil), resin...)}
	sum := 0.0
	for _, e := range p.order {
		if !trapped[e] {
			sum += l.volume[e]
			out.order, out.sum = append(out.order, e), append(out.sum, sum)
			out.end[e] = true
		}
	}
	return out
}

// after returns the state when the given share of the resin of a filling is in.
func (q *poured) after(l *ledger, resin []bool, share float64) (state []bool, mm3 float64) {
	state = append([]bool(nil), resin...)
	if len(q.sum) == 0 {
		return state, 0
	}
	most := float64(share * q.sum[len(q.sum)-1])
	for i, e := range q.order {
		if q.sum[i] > most+1e-6 {
			break
		}
		state[e], mm3 = true, q.sum[i]
	}
	return state, mm3
}
