package flood

// A slow forward model of the pour, written from its rules and sharing no code
// with the package. It keeps one level a run and moves levels one unit at a time.
//
// Liquid.
//  1. Every run has a level; its bottom means dry.
//  2. A pool is a set of runs whose liquid is joined over links with Lo <= level.
//     It has one surface. A dry run is a pool of its own, its surface its bottom.
//  3. Liquid lying on a run's bottom runs down or level over the links that open
//     there, and gathers at the lowest place it can get to so (ties: the lower
//     number). From a source, or from a run that is spilled into, it goes there.
//  4. A pool whose surface stands at the Lo of a link to a run outside it spills.
//     If the pool in which the spilled liquid gathers has come up to that saddle,
//     the two, and that run, are one pool from now on. Otherwise, of all places
//     where spilled liquid would gather, the lowest takes it (ties: the lower
//     number), by the same rule: it may spill in turn.
//  5. A pool that has nowhere to spill rises by one.
//  6. Of several sources in one space, joined by links at whatever height, liquid
//     enters at the one from which it falls lowest. Separate spaces are poured one
//     after the other, in the order of their first sources.
//
// Gas.
//  7. The gas of a run is what is above its level. Two runs' gas is joined over a
//     link until a level there passes Hi. An exit lets gas out until the level
//     passes its Hi. To stand at Hi is not to pass it; what one step of a pool
//     passes, it passes at one moment.
//  8. Before a pool rises, joined gas that would have no open exit left is frozen:
//     its runs' levels never change again. Gas without an exit is frozen before
//     the pour begins.
//  9. A pool rises in its runs that are not frozen. If there are none it takes no
//     liquid, but what it can spill over its levels goes on.
// 10. A pocket is gas frozen at one moment and still joined, over links that have
//     not been passed. Gas without volume is no pocket.

// pour is the state of the forward model.
type pour struct {
	g       *Graph
	links   [][]int32 // per run
	fall    []int32   // per run: where liquid lying on its bottom gathers (3)
	level   []int32   // per run; a pool may stand higher than a run's top
	pool    []int32   // per run: number of its pool
	surface []int32   // per pool
	ceiling int32     // no surface need rise above this
	shut    []bool    // per link: a level has passed its Hi
	plugged []bool    // per exit: a level has passed its Hi
	frozen  []int     // per run: number of the moment, 0 before the pour, -1 not frozen
	pocket  []int     // per run, -1 for none
	pockets int
	moment  int
	fault   string // a state that the rules do not allow

	// rising, if set, is told of every pool that is about to rise, before and
	// after gas is frozen.
	rising func(runs []int32, surface int32)
	rose   func()
}

func newPour(g *Graph) *pour {
	n := len(g.Lo)
	p := &pour{g: g, links: make([][]int32, n), fall: make([]int32, n), level: make([]int32, n),
		pool: make([]int32, n), surface: make([]int32, n),
		shut: make([]bool, len(g.Links)), plugged: make([]bool, len(g.Exits)), frozen: make([]int, n), pocket: make([]int, n)}
	for i, l := range g.Links {
		p.links[l.A] = append(p.links[l.A], int32(i))
		p.links[l.B] = append(p.links[l.B], int32(i))
	}
	for r := range g.Lo {
		p.level[r], p.surface[r] = g.Lo[r], g.Lo[r]
		p.pool[r], p.frozen[r], p.pocket[r] = int32(r), -1, -1
		p.ceiling = max(p.ceiling, g.Hi[r])
	}
	for r := range g.Lo {
		p.fall[r] = p.gathers(int32(r))
	}
	return p
}

// all pours until nothing takes liquid any more.
func (p *pour) all() {
	p.freeze(nil)
	for _, entry := range p.entries() {
		for {
			pool := p.taker(p.fall[entry])
			if pool < 0 || p.fault != "" {
				break
			}
			p.rise(pool)
		}
	}
}

// across returns the run at the other end of link i.
func (p *pour) across(run, i int32) int32 {
	l := p.g.Links[i]
	return l.A + l.B - run
}

func (p *pour) lower(a, b int32) bool {
	if p.g.Lo[a] != p.g.Lo[b] {
		return p.g.Lo[a] < p.g.Lo[b]
	}
	return a < b
}

// spread returns start and every run it leads to over the links that pass.
func (p *pour) spread(start int32, passes func(from, link, to int32) bool) []int32 {
	seen := map[int32]bool{start: true}
	out := []int32{start}
	for i := 0; i < len(out); i++ {
		for _, l := range p.links[out[i]] {
			if to := p.across(out[i], l); !seen[to] && passes(out[i], l, to) {
				seen[to] = true
				out = append(out, to)
			}
		}
	}
	return out
}

// gathers applies rule 3.
func (p *pour) gathers(run int32) int32 {
	best := run
	for _, r := range p.spread(run, func(from, l, to int32) bool {
		return p.g.Links[l].Lo == p.g.Lo[from] && p.g.Lo[to] <= p.g.Lo[from]
	}) {
		if p.lower(r, best) {
			best = r
		}
	}
	return best
}

