package mold

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/flood"
)

// TiltPoint is what one way to stand the block traps, at the search's cell.
type TiltPoint struct {
	Tilt    Tilt
	Up      geom.Vec
	Trapped float64 // mm3
	Pockets int     // of 1 mm3 and more
	Level   float64 // mm2 of the largest roof within 2 deg of level: it holds a film of bubbles
}

// TiltSearch is the answer to "which way up?".
type TiltSearch struct {
	Limit    float64     // largest angle searched, radians
	Cell     float64     // mm
	Step     float64     // radians between neighbouring tilts of the first grid
	Points   []TiltPoint // grid first, ring by ring, then refinements, in the order tried
	Best     TiltPoint   // least trapped air, at the search's cell
	Margin   float64     // radians off Best before more than the limit is trapped
	Worst5   float64     // mm3, most trapped within 5 deg of the chosen tilt
	Fewest   TiltPoint   // fewest pockets
	Canceled bool

	level float64 // mm2
}

// TiltOptions sets how far and how finely tilts are searched.
type TiltOptions struct {
	Limit    float64 // largest angle off the rest direction, radians; 0 = 60 deg
	Rings    int     // rings of the first grid: 1 + 3n(n+1) tilts; 0 = 4 (61)
	Cell     float64 // mm; 0 = twice the pour's
	Allowed  float64 // mm3 of trapped air that does not count; 0 = 1
	Level    float64 // mm2 of level roof from which a tilt is a poor one; 0 = 25
	Progress func(done, total int)
	Stop     func() bool // asked between tilts
}

// tiltCap is the default limit of the search: 60 deg (design).
const tiltCap = math.Pi / 3

// SearchTilts pours at a disc of tilts, ring by ring around level, then around
// the best and around the chosen one. Trapped air is that of the columns, not
// sharpened: a tilt found here is judged by Pour. Both cores pour; the answer does
// not depend on how many there are. Cost: one cast and flood a tilt.
func (m *Mold) SearchTilts(o TiltOptions) *TiltSearch {
	s := &TiltSearch{Limit: o.Limit, Cell: o.Cell}
	if s.Limit == 0 {
		s.Limit = tiltCap
	}
	if s.Cell == 0 {
		s.Cell = 2 * m.Cell
	}
	if o.Rings == 0 {
		o.Rings = 4
	}
	if o.Allowed == 0 {
		o.Allowed = reported
	}
	if o.Level == 0 {
		o.Level = 25
	}
	s.level = o.Level
	s.Step = s.Limit / float64(o.Rings)
	w := tilting{m: m, s: s, o: o, known: map[Tilt]bool{}}
	w.try(tiltDisc(s.Limit, o.Rings))
	for step := s.Step / 2; step > s.Step/5 && !s.Canceled; step /= 2 {
		w.try(tiltsAround(s.best().Tilt, step, s.Limit))
	}
	now := TiltOf(m.Rest, m.Up)
	var near []Tilt
	for _, r := range [2]float64{2.5, 5} {
		near = append(near, tiltsAround(now, r*math.Pi/180, math.Pi)...)
	}
	w.try(append(near, now))
	s.Best, s.Fewest = s.best(), s.fewest()
	s.Worst5 = s.worstWithin(m.Up, 5.01*math.Pi/180)
	s.Margin = w.margin(o.Allowed)
	return s
}

// tiltDisc returns level and rings of tilts up to limit, evenly spread: ring k
// has 6k tilts.
func tiltDisc(limit float64, rings int) []Tilt {
	out := []Tilt{{}}
	for k := 1; k <= rings; k++ {
		for i := 0; i < 6*k; i++ {
			out = append(out, Tilt{Angle: limit * float64(k) / float64(rings), Side: 2 * math.Pi * float64(i) / float64(6*k)})
		}
	}
	return out
}

// tiltsAround returns eight tilts at an angular distance from t, those within
// limit.
func tiltsAround(t Tilt, distance, limit float64) []Tilt {
	var out []Tilt
	up := UpFor(geom.Vec{Z: 1}, t)
	u, v := up.Perpendicular()
	s, c := math.Sincos(distance)
	for k := 0; k < 8; k++ {
		a, b := math.Sincos(2 * math.Pi * float64(k) / 8)
		d := u.Scale(roundAngle(b)).AddScaled(v, roundAngle(a))
		n := up.Scale(roundAngle(c)).AddScaled(d, roundAngle(s)).Unit()
		if w := TiltOf(geom.Vec{Z: 1}, n); w.Angle <= limit+1e-9 {
			out = append(out, w)
		}
	}
	return out
}

// tilting runs pours of a search side by side.
type tilting struct {
	m     *Mold
	s     *TiltSearch
	o     TiltOptions
	known map[Tilt]bool
}

// rounded takes a tilt to 1/1000 deg, so that equal ways to stand are tried once.
func (t Tilt) rounded() Tilt {
	const q = math.Pi / 180000
	r := Tilt{math.Round(t.Angle/q) * q, math.Round(t.Side/q) * q}
	if r.Angle == 0 {
		r.Side = 0
	}
	return r
}

