package mold

import (
	"errors"
	"math"
	"sync"

	"pourproof/geom"
	"pourproof/geom/flood"
)

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
	for _, n := range upsAround(UpFor(geom.Vec{Z: 1}, t), distance, 8) {
		if w := TiltOf(geom.Vec{Z: 1}, n); w.Angle <= limit+1e-9 {
			out = append(out, w)
		}
	}
	return out
}

// upsAround returns n directions at an angle from up, evenly around it.
func upsAround(up geom.Vec, angle float64, n int) []geom.Vec {
	var out []geom.Vec
	u, v := up.Perpendicular()
	s, c := math.Sincos(angle)
	for k := range n {
		a, b := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		d := u.Scale(roundAngle(b)).AddScaled(v, roundAngle(a))
		out = append(out, up.Scale(roundAngle(c)).AddScaled(d, roundAngle(s)).Unit())
	}
	return out
}

// angleBetween returns the angle between two unit vectors, rounded to 2^-40.
func angleBetween(a, b geom.Vec) float64 {
	return roundAngle(math.Atan2(a.Cross(b).Norm(), a.Dot(b)))
}

// tilting runs the pours of a search side by side.
type tilting struct {
	m     *Mold
	s     *TiltSearch
	o     TiltOptions
	index map[Tilt]int // of the tilts asked for, in s.Points; only ever looked up
	err   error        // of the first tilt that could not be poured
}

// rounded takes a tilt to 1/1000 deg, so that equal ways to stand are tried once.
func (t Tilt) rounded() Tilt {
	const perDegree = 180 / math.Pi
	r := Tilt{math.Round(t.Angle*perDegree*1000) / 1000 / perDegree, math.Round(t.Side*perDegree*1000) / 1000 / perDegree}
	if r.Angle == 0 || r.Side >= 2*math.Pi-1e-9 {
		r.Side = 0
	}
	return r
}

// at returns what was found at a tilt that was tried.
func (w *tilting) at(t Tilt) TiltPoint { return w.s.Points[w.index[t.rounded()]] }

// try pours at the tilts not tried yet and appends what they trap, in order. A
// search that was stopped keeps nothing of it.
func (w *tilting) try(tilts []Tilt) {
	var todo []Tilt
	from := len(w.s.Points)
	for _, t := range tilts {
		t = t.rounded()
		if _, known := w.index[t]; !known {
			w.index[t] = from + len(todo)
			todo = append(todo, t)
		}
	}
	if w.halted() || len(todo) == 0 {
		return
	}
	points, faults := make([]TiltPoint, len(todo)), make([]error, len(todo))
	var lock sync.Mutex
	done := 0
	stopped := func() bool {
		w.s.Canceled = w.s.Canceled || w.o.Stop != nil && w.o.Stop()
		return w.s.Canceled
	}
	sideBySideUntil(len(todo), stopped, func(i int) {
		points[i], faults[i] = w.m.trial(todo[i], w.s.Cell, w.o.Allowed)
		if w.o.Progress != nil {
			lock.Lock()
			defer lock.Unlock()
			done++
			w.o.Progress(from+done, len(w.index))
		}
	})
	w.err = errors.Join(faults...)
	if !w.halted() {
		w.s.Points = append(w.s.Points, points...)
	}
}

// halted tells whether the search goes on no longer.
func (w *tilting) halted() bool { return w.s.Canceled || w.err != nil }

// trial pours once, coarsely.
func (m *Mold) trial(t Tilt, cell, allowed float64) (TiltPoint, error) {
	pt := TiltPoint{Tilt: t, Up: UpFor(m.Rest, t)}
	p, err := m.flooded(pt.Up, cell)
	if err != nil {
		return pt, err
	}
	defer p.done()
	volumes := p.cavityVolumes()
	for _, v := range volumes {
		pt.Trapped += v
		if v >= allowed {
			pt.Pockets++
		}
	}
	pt.Air = p.pocketsOf(volumes, allowed)
	var f Fill
	p.levelCeiling(&f)
	pt.Level = f.LevelCeilingArea
	return pt, nil
}

// flooded is a pour at a pitch up to the flood.
func (m *Mold) flooded(up geom.Vec, cell float64) (*pour, error) {
	p, err := m.newPour(up, cell)
	if err != nil {
		return nil, err
	}
	p.flow, err = flood.Run(&p.graph)
	return p, err
}

// levelNow returns the resin's height in a run when nothing more goes in, not
// sharpened.
func (p *pour) levelNow(run int32) int32 { return p.flow.Level(run, flood.Never) }

// cavityVolumes returns the air of every pocket inside the part, not sharpened.
func (p *pour) cavityVolumes() []float64 {
	sum := make([]int64, len(p.flow.Seals))
	for r, i := range p.piece {
		if k := p.flow.Pocket[r]; k >= 0 && p.flow.Reached[r] {
			a, _ := p.inLabel(i, p.levelNow(int32(r)), p.hi[i])
			sum[k] += a
		}
	}
	out := make([]float64, len(sum))
	for k := range sum {
		out[k] = p.volume(sum[k])
	}
	return out
}

// marginSteps are the angles off a tilt that are looked at, degrees; between the
// last that is good and the first that is not it is halved down to one degree.
var marginSteps = [4]float64{2, 4, 8, 16}

// margin looks at eight tilts all around p, farther and farther off, until one
// traps more.
func (w *tilting) margin(p TiltPoint) TiltMargin {
	good, bad := 0.0, 0.0
	var m TiltMargin
	fails := func(deg float64) bool {
		around := tiltsAround(p.Tilt, deg*math.Pi/180, math.Pi)
		w.try(around)
		failed := false
		for _, t := range around {
			if w.halted() {
				return true
			}
			if q := w.at(t); (q.Pockets > p.Pockets || q.Trapped > p.Trapped+w.o.Worse) && (!failed || q.Trapped-p.Trapped > m.Adds) {
				failed, m.Fails, m.Adds = true, q.Tilt, q.Trapped-p.Trapped
			}
		}
		return failed
	}
	for _, deg := range marginSteps {
		if fails(deg) {
			bad = deg
			break
		}
		good = deg
	}
	for bad-good > 1 && !w.halted() {
		if mid := math.Floor((good + bad) / 2); fails(mid) {
			bad = mid
		} else {
			good = mid
		}
	}
	m.Angle, m.AtLeast = good*math.Pi/180, bad == 0
	return m
}
