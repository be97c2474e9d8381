package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Widths at which passages are taken as closed, as multiples of the relief width:
// a cup whose widest passage is narrower, and narrower than the cup itself, shows
// at one of them. The tenth above keeps a passage of exactly the relief width on
// one side.
var passageWidths = [4]float64{0.55, 1.1, 2.2, 4.4}

// mostPassages is the number of cups, the largest first, whose passages are
// measured.
const mostPassages = 12

// passageCups adds the cups that passages relieve, narrowest passages first.
func (w *printing) passageCups(all *[]Cup) error {
	for level := range w.rooms {
		room, err := w.rooms[level]()
		if err != nil {
			return err
		}
		if room.plugs == nil {
			continue
		}
		width := room.width
		h := w.hollow(room.plugs, nil)
		basins := h.rise.run(w.least())
		var big []*basin
		for i := range basins {
			if b := &basins[i]; b.into < 0 && b.open && h.holdsDisc(b, width/2) && w.isNew(h, b) {
				big = append(big, b)
			}
		}
		slices.SortStableFunc(big, func(a, b *basin) int { return int(b.most) - int(a.most) })
		for _, b := range big[:min(len(big), mostPassages)] {
			f := foundAt{h, b, room}
			c := w.cup(&f)
			if c.Passage = w.passage(&f, &c); c.Passage == nil {
				continue
			}
			p := c.Passage
			c.Relieved = p.Width >= w.p.Printer.Relief-p.Error && p.Drop <= w.p.Printer.ReliefDrop
			*all = append(*all, c)
			w.found = append(w.found, f)
		}
	}
	return nil
}

// isNew tells whether a basin is not one that was found with narrower passages
// closed, or with none: neither does it hold the middle of one that has nearly its
// area, nor does its middle lie in a larger one that ends no earlier.
func (w *printing) isNew(h *hollow, b *basin) bool {
	in := make([]bool, len(h.lo))
	h.rise.each(b, func(i int32) { in[i] = true })
	own := foundAt{h, b, nil}
	heart := own.heart()
	for k := range w.found {
		f := &w.found[k]
		if f.b.most >= b.most && f.b.to >= b.to && f.holds(heart) {
			return false
		}
		// Four fifths: what is added then is no second cup worth a line.
		if i := h.pieceAt(f.heart()); 5*f.b.most >= 4*b.most && i >= 0 && in[i] {
			return false
		}
	}
	return true
}

// holdsDisc tells whether a disc of radius r fits in the basin's largest opening.
func (h *hollow) holdsDisc(b *basin, r float64) bool {
	ny := h.lat.N[1]
	mask := make([]bool, h.lat.N[0]*ny)
	h.rise.each(b, func(i int32) {
		if h.lo[i] <= b.mostAt && b.mostAt < h.hi[i] {
			mask[h.col[i]] = true
		}
	})
	n := int(r / h.lat.Pitch())
	fits := func(c int) bool {
		x, y := c/ny, c%ny
		for i := -n; i <= n; i++ {
			m := int(math.Sqrt(float64(n*n - i*i)))
			for j := -m; j <= m; j++ {
				if u, v := x+i, y+j; u < 0 || v < 0 || u >= h.lat.N[0] || v >= ny || !mask[u*ny+v] {
					return false
				}
			}
		}
		return true
	}
	for c := range mask {
		if mask[c] && fits(c) {
			return true
		}
	}
	return false
}

// passage measures the widest way from a cup to the outside below the layer that
// frees it; nil if there is none. Ways are looked for on the nodes of room, always
// going on where there is most room (Prim's order gives the way whose narrowest
// place is widest), then measured on the mesh.
func (w *printing) passage(f *foundAt, c *Cup) *Passage {
	room := f.room
	way, neck := w.widestWay(f)
	if way == nil {
		return nil
	}
	line := w.wayLine(room, way, neck)
	p := line.measure()
	if p.Width > room.width {
		return nil // wider than what was taken as closed: no passage closes here
	}
	flow := float64(c.Area * w.p.Printer.Lift) // mm3/s
	p.Drop = line.drop(flow, w.p.Printer.Viscosity)
	return &p
}

// PassageDrop returns the pressure in kPa that a flow of mm3/s of a liquid of
// viscosity mPa s loses in a round bore of diameter and length mm, its ends
// included: mu Q (3/r^3 + 8 L/(pi r^4)), Hagen-Poiseuille with the end term of
// Sampson 1891 (Dagan, Weinbaum and Pfeffer, J. Fluid Mech. 115, 1982).
func PassageDrop(flow, viscosity, diameter, length float64) float64 {
	r := diameter / 2
	// mPa s x mm3/s / mm3 = mPa = 1e-6 kPa
	return 1e-6 * viscosity * flow * (3/(r*r*r) + 8*length/(math.Pi*r*r*r*r))
}

