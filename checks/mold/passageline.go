package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// line is the middle of a passage near its neck, from the cup outward.
type line []station

// wayLine returns the middle of the passage on both sides of the neck, up to where
// it is as wide as what was looked for, or twice as wide as the neck.
func (w *printing) wayLine(room *clearance, way []int32, neck int) *line {
	at := room.point(way[neck])
	n := int(math.Sqrt(float64(room.roomAt(way[neck])))) + 1
	along := room.point(way[min(neck+n, len(way)-1)]).Sub(room.point(way[max(neck-n, 0)])).Unit()
	var mid station
	for range 3 { // the middle gives the direction, the direction the middle
		mid = w.middleNear(at, along, room.lat.Pitch())
		step := max(mid.radius/2, 0.05)
		a, b := w.middleNear(mid.at.AddScaled(along, -step), along, step/2), w.middleNear(mid.at.AddScaled(along, step), along, step/2)
		if d := b.at.Sub(a.at).Unit(); d.Dot(along) > 0.5 {
			along = d
		}
		at = mid.at
	}
	limit := min(room.width/2, 2*mid.radius)
	back := w.follow(mid, along.Neg(), limit)
	slices.Reverse(back)
	l := line(append(append(back, mid), w.follow(mid, along, limit)...))
	return &l
}

// follow lists stations from mid on along the middle of a passage.
func (w *printing) follow(mid station, along geom.Vec, limit float64) []station {
	var out []station
	const most = 1000 // a quarter of a radius each
	before := mid
	for range most {
		step := max(before.radius/4, 0.02)
		guess := before.at.AddScaled(along, step)
		next := w.middleNear(guess, along, step/4)
		if next.at.Dist(guess) > before.radius { // the passage has no middle there
			break
		}
		out = append(out, next)
		if next.radius >= limit {
			break
		}
		if d := next.at.Sub(before.at).Unit(); d.Dot(along) > 0.5 {
			along = along.Add(d).Unit()
		}
		before = next
	}
	return out
}

// station is a place in the middle of a passage, the clear radius there, and the
// nearest point of the wall.
type station struct {
	at     geom.Vec
	radius float64
	foot   geom.Vec
}

func (w *printing) stationAt(p geom.Vec) station {
	hit, _ := w.tree.Nearest(p, math.Inf(1))
	return station{p, hit.Dist, hit.Point}
}

// middleNear moves a point across a direction to where it is farthest from the
// mesh, by steps that are halved, the first of them as long as step.
func (w *printing) middleNear(p, along geom.Vec, step float64) station {
	u, v := geom.Vec{X: 1}, geom.Vec{Y: 1}
	if along != (geom.Vec{}) {
		u, v = along.Perpendicular()
	}
	best := w.stationAt(p)
	known := feet{}
	known.add(best.foot)
	for moves := 0; step > 5e-4 && moves < 64; {
		from := best.at
		for k := range 8 {
			s, c := octant(k)
			at := from.AddScaled(u, c*step).AddScaled(v, s*step)
			if known.within(at, best.radius) {
				continue
			}
			q := w.stationAt(at)
			known.add(q.foot)
			if q.radius > best.radius {
				best = q
			}
		}
		if best.at == from {
			step /= 2
		} else {
			moves++
		}
	}
	return best
}

// feet are the last places of the wall that were met. A few around a bore tell, without
// asking the mesh, that a place is no farther from the wall than another one.
type feet struct {
	at [12]geom.Vec
	n  int
}

func (f *feet) add(p geom.Vec) {
	f.at[f.n%len(f.at)] = p
	f.n++
}

// within tells whether one of them surely lies nearer to p than radius: by more than
// what distances are rounded by.
func (f *feet) within(p geom.Vec, radius float64) bool {
	r := radius*(1-1e-9) - 1e-9
	for i := range min(f.n, len(f.at)) {
		if f.at[i].Sub(p).Norm2() < r*r && r > 0 {
			return true
		}
	}
	return false
}

// octant returns sine and cosine of k eighths of a turn.
func octant(k int) (s, c float64) {
	const d = 0.7071067811865476
	sines := [8]float64{0, d, 1, d, 0, -d, -1, -d}
	return sines[k], sines[(k+2)%8]
}

// neck returns the narrowest station.
func (l *line) neck() int {
	n := 0
	for i := range *l {
		if (*l)[i].radius < (*l)[n].radius {
			n = i
		}
	}
	return n
}

// measure returns width, place and length of the passage.
func (l *line) measure() Passage {
	n := l.neck()
	s := (*l)[n]
	a, b := (*l)[max(n-3, 0)], (*l)[min(n+3, len(*l)-1)]
	p := Passage{Width: 2 * s.radius, At: s.at, Axis: b.at.Sub(a.at).Unit()}
	p.Error = max(0.05, 0.02*p.Width) // design: bores within 2 % or 0.05 mm
	l.each(func(step, r float64) {
		if r <= 1.25*s.radius {
			p.Length += step
		}
	})
	return p
}

// each walks along the passage's wall. A place on the line is reached by the wall
// at its foot: in front of a mouth the foot stays at the rim, so the passage ends
// where its wall does.
func (l *line) each(visit func(step, radius float64)) {
	s, reached := 0.0, math.Inf(-1)
	for i, st := range *l {
		if i > 0 {
			s += st.at.Dist((*l)[i-1].at)
		}
		t := (*l)[min(i+2, len(*l)-1)].at.Sub((*l)[max(i-2, 0)].at).Unit()
		wall := s + t.Dot(st.foot.Sub(st.at))
		if wall > reached {
			if !math.IsInf(reached, -1) {
				visit(wall-reached, st.radius)
			}
			reached = wall
		}
	}
}

// drop returns the pressure in kPa lost by a flow of mm3/s along the passage, the
// ends counted once at the narrowest place.
func (l *line) drop(flow, viscosity float64) float64 {
	sum := PassageDrop(flow, viscosity, 2*(*l)[l.neck()].radius, 0)
	l.each(func(step, r float64) {
		sum += PassageDrop(flow, viscosity, 2*r, step) - PassageDrop(flow, viscosity, 2*r, 0)
	})
	return sum
}
