package mold

import "pourproof/geom/flood"

// addPieces groups the segments of run r into pieces of one kind.
func (p *pour) addPieces(c, r int32, segs []segment) {
	for i := 0; i < len(segs); {
		kind := p.kindOf(segs[i].of)
		j := i
		p.first = append(p.first, int32(len(p.segs)))
		for ; j < len(segs) && p.kindOf(segs[j].of) == kind; j++ {
			p.segs = append(p.segs, segs[j])
		}
		floor, roof := int32(openEnd), int32(openEnd)
		if i == 0 {
			floor = p.sp.LoFacet[r]
		}
		if j == len(segs) {
			roof = p.sp.HiFacet[r]
		}
		p.lo, p.hi = append(p.lo, segs[i].lo), append(p.hi, segs[j-1].hi)
		p.col, p.kind = append(p.col, c), append(p.kind, kind)
		p.floor, p.roof = append(p.floor, floor), append(p.roof, roof)
		i = j
	}
}

// link builds the graph: a run for every inside piece, links between them, exits
// where they touch the outside, sources where they touch the gate.
func (p *pour) link() {
	p.run = sized(p.run, len(p.lo))
	n := len(p.lo)
	for _, k := range p.kind {
		if k != inside {
			n--
		}
	}
	p.piece, p.graph.Lo, p.graph.Hi = sized(p.piece, n)[:0], sized(p.graph.Lo, n)[:0], sized(p.graph.Hi, n)[:0]
	p.graph.Links = sized(p.graph.Links, 2*n+n/8)[:0]
	for i := range p.run {
		p.run[i] = -1
		if p.kind[i] == inside {
			p.run[i] = int32(len(p.piece))
			p.piece = append(p.piece, int32(i))
			p.graph.Lo, p.graph.Hi = append(p.graph.Lo, p.lo[i]), append(p.graph.Hi, p.hi[i])
		}
	}
	ny := p.lat.N[1]
	for c := 0; c+1 < len(p.start); c++ {
		for i := p.start[c]; i+1 < p.start[c+1]; i++ {
			if p.hi[i] == p.lo[i+1] && p.kind[i] != p.kind[i+1] {
				p.join(i, i+1, p.hi[i], p.hi[i])
			}
		}
		if c/ny+1 < p.lat.N[0] {
			p.linkColumns(c, c+ny, 0)
		}
		if c%ny+1 < ny {
			p.linkColumns(c, c+1, 1)
		}
	}
	p.sources()
}

func (p *pour) linkColumns(c, d, axis int) {
	a, b := p.start[c], p.start[d]
	for a < p.start[c+1] && b < p.start[d+1] {
		lo, hi := max(p.lo[a], p.lo[b]), min(p.hi[a], p.hi[b])
		if lo < hi && (p.kind[a] == inside || p.kind[b] == inside) {
			if lo, hi, ok := p.sp.Open(c/p.lat.N[1], c%p.lat.N[1], axis, lo, hi); ok {
				p.join(a, b, lo, hi)
			}
		}
		if p.hi[a] < p.hi[b] {
			a++
		} else {
			b++
		}
	}
}

// join adds what an opening from lo to hi between two pieces means to the pour.
func (p *pour) join(a, b, lo, hi int32) {
	if p.kind[a] != inside {
		a, b = b, a
	}
	r := p.run[a]
	if r < 0 {
		return
	}
	switch p.kind[b] {
	case inside:
		p.graph.Links = append(p.graph.Links, flood.Link{A: r, B: p.run[b], Lo: lo, Hi: hi})
	case outsideAir:
		p.graph.Exits = append(p.graph.Exits, flood.Exit{Run: r, Lo: lo, Hi: hi, Port: int32(p.labelIn(a, lo, hi))})
	case gateFull:
		p.graph.Sources = append(p.graph.Sources, r)
		p.gateMouth = append(p.gateMouth, opening{r, p.labelIn(b, lo, hi), lo, hi})
	}
}

// labelIn returns the label of piece a's segment at the middle of lo and hi.
func (p *pour) labelIn(a, lo, hi int32) label {
	mid := lo + (hi-lo)/2
	for s := p.first[a]; s < p.first[a+1]; s++ {
		if mid <= p.segs[s].hi {
			return p.segs[s].of
		}
	}
	return p.segs[p.first[a+1]-1].of
}

// sources makes the exits of an open gate the places where resin enters.
func (p *pour) sources() {
	if !p.m.Job.GateOpen {
		return
	}
	for _, e := range p.graph.Exits {
		if l := label(e.Port); l >= firstChannel && p.m.Channels[l-firstChannel].Role == Gate {
			p.graph.Sources = append(p.graph.Sources, e.Run)
		}
	}
}