// widestWay returns the nodes from a cup to the outside, and the number among them
// of the one with least room.
func (w *printing) widestWay(f *foundAt) (way []int32, neck int) {
	h, b, room := f.h, f.b, f.room
	in := make([]bool, len(h.lo))
	h.rise.each(b, func(i int32) { in[i] = true })
	wide := room.wide()
	top := w.lat.Height(b.to)
	allowed := func(n int32) bool {
		p := room.point(n)
		z := p.Dot(w.p.Build)
		if w.o.Flat && z < w.p.Base {
			return false
		}
		if z <= top {
			return true
		}
		k := h.pieceAt(p) // over the cup itself, so that a shallow one counts as wide
		return k >= 0 && in[k] && z <= top+room.width
	}
	start := w.roomiest(f)
	if start < 0 {
		return nil, 0
	}
	from := make([]int32, len(room.d2)) // where a node was reached from, plus 1
	from[start] = start + 1
	steps := room.steps()
	// More room than the passages looked for makes no difference.
	rows := make([][]int32, wide+1)
	push := func(n int32) int {
		r := min(int(room.d2[n]), len(rows)-1)
		rows[r] = append(rows[r], n)
		return r
	}
	r := push(start)
	for {
		for r >= 0 && len(rows[r]) == 0 {
			r--
		}
		if r < 0 {
			return nil, 0
		}
		n := rows[r][len(rows[r])-1]
		rows[r] = rows[r][:len(rows[r])-1]
		if room.d2[n] >= wide && w.isOutside(room, h, in, b, n) {
			return traced(room, from, n)
		}
		for _, s := range steps {
			if m := n + s.by; room.d2[m] > 0 && from[m] == 0 && allowed(m) {
				from[m] = n + 1
				r = max(r, push(m))
			}
		}
	}
}

// roomiest returns the node of most room in a cup's columns, up to its width above
// its end.
func (w *printing) roomiest(f *foundAt) int32 {
	room, best := f.room, int32(-1)
	step := int32(room.lat.Pitch() / w.lat.Q)
	high := f.b.to + int32(room.width/w.lat.Q)
	f.h.rise.each(f.b, func(i int32) {
		for z := f.h.lo[i] + step/2; z < min(f.h.hi[i], high); z += step {
			n := room.nearest(f.h.at(i, z))
			if n >= 0 && (best < 0 || room.d2[n] > room.d2[best] || room.d2[n] == room.d2[best] && n < best) {
				best = n
			}
		}
	})
	if best < 0 || room.d2[best] == 0 {
		return -1
	}
	return best
}

// isOutside tells whether a node lies in space that was open when the cup ended.
func (w *printing) isOutside(room *clearance, h *hollow, in []bool, b *basin, n int32) bool {
	p := room.point(n)
	if p.Dot(w.p.Build) > w.lat.Height(b.to) {
		return false
	}
	k := h.pieceAt(p)
	if k < 0 {
		q := h.lat.Place(p)
		for a, x := range [3]float64{q.X, q.Y, q.Z} {
			if x < float64(h.lat.At(a, 0)) || x > float64(h.lat.At(a, h.lat.N[a]-1)) {
				return true // beyond the columns: free space
			}
		}
		return false
	}
	return !in[k] && h.rise.openAt[k] <= b.to
}

// traced returns the way from the start to node n and the number of its narrowest
// node.
func traced(room *clearance, from []int32, n int32) (way []int32, neck int) {
	way = append(way, n)
	for ; from[n]-1 != n; n = from[n] - 1 {
		way = append(way, from[n]-1)
	}
	slices.Reverse(way)
	for i, m := range way {
		if room.d2[m] < room.d2[way[neck]] {
			neck = i
		}
	}
	return way, neck
}

// line is the middle of a passage near its neck, from the cup outward.
type line []station

// wayLine returns the middle of the passage on both sides of the neck, up to where
// it is as wide as what was looked for, or twice as wide as the neck.
func (w *printing) wayLine(room *clearance, way []int32, neck int) *line {
	at := room.point(way[neck])
	n := int(math.Sqrt(float64(room.d2[way[neck]]))) + 1
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
	for moves := 0; step > 5e-4 && moves < 64; {
		from := best.at
		for k := range 8 {
			s, c := octant(k)
			if q := w.stationAt(from.AddScaled(u, c*step).AddScaled(v, s*step)); q.radius > best.radius {
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
