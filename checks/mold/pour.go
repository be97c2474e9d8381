package mold

import (
	"math"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
	"pourproof/geom/flood"
)

// pour is the closed mold turned so that up is the third axis: the void as runs,
// every run cut into segments of cavity, channel or outside, and the graph that
// the resin rises in.
type pour struct {
	m     *Mold
	lat   column.Lattice
	sp    *column.Space
	parts column.Lines // the fitted part along the columns

	// Pieces: parts of runs between outside and gate. Piece p holds segments
	// segs[first[p]] up to segs[first[p+1]]; columns hold pieces start[c] up to
	// start[c+1].
	start []int32
	first []int32
	lo    []int32
	hi    []int32
	col   []int32
	kind  []pieceKind
	roof  []int32 // facet over the piece, or column.Border / column.Sealed / open
	floor []int32
	segs  []segment

	graph flood.Graph
	run   []int32 // per piece: its run in the graph, -1 for outside and gate
	piece []int32 // per run of the graph: its piece
	flow  *flood.Result

	gateMouth []opening // where the sealed gate meets the cavity
	idOf      []int     // per pocket of flow: its ID in Fill.Pockets, 0 if not reported
}

// opening is where a column meets a channel.
type opening struct {
	run    int32
	of     label
	lo, hi int32
}

type pieceKind uint8

const (
	inside     pieceKind = iota // cavity and channels
	outsideAir                  // takes no resin, always open
	gateFull                    // the sealed gate's channel: full of resin from the start
)

// openEnd marks an end of a piece where the run goes on as another kind.
const openEnd = -3

type segment struct {
	lo, hi int32
	of     label
}

// PourFrame returns the frame of a pour's columns: up is the third axis, and the
// lattice is turned about it by an angle with cosine 35/37 and sine 12/37 (18.9
// deg), so that walls drawn square do not run along the lattice: the columns at
// such a wall would all err to the same side.
func PourFrame(up geom.Vec) geom.Rigid {
	const c, s = 35.0 / 37, 12.0 / 37
	f := geom.FrameFor(up)
	return geom.Rigid{
		X: f.X.Scale(c).AddScaled(f.Y, s),
		Y: f.Y.Scale(c).AddScaled(f.X, -s),
		Z: f.Z,
	}
}

// spares holds the memory of pours that are done with: a search makes a hundred, and fresh
// memory costs as much as what is done in it.
var spares = sync.Pool{New: func() any { return new(pour) }}

// done gives the pour's memory to a later one.
func (p *pour) done() {
	*p = pour{parts: p.parts, start: p.start, first: p.first, lo: p.lo, hi: p.hi, col: p.col, kind: p.kind, roof: p.roof, floor: p.floor, segs: p.segs,
		graph: flood.Graph{Lo: p.graph.Lo, Hi: p.graph.Hi, Links: p.graph.Links}, run: p.run, piece: p.piece}
	spares.Put(p)
}

// newPour casts the mold for a pour with direction up away from gravity, at
// pitch h.
func (m *Mold) newPour(up geom.Vec, h float64) (*pour, error) {
	frame := PourFrame(up)
	halves, part := m.castAt(h)
	lat, err := column.NewLattice(frame, m.insideBox(frame, part).Grow(2*h), h)
	if err != nil {
		return nil, err
	}
	p := spares.Get().(*pour)
	p.m, p.lat = m, lat
	p.sp = column.NewSpace(column.Snap(lat, halves, m.cuts()), m.Seal, m.openWay)
	p.cutRuns(part)
	p.link()
	return p, nil
}

// insideBox returns the bounds, in a turned frame, of the fitted part and the channels.
func (m *Mold) insideBox(frame geom.Rigid, part *geom.Mesh) geom.Box {
	b := geom.EmptyBox()
	for _, v := range part.Vertices {
		b = b.Include(frame.Turn(v))
	}
	b = b.Grow(m.Skin)
	of, nz := m.labels.of, m.labels.lat.N[2]
	for _, nodes := range m.nodes.members {
		for _, x := range nodes {
			if k := int(x) % nz; k > 0 && k+1 < nz && of[x-1] == of[x] && of[x+1] == of[x] {
				continue // in a column its ends lie farther out
			}
			b = b.Include(frame.Turn(m.labels.point(x)))
		}
	}
	return b
}

// partSolids prepares the fitted part for the pour's lattice.
func (p *pour) partSolids() *column.Solids {
	return column.Snap(p.lat, []*geom.Mesh{p.m.fixed.part}, nil)
}

// cutRuns cuts every run of void into segments and pieces, given the fitted part.
func (p *pour) cutRuns(part *geom.Mesh) {
	column.Snap(p.lat, []*geom.Mesh{part}, nil).CastInto(&p.parts, 2)
	p.start = sized(p.start, len(p.parts.Start))
	n := len(p.sp.Lo) + len(p.sp.Lo)/8 // most runs are one piece of one segment
	for _, list := range [...]*[]int32{&p.first, &p.lo, &p.hi, &p.col, &p.roof, &p.floor} {
		*list = sized(*list, n)[:0]
	}
	p.kind, p.segs = sized(p.kind, n)[:0], sized(p.segs, n)[:0]
	p.start[0] = 0
	var segs []segment
	for c := range len(p.start) - 1 {
		for r := p.sp.Start[c]; r < p.sp.Start[c+1]; r++ {
			segs = p.segments(segs[:0], c, p.sp.Lo[r], p.sp.Hi[r])
			p.addPieces(int32(c), r, segs)
		}
		p.start[c+1] = int32(len(p.lo))
	}
	p.first = append(p.first, int32(len(p.segs)))
}

