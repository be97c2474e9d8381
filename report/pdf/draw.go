package pdf

import (
	"fmt"
	"image/color"
	"math"
)

// Quiet inks of the page itself; every meaning has its own ink from the caller.
var (
	ink    = color.RGBA{R: 0x1e, G: 0x26, B: 0x2c, A: 0xff}
	muted  = color.RGBA{R: 0x5c, G: 0x68, B: 0x70, A: 0xff}
	rule   = color.RGBA{R: 0xc4, G: 0xcc, B: 0xd1, A: 0xff}
	tint   = color.RGBA{R: 0xf4, G: 0xf6, B: 0xf7, A: 0xff}
	accent = color.RGBA{R: 0x1f, G: 0x4e, B: 0x6b, A: 0xff}
	white  = color.RGBA{R: 0xff, G: 0xff, B: 0xff, A: 0xff}
)

// Line weights in points.
const (
	thin   = 0.4
	medium = 0.8
	// seam is stroked around neighbouring fills in their own colour, or viewers
	// leave white hairlines between them: 0.12 mm.
	seam = 0.12 * point
)

// pen is the drawing state the library was last told; the zero value is unknown.
type pen struct {
	style              Style
	size, weight, dash float64
	line, fill, text   color.RGBA
	round              bool
}

// xy is a place on the page, in points.
type xy struct{ x, y float64 }

// setLine sets ink, weight and dash length (0 for solid) of strokes.
func (d *Doc) setLine(c color.RGBA, weight, dash float64) {
	if d.pen.line != c {
		d.lib.SetDrawColor(int(c.R), int(c.G), int(c.B))
		d.pen.line = c
	}
	if weight = d.q(weight); d.pen.weight != weight {
		d.lib.SetLineWidth(weight)
		d.pen.weight = weight
	}
	if !d.pen.round {
		d.lib.SetLineJoinStyle("round")
		d.pen.round = true
		d.lib.SetDashPattern(nil, 0)
	}
	if dash = d.q(dash); d.pen.dash != dash {
		if dash > 0 {
			d.lib.SetDashPattern([]float64{dash, dash}, 0)
		} else {
			d.lib.SetDashPattern(nil, 0)
		}
		d.pen.dash = dash
	}
}

// setFill sets the ink of fills.
func (d *Doc) setFill(c color.RGBA) {
	if d.pen.fill != c {
		d.lib.SetFillColor(int(c.R), int(c.G), int(c.B))
		d.pen.fill = c
	}
}

// stroke draws a solid line.
func (d *Doc) stroke(x1, y1, x2, y2, weight float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.path(d, []xy{{x1, y1}, {x2, y2}}, false, strokeStyle(weight, 0, c))
		return
	}
	d.setLine(c, weight, 0)
	d.lib.Line(d.q(x1), d.q(y1), d.q(x2), d.q(y2))
}

// frame strokes a rectangle.
func (d *Doc) frame(x, y, w, h, weight float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.rect(d, x, y, w, h, strokeStyle(weight, 0, c))
		return
	}
	d.setLine(c, weight, 0)
	d.lib.Rect(d.q(x), d.q(y), d.q(w), d.q(h), "D")
}

// fillRect fills a rectangle.
func (d *Doc) fillRect(x, y, w, h float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.rect(d, x, y, w, h, fmt.Sprintf(`fill="%s"`, hex(c)))
		return
	}
	d.setFill(c)
	d.lib.Rect(d.q(x), d.q(y), d.q(w), d.q(h), "F")
}

// trace runs a path through the points without painting it.
func (d *Doc) trace(points []xy) {
	for i, p := range points {
		if x, y := d.q(p.x), d.q(p.y); i == 0 {
			d.lib.MoveTo(x, y)
		} else {
			d.lib.LineTo(x, y)
		}
	}
}

