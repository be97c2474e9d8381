package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom/flood"
)

// leastProminence is how far a high point must stand above the saddle to the
// next higher one, in mm, to count (design; common practice, no source): less is
// smoothed over by the resin's own surface.
const leastProminence = 0.3

// peak is a local maximum of the cavity while the level sinks from the top.
type peak struct {
	piece  int32
	z      int32
	into   int32 // the higher peak it ran into, -1
	saddle int32
	vents  []mouthEvent // channels whose mouth opens first below this peak
}

type mouthEvent struct {
	channel int32
	z       int32
}

// sinkEvent is a link between two cavity columns or an opening of a channel, at
// the height down to which the level must sink to pass it.
type sinkEvent struct {
	z    int32
	a, b int32 // runs; b < 0: the opening of channel -b-1 at run a
}

// highPoints finds the cavity's local maxima with their prominence by one sweep
// from the top (merge tree: Carr, Snoeyink, Axen 2003), and which channel's mouth
// lets the air of each one out.
func (p *pour) highPoints(f *Fill) {
	top := make([]int32, len(p.piece)) // highest cavity of each run
	for r, i := range p.piece {
		top[r] = -1 << 31
		for s := p.first[i]; s < p.first[i+1]; s++ {
			if g := p.segs[s]; g.of == cavity && g.hi-g.lo > sliver {
				top[r] = g.hi
			}
		}
	}
	events := p.sinkEvents(f, top)
	w := sinking{top: top, comp: make([]int32, len(top)), peakOf: make([]int32, len(top))}
	for r := range w.comp {
		w.comp[r], w.peakOf[r] = int32(r), -1
	}
	for _, e := range events {
		if e.b < 0 {
			w.open(e)
		} else {
			w.join(p, e)
		}
	}
	for r, i := range p.piece { // a cavity of one column
		if top[r] > -1<<31 && w.root(int32(r)) == int32(r) && w.peakOf[r] < 0 {
			w.peaks = append(w.peaks, peak{piece: i, z: top[r], into: -1})
			w.peakOf[r] = int32(len(w.peaks) - 1)
		}
	}
	p.listPeaks(f, &w)
}

// sinkEvents lists links between cavity columns and channel openings from the
// top down, and records every channel's highest and lowest opening.
func (p *pour) sinkEvents(f *Fill, top []int32) []sinkEvent {
	events := make([]sinkEvent, 0, len(p.graph.Links))
	for _, l := range p.graph.Links {
		z := min(l.Hi, top[l.A], top[l.B])
		if z > l.Lo {
			events = append(events, sinkEvent{z, l.A, l.B})
		}
	}
	low := make([]int32, len(f.Ports))
	high := make([]int32, len(f.Ports))
	for c := range low {
		low[c], high[c] = 1<<31-1, -1<<31
	}
	p.openings(func(run int32, of label, lo, hi int32) {
		c := of - firstChannel
		low[c], high[c] = min(low[c], lo), max(high[c], hi)
		if p.kindOf(of) != gateFull {
			events = append(events, sinkEvent{hi, run, -int32(c) - 1})
		}
	})
	for c := range f.Ports {
		if low[c] <= high[c] {
			p.mouthHeights(f, c, p.lat.Height(low[c]), p.lat.Height(high[c]))
		}
	}
	slices.SortFunc(events, func(a, b sinkEvent) int {
		// Of equal heights links come first: a level roof is one high point.
		return cmp.Or(cmp.Compare(b.z, a.z), cmp.Compare(b.b, a.b), cmp.Compare(a.a, b.a))
	})
	return events
}

// mouthHeights sets a channel's mouth from its lowest and highest opening on the columns,
// which lie off by what the channel's roof rises or falls within a pitch of the part: the
// rim of the mouth says better, unless the two are too far apart to be one mouth.
func (p *pour) mouthHeights(f *Fill, c int, low, high float64) {
	k := &f.Ports[c]
	k.MouthLow, k.MouthTop, k.sampledTop = low, high, high
	if len(k.rim) == 0 {
		return
	}
	l, h := rimHeights(k.rim, f.Up)
	if far := 3 * p.lat.Pitch(); math.Abs(l-low) <= far && math.Abs(h-high) <= far {
		k.MouthLow, k.MouthTop = l, h
	}
}

// mouthTop returns the height at which a mouth begins to let air out, of that at which it
// does on the columns. Its topmost column joins its neighbours a little below its top, so
// a height within two pitches of the mouth's top is that top.
func (p *pour) mouthTop(c *Channel, height float64) float64 {
	if c.sampledTop-height <= 2*p.lat.Pitch() {
		return c.MouthTop
	}
	return height
}

// openings calls visit for every place where a column's cavity meets a channel:
// the run of the cavity's column, the channel, and the opening's heights.
func (p *pour) openings(visit func(run int32, of label, lo, hi int32)) {
	for r, i := range p.piece {
		for s := p.first[i]; s+1 < p.first[i+1]; s++ {
			a, b := p.segs[s], p.segs[s+1]
			switch {
			case a.of == cavity && b.of >= firstChannel:
				visit(int32(r), b.of, a.hi, a.hi)
			case b.of == cavity && a.of >= firstChannel:
				visit(int32(r), a.of, b.lo, b.lo)
			}
		}
	}
	for _, l := range p.graph.Links {
		a, b := p.piece[l.A], p.piece[l.B]
		if p.plain(a) && p.plain(b) {
			continue
		}
		p.sideOpenings(l.A, b, l.Lo, l.Hi, visit)
		p.sideOpenings(l.B, a, l.Lo, l.Hi, visit)
	}
	for _, g := range p.gateMouth {
		visit(g.run, g.of, g.lo, g.hi)
	}
}

