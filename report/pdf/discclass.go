package pdf

import (
	"image/color"
	"math"
)

// Hatching of classes: lines at 45 degrees, twice as dense every second class, so
// that the order also reads where grey print or a reader's eyes merge two inks.
const (
	hatchPitch = 1.5 // points between the densest lines
	hatchLine  = 0.35
	hatchMost  = 8 // the sparsest lines are this many times as far apart
)

// ClassInk is the ink of a class: the first one white.
func (m Disc) ClassInk(class int) color.RGBA {
	if class == 0 {
		return white
	}
	return heatAt(0.08 + 0.8*float64(class-1)/float64(max(len(m.Classes)-2, 1)))
}

// hatchStep tells which of the densest lines a class has: every n-th, 0 for none.
func hatchStep(class int) int {
	if class == 0 {
		return 0
	}
	return max(hatchMost>>((class-1)/2), 1)
}

// classAt is the class of a cell, -1 where it was not judged.
func (m Disc) classAt(ring, sector int) int {
	v := m.Values[ring*m.Sectors+(sector+m.Sectors)%m.Sectors]
	if math.IsNaN(v) {
		return -1
	}
	return int(v)
}

// classes fills the cells class by class, neighbours in a ring as one shape, then
// hatches them and draws the line around class 0.
func (m Disc) classes(d *Doc, c xy, r, outer float64) {
	from := 0.0
	for i, to := range m.Rings {
		for s := 0; s < m.Sectors; {
			class := m.classAt(i, s)
			n := 1
			for s+n < m.Sectors && m.classAt(i, s+n) == class {
				n++
			}
			if class >= 0 {
				d.polygon(m.arc(c, r, from/outer, to/outer, s, n), m.ClassInk(class))
			}
			s += n
		}
		from = to
	}
	m.hatch(d, c, r, outer)
	if m.Ringed {
		m.edges(d, c, r, outer)
	}
}

// arc is the outline of n neighbouring cells of a ring.
func (m Disc) arc(c xy, r, from, to float64, s, n int) []xy {
	width := 360 / float64(m.Sectors)
	steps := max(n, int(math.Ceil(float64(n)*width/arcStep)))
	at := func(k int) float64 { return (float64(s) - 0.5 + float64(n)*float64(k)/float64(steps)) * width }
	var out []xy
	for k := 0; k <= steps; k++ {
		out = append(out, polar(c, float64(r*to), at(k)))
	}
	for k := steps; k >= 0 && from > 0; k-- {
		out = append(out, polar(c, float64(r*from), at(k)))
	}
	if from == 0 && n < m.Sectors {
		out = append(out, c)
	}
	return out
}

// hatch draws the lines of all classes: each line is followed in short steps and
// drawn where the class under it has that line.
func (m Disc) hatch(d *Doc, c xy, r, outer float64) {
	lines := int(r / hatchPitch)
	const step = 0.75 // points; finer than a cell
	for i := -lines; i <= lines; i++ {
		off := float64(float64(i) * hatchPitch)
		half := math.Sqrt(max(float64(r*r)-float64(off*off), 0))
		place := func(t float64) xy { // along the line, then off it, turned by 45 degrees
			return xy{c.x + float64((t-off)*math.Sqrt2/2), c.y - float64((t+off)*math.Sqrt2/2)}
		}
		begin, drawing := 0.0, false
		for t := -half; ; t += step {
			n := 0
			if t < half {
				n = hatchStep(m.classOver(t, off, r, outer))
			}
			on := n > 0 && i%n == 0
			switch {
			case on && !drawing:
				begin, drawing = t, true
			case !on && drawing:
				a, b := place(begin), place(t)
				d.stroke(a.x, a.y, b.x, b.y, hatchLine, ink)
				drawing = false
			}
			if t >= half {
				break
			}
		}
	}
}

// classOver is the class under a place of the hatching, 0 where it was not judged.
// Lines at 45 degrees run along borders between sectors: angles are rounded before
// they are compared, so that every processor takes the same side.
func (m Disc) classOver(t, off, r, outer float64) int {
	x, y := (t-off)*math.Sqrt2/2, (t+off)*math.Sqrt2/2
	angle := roundTurn(math.Hypot(x, y) / r * outer)
	for i, to := range m.Rings {
		if angle <= to {
			s := int(math.Floor(roundTurn(math.Atan2(y, x)/(2*math.Pi)*float64(m.Sectors)) + 0.5))
			return max(m.classAt(i, s), 0)
		}
	}
	return 0
}

// edges draws the line between class 0 and the rest.
func (m Disc) edges(d *Doc, c xy, r, outer float64) {
	width := 360 / float64(m.Sectors)
	line := func(points ...xy) {
		d.polyline(points, 2.4, 0, white)
		d.polyline(points, 1.3, 0, ink)
	}
	from := 0.0
	for i, to := range m.Rings {
		for s := range m.Sectors {
			free := m.classAt(i, s) == 0
			left := (float64(s) - 0.5) * width
			if free != (m.classAt(i, s-1) == 0) {
				line(polar(c, float64(r*from)/outer, left), polar(c, float64(r*to)/outer, left))
			}
			if i+1 < len(m.Rings) && free != (m.classAt(i+1, s) == 0) {
				line(polar(c, float64(r*to)/outer, left), polar(c, float64(r*to)/outer, left+width/2), polar(c, float64(r*to)/outer, left+width))
			}
		}
		from = to
	}
}

// key lists the classes with their ink and hatching.
func (m Disc) key(d *Doc, x, y float64) {
	const w, h = 13.0, 10.0
	lines := d.wrap(Plain(m.Label), tickSize, discBar-4)
	for i, l := range lines[:min(2, len(lines))] {
		for _, p := range l.pieces {
			d.label(x+p.x, y+float64(float64(i)*leading(tickSize)), p.text, Regular, tickSize, ink)
		}
	}
	y += float64(float64(min(2, len(lines)))*leading(tickSize)) - 2
	for class, text := range m.Classes {
		top := y + float64(float64(class)*(h+2))
		d.fillRect(x, top, w, h, m.ClassInk(class))
		if n := hatchStep(class); n > 0 {
			d.clipped(x, top, w, h, func() {
				gap := float64(hatchPitch * math.Sqrt2 * float64(n))
				for k := -h; k < w; k += gap {
					d.stroke(x+k, top+h, x+k+h, top, hatchLine, ink)
				}
			})
		}
		weight := thin
		if class == 0 && m.Ringed {
			weight = 1.3
		}
		d.frame(x, top, w, h, weight, ink)
		d.label(x+w+4, top+h-2.6, d.fit(text, Regular, tickSize, discBar-w-6), Regular, tickSize, ink)
	}
}