// try pours at the tilts not tried yet and appends what they trap, in order.
func (w *tilting) try(tilts []Tilt) {
	var todo []Tilt
	for _, t := range tilts {
		if t = t.rounded(); !w.known[t] {
			w.known[t] = true
			todo = append(todo, t)
		}
	}
	points := make([]TiltPoint, len(todo))
	ok := make([]bool, len(todo))
	var wg sync.WaitGroup
	var lock sync.Mutex
	next := 0
	for n := min(runtime.GOMAXPROCS(0), len(todo)); n > 0; n-- {
		wg.Go(func() {
			for {
				lock.Lock()
				i := next
				next++
				stop := w.o.Stop != nil && w.o.Stop()
				w.s.Canceled = w.s.Canceled || stop
				lock.Unlock()
				if i >= len(todo) || stop {
					return
				}
				points[i], ok[i] = w.m.trial(todo[i], w.s.Cell)
				if w.o.Progress != nil {
					lock.Lock()
					w.o.Progress(len(w.s.Points)+i+1, len(w.known))
					lock.Unlock()
				}
			}
		})
	}
	wg.Wait()
	for i := range points {
		if ok[i] {
			w.s.Points = append(w.s.Points, points[i])
		}
	}
}

// trial pours once, coarsely.
func (m *Mold) trial(t Tilt, cell float64) (TiltPoint, bool) {
	pt := TiltPoint{Tilt: t, Up: UpFor(m.Rest, t)}
	p, err := m.newPour(pt.Up, cell)
	if err != nil {
		return pt, false
	}
	if p.flow, err = flood.Run(&p.graph); err != nil {
		return pt, false
	}
	for _, v := range p.cavityVolumes() {
		pt.Trapped += v
		if v >= reported {
			pt.Pockets++
		}
	}
	var f Fill
	p.levelCeiling(&f)
	pt.Level = f.LevelCeilingArea
	return pt, true
}

// cavityVolumes returns the air of every pocket inside the part, not sharpened.
func (p *pour) cavityVolumes() []float64 {
	sum := make([]int64, len(p.flow.Seals))
	for r, i := range p.piece {
		if k := p.flow.Pocket[r]; k >= 0 && p.flow.Reached[r] {
			a, _ := p.inLabel(i, p.flow.Level(int32(r), flood.Never), p.hi[i])
			sum[k] += a
		}
	}
	out := make([]float64, len(sum))
	for k := range sum {
		out[k] = p.volume(sum[k])
	}
	return out
}

// best returns the tilt with least trapped air, tilts that leave a roof level
// only if there are no others; of those within a cubic millimetre of it, the one
// nearest to level.
func (s *TiltSearch) best() TiltPoint {
	if len(s.Points) == 0 {
		return TiltPoint{}
	}
	order := func(a, b TiltPoint) int {
		return cmp.Or(boolOrder(a.Level >= s.level, b.Level >= s.level), cmp.Compare(a.Trapped, b.Trapped))
	}
	least := slices.MinFunc(s.Points, order)
	var good []TiltPoint
	for _, p := range s.Points {
		if p.Trapped <= least.Trapped+reported && p.Tilt.Angle <= s.Limit+1e-9 && (p.Level >= s.level) == (least.Level >= s.level) {
			good = append(good, p)
		}
	}
	if len(good) == 0 {
		return least
	}
	return slices.MinFunc(good, func(a, b TiltPoint) int {
		return cmp.Or(cmp.Compare(a.Tilt.Angle, b.Tilt.Angle), cmp.Compare(a.Trapped, b.Trapped), cmp.Compare(a.Tilt.Side, b.Tilt.Side))
	})
}

// boolOrder puts false before true.
func boolOrder(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// fewest returns the tilt with the fewest pockets; of equals the one with least
// trapped air.
func (s *TiltSearch) fewest() TiltPoint {
	if len(s.Points) == 0 {
		return TiltPoint{}
	}
	return slices.MinFunc(s.Points, func(a, b TiltPoint) int {
		return cmp.Or(cmp.Compare(a.Pockets, b.Pockets), cmp.Compare(a.Trapped, b.Trapped), cmp.Compare(a.Tilt.Angle, b.Tilt.Angle))
	})
}

// worstWithin returns the most trapped air of the tilts tried within an angle of
// up.
func (s *TiltSearch) worstWithin(up geom.Vec, angle float64) float64 {
	worst := 0.0
	for _, p := range s.Points {
		if p.Up.Dot(up) >= math.Cos(angle) {
			worst = max(worst, p.Trapped)
		}
	}
	return worst
}

// marginSteps are the angles off the best tilt that are looked at, degrees.
var marginSteps = [6]float64{1, 2, 4, 7, 11, 16}

// margin returns how far off the best tilt the block may stand, to any of eight
// sides, before another pocket above what is allowed appears.
func (w *tilting) margin(allowed float64) float64 {
	ok := 0.0
	bar := w.s.Best.Trapped + allowed
	for _, deg := range marginSteps {
		from := len(w.s.Points)
		w.try(tiltsAround(w.s.Best.Tilt, deg*math.Pi/180, math.Pi))
		for _, p := range w.s.Points[from:] {
			if p.Trapped > bar || w.s.Canceled {
				return ok
			}
		}
		ok = deg * math.Pi / 180
	}
	return ok
}
