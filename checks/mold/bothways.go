package mold

import (
	"slices"

	"pourproof/geom/flood"
)

// A decision between two basins or two passages that lie closer than doubt mm is
// not sure: a wedge is never that exact. The pour is therefore run again with
// the block leaning by that much over its own width, four ways.
const doubt = 0.05

// film is the thickness of air in mm that such a lean may leave under a level
// roof; it is reported as a level ceiling, not as a pocket.
const film = 1.2 * doubt

// bothWays floods the leaning graphs. Where one traps more than the upright one
// by more than a film, it takes its place: the worse value counts. It returns
// the pockets of the flow that then stands whose volume depends on the lean.
func (p *pour) bothWays() (map[int32]bool, error) {
	type variant struct {
		graph flood.Graph
		flow  *flood.Result
		air   trappedAir
	}
	worst := variant{p.graph, p.flow, p.sumAir(p.flow)}
	all := []*flood.Result{p.flow}
	for _, lean := range [4][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
		v := variant{graph: p.lean(lean[0], lean[1])}
		var err error
		if v.flow, err = flood.Levels(&v.graph); err != nil {
			return nil, err
		}
		v.air = p.sumAir(v.flow)
		all = append(all, v.flow)
		if v.air.volume > worst.air.volume+v.air.tolerance() {
			worst = v
		}
	}
	if worst.flow != p.flow {
		p.graph, p.flow = worst.graph, worst.flow
		p.flow.Number()
	}
	marginal := map[int32]bool{}
	mine := p.pocketAir(p.flow)
	if !slices.ContainsFunc(mine, func(a trappedAir) bool { return a.volume > reported }) {
		return marginal, nil
	}
	for _, flow := range all {
		theirs := p.pocketAir(flow)
		for k := range mine {
			if mine[k].volume > reported && mine[k].volume-theirs[k].volume > mine[k].tolerance() {
				marginal[int32(k)] = true
			}
		}
	}
	return marginal, nil
}

// trappedAir is an amount of air and the cross-section of its columns.
type trappedAir struct{ volume, area float64 } // mm3, mm2

// tolerance is the change that a lean of doubt explains without a decision going
// the other way: the level may shift by doubt under the whole of the air, and the
// bar of the stated error, max(1 mm3, 5 %).
func (a trappedAir) tolerance() float64 { return max(1, 0.05*a.volume) + doubt*a.area }

// sumAir sums the trapped air of the part without films.
func (p *pour) sumAir(s *flood.Result) trappedAir {
	sum, columns := int64(0), 0
	p.airOf(s, func(_ int32, a int64) { sum, columns = sum+a, columns+1 })
	return p.airIn(sum, columns)
}

// pocketAir returns, for every pocket of the flow, the air that flow s traps in its
// columns, without films.
func (p *pour) pocketAir(s *flood.Result) []trappedAir {
	sum, columns := make([]int64, len(p.flow.Seals)), make([]int, len(p.flow.Seals))
	p.airOf(s, func(run int32, a int64) {
		if k := p.flow.Pocket[run]; k >= 0 {
			sum[k] += a
			columns[k]++
		}
	})
	out := make([]trappedAir, len(sum))
	for k := range out {
		out[k] = p.airIn(sum[k], columns[k])
	}
	return out
}

func (p *pour) airIn(quanta int64, columns int) trappedAir {
	return trappedAir{p.volume(quanta), float64(columns) * p.area()}
}

// airOf visits the runs in which a flow traps more of the part's air than a film, with
// its height in quanta.
func (p *pour) airOf(s *flood.Result, visit func(run int32, air int64)) {
	thin := int64(film / p.lat.Q)
	for run, i := range p.piece {
		if !s.Reached[run] || s.Cut[run] == flood.Never {
			continue
		}
		if z := s.Level(int32(run), flood.Never); int64(p.hi[i])-int64(z) > thin {
			if a, _ := p.inLabel(i, z, p.hi[i]); a > thin {
				visit(int32(run), a)
			}
		}
	}
}

// lean returns the graph of the block leaning by doubt over its width along the
// lattice's axes: every height moves with its column.
func (p *pour) lean(dx, dy float64) flood.Graph {
	nx, ny := p.lat.N[0], p.lat.N[1]
	span := doubt / p.lat.Q
	shift := func(run int32) int32 {
		x, y := p.column(p.piece[run])
		u := dx * (float64(x)/float64(nx) - 0.5)
		v := dy * (float64(y)/float64(ny) - 0.5)
		return int32((u + v) * span)
	}
	g := flood.Graph{Sources: p.graph.Sources}
	n := len(p.graph.Lo)
	g.Lo, g.Hi = make([]int32, n), make([]int32, n)
	s := make([]int32, n)
	for r := range g.Lo {
		s[r] = shift(int32(r))
		g.Lo[r], g.Hi[r] = p.graph.Lo[r]+s[r], p.graph.Hi[r]+s[r]
	}
	g.Links = make([]flood.Link, 0, len(p.graph.Links))
	for _, l := range p.graph.Links {
		lo := max(l.Lo+(s[l.A]+s[l.B])/2, g.Lo[l.A], g.Lo[l.B])
		hi := min(l.Hi+(s[l.A]+s[l.B])/2, g.Hi[l.A], g.Hi[l.B])
		if lo <= hi {
			g.Links = append(g.Links, flood.Link{A: l.A, B: l.B, Lo: lo, Hi: hi})
		}
	}
	for _, e := range p.graph.Exits {
		lo, hi := max(e.Lo+s[e.Run], g.Lo[e.Run]), min(e.Hi+s[e.Run], g.Hi[e.Run])
		g.Exits = append(g.Exits, flood.Exit{Run: e.Run, Lo: lo, Hi: hi, Port: e.Port})
	}
	return g
}