// polyline strokes an open path; dash is the dash length, 0 for solid.
func (d *Doc) polyline(points []xy, weight, dash float64, c color.RGBA) {
	if len(points) < 2 {
		return
	}
	if d.svg != nil {
		d.svg.path(d, points, false, strokeStyle(weight, dash, c))
		return
	}
	d.setLine(c, weight, dash)
	d.trace(points)
	d.lib.DrawPath("D")
}

// polygon fills a closed path, its edge stroked in the same ink so that no
// hairline shows beside a neighbour.
func (d *Doc) polygon(points []xy, c color.RGBA) {
	if d.svg != nil {
		d.svg.path(d, points, true, fmt.Sprintf(`fill="%s" stroke="%s" stroke-width="%.2f"`, hex(c), hex(c), seam))
		return
	}
	d.setFill(c)
	d.setLine(c, seam, 0)
	d.trace(points)
	d.lib.ClosePath()
	d.lib.DrawPath("FD")
}

// outline strokes a closed path.
func (d *Doc) outline(points []xy, weight float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.path(d, points, true, strokeStyle(weight, 0, c))
		return
	}
	d.setLine(c, weight, 0)
	d.trace(points)
	d.lib.ClosePath()
	d.lib.DrawPath("D")
}

// kappa is the control length of a quarter circle as one cubic: 4/3·(√2−1).
const kappa = 4.0 / 3.0 * (math.Sqrt2 - 1)

// circlePath traces a circle as four cubics. The library's own circle is not
// used: it writes five decimals of sums a compiler may fuse.
func (d *Doc) circlePath(x, y, r float64) {
	k := float64(kappa * r)
	p := func(v float64) float64 { return d.q(v) }
	d.lib.MoveTo(p(x+r), p(y))
	d.lib.CurveBezierCubicTo(p(x+r), p(y+k), p(x+k), p(y+r), p(x), p(y+r))
	d.lib.CurveBezierCubicTo(p(x-k), p(y+r), p(x-r), p(y+k), p(x-r), p(y))
	d.lib.CurveBezierCubicTo(p(x-r), p(y-k), p(x-k), p(y-r), p(x), p(y-r))
	d.lib.CurveBezierCubicTo(p(x+k), p(y-r), p(x+r), p(y-k), p(x+r), p(y))
	d.lib.ClosePath()
}

// ring strokes a circle.
func (d *Doc) ring(x, y, r, weight float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.circle(d, x, y, r, strokeStyle(weight, 0, c))
		return
	}
	d.setLine(c, weight, 0)
	d.circlePath(x, y, r)
	d.lib.DrawPath("D")
}

// dot fills a circle and strokes its edge.
func (d *Doc) dot(x, y, r float64, fill color.RGBA, weight float64, edge color.RGBA) {
	if d.svg != nil {
		d.svg.circle(d, x, y, r, fmt.Sprintf(`fill="%s" stroke="%s" stroke-width="%.2f"`, hex(fill), hex(edge), weight))
		return
	}
	d.setFill(fill)
	d.setLine(edge, weight, 0)
	d.circlePath(x, y, r)
	d.lib.DrawPath("FD")
}

// label sets clean text in a figure and records it.
func (d *Doc) label(x, base float64, s string, style Style, size float64, c color.RGBA) {
	if s != "" {
		d.record("label", x, base-float64(0.78*size), measure(s, style, size), size)
		d.write(x, base, s, style, size, c)
	}
}

// clipped draws inside a rectangle only.
func (d *Doc) clipped(x, y, w, h float64, draw func()) {
	if d.svg != nil {
		d.svg.open(fmt.Sprintf(`svg x="%.2f" y="%.2f" width="%.2f" height="%.2f" viewBox="%.2f %.2f %.2f %.2f"`, d.q(x), d.q(y), d.q(w), d.q(h), d.q(x), d.q(y), d.q(w), d.q(h)))
		draw()
		d.svg.close("svg")
		return
	}
	d.lib.ClipRect(d.q(x), d.q(y), d.q(w), d.q(h), false)
	saved := d.pen
	draw()
	d.lib.ClipEnd()
	d.pen = saved // the end of a clip restores the state before it
}
