package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// leak draws the path that ends at a sample: pulled straight where the faces
// touch, its ends moved to the edges of the faces.
func (g *seams) leak(space int, end int32) Leak {
	var chain []int32
	for x := end; x >= 0; x = g.from[x] {
		chain = append(chain, x)
	}
	slices.Reverse(chain)
	first, last := &g.list[chain[0]], &g.list[end]
	l := Leak{From: "cavity", Channel: space}
	if space > 0 {
		l.From = channelName(&g.m.Channels[space-1])
	}
	edge := g.edge(first, inSpace, space)
	l.Path = []geom.Vec{edge}
	if first.closed {
		l.Land = edge.Dist(first.p)
	}
	// From one bend of the path to the next as far as faces touch all along.
	for i := 0; i+1 < len(chain); {
		j := i + 1
		for j+1 < len(chain) && g.straight(chain[i], chain[j+1]) {
			j++
		}
		a, b := &g.list[chain[i]], &g.list[chain[j]]
		l.Path = append(l.Path, a.p)
		if j > i+1 {
			l.Land += a.p.Dist(b.p)
		} else if g.jump[chain[j]] {
			p, q := g.edge(a, inHollow, 0), g.edge(b, inHollow, 0)
			l.Land += closedWay(a, p) + closedWay(b, q)
			l.Path = append(l.Path, p, q)
		} else {
			l.Land += g.touching(a, b)
		}
		i = j
	}
	edge = g.edge(last, inOutside, 0)
	if last.closed {
		l.Land += edge.Dist(last.p)
	}
	l.Path = append(l.Path, last.p, edge)
	l.pull()
	l.Land = math.Round(l.Land*1000) / 1000
	return l
}

// pull takes the ends of the path straight to the edges where that is no detour.
func (l *Leak) pull() {
	n := len(l.Path)
	if n > 4 { // edge, at most two samples, edge: one straight stretch
		return
	}
	parts := 0.0
	for i := 1; i < n; i++ {
		parts += l.Path[i].Dist(l.Path[i-1])
	}
	if whole := l.Path[0].Dist(l.Path[n-1]); math.Abs(parts-l.Land) < 1e-9 {
		l.Path, l.Land = []geom.Vec{l.Path[0], l.Path[n-1]}, whole
	}
}

// closedWay is how much of the way from a sample to the edge of its face is closed.
func closedWay(s *seam, edge geom.Vec) float64 {
	if !s.closed {
		return 0
	}
	return s.p.Dist(edge)
}

// touching is how much of the way between two neighbouring samples the faces touch.
func (g *seams) touching(a, b *seam) float64 {
	switch {
	case a.closed && b.closed:
		return along90(b.p.Sub(a.p), a.n, b.n)
	case a.closed:
		return a.p.Dist(g.m.edgeOf(a.p, b.p, a.n))
	case b.closed:
		return b.p.Dist(g.m.edgeOf(b.p, a.p, b.n))
	}
	return 0
}

// touchingReach is how many pitches a place may lie off a sample of touching faces to be
// taken as on them: every place of a square of samples is within sqrt(1/2).
const touchingReach = 0.9

// straight tells whether touching faces run all along the straight way between
// two samples.
func (g *seams) straight(a, b int32) bool {
	p, q := g.list[a].p, g.list[b].p
	if !g.list[a].closed || !g.list[b].closed || g.list[a].n.Dot(g.list[b].n) < 0.98 { // 11 deg: not over a corner
		return false
	}
	n := int(math.Ceil(p.Dist(q)/g.pitch)) + 1
	for i := 1; i < n; i++ {
		if !g.faces.any(p.Lerp(q, float64(i)/float64(n)), touchingReach*g.pitch) {
			return false
		}
	}
	return true
}

// edgeOf returns where, on the way from a place p of touching faces with normal n
// to a place beyond, they stop touching: by halving, to 1e-5 mm.
func (m *Mold) edgeOf(p, beyond, n geom.Vec) geom.Vec {
	lo, hi := 0.0, 1.0
	for width := p.Dist(beyond); (hi-lo)*width > 1e-5; {
		mid := (lo + hi) / 2
		if m.touchesAt(p.Lerp(beyond, mid), n) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return p.Lerp(beyond, lo)
}

// touchesAt tells whether, on a line along n through p, two halves meet within
// the seal.
func (m *Mold) touchesAt(p, n geom.Vec) bool {
	const ahead = 0.5 // mm that the face may lie off p: curved faces, the overlap
	var in, out []float64
	var inHalf, outHalf []int
	for _, h := range m.fixed.tree.All(p.AddScaled(n, -ahead), n, 2*ahead, nil) {
		if h.Sense < 0 {
			out, outHalf = append(out, h.Dist), append(outHalf, m.fixed.half(h.Facet))
		} else {
			in, inHalf = append(in, h.Dist), append(inHalf, m.fixed.half(h.Facet))
		}
	}
	for i := range out {
		for j := range in {
			if outHalf[i] != inHalf[j] && math.Abs(in[j]-out[i]) < m.Seal {
				return true
			}
		}
	}
	return false
}
