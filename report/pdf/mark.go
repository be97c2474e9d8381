package pdf

import "image/color"

// Mark is a shape that stands before a word. The shapes differ, not only the
// inks, so that they read in grey.
type Mark uint8

// The shapes, from heavy to light.
const (
	NoMark  Mark = iota
	Full         // filled square
	Half         // square, left half filled
	Open         // square outline
	Check        // tick in an outline
	Dash         // outline with a dash: no answer
	Warning      // triangle with an exclamation mark
)

// markSize is the width of a square mark.
func markSize(size float64) float64 { return float64(0.74 * size) }

// advance is the width of a mark with the gap to its word.
func (m Mark) advance(size float64) float64 {
	if m == Warning {
		return 1.32 * size
	}
	return 1.12 * size
}

// drawMark draws a mark whose foot stands on the baseline.
func (d *Doc) drawMark(m Mark, x, base, size float64, c color.RGBA) {
	s, w := markSize(size), float64(0.09*size)
	if m == Warning {
		d.warning(x, base, size, c)
		return
	}
	// The stroke is centred on the path: draw half a weight further in.
	x, y, in := x+w/2, base-s+w/2, s-w
	switch m {
	case Full:
		d.fillRect(x, y, in, in, c)
	case Half:
		d.fillRect(x, y, in/2, in, c)
	case Check:
		at := func(u, v float64) xy { return xy{x + float64(u*in), y + float64(v*in)} }
		d.polyline([]xy{at(0.22, 0.52), at(0.43, 0.74), at(0.80, 0.26)}, 1.3*w, 0, c)
	case Dash:
		d.stroke(x+0.25*in, y+in/2, x+0.75*in, y+in/2, 1.3*w, c)
	}
	d.frame(x, y, in, in, w, c)
}

// warning draws a triangle with an exclamation mark on the baseline, as wide
// as a mark's advance allows.
func (d *Doc) warning(x, base, size float64, c color.RGBA) {
	w, h, weight := float64(0.92*size), float64(0.80*size), float64(0.09*size)
	mid := x + w/2
	d.outline([]xy{{x + weight/2, base - weight/2}, {mid, base - h + weight/2}, {x + w - weight/2, base - weight/2}}, weight, c)
	d.stroke(mid, base-float64(0.56*h), mid, base-float64(0.34*h), 1.2*weight, c)
	d.dot(mid, base-float64(0.19*h), 0.55*weight, c, 0.1*weight, c)
}
