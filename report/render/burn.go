package render

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"

	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/font/inconsolata"
	"golang.org/x/image/math/fixed"
)

// Burned returns a copy of the image with the overlay painted into it, for
// pictures that stand alone.
func (p *Picture) Burned() *image.Paletted {
	c := canvas{px: make([]rgb, p.w*p.h), w: p.w, h: p.h}
	var table [256]rgb
	for i, k := range p.Image.Palette {
		r, g, b, _ := k.RGBA()
		table[i] = rgb(r>>8<<16 | g>>8<<8 | b>>8)
	}
	for i, k := range p.Image.Pix {
		c.px[i] = table[k]
	}
	c.overlay(&p.Overlay)
	var q quantizer
	return q.image(c.px, p.w, p.h)
}

// PNG encodes a picture, fast rather than small: one byte a pixel packs to
// nearly the same size at every level.
func PNG(img *image.Paletted) ([]byte, error) {
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := enc.Encode(&b, img); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// canvas paints shapes with soft edges.
type canvas struct {
	px   []rgb
	w, h int
}

func (c *canvas) dab(x, y int, k rgb, cover float64) {
	i := y*c.w + x
	c.px[i] = c.px[i].mix(k, uint32(float64(cover*256)+0.5))
}

func (c *canvas) overlay(o *Overlay) {
	for i := range o.Lines {
		if l := &o.Lines[i]; l.Halo > l.Width {
			c.line(l.X0, l.Y0, l.X1, l.Y1, l.Halo, 0xffffff)
		}
	}
	for i := range o.Lines {
		c.dashed(&o.Lines[i])
	}
	for i := range o.Arrows {
		c.arrow(&o.Arrows[i])
	}
	for i := range o.Circles {
		c.circle(&o.Circles[i])
	}
	for i := range o.Texts {
		c.text(&o.Texts[i])
	}
}

func (c *canvas) line(x0, y0, x1, y1, width float64, k rgb) {
	s := newStroke(x0, y0, x1, y1, width)
	s.each(c.w, c.h, func(x, y int, cover, _ float64) { c.dab(x, y, k, cover) })
}

// dashed draws a line in its pattern of strokes and gaps.
func (c *canvas) dashed(l *Line) {
	k := pack(l.Color)
	period := 0.0
	for _, d := range l.Dash {
		period += max(d, 0)
	}
	dx, dy := l.X1-l.X0, l.Y1-l.Y0
	length := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	// more than 10000 periods is no pattern an eye could see
	if !(period > 0) || !(length > 0) || length > 1e4*period {
		c.line(l.X0, l.Y0, l.X1, l.Y1, l.Width, k)
		return
	}
	for at, i := 0.0, 0; at < length; i++ {
		next := at + max(l.Dash[i%len(l.Dash)], 0)
		if i%2 == 0 {
			a, b := at/length, min(next, length)/length
			c.line(l.X0+float64(a*dx), l.Y0+float64(a*dy), l.X0+float64(b*dx), l.Y0+float64(b*dy), l.Width, k)
		}
		at = next
	}
}

func (c *canvas) arrow(a *Arrow) {
	dx, dy := a.X1-a.X0, a.Y1-a.Y0
	length := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	if !(length > 0) {
		return
	}
	ux, uy := dx/length, dy/length
	head := min(a.Head, length)
	bx, by := a.X1-float64(head*ux), a.Y1-float64(head*uy) // middle of the head's base
	if a.Halo > 0 {
		c.line(a.X0, a.Y0, bx, by, a.Width+a.Halo, 0xffffff)
		c.triangle(a.X1+float64(a.Halo*ux), a.Y1+float64(a.Halo*uy), bx-float64(a.Halo/2*ux), by-float64(a.Halo/2*uy), head/4+a.Halo, 0xffffff)
	}
	k := pack(a.Color)
	c.line(a.X0, a.Y0, bx, by, a.Width, k)
	c.triangle(a.X1, a.Y1, bx, by, head/4, k)
}

// triangle fills an isosceles triangle given by its tip, the middle of its base
// and half the base's length.
func (c *canvas) triangle(tx, ty, bx, by, half float64, k rgb) {
	dx, dy := bx-tx, by-ty
	length := math.Sqrt(float64(dx*dx) + float64(dy*dy))
	if !(length > 0) {
		return
	}
	ux, uy := dx/length, dy/length
	r := length + half + 1
	sinHalf := half / math.Sqrt(float64(half*half)+float64(length*length))
	cosHalf := length / math.Sqrt(float64(half*half)+float64(length*length))
	for y := max(0, int(ty-r)); y <= min(c.h-1, int(ty+r)); y++ {
		for x := max(0, int(tx-r)); x <= min(c.w-1, int(tx+r)); x++ {
			px, py := float64(x)+0.5-tx, float64(y)+0.5-ty
			along := float64(px*ux) + float64(py*uy)
			across := abs(float64(px*uy) - float64(py*ux))
			// distance inside the slanted sides and inside the base
			side := float64(along*sinHalf) - float64(across*cosHalf)
			if cover := min(side+0.5, length-along+0.5, 1); cover > 0 {
				c.dab(x, y, k, cover)
			}
		}
	}
}

func (c *canvas) circle(o *Circle) {
	disc := func(r float64, paint func(x, y int, cover float64)) {
		s := newStroke(o.X, o.Y, o.X, o.Y, 2*r)
		s.each(c.w, c.h, func(x, y int, cover, _ float64) { paint(x, y, cover) })
	}
	if o.Fill.A != 0 {
		disc(o.R, func(x, y int, cover float64) { c.dab(x, y, pack(o.Fill), cover) })
	}
	if o.Width > 0 {
		inner := o.R - o.Width
		disc(o.R, func(x, y int, cover float64) {
			px, py := float64(x)+0.5-o.X, float64(y)+0.5-o.Y
			d := math.Sqrt(float64(px*px) + float64(py*py))
			c.dab(x, y, pack(o.Rim), min(cover, clamp(d-inner+0.5, 0, 1)))
		})
	}
}

// capHeight is the height of capitals and figures of the built-in face, pixels.
const capHeight = 10

// text draws with a built-in face of 8 x 16 pixels, enlarged with smooth
// outlines. A page draws the same text with its own font.
func (c *canvas) text(t *Text) {
	face := inconsolata.Bold8x16
	k := t.Size / capHeight
	if !(k > 0) {
		return
	}
	runes := []rune(t.S)
	width := float64(float64(len(runes)*face.Advance) * k)
	x := t.X - width/2
	switch t.Align {
	case LeftEnd:
		x = t.X
	case RightEnd:
		x = t.X - width
	}
	base := t.Y + t.Size/2
	passes := []color.RGBA{t.Color}
	if t.Halo {
		passes = []color.RGBA{Paper, t.Color}
	}
	for n, ink := range passes {
		grow := 0.0
		if t.Halo && n == 0 {
			grow = 0.45
		}
		for i, r := range runes {
			c.glyph(face, r, x+float64(float64(i*face.Advance)*k), base, k, grow, pack(ink))
		}
	}
}

// glyph draws one letter with its origin at (x, base), enlarged k times; grow
// fattens it by shifting the threshold of its outline.
func (c *canvas) glyph(face *basicfont.Face, r rune, x, base, k, grow float64, ink rgb) {
	box, mask, at, _, _ := face.Glyph(fixed.Point26_6{}, r)
	alpha, ok := mask.(*image.Alpha)
	if !ok {
		return
	}
	value := func(i, j int) float64 {
		if i < 0 || j < 0 || i >= box.Dx() || j >= box.Dy() {
			return 0
		}
		return float64(alpha.AlphaAt(at.X+i, at.Y+j).A) / 255
	}
	x0, y0 := x+float64(float64(box.Min.X)*k), base+float64(float64(box.Min.Y)*k)
	for y := max(0, int(y0-k)); y <= min(c.h-1, int(y0+float64(float64(box.Dy()+1)*k))); y++ {
		for px := max(0, int(x0-k)); px <= min(c.w-1, int(x0+float64(float64(box.Dx()+1)*k))); px++ {
			u, v := (float64(px)+0.5-x0)/k-0.5, (float64(y)+0.5-y0)/k-0.5
			i, j := int(math.Floor(u)), int(math.Floor(v))
			fu, fv := u-float64(i), v-float64(j)
			up := value(i, j) + float64(fu*(value(i+1, j)-value(i, j)))
			down := value(i, j+1) + float64(fu*(value(i+1, j+1)-value(i, j+1)))
			a := up + float64(fv*(down-up))
			// steepen the enlarged edge so that it is about a pixel wide
			if cover := clamp(float64((a-0.5+grow)*max(1, k))+0.5, 0, 1); a+grow > 0.02 && cover > 0 && (grow == 0 || a > 0.02) {
				c.dab(px, y, ink, cover)
			}
		}
	}
}

// luminance is the relative luminance (0 black, 1 white) of a colour, with the
// sRGB transfer curve taken as a square: it only picks black or white text.
func luminance(c color.RGBA) float64 {
	l := func(v uint8) float64 { return float64(v) / 255 * float64(v) / 255 }
	return float64(0.2126*l(c.R)) + float64(0.7152*l(c.G)) + float64(0.0722*l(c.B))
}
