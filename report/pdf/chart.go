package pdf

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
)

// Axis is one axis of a chart.
type Axis struct {
	Label    string  // with its unit
	Min, Max float64 // range; taken from the data when equal
}

// Series is a line of points with x ascending.
type Series struct {
	Name   string
	X, Y   []float64
	Steps  bool // level from each point to the next
	Dashed bool
	Ink    color.RGBA
}

// Limit is a straight line across the plot with a word.
type Limit struct {
	At       float64
	Label    string
	Vertical bool // at an x, else at a y
	Ink      color.RGBA
}

// Chart is a line and bar chart.
type Chart struct {
	X, Y    Axis
	Bars    Series // middles and heights of bars; none when empty
	Lines   []Series
	Limits  []Limit
	Height  float64 // millimetres, 60 when zero
	Caption Runs
}

const (
	tickSize   = 7.0
	plotRight  = 8.0
	plotBottom = 26.0
)

func (c Chart) caption() Runs { return c.Caption }
func (c Chart) kind() string  { return "chart" }

func (c Chart) extent(d *Doc, maxW, maxH float64) (w, h float64) {
	h = c.Height
	if h == 0 {
		h = 60
	}
	return maxW, min(d.q(h*point), maxH)
}

// plot maps values to the plot's rectangle.
type plot struct {
	d              *Doc
	x, y, w, h     float64
	x0, x1, y0, y1 float64
}

func (p plot) at(x, y float64) xy {
	return xy{p.x + float64(p.w*near((x-p.x0)/(p.x1-p.x0))), p.y + p.h - float64(p.h*near((y-p.y0)/(p.y1-p.y0)))}
}

// near keeps a place that is far outside a figure, in parts of its size, within
// what the file can hold; all of it is clipped. NaN stays NaN, for the check of
// coordinates to find, and so does the infinite.
func near(t float64) float64 {
	if math.IsInf(t, 0) {
		return t
	}
	return min(max(t, -10), 10)
}

func (c Chart) draw(d *Doc, x, y, w, h float64) {
	for _, s := range append([]Series{c.Bars}, c.Lines...) {
		if len(s.X) != len(s.Y) {
			d.fail("series %q has %d x and %d y", s.Name, len(s.X), len(s.Y))
			return
		}
	}
	top := 6.0
	if c.named() {
		top = 16
	}
	p := plot{d: d, y: y + top, h: h - plotBottom - top}
	p.x0, p.x1 = c.bounds(c.X, func(s Series) []float64 { return s.X }, false)
	p.y0, p.y1 = c.bounds(c.Y, func(s Series) []float64 { return s.Y }, true)
	if !(p.x1 > p.x0) || !(p.y1 > p.y0) || math.IsInf(p.x1-p.x0, 0) || math.IsInf(p.y1-p.y0, 0) {
		d.fail("chart over x %v to %v, y %v to %v: a range must be finite and ascending", p.x0, p.x1, p.y0, p.y1)
		return
	}
	widest := 0.0
	p.yTicks(func(_ float64, text string) { widest = max(widest, measure(text, Regular, tickSize)) })
	p.x = x + 18 + widest
	if p.w = x + w - plotRight - p.x; p.w < 20 || p.h < 20 {
		d.fail("no room for a chart of %.0f x %.0f mm", w/point, h/point)
		return
	}
	p.axes(c, x, y+h)
	d.clipped(p.x, p.y, p.w, p.h, func() {
		p.bars(c.Bars)
		for _, s := range c.Lines {
			p.line(s)
		}
	})
	d.stroke(p.x, p.y+p.h, p.x+p.w, p.y+p.h, medium, ink)
	for _, l := range c.Limits {
		p.limit(l)
	}
	p.legend(c)
}

// named tells whether a legend is needed.
func (c Chart) named() bool {
	for _, s := range append([]Series{c.Bars}, c.Lines...) {
		if s.Name != "" && len(s.X) > 0 {
			return true
		}
	}
	return false
}

