package render

import (
	"image/color"
	"math"
	"strconv"

	"pourproof/geom"
)

// Overlay is vector drawing over a picture: coordinates, widths and sizes are
// picture pixels, x to the right and y down from the top left corner. Draw the
// lists in the order of the fields, each in its own order.
type Overlay struct {
	Lines   []Line
	Arrows  []Arrow
	Circles []Circle
	Texts   []Text
}

// Line is a straight stroke with round ends.
type Line struct {
	X0, Y0, X1, Y1 float64
	Width          float64
	Halo           float64 // width of a white stroke to draw under it; 0 for none
	Dash           []float64
	Color          color.RGBA
}

// Arrow is a filled head at (X1, Y1) on a stroke from (X0, Y0). Head is the
// head's length; it is half as wide.
type Arrow struct {
	X0, Y0, X1, Y1 float64
	Width, Head    float64
	Halo           float64
	Color          color.RGBA
}

// Circle is a disc of radius R filled with Fill, its rim a stroke of the given
// width whose outer edge lies at R.
type Circle struct {
	X, Y, R float64
	Width   float64 // 0: no rim
	Fill    color.RGBA
	Rim     color.RGBA
}

// Align says which point of a text stands at its coordinates. Vertically it is
// always the middle of the capital letters.
type Align uint8

const (
	Center Align = iota
	LeftEnd
	RightEnd
)

// Text is one line of text. Size is the height of the capital letters.
type Text struct {
	X, Y  float64
	Size  float64
	Align Align
	S     string
	Color color.RGBA
	Halo  bool // white edge, for text over the drawing
}

// Caption is a text at a point in space.
type Caption struct {
	At   geom.Vec
	Text string
}

// GlyphKind is the shape of a Glyph.
type GlyphKind uint8

const (
	Cross   GlyphKind = iota // upright cross at From
	Dot                      // filled dot at From
	Pointer                  // arrow from From to To
	Axis                     // dash-dotted centre line from From to To, drawn a little longer
	Segment                  // plain line from From to To
)

// Glyph is a sign at a place in space. It is drawn over everything; where
// its place is hidden by a solid body, crosses and dots are drawn hollow or thin
// and lines dashed.
type Glyph struct {
	Kind     GlyphKind
	From, To geom.Vec
	Color    color.RGBA // the zero colour is Ink
	Weight   float64    // line weight in units of about 0.1 mm on paper; 0 is 2
}

// annotate fills the picture's overlay.
func (p *Picture) annotate(s *Scene) {
	if p.Scale > 0 {
		for i := range s.Glyphs {
			p.glyph(&s.Glyphs[i])
		}
		p.callouts(s.Marks)
		for _, c := range s.Labels {
			x, y, _ := p.view.project(c.At)
			p.Overlay.Texts = append(p.Overlay.Texts, Text{X: x, Y: y, Size: p.view.units(13), S: c.Text, Color: Ink, Halo: true})
		}
	}
	if !s.Plain {
		p.furniture(s)
	}
}

func (p *Picture) glyph(g *Glyph) {
	u := p.view.units
	c := g.Color
	if c == (color.RGBA{}) {
		c = Ink
	}
	weight := g.Weight
	if !(weight > 0) {
		weight = 2
	}
	wd := u(weight)
	x0, y0, _, seen := p.Project(g.From)
	x1, y1, _ := p.view.project(g.To)
	o := &p.Overlay
	switch g.Kind {
	case Cross:
		r := u(10)
		if !seen {
			wd /= 2
		}
		o.Lines = append(o.Lines,
			Line{X0: x0 - r, Y0: y0, X1: x0 + r, Y1: y0, Width: wd, Halo: wd + u(3), Color: c},
			Line{X0: x0, Y0: y0 - r, X1: x0, Y1: y0 + r, Width: wd, Halo: wd + u(3), Color: c},
			Line{X0: x0 - r, Y0: y0, X1: x0 + r, Y1: y0, Width: wd, Color: c})
	case Dot:
		fill := c
		if !seen {
			fill = Paper
		}
		o.Circles = append(o.Circles, Circle{X: x0, Y: y0, R: u(5), Width: wd, Fill: fill, Rim: c})
	case Pointer:
		o.Arrows = append(o.Arrows, Arrow{X0: x0, Y0: y0, X1: x1, Y1: y1, Width: wd, Head: float64(6*wd) + u(4), Halo: u(3), Color: c})
	case Axis:
		// a centre line stands out of its bore by a little at each end
		if d := math.Sqrt(float64((x1-x0)*(x1-x0)) + float64((y1-y0)*(y1-y0))); d > 0 {
			ex, ey := float64((x1-x0)/d*u(10)), float64((y1-y0)/d*u(10))
			x0, y0, x1, y1 = x0-ex, y0-ey, x1+ex, y1+ey
		}
		o.Lines = append(o.Lines, Line{X0: x0, Y0: y0, X1: x1, Y1: y1, Width: wd, Dash: []float64{u(16), u(5), u(3), u(5)}, Color: c})
	case Segment:
		l := Line{X0: x0, Y0: y0, X1: x1, Y1: y1, Width: wd, Color: c}
		if !seen {
			l.Dash = []float64{u(7), u(5)}
		}
		o.Lines = append(o.Lines, l)
	}
}