// segments labels the stretch lo to hi of column c: inside the fitted part it is
// cavity, exactly; elsewhere the closed mold's labels decide, looked up once a
// pitch, with the place of a change between channel and outside found by
// halving.
func (p *pour) segments(out []segment, c int, lo, hi int32) []segment {
	z := lo
	for i := p.parts.Start[c]; i < p.parts.Start[c+1]; i++ {
		a, b := max(p.parts.Lo[i], lo), min(p.parts.Hi[i], hi)
		if a >= b {
			continue
		}
		out = p.lookUp(out, c, z, a)
		out = appendSegment(out, segment{a, b, cavity})
		z = b
	}
	return p.lookUp(out, c, z, hi)
}

// sliver is the length in quanta below which a stretch between part and rubber
// is rounding: two surfaces drawn as one differ by a quantum each.
const sliver = 4

func (p *pour) lookUp(out []segment, c int, lo, hi int32) []segment {
	if hi <= lo {
		return out
	}
	if hi-lo <= sliver {
		return appendSegment(out, segment{lo, hi, cavity})
	}
	pitch := int32(1) << p.lat.Bits
	n := (hi - lo + pitch - 1) / pitch
	x, y := p.lat.At(0, c/p.lat.N[1]), p.lat.At(1, c%p.lat.N[1])
	// Lattice.Point along this column: only the last of its three terms changes.
	f, o := &p.lat.Frame, p.lat.Origin.AddScaled(geom.Vec{X: float64(x), Y: float64(y)}, p.lat.Q)
	foot := f.X.Scale(o.X).AddScaled(f.Y, o.Y)
	at := func(i int32) int32 { return lo + int32((int64(hi-lo)*int64(2*i+1))/int64(2*n)) }
	step := float64((hi-lo)/n+2) * p.lat.Q // rounded up, and the heights are rounded
	from := lo
	var was label
	for i := int32(0); i < n; i++ {
		z := at(i)
		q := foot.AddScaled(f.Z, p.lat.Origin.Z+float64(float64(z)*p.lat.Q))
		is, more := nothing, p.m.labels.freeFor(q, step)
		if more < 0 {
			is, more = p.m.labelAt(q), 0
		}
		if i > 0 && is != was {
			cut := p.change(x, y, at(i-1), z, was, is)
			out = appendSegment(out, segment{from, cut, was})
			from = cut
		}
		was, i = is, min(i+more, n-1)
	}
	return appendSegment(out, segment{from, hi, was})
}

// change finds where between two heights the label turns from was to is.
func (p *pour) change(x, y, a, b int32, was, is label) int32 {
	if was != nothing && is != nothing {
		return a + (b-a)/2
	}
	for b-a > 1<<(p.lat.Bits-5) { // 1/32 of a pitch
		mid := a + (b-a)/2
		if (p.m.labelAt(p.lat.Point(x, y, mid)) == nothing) == (was == nothing) {
			a = mid
		} else {
			b = mid
		}
	}
	return a + (b-a)/2
}

// labelAt returns cavity, a channel's label, or nothing for the outside, of a
// place in the void outside the part.
func (m *Mold) labelAt(q geom.Vec) label {
	l := m.labels.at(q)
	switch {
	case l == beyond:
		// The node lies outside; the place itself may still be in the channel.
		if m.labels.besideChannel(q) && !m.fixed.outside.holds(q) {
			return m.labels.channelNear(q)
		}
		return nothing
	case l == nothing:
		if m.nearPart(q) {
			return cavity
		}
		return nothing
	case l&^material >= firstChannel && m.fixed.outside.holds(q):
		return nothing
	case l == cavity|material:
		// A node of rubber beside a mouth may carry the cavity's label although the
		// place lies in the bore.
		if m.labels.besideChannel(q) && !m.nearPart(q) {
			if c := m.labels.channelNear(q); c != nothing {
				return c
			}
		}
	}
	return l &^ material
}

// channelNear returns the label of the channel's node nearest to q among those
// within two steps of the node nearest to q, nothing if there is none.
func (l *labels) channelNear(q geom.Vec) label {
	n := l.nearest(q)
	if n < 0 {
		return nothing
	}
	best, dist := nothing, math.Inf(1)
	l.within2(n, func(x int32) {
		if v := l.of[x]; v >= firstChannel && v&material == 0 {
			if d := l.point(x).Sub(q).Norm2(); d < dist {
				best, dist = v, d
			}
		}
	})
	return best
}

// appendSegment adds a segment, or lengthens the last one of the same label.
func appendSegment(out []segment, s segment) []segment {
	if s.lo >= s.hi {
		return out
	}
	if n := len(out); n > 0 && out[n-1].of == s.of && out[n-1].hi == s.lo {
		out[n-1].hi = s.hi
		return out
	}
	return append(out, s)
}

// kindOf returns what a segment of a label is to the pour.
func (p *pour) kindOf(l label) pieceKind {
	switch {
	case l == nothing:
		return outsideAir
	case l >= firstChannel && !p.m.Job.GateOpen && p.m.Channels[l-firstChannel].Role == Gate:
		return gateFull
	}
	return inside
}
