package pdf

import (
	"fmt"
	"image/color"
	"math"
)

// Disc is a heat map over directions: the distance from the middle is an angle,
// the way round is an azimuth, counted counter-clockwise from the right.
type Disc struct {
	Rings   []float64 // outer angle of each ring, degrees, ascending from 0
	Sectors int       // cells in each ring; cell s has azimuths around s·360/Sectors
	Values  []float64 // ring by ring; NaN for a cell that was not judged: white, crossed by a line
	Min     float64   // range of the colours; taken from the values when Min and Max are equal
	Max     float64
	Classes []string // words of whole values 0, 1, …, instead of a range of colours: each has its ink and its hatching
	Ringed  bool     // draw a line around the cells of class 0
	Label   string   // title of the colour bar, with its unit
	Marks   []DiscMark
	Size    float64 // diameter, millimetres; 60 when zero
	Caption Runs
}

// DiscMark is a named direction on a Disc.
type DiscMark struct {
	Angle, Azimuth float64 // degrees
	Text           string
	Solid          bool // filled instead of a ring
	Right          bool // the text stands at the right of the mark, else at its left
}

const (
	discRim  = 22.0 // room for the degrees around
	discBar  = 62.0 // room for the colour bar
	arcStep  = 5.0  // degrees of one chord: 0.1 % off a circle
	barSteps = 48
)

func (m Disc) caption() Runs { return m.Caption }
func (m Disc) kind() string  { return "disc" }

func (m Disc) extent(d *Doc, maxW, maxH float64) (w, h float64) {
	size := m.Size
	if size == 0 {
		size = 60
	}
	dia := min(d.q(size*point), maxW-2*discRim-discBar, maxH-2*discRim)
	if dia < 60 {
		d.fail("no room for a disc of %.0f mm", size)
		return 0, 0
	}
	return dia + 2*discRim + discBar, dia + 2*discRim
}

// heat are nine inks from light to dark: their lightness falls steadily, so
// the order also reads in grey.
var heat = [9]color.RGBA{
	{0xf5, 0xf2, 0xe4, 0xff}, {0xde, 0xe7, 0xcf, 0xff}, {0xb9, 0xd9, 0xc4, 0xff},
	{0x8d, 0xc6, 0xbf, 0xff}, {0x62, 0xab, 0xb8, 0xff}, {0x44, 0x8c, 0xaa, 0xff},
	{0x35, 0x6c, 0x95, 0xff}, {0x2d, 0x4b, 0x78, 0xff}, {0x22, 0x2b, 0x50, 0xff},
}

// heatAt is the ink for t from 0 to 1, linear between the nine.
func heatAt(t float64) color.RGBA {
	t = float64(min(max(t, 0), 1) * float64(len(heat)-1))
	i := min(int(t), len(heat)-2)
	f := t - float64(i)
	mix := func(a, b uint8) uint8 {
		return uint8(math.Round(float64(a) + float64(f*(float64(b)-float64(a)))))
	}
	a, b := heat[i], heat[i+1]
	return color.RGBA{R: mix(a.R, b.R), G: mix(a.G, b.G), B: mix(a.B, b.B), A: 0xff}
}

func (m Disc) draw(d *Doc, x, y, w, h float64) {
	if err := m.check(); err != nil {
		d.fail("%v", err)
		return
	}
	r := (h - 2*discRim) / 2
	c := xy{x + discRim + r, y + discRim + r}
	lo, hi := m.span()
	from := 0.0
	outer := m.Rings[len(m.Rings)-1]
	for i, to := range m.Rings {
		for s := range m.Sectors {
			cell := m.cell(c, r, from/outer, to/outer, s)
			if v := m.Values[i*m.Sectors+s]; !math.IsNaN(v) {
				if m.Classes == nil {
					d.polygon(cell, heatAt((v-lo)/(hi-lo)))
				}
				continue
			}
			d.polygon(cell, white)
			d.polyline([]xy{cell[0], cell[len(cell)/2]}, thin, 0, muted)
		}
		from = to
	}
	if m.Classes != nil {
		m.classes(d, c, r, outer)
	}
	m.rings(d, c, r, outer)
	for _, k := range m.Marks {
		m.mark(d, k, c, r, outer)
	}
	if m.Classes != nil {
		m.key(d, x+2*(discRim+r)+6, c.y-float64(0.8*r))
		return
	}
	m.bar(d, x+2*(discRim+r)+6, c.y-float64(0.8*r), 1.6*r, lo, hi)
}

// check refuses values that cannot be drawn.
func (m Disc) check() error {
	last := 0.0
	for _, a := range m.Rings {
		if !(a > last) || math.IsInf(a, 0) {
			return fmt.Errorf("disc: ring angles %v must rise from 0", m.Rings)
		}
		last = a
	}
	if m.Sectors < 3 || len(m.Rings) == 0 || len(m.Values) != m.Sectors*len(m.Rings) {
		return fmt.Errorf("disc: %d values for %d rings of %d sectors", len(m.Values), len(m.Rings), m.Sectors)
	}
	for _, v := range m.Values {
		if math.IsInf(v, 0) {
			return fmt.Errorf("disc: a value is infinite")
		}
		if m.Classes != nil && !math.IsNaN(v) && (v < 0 || v >= float64(len(m.Classes)) || v != math.Trunc(v)) {
			return fmt.Errorf("disc: %v is none of %d classes", v, len(m.Classes))
		}
	}
	if lo, hi := m.span(); math.IsInf(hi-lo, 0) || math.IsNaN(hi-lo) {
		return fmt.Errorf("disc: colours from %v to %v: a range must be finite", lo, hi)
	}
	return nil
}

