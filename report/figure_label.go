package report

import (
	"image/color"
	"math"
	"slices"

	"pourproof/report/pdf"
	"pourproof/report/render"
)

// Type in pictures, points; and estimates of what it covers. A bold letter of the
// report's font is 0.6 em wide on average.
const (
	labelSize   = 7.5
	letterWidth = 0.60
	capHeight   = 0.72 // em
	pointMM     = 25.4 / 72
	em          = labelSize * pointMM * pixelsPerMM // pixels
)

// area is a rectangle in picture pixels: middle and half sides.
type area struct{ x, y, w, h float64 }

func (a area) meets(b area) bool {
	return math.Abs(a.x-b.x) < a.w+b.w && math.Abs(a.y-b.y) < a.h+b.h
}

// annotate sets callouts and words over a picture, and takes from the picture's
// own overlay what they replace.
func (sh *shot) annotate(p *render.Picture) pdf.Overlay {
	var o pdf.Overlay
	var taken []area
	for i, c := range p.Callouts {
		m := sh.marks[i]
		o.Circles = append(o.Circles, pdf.Circle{X: c.X, Y: c.Y, Text: m.text, Ink: m.look.text, Fill: m.look.fill, Link: m.link})
		taken = append(taken, area{c.X, c.Y, 1.2 * c.R, 1.2 * c.R}, area{c.AnchorX, c.AnchorY, 5, 5})
	}
	p.Overlay.Circles = slices.DeleteFunc(p.Overlay.Circles, func(k render.Circle) bool {
		return slices.ContainsFunc(p.Callouts, func(c render.Callout) bool { return c.X == k.X && c.Y == k.Y && c.R == k.R })
	})
	for _, t := range p.Overlay.Texts {
		if t.S == "" {
			continue // the number of a callout, set above
		}
		o.Labels = append(o.Labels, pdf.Label{X: t.X, Y: t.Y, Text: t.S, Align: alignOf(t.Align), Size: max(6, t.Size/(pixelsPerMM*pointMM*capHeight)), Ink: t.Color, Bare: true})
	}
	p.Overlay.Texts = nil
	b := p.Image.Bounds()
	for _, l := range sh.labels {
		if a, ok := sh.seat(l, p, taken, float64(b.Dx()), float64(b.Dy())); ok {
			taken = append(taken, a)
			o.Lines = append(o.Lines, leader(l, a, p)...)
			o.Labels = append(o.Labels, pdf.Label{X: a.x, Y: a.y, Text: l.text, Align: pdf.Center, Size: labelSize, Style: pdf.Bold, Ink: inkOf(l.ink)})
		}
	}
	return o
}

// leader is the line from a word to its place, where another word or a callout
// pushed it away.
func leader(l label, a area, p *render.Picture) []pdf.Stroke {
	x, y, _, _ := p.Project(l.at)
	// from the nearest place of the word's edge
	fx, fy := min(max(x, a.x-a.w), a.x+a.w), min(max(y, a.y-a.h), a.y+a.h)
	if math.Sqrt(float64((fx-x)*(fx-x))+float64((fy-y)*(fy-y))) < 2*em {
		return nil
	}
	return []pdf.Stroke{{X1: fx, Y1: fy, X2: x, Y2: y, Weight: 0.5, Halo: true, Ink: render.Ink}}
}

func inkOf(c color.RGBA) color.RGBA {
	if c == (color.RGBA{}) {
		return render.Ink
	}
	return c
}

func alignOf(a render.Align) pdf.Align {
	switch a {
	case render.LeftEnd:
		return pdf.Left
	case render.RightEnd:
		return pdf.Right
	}
	return pdf.Center
}

// seat finds a free place for a label: in its direction, farther and farther
// away, then to both sides. ok is false where the picture has no room: a word
// over another word says less than no word.
func (sh *shot) seat(l label, p *render.Picture, taken []area, w, h float64) (area, bool) {
	x, y, _, _ := p.Project(l.at)
	dx, dy := 0.0, 0.0
	if l.toward.Norm() > 0 {
		qx, qy, _, _ := p.Project(l.at.Add(l.toward))
		if n := math.Sqrt(float64((qx-x)*(qx-x)) + float64((qy-y)*(qy-y))); n > 0 {
			dx, dy = (qx-x)/n, (qy-y)/n
		}
	}
	foot := h - footMM*pixelsPerMM
	a := area{w: 4 + float64(letterWidth*em/2*float64(len([]rune(l.text)))), h: 2 + float64(0.62*em)}
	if x < 0 || y < 0 || x > w || y > foot {
		return a, false
	}
	out := float64(math.Abs(dx)*a.w) + float64(math.Abs(dy)*a.h)
	for step := range 9 {
		for _, side := range [3]float64{0, 1, -1} {
			away := out + float64((0.9+float64(0.6*float64(step)))*em)
			if dx == 0 && dy == 0 {
				away = 0
			}
			a.x = x + float64(dx*away) - float64(dy*side*float64(step)*em)
			a.y = y + float64(dy*away) + float64(dx*side*float64(step)*em)
			if dx == 0 && dy == 0 {
				a.y += float64(side * float64(step) * em)
			}
			a.x = min(max(a.x, a.w+2), w-a.w-2)
			a.y = min(max(a.y, a.h+2), foot-a.h)
			if !slices.ContainsFunc(taken, a.meets) {
				return a, true
			}
		}
	}
	return a, false
}
