package mold

import (
	"sort"

	"pourproof/geom/flood"
)

// progress tells how much resin is in after any moment of the pour.
type progress struct {
	before []int64 // per arc: quanta of column filled before it begins
	start  []int32 // per arc: its entries
	run    []int32 // entries: a run that rises while the arc fills
	lo, hi []int32 // entries: the heights it rises through
}

// newProgress lists, arc by arc, how every run's level rises; under trapped air
// it ends at the sharpened level.
func (p *pour) newProgress(lv *levels) *progress {
	g := &progress{}
	n := p.flow.Arcs()
	count := make([]int32, n+1)
	for r := range p.piece {
		p.rises(lv, int32(r), func(arc, _, _ int32) { count[arc+1]++ })
	}
	for i := 0; i < n; i++ {
		count[i+1] += count[i]
	}
	g.start = count
	next := append([]int32(nil), count[:n]...)
	g.run, g.lo, g.hi = make([]int32, count[n]), make([]int32, count[n]), make([]int32, count[n])
	g.before = make([]int64, n+1)
	for r := range p.piece {
		p.rises(lv, int32(r), func(arc, lo, hi int32) {
			g.run[next[arc]], g.lo[next[arc]], g.hi[next[arc]] = int32(r), lo, hi
			next[arc]++
			g.before[arc+1] += int64(hi - lo)
		})
	}
	for i := 0; i < n; i++ {
		g.before[i+1] += g.before[i]
	}
	return g
}

// rises visits the arcs in which run r's level rises, up to its sharpened end.
func (p *pour) rises(lv *levels, r int32, visit func(arc, lo, hi int32)) {
	coarse := p.flow.Level(r, flood.Never)
	end := coarse
	if p.flow.Pocket[r] >= 0 {
		end = lv.of(r)
	}
	p.flow.Rises(r, func(arc, lo, hi int32) {
		if hi == coarse { // the last one takes up the difference
			hi = max(end, hi)
		}
		if hi = min(hi, end); lo < hi {
			visit(arc, lo, hi)
		}
	})
}

// at returns the quanta of column filled at a moment.
func (g *progress) at(t flood.Time) int64 {
	arc, level := t.Split()
	sum := g.before[arc]
	for i := g.start[arc]; i < g.start[arc+1]; i++ {
		if level > g.lo[i] {
			sum += int64(min(level, g.hi[i]) - g.lo[i])
		}
	}
	return sum
}

// level returns the arc and the height at which the given quanta are in.
func (g *progress) level(want int64) (arc, z int32) {
	n := len(g.before) - 1
	a := sort.Search(n, func(i int) bool { return g.before[i+1] >= want })
	if a >= n {
		a = n - 1
	}
	lo, hi := int32(1<<31-1), int32(-1<<31)
	for i := g.start[a]; i < g.start[a+1]; i++ {
		lo, hi = min(lo, g.lo[i]), max(hi, g.hi[i])
	}
	for lo < hi {
		mid := lo + (hi-lo)/2
		sum := g.before[a]
		for i := g.start[a]; i < g.start[a+1]; i++ {
			if mid > g.lo[i] {
				sum += int64(min(mid, g.hi[i]) - g.lo[i])
			}
		}
		if sum >= want {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return int32(a), lo
}

// stagesAt are the shares of the resin at which the pour is shown, per cent.
var stagesAt = [5]float64{10, 30, 60, 90, 100}

// events fills in the stages and, for every vent, when it first drips and when
// its exit is wholly covered.
func (p *pour) events(f *Fill, lv *levels) {
	g := p.newProgress(lv)
	total := g.before[len(g.before)-1]
	if total == 0 {
		return
	}
	var arc, z [len(stagesAt)]int32
	for k, pct := range stagesAt {
		want := int64(float64(total)*pct/100 + 0.5)
		arc[k], z[k] = g.level(want)
		f.Stages = append(f.Stages, Stage{Percent: pct, Filled: p.volume(want), Level: p.lat.Height(z[k])})
	}
	p.keepStages(f, lv, g, arc, z)
	const never = flood.Never
	drip := make([]flood.Time, len(f.Ports))
	plug := make([]flood.Time, len(f.Ports))
	has := make([]bool, len(f.Ports))
	for c := range drip {
		drip[c] = never
	}
	for _, e := range p.graph.Exits {
		if label(e.Port) < firstChannel || !p.flow.Reached[e.Run] {
			continue // a sliver before the exit that no resin comes to
		}
		c := label(e.Port) - firstChannel
		first, last := p.flow.When(e.Run, e.Lo), p.flow.When(e.Run, e.Hi)
		if first < p.flow.Cut[e.Run] {
			drip[c] = min(drip[c], first)
		}
		last = p.covered(e, last)
		plug[c] = max(plug[c], last)
		has[c] = true
	}
	ml := func(t flood.Time) *float64 {
		if t == never {
			return nil
		}
		v := p.volume(g.at(t)) / 1000
		return &v
	}
	for c := range f.Ports {
		if has[c] && f.Ports[c].Role == Vent {
			f.Ports[c].WeepsAt, f.Ports[c].PlugAt = ml(drip[c]), ml(plug[c])
		}
	}
	p.weepingOrder(f, drip)
}

// covered returns when an exit is wholly covered, given when the level would pass
// it: the same, unless its gas was cut off before. If it was in this channel
// that the resin cut the gas off, that moment counts; gas cut off deeper inside keeps the
// exit open for good.
func (p *pour) covered(e flood.Exit, last flood.Time) flood.Time {
	cut := p.flow.Cut[e.Run]
	if cut >= last {
		return last
	}
	if k := p.flow.Pocket[e.Run]; k < 0 || p.sealedIn(k) == label(e.Port) {
		return cut // gas without volume is covered as it is cut off
	}
	arc, level := cut.Split()
	end, z := last.Split()
	if arc == end && z-level <= 2<<p.lat.Bits { // a film under the rim
		return cut
	}
	return flood.Never
}

// sealedIn returns the label of the place where pocket k was cut off.
func (p *pour) sealedIn(k int32) label {
	s := p.flow.Seals[k]
	switch {
	case s.Exit >= 0:
		return label(p.graph.Exits[s.Exit].Port)
	case s.Link >= 0:
		l := p.graph.Links[s.Link]
		return p.labelIn(p.piece[l.A], l.Hi, l.Hi)
	}
	return nothing
}

// weepingOrder numbers the vents by the moment of their first drip.
func (p *pour) weepingOrder(f *Fill, drip []flood.Time) {
	var idx []int
	for c := range f.Ports {
		if f.Ports[c].WeepsAt != nil {
			idx = append(idx, c)
		}
	}
	sort.SliceStable(idx, func(a, b int) bool { return drip[idx[a]] < drip[idx[b]] })
	for n, c := range idx {
		f.Ports[c].WeepsOrder = n + 1
	}
}