// span is the range of the colours, never empty.
func (m Disc) span() (lo, hi float64) {
	lo, hi = m.Min, m.Max
	if lo == hi {
		lo, hi = math.Inf(1), math.Inf(-1)
		for _, v := range m.Values {
			if !math.IsNaN(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	if !(hi > lo) {
		if math.IsInf(lo, 0) {
			lo = 0
		}
		return lo, lo + 1
	}
	return lo, hi
}

// cell is the outline of one cell, from and to as parts of the radius.
func (m Disc) cell(c xy, r, from, to float64, s int) []xy {
	width := 360 / float64(m.Sectors)
	n := max(1, int(math.Ceil(width/arcStep)))
	out := make([]xy, 0, 2*n+2)
	for k := 0; k <= n; k++ {
		out = append(out, polar(c, r*to, (float64(s)-0.5+float64(k)/float64(n))*width))
	}
	for k := n; k >= 0; k-- {
		out = append(out, polar(c, r*from, (float64(s)-0.5+float64(k)/float64(n))*width))
		if from == 0 {
			break
		}
	}
	return out
}

// polar is the place at radius r and azimuth deg around c.
func polar(c xy, r, deg float64) xy {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return xy{c.x + float64(r*roundTurn(cos)), c.y - float64(r*roundTurn(sin))}
}

// roundTurn rounds what comes of a trigonometric function to 2^-40, far above the
// bits in which processors differ.
func roundTurn(x float64) float64 {
	const q = 1 << 40
	return math.Round(x*q) / q
}

// rings draws circles at round angles, spokes every 45 degrees, and their degrees.
func (m Disc) rings(d *Doc, c xy, r, outer float64) {
	for a := 0; a < 360; a += 45 {
		p := polar(c, r, float64(a))
		d.stroke(c.x, c.y, p.x, p.y, thin, muted)
		text := fmt.Sprintf("%d°", a)
		w := measure(text, Regular, tickSize)
		q := polar(c, r+11, float64(a))
		d.label(q.x-w/2, q.y+0.36*tickSize, text, Regular, tickSize, muted)
	}
	d.ring(c.x, c.y, r, medium, ink)
	ticks(0, outer, 3, func(v float64, text string) {
		if v <= 0 || v > 0.97*outer {
			return
		}
		d.ring(c.x, c.y, r*v/outer, thin, muted)
		m.chip(d, polar(c, r*v/outer, 22.5), text+"°")
	})
	m.chip(d, polar(c, r-5, 22.5), tickText(outer, 1)+"°")
}

// chip sets a small text on white.
func (m Disc) chip(d *Doc, at xy, text string) {
	w := measure(text, Regular, tickSize-0.5)
	d.fillRect(at.x-w/2-1, at.y-3.8, w+2, 7.6, white)
	d.label(at.x-w/2, at.y+0.36*(tickSize-0.5), text, Regular, tickSize-0.5, ink)
}

// mark draws a named direction, white around ink so that it shows on any cell.
func (m Disc) mark(d *Doc, k DiscMark, c xy, r, outer float64) {
	p := polar(c, r*min(k.Angle, outer)/outer, k.Azimuth)
	d.dot(p.x, p.y, 4.2, white, thin, white)
	fill := white
	if k.Solid {
		fill = ink
	}
	d.dot(p.x, p.y, 3, fill, 1.1, ink)
	if text := d.oneLine(k.Text); text != "" {
		w := measure(text, Bold, tickSize)
		x := p.x - 8 - w
		if k.Right {
			x = p.x + 6
		}
		d.fillRect(x-1, p.y-4.4, w+3, 8.8, white)
		d.label(x+0.5, p.y+0.36*tickSize, text, Bold, tickSize, ink)
	}
}

// bar draws the colours with their values, least at the foot.
func (m Disc) bar(d *Doc, x, y, h, lo, hi float64) {
	const w = 9.0
	for i := range barSteps {
		top := y + float64(h*(float64(barSteps-1-i)/barSteps))
		c := heatAt((float64(i) + 0.5) / barSteps)
		d.polygon([]xy{{x, top}, {x + w, top}, {x + w, top + h/barSteps}, {x, top + h/barSteps}}, c)
	}
	d.frame(x, y, w, h, thin, muted)
	ticks(lo, hi, 4, func(v float64, text string) {
		at := y + h - float64(h*((v-lo)/(hi-lo)))
		d.stroke(x+w, at, x+w+3, at, thin, muted)
		text = d.fit(text, Regular, tickSize, discBar-22)
		d.label(x+w+5, at+0.36*tickSize, text, Regular, tickSize, muted)
	})
	lines := d.wrap(Plain(m.Label), tickSize, discBar-8)
	for i, l := range lines[:min(2, len(lines))] {
		for _, p := range l.pieces {
			d.label(x+p.x, y+h+11+float64(float64(i)*leading(tickSize)), p.text, Regular, tickSize, ink)
		}
	}
}
