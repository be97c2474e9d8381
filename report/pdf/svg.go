package pdf

import (
	"fmt"
	"image/color"
	"strings"
)

// sketch takes a figure's strokes and words as SVG instead of a page's. Places are
// points from the figure's corner; what was set as type stays text.
type sketch struct{ b strings.Builder }

// ImageHere stands in a figure's SVG where the address of its image belongs.
const ImageHere = "\x00image\x00"

func hex(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// escapeSVG is for text and attributes alike.
var escapeSVG = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

func (s *sketch) path(d *Doc, points []xy, closed bool, style string) {
	s.b.WriteString(`<path d="M`)
	for i, p := range points {
		if i > 0 {
			s.b.WriteByte('L')
		}
		fmt.Fprintf(&s.b, "%.2f %.2f", d.q(p.x), d.q(p.y))
	}
	if closed {
		s.b.WriteByte('Z')
	}
	fmt.Fprintf(&s.b, `" %s/>`, style)
}

func strokeStyle(weight, dash float64, c color.RGBA) string {
	out := fmt.Sprintf(`fill="none" stroke="%s" stroke-width="%.2f" stroke-linejoin="round"`, hex(c), weight)
	if dash > 0 {
		out += fmt.Sprintf(` stroke-dasharray="%.2f"`, dash)
	}
	return out
}

func (s *sketch) rect(d *Doc, x, y, w, h float64, style string) {
	fmt.Fprintf(&s.b, `<rect x="%.2f" y="%.2f" width="%.2f" height="%.2f" %s/>`, d.q(x), d.q(y), d.q(w), d.q(h), style)
}

func (s *sketch) circle(d *Doc, x, y, r float64, style string) {
	fmt.Fprintf(&s.b, `<circle cx="%.2f" cy="%.2f" r="%.2f" %s/>`, d.q(x), d.q(y), d.q(r), style)
}

// text is set with the width that it has on paper, so that another font fits its
// place.
func (s *sketch) text(d *Doc, x, base float64, t string, style Style, size float64, c color.RGBA) {
	weight := ""
	if style == Bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(&s.b, `<text x="%.2f" y="%.2f" font-size="%.2f" fill="%s"%s textLength="%.2f" lengthAdjust="spacingAndGlyphs">%s</text>`,
		d.q(x), d.q(base), size, hex(c), weight, d.q(measure(t, style, size)), escapeSVG.Replace(t))
}

func (s *sketch) image(d *Doc, x, y, w, h float64) {
	fmt.Fprintf(&s.b, `<image x="%.2f" y="%.2f" width="%.2f" height="%.2f" preserveAspectRatio="none" href="%s"/>`, d.q(x), d.q(y), d.q(w), d.q(h), ImageHere)
}

func (s *sketch) open(element string) { s.b.WriteString("<" + element + ">") }
func (s *sketch) close(name string)   { s.b.WriteString("</" + name + ">") }

// sketched draws a figure once more, of the size it has on paper, as SVG without
// its outer element.
func (d *Doc) sketched(f Figure, w, h float64) string {
	s := &sketch{}
	pen := d.pen
	d.svg = s
	f.draw(d, 0, 0, w, h)
	d.svg, d.pen = nil, pen
	return s.b.String()
}