// plain tells whether a piece is cavity and nothing else.
func (p *pour) plain(i int32) bool {
	return p.first[i+1]-p.first[i] == 1 && p.segs[p.first[i]].of == cavity
}

// sideOpenings visits where the cavity of run r faces a channel of piece b
// between two heights.
func (p *pour) sideOpenings(r, b, lo, hi int32, visit func(run int32, of label, lo, hi int32)) {
	a := p.piece[r]
	for s := p.first[a]; s < p.first[a+1]; s++ {
		if p.segs[s].of != cavity {
			continue
		}
		for t := p.first[b]; t < p.first[b+1]; t++ {
			if p.segs[t].of < firstChannel {
				continue
			}
			u, v := max(p.segs[s].lo, p.segs[t].lo, lo), min(p.segs[s].hi, p.segs[t].hi, hi)
			if u < v {
				visit(r, p.segs[t].of, u, v)
			}
		}
	}
}

// sinking is the union-find of cavity columns while the level sinks.
type sinking struct {
	top          []int32
	comp, peakOf []int32
	peaks        []peak
}

func (w *sinking) root(r int32) int32 {
	for w.comp[r] != r {
		w.comp[r] = w.comp[w.comp[r]]
		r = w.comp[r]
	}
	return r
}

// join connects two columns; where both belong to a peak the lower one ends.
func (w *sinking) join(p *pour, e sinkEvent) {
	a, b := w.root(e.a), w.root(e.b)
	if a == b {
		return
	}
	if w.top[a] < w.top[b] || w.top[a] == w.top[b] && a > b {
		a, b = b, a // a has the higher top
	}
	w.comp[b] = a
	if w.peakOf[a] < 0 {
		w.peaks = append(w.peaks, peak{piece: p.piece[a], z: w.top[a], into: -1})
		w.peakOf[a] = int32(len(w.peaks) - 1)
	}
	if k := w.peakOf[b]; k >= 0 {
		w.peaks[k].into, w.peaks[k].saddle = w.peakOf[a], e.z
	} else if w.top[b] > e.z {
		// A top of one column: it has a peak only if it stands out.
		w.peaks = append(w.peaks, peak{piece: p.piece[b], z: w.top[b], into: w.peakOf[a], saddle: e.z})
	}
}

// open notes that a channel opens to the peak of run e.a at this height.
func (w *sinking) open(e sinkEvent) {
	r := w.root(e.a)
	k := w.peakOf[r]
	if k < 0 {
		return
	}
	c := -e.b - 1
	for _, v := range w.peaks[k].vents {
		if v.channel == c {
			return
		}
	}
	w.peaks[k].vents = append(w.peaks[k].vents, mouthEvent{c, e.z})
}

// listPeaks writes the peaks that stand out, highest first, and ties channels to
// them.
func (p *pour) listPeaks(f *Fill, w *sinking) {
	bar := int32(leastProminence / p.lat.Q)
	keeps := func(k *peak) bool { return k.into < 0 || k.z-k.saddle >= bar }
	var order []int32
	for k := range w.peaks {
		if keeps(&w.peaks[k]) {
			order = append(order, int32(k))
		}
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(w.peaks[b].z, w.peaks[a].z), cmp.Compare(w.peaks[a].piece, w.peaks[b].piece))
	})
	number := map[int32]int{}
	for n, k := range order {
		pk := &w.peaks[k]
		at := p.sharpTop(pk.piece, pk.z)
		h := HighPoint{At: at, Height: at.Dot(f.Up)}
		h.Prominence = h.Height - p.lat.Height(pk.saddle)
		if pk.into < 0 {
			h.Prominence = h.Height - f.LowestCavityPoint.Dot(f.Up)
		}
		if r := p.run[pk.piece]; r >= 0 && p.flow.Reached[r] {
			h.Pocket = p.reportedPocket(f, r)
		}
		number[k] = n
		f.HighPoints = append(f.HighPoints, h)
	}
	p.tieVents(f, w, number)
}

// tieVents records, for every channel, the high points whose air it lets out and
// how far its mouth lies below them; for every high point, the channel with the
// highest mouth.
func (p *pour) tieVents(f *Fill, w *sinking, number map[int32]int) {
	best := make([]int32, len(f.HighPoints))
	for k := range w.peaks {
		for _, v := range w.peaks[k].vents {
			to := int32(k)
			for {
				if _, ok := number[to]; ok || w.peaks[to].into < 0 {
					break
				}
				to = w.peaks[to].into
			}
			n, ok := number[to]
			if !ok {
				continue
			}
			h, c := &f.HighPoints[n], &f.Ports[v.channel]
			if c.Role == Blind {
				continue
			}
			gap := max(h.Height-p.mouthTop(c, p.lat.Height(v.z)), 0)
			if len(c.Drains) == 0 || gap < c.GapToHigh {
				c.GapToHigh = gap
			}
			if !slices.Contains(c.Drains, n) {
				c.Drains = append(c.Drains, n)
			}
			if h.VentedBy == 0 || v.z > best[n] {
				h.VentedBy, best[n] = c.ID, v.z
			}
		}
	}
	for c := range f.Ports {
		slices.Sort(f.Ports[c].Drains)
	}
}

// reportedPocket returns the ID of the reported pocket that holds run r's air.
func (p *pour) reportedPocket(f *Fill, r int32) int {
	k := p.flow.Pocket[r]
	if k < 0 || p.flow.Seals[k].When == flood.Never {
		return 0
	}
	return p.idOf[k]
}