// furniture puts the scale bar, the triad and the gravity arrow into the strip
// at the foot of the picture.
func (p *Picture) furniture(s *Scene) {
	mid := (p.view.foot + float64(p.h)) / 2
	arm := float64((float64(p.h) - p.view.foot) * 0.36)
	left := p.view.units(16) + float64(1.3*arm)
	p.triad(left, mid, arm)
	p.scaleBar(left+float64(2.2*arm), mid)
	if s.Up != (geom.Vec{}) && s.Up.Finite() {
		p.gravity(float64(p.w)-left, mid, arm, s.Up.Unit())
	}
}

// RoundLength returns the largest length of the form 1, 2 or 5 times a power of
// ten that is at most limit, and 0 for a limit that is not positive.
func RoundLength(limit float64) float64 {
	if !(limit > 0) || math.IsInf(limit, 1) {
		return 0
	}
	best := 0.0
	for e := -12; e <= 12; e++ {
		for _, m := range [3]string{"1", "2", "5"} {
			// parsed, so that 0.2 is the nearest number to 0.2
			l, err := strconv.ParseFloat(m+"e"+strconv.Itoa(e), 64)
			if err == nil && l <= limit {
				best = l
			}
		}
	}
	return best
}

// scaleBar draws a bar of a round length that takes at most a quarter of the
// picture's width and more than a tenth (the steps 1, 2, 5 allow no closer
// bound).
func (p *Picture) scaleBar(x, y float64) {
	if p.Scale == 0 {
		return
	}
	u := p.view.units
	mm := RoundLength(0.25 * float64(p.w) / p.Scale)
	if mm == 0 {
		return
	}
	px := float64(mm * p.Scale)
	y += u(10)
	tick := u(7)
	o := &p.Overlay
	o.Lines = append(o.Lines,
		Line{X0: x, Y0: y, X1: x + px, Y1: y, Width: u(1.6), Color: Ink},
		Line{X0: x, Y0: y, X1: x + px/2, Y1: y, Width: u(5), Color: Ink},
		Line{X0: x, Y0: y - tick, X1: x, Y1: y + tick, Width: u(1.6), Color: Ink},
		Line{X0: x + px/2, Y0: y - tick/2, X1: x + px/2, Y1: y + tick/2, Width: u(1.6), Color: Ink},
		Line{X0: x + px, Y0: y - tick, X1: x + px, Y1: y + tick, Width: u(1.6), Color: Ink})
	o.Texts = append(o.Texts, Text{X: x + px/2, Y: y - u(20), Size: u(15), Color: Ink,
		S: strconv.FormatFloat(mm, 'f', -1, 64) + " mm"})
}

// triad draws the projected unit axes about (x, y). An axis along the view is
// a circle with a dot (towards the viewer) or a cross (away).
func (p *Picture) triad(x, y, arm float64) {
	u := p.view.units
	o := &p.Overlay
	for i, name := range [3]string{"X", "Y", "Z"} {
		e := geom.Vec{}
		switch i {
		case 0:
			e.X = 1
		case 1:
			e.Y = 1
		case 2:
			e.Z = 1
		}
		d := p.view.turn(e)
		flat := math.Sqrt(float64(d.X*d.X) + float64(d.Y*d.Y))
		tx, ty := x-u(13), y+u(13)
		if flat < 0.12 {
			p.alongView(x, y, u(5), d.Z > 0)
		} else {
			o.Arrows = append(o.Arrows, Arrow{X0: x, Y0: y, X1: x + float64(arm*d.X), Y1: y + float64(arm*d.Y),
				Width: u(1.8), Head: min(u(10), arm*flat), Color: Ink})
			reach := arm + u(11)/flat
			tx, ty = x+float64(reach*d.X), y+float64(reach*d.Y)
		}
		o.Texts = append(o.Texts, Text{X: tx, Y: ty, Size: u(12), S: name, Color: Ink})
	}
}

// gravity draws the arrow of gravity, which pulls against up.
func (p *Picture) gravity(x, y, arm float64, up geom.Vec) {
	u := p.view.units
	d := p.view.turn(up.Neg())
	flat := math.Sqrt(float64(d.X*d.X) + float64(d.Y*d.Y))
	o := &p.Overlay
	if flat < 0.12 {
		p.alongView(x, y, u(9), d.Z > 0)
	} else {
		l := float64(arm * 0.95)
		o.Arrows = append(o.Arrows, Arrow{X0: x - float64(l*d.X), Y0: y - float64(l*d.Y), X1: x + float64(l*d.X), Y1: y + float64(l*d.Y),
			Width: u(4), Head: min(u(20), 2*l*flat), Color: Ink})
	}
	o.Texts = append(o.Texts, Text{X: x - u(22), Y: y, Size: u(14), Align: RightEnd, S: "gravity", Color: Ink})
}

// alongView draws the sign of a direction along the view: a dot in a circle for
// one that comes towards the viewer, a cross for one that goes away.
func (p *Picture) alongView(x, y, r float64, away bool) {
	u := p.view.units
	o := &p.Overlay
	o.Circles = append(o.Circles, Circle{X: x, Y: y, R: r, Width: u(1.6), Fill: Paper, Rim: Ink})
	if !away {
		o.Circles = append(o.Circles, Circle{X: x, Y: y, R: r / 3, Fill: Ink})
		return
	}
	k := r * 0.7 // just under sin 45: the ends touch the circle
	// over the circle's paper: two thin arrows without heads would lie under it
	for _, s := range [2]float64{1, -1} {
		for t := -1.0; t <= 1; t += 0.25 {
			o.Circles = append(o.Circles, Circle{X: x + float64(k*t), Y: y + float64(k*t*s), R: u(0.9), Fill: Ink})
		}
	}
}