// bounds is the axis' own range, else that of the data (with zero for heights),
// rounded out to whole ticks for heights.
func (c Chart) bounds(a Axis, of func(Series) []float64, heights bool) (lo, hi float64) {
	if a.Min != a.Max {
		return a.Min, a.Max
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, s := range append([]Series{c.Bars}, c.Lines...) {
		for _, v := range of(s) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	if n := len(c.Bars.X); n > 0 && !heights { // room for half a bar at the ends
		half := barGap(c.Bars.X, hi-lo) / 2
		lo, hi = min(lo, c.Bars.X[0]-half), max(hi, c.Bars.X[n-1]+half)
	}
	if lo > hi {
		lo, hi = 0, 1
	}
	if heights {
		lo, hi = math.Min(lo, 0), math.Max(hi, 0)
	}
	if lo == hi {
		return lo - 0.5, hi + 0.5
	}
	if step := tickStep(hi-lo, 5); heights && step > 0 {
		lo, hi = math.Floor(lo/step)*step, math.Ceil(hi/step)*step
	}
	return lo, hi
}

// tickStep is the round step (1, 2 or 5 times a power of ten) that parts span
// into at most n steps and a bit; 0 for a span that is none.
func tickStep(span float64, n int) float64 {
	if !(span > 0) || math.IsInf(span, 0) {
		return 0
	}
	for e := -300; e < 300; e++ {
		for _, m := range []float64{1, 2, 5} {
			if step := m * math.Pow10(e); span/step <= float64(n)+0.01 {
				return step
			}
		}
	}
	return 0
}

// tickText writes a tick with the decimals its step needs.
func tickText(v, step float64) string {
	decimals := 0
	for s := step; s < 0.9999 && decimals < 12; s *= 10 {
		decimals++
	}
	if math.Abs(v) < step/2 {
		v = 0 // no minus before zero
	}
	if math.Abs(v) >= 1e7 || step < 1e-5 {
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// ticks calls f at every whole step of a range.
func ticks(lo, hi float64, n int, f func(v float64, text string)) {
	step := tickStep(hi-lo, n)
	if step == 0 {
		return
	}
	slack := float64(step * 1e-6) // a tick that rounding puts just outside still counts
	for k := math.Ceil((lo - slack) / step); float64(k*step) <= hi+slack; k++ {
		f(k*step, tickText(k*step, step))
	}
}

// yTicks calls f at every tick of the heights.
func (p plot) yTicks(f func(v float64, text string)) { ticks(p.y0, p.y1, max(2, int(p.h/26)), f) }

// axes draws grid, ticks and titles.
func (p plot) axes(c Chart, left, foot float64) {
	d := p.d
	p.yTicks(func(v float64, text string) {
		at := p.at(p.x0, v)
		d.stroke(p.x, at.y, p.x+p.w, at.y, thin, rule)
		d.label(p.x-4-measure(text, Regular, tickSize), at.y+0.36*tickSize, text, Regular, tickSize, muted)
	})
	ticks(p.x0, p.x1, max(2, int(p.w/44)), func(v float64, text string) {
		at := p.at(v, p.y0)
		d.stroke(at.x, p.y+p.h, at.x, p.y+p.h+3, thin, muted)
		w := measure(text, Regular, tickSize)
		tx := min(max(at.x-w/2, left), p.x+p.w+plotRight-w)
		d.label(tx, p.y+p.h+4+tickSize, text, Regular, tickSize, muted)
	})
	label := d.fit(d.oneLine(c.X.Label), Regular, tickSize+0.5, p.w)
	d.label(p.x+p.w-measure(label, Regular, tickSize+0.5), foot-2, label, Regular, tickSize+0.5, ink)
	p.upright(d.fit(d.oneLine(c.Y.Label), Regular, tickSize+0.5, p.h), left+tickSize)
}

// upright sets text that reads upwards beside the plot.
func (p plot) upright(s string, x float64) {
	if s == "" {
		return
	}
	d := p.d
	x, y := d.q(x), d.q(p.y+measure(s, Regular, tickSize+0.5))
	if d.svg != nil {
		d.svg.open(fmt.Sprintf(`g transform="rotate(-90 %.2f %.2f)"`, x, y))
		d.write(x, y, s, Regular, tickSize+0.5, ink)
		d.svg.close("g")
		return
	}
	saved := d.pen
	d.lib.TransformBegin()
	d.lib.TransformRotate(90, x, y)
	d.write(x, y, s, Regular, tickSize+0.5, ink)
	d.lib.TransformEnd()
	d.pen = saved
}

// bars draws bars that fill nine tenths of the smallest distance.
func (p plot) bars(s Series) {
	if len(s.X) == 0 {
		return
	}
	gap := barGap(s.X, p.x1-p.x0)
	c := s.Ink
	if c == (color.RGBA{}) {
		c = color.RGBA{R: 0xa9, G: 0xb9, B: 0xc3, A: 0xff}
	}
	half := float64(0.45 * p.w * (gap / (p.x1 - p.x0)))
	for i := range s.X {
		a, b := p.at(s.X[i], 0), p.at(s.X[i], s.Y[i])
		p.d.polygon([]xy{{a.x - half, a.y}, {a.x + half, a.y}, {a.x + half, b.y}, {a.x - half, b.y}}, c)
	}
}

// barGap is the smallest distance of ascending middles, at most span.
func barGap(x []float64, span float64) float64 {
	gap := span
	for i := 1; i < len(x); i++ {
		if g := x[i] - x[i-1]; g > 0 {
			gap = min(gap, g)
		}
	}
	return gap
}

func (p plot) line(s Series) {
	pts := make([]xy, 0, 2*len(s.X))
	for i := range s.X {
		at := p.at(s.X[i], s.Y[i])
		if s.Steps && i > 0 {
			pts = append(pts, xy{at.x, pts[len(pts)-1].y})
		}
		pts = append(pts, at)
	}
	p.d.polyline(pts, 1.2, s.dash(), s.color())
}

func (s Series) dash() float64 {
	if s.Dashed {
		return 3
	}
	return 0
}

func (s Series) color() color.RGBA {
	if s.Ink == (color.RGBA{}) {
		return accent
	}
	return s.Ink
}

// limit draws a straight line with its word on white, if it lies in the plot.
func (p plot) limit(l Limit) {
	d, text, c := p.d, p.d.fit(p.d.oneLine(l.Label), Regular, tickSize, p.w/2), orInk(l.Ink)
	w := measure(text, Regular, tickSize)
	at := p.at(p.x0, l.At)
	if l.Vertical {
		at = p.at(l.At, p.y0)
	}
	d.q(at.x + at.y)
	x, base := p.x+p.w-w-2, at.y+0.36*tickSize
	switch {
	case l.Vertical && l.At >= p.x0 && l.At <= p.x1:
		d.polyline([]xy{{at.x, p.y}, {at.x, p.y + p.h}}, medium, 2.4, c)
		x, base = min(at.x-w/2, x), p.y+tickSize+2
	case !l.Vertical && l.At >= p.y0 && l.At <= p.y1:
		d.polyline([]xy{{p.x, at.y}, {p.x + p.w, at.y}}, medium, 2.4, c)
	default:
		return
	}
	if text != "" {
		d.fillRect(x-2, base-tickSize, w+4, tickSize+2.4, white)
		d.label(x, base, text, Regular, tickSize, c)
	}
}

// legend names the series above the plot.
func (p plot) legend(c Chart) {
	d, x, base := p.d, p.x, p.y-7
	for i, s := range append([]Series{c.Bars}, c.Lines...) {
		text := d.fit(d.oneLine(s.Name), Regular, tickSize, p.w/2)
		w := 18 + measure(text, Regular, tickSize)
		if s.Name == "" || len(s.X) == 0 || x+w > p.x+p.w+plotRight {
			continue
		}
		if i == 0 {
			d.fillRect(x, base-5, 12, 5, color.RGBA{R: 0xa9, G: 0xb9, B: 0xc3, A: 0xff})
		} else {
			d.polyline([]xy{{x, base - 2.5}, {x + 13, base - 2.5}}, 1.2, s.dash(), s.color())
		}
		d.label(x+17, base, text, Regular, tickSize, ink)
		x += w + 12
	}
}