// space returns the runs joined to run by links at whatever height.
func (p *pour) space(run int32) []int32 {
	return p.spread(run, func(_, _, _ int32) bool { return true })
}

// entries applies rule 6.
func (p *pour) entries() []int32 {
	var out []int32
	entered := make(map[int32]int) // run: index of its space's entry
	for _, s := range p.g.Sources {
		i, known := entered[s]
		switch {
		case !known:
			for _, r := range p.space(s) {
				entered[r] = len(out)
			}
			out = append(out, s)
		case p.lower(p.fall[s], p.fall[out[i]]):
			out[i] = s
		}
	}
	return out
}

// members returns the runs of a pool.
func (p *pour) members(pool int32) []int32 {
	var out []int32
	for r, q := range p.pool {
		if q == pool {
			out = append(out, int32(r))
		}
	}
	return out
}

// spills returns the runs that the pool of run spills into (4). Pools that have
// come up to the saddle are joined to it first.
func (p *pour) spills(run int32) []int32 {
	var out []int32
	for again := true; again; {
		again, out = false, out[:0]
		pool := p.pool[run]
		for _, r := range p.members(pool) {
			for _, i := range p.links[r] {
				to, z := p.across(r, i), p.g.Links[i].Lo
				if p.pool[to] == pool || p.level[r] < z {
					continue
				}
				if p.level[r] > z {
					p.fault = "a pool stands above a saddle that it has not spilled over"
				}
				if s := p.surface[p.pool[p.fall[to]]]; s >= z {
					if s != p.surface[pool] {
						p.fault = "pools of different heights meet"
					}
					p.join(pool, p.pool[to])
					p.join(pool, p.pool[p.fall[to]])
					again = true
				}
				out = append(out, to)
			}
		}
	}
	return out
}

func (p *pour) join(pool, other int32) {
	for r, q := range p.pool {
		if q == other {
			p.pool[r] = pool
		}
	}
}

// taker returns the pool that takes liquid gathering at run, -1 for none.
func (p *pour) taker(run int32) int32 {
	places := make(map[int32]bool)
	for _, to := range p.spills(run) {
		places[p.fall[to]] = true
	}
	for len(places) > 0 && p.fault == "" {
		lowest := int32(-1)
		for r := range places {
			if lowest < 0 || p.lower(r, lowest) {
				lowest = r
			}
		}
		if pool := p.taker(lowest); pool >= 0 {
			return pool
		}
		delete(places, lowest)
	}
	pool := p.pool[run]
	for _, r := range p.members(pool) {
		if p.frozen[r] < 0 && p.surface[pool] <= p.ceiling {
			return pool
		}
	}
	return -1
}

// rise lifts the pool's surface by one, in the runs whose gas can leave.
func (p *pour) rise(pool int32) {
	runs := p.members(pool)
	if p.rising != nil {
		p.rising(runs, p.surface[pool])
	}
	p.moment++
	p.freeze(runs)
	if p.rose != nil {
		p.rose()
	}
	rises := false
	for _, r := range runs {
		if p.frozen[r] < 0 {
			p.level[r]++
			rises = true
		}
	}
	if rises {
		p.surface[pool]++
	}
}

// freeze applies rule 8 to a pool about to rise; none before the pour begins.
func (p *pour) freeze(rising []int32) {
	for _, r := range rising {
		if p.frozen[r] >= 0 {
			continue
		}
		for i, l := range p.g.Links {
			p.shut[i] = p.shut[i] || (l.A == r || l.B == r) && l.Hi <= p.level[r]
		}
		for i, x := range p.g.Exits {
			p.plugged[i] = p.plugged[i] || x.Run == r && x.Hi <= p.level[r]
		}
	}
	open := make([]bool, len(p.level))
	for i, x := range p.g.Exits {
		if p.plugged[i] {
			continue
		}
		for _, r := range p.spread(x.Run, func(_, l, _ int32) bool { return !p.shut[l] }) {
			open[r] = true
		}
	}
	for r := range open {
		switch {
		case open[r] && p.frozen[r] >= 0:
			p.fault = "frozen gas has found a way out"
		case !open[r] && p.frozen[r] < 0:
			p.frozen[r] = p.moment
		}
	}
	p.number()
}

// number gives the gas frozen at this moment its pockets (10).
func (p *pour) number() {
	for r := range p.pocket {
		if p.frozen[r] != p.moment || p.pocket[r] >= 0 {
			continue
		}
		volume := int32(0)
		gas := p.spread(int32(r), func(_, l, _ int32) bool { return !p.shut[l] })
		for _, q := range gas {
			volume += p.g.Hi[q] - p.height(int(q))
		}
		if volume == 0 {
			continue
		}
		for _, q := range gas {
			p.pocket[q] = p.pockets
		}
		p.pockets++
	}
}

// height returns the liquid's height in run, within the run.
func (p *pour) height(run int) int32 { return min(p.level[run], p.g.Hi[run]) }
