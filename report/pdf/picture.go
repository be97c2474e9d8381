package pdf

import (
	"fmt"
	"image"
	"image/color"
	"math"
)

// Picture is an image with a caption and marks drawn over it.
type Picture struct {
	Image   image.Image
	Caption Runs
	Width   float64 // at most, millimetres; 0 for the width there is
	Height  float64 // at most, millimetres; 0 for the height there is
	Over    Overlay
	Strip   bool // one of a strip of small ones
}

// Overlay is drawn over a picture as vectors. Places are in pixels of the
// picture, from its upper left corner and to fractions of a pixel; weights and
// type sizes are points on paper. Lines end at the picture's edge; circles and
// labels are moved inside.
type Overlay struct {
	Lines   []Stroke
	Circles []Circle
	Labels  []Label
}

// Stroke is a line or an arrow over a picture.
type Stroke struct {
	X1, Y1, X2, Y2 float64
	Weight         float64 // points, 0.8 when zero
	Dashed, Arrow  bool    // the arrow's head is at X2, Y2
	Halo           bool    // white beside the line, for dark pictures
	Ink            color.RGBA
}

// Circle is a callout: a short text in a circle.
type Circle struct {
	X, Y float64
	Text string
	Ink  color.RGBA // of ring and text
	Fill color.RGBA // white when zero
	Link string     // anchor a click leads to
}

// Label is text over a picture on a white ground.
type Label struct {
	X, Y  float64 // left end, middle or right end of the text by Align; middle of its height
	Text  string
	Align Align
	Size  float64 // points, 8 when zero
	Style Style
	Ink   color.RGBA
	Bare  bool // no white ground
}

const (
	calloutSize  = 7.5
	leastPicture = 5 * point // a callout just fits
)

func (p Picture) caption() Runs { return p.Caption }
func (p Picture) kind() string {
	if p.Strip {
		return "strip"
	}
	return "picture"
}

func (p Picture) extent(d *Doc, maxW, maxH float64) (w, h float64) {
	if p.Image == nil {
		d.fail("picture without an image")
		return 0, 0
	}
	b := p.Image.Bounds()
	if b.Empty() || float64(b.Dx())*float64(b.Dy()) > maxPixels {
		d.fail("picture of %d x %d pixels: use 1 to %d in all", b.Dx(), b.Dy(), maxPixels)
		return 0, 0
	}
	if most := d.q(p.Width * point); most > 0 {
		maxW = min(maxW, most)
	}
	if most := d.q(p.Height * point); most > 0 {
		maxH = min(maxH, most)
	}
	aspect := float64(b.Dy()) / float64(b.Dx())
	w, h = maxW, maxW*aspect
	if h > maxH {
		w, h = maxH/aspect, maxH
	}
	if min(w, h) < leastPicture {
		d.fail("picture of %d x %d pixels comes out %.1f x %.1f mm on paper: at least 5 mm either way", b.Dx(), b.Dy(), w/point, h/point)
	}
	return w, h
}

func (p Picture) draw(d *Doc, x, y, w, h float64) {
	if d.svg != nil {
		d.svg.image(d, x, y, w, h)
	} else {
		n := d.embed(p.Image)
		fromFoot := math.Round((d.pageH-d.q(y+h))*100) / 100
		d.lib.RawWriteStr(fmt.Sprintf("q %.2f 0 0 %.2f %.2f %.2f cm /P%d Do Q", d.q(w), d.q(h), d.q(x), fromFoot, n))
	}
	b := p.Image.Bounds()
	v := view{d: d, x: x, y: y, w: w, h: h, wide: float64(b.Dx()), height: float64(b.Dy())}
	d.clipped(x, y, w, h, func() {
		for _, s := range p.Over.Lines {
			v.stroke(s)
		}
	})
	d.frame(x, y, w, h, thin, rule)
	for _, c := range p.Over.Circles {
		v.circle(c)
	}
	for _, l := range p.Over.Labels {
		v.label(l)
	}
}

// view maps pixels of a picture to points on the page.
type view struct {
	d            *Doc
	x, y, w, h   float64
	wide, height float64 // pixels
}

func (v view) at(px, py float64) xy {
	return xy{v.x + float64(v.w*near(px/v.wide)), v.y + float64(v.h*near(py/v.height))}
}

func (v view) stroke(s Stroke) {
	a, b := v.at(s.X1, s.Y1), v.at(s.X2, s.Y2)
	weight, dash, c := s.Weight, 0.0, orInk(s.Ink)
	if weight <= 0 {
		weight = medium
	}
	if s.Dashed {
		dash = 3.2 * weight
	}
	length := math.Hypot(b.x-a.x, b.y-a.y)
	if v.d.q(length) == 0 { // also no number, which q has made a fault
		return
	}
	ux, uy := (b.x-a.x)/length, (b.y-a.y)/length
	head := 0.0
	if s.Arrow {
		head = min(length, 4+float64(3*weight))
	}
	tail := xy{b.x - float64(ux*0.8*head), b.y - float64(uy*0.8*head)}
	half := 0.36 * head
	side := func(k float64) xy {
		return xy{b.x - float64(ux*head) + float64(uy*k), b.y - float64(uy*head) - float64(ux*k)}
	}
	if s.Halo {
		v.d.polyline([]xy{a, tail}, weight+1.6, 0, white)
		if head > 0 {
			v.d.outline([]xy{b, side(half), side(-half)}, 1.6, white)
		}
	}
	v.d.polyline([]xy{a, tail}, weight, dash, c)
	if head > 0 {
		v.d.polygon([]xy{b, side(half), side(-half)}, c)
	}
}

// circle draws a callout, moved inside the picture where it would stick out.
func (v view) circle(c Circle) {
	d := v.d
	most := min(v.w, v.h) / 2
	text := d.fit(d.oneLine(c.Text), Bold, calloutSize, 2*most-5.2)
	width := measure(text, Bold, calloutSize)
	r := min(max(6.6, width/2+2.6), most)
	p := v.at(c.X, c.Y)
	p.x, p.y = inside(p.x, r, v.x, v.w), inside(p.y, r, v.y, v.h)
	fill := c.Fill
	if fill == (color.RGBA{}) {
		fill = white
	}
	if d.svg != nil && c.Link != "" {
		d.svg.open(`a href="#` + escapeSVG.Replace(c.Link) + `"`)
		defer d.svg.close("a")
	}
	d.dot(p.x, p.y, r, fill, 1, orInk(c.Ink))
	d.record("label", p.x-r, p.y-r, 2*r, 2*r)
	d.write(p.x-width/2, p.y+0.36*calloutSize, text, Bold, calloutSize, orInk(c.Ink))
	if c.Link != "" && d.svg == nil {
		d.lib.Link(d.q(p.x-r), d.q(p.y-r), d.q(2*r), d.q(2*r), d.link(c.Link))
	}
}

// label sets text over the picture, moved inside where it would stick out.
func (v view) label(l Label) {
	d, size := v.d, l.Size
	if size <= 0 {
		size = smallSize
	}
	const padX, padY = 2.0, 1.2
	size = min(size, v.h-2*padY)
	text := d.fit(d.oneLine(l.Text), l.Style, size, v.w-2*padX)
	w, h := measure(text, l.Style, size)+2*padX, size+2*padY
	p := v.at(l.X, l.Y)
	switch l.Align {
	case Left:
		p.x += w / 2
	case Right:
		p.x -= w / 2
	}
	p.x, p.y = inside(p.x, w/2, v.x, v.w), inside(p.y, h/2, v.y, v.h)
	if !l.Bare {
		d.fillRect(p.x-w/2, p.y-h/2, w, h, white)
	}
	d.record("label", p.x-w/2, p.y-h/2, w, h)
	d.write(p.x-w/2+padX, p.y+float64(0.36*size), text, l.Style, size, orInk(l.Ink))
}

// inside moves a middle so that what reaches r to both sides lies within
// [lo, lo+size]; what is larger than that stands in the middle of it. A middle
// that is no number stays none, for the check of coordinates to find.
func inside(mid, r, lo, size float64) float64 {
	if 2*r > size {
		return lo + size/2 + (mid - mid)
	}
	return min(max(mid, lo+r), lo+size-r)
}

// orInk returns the ordinary ink for the zero colour.
func orInk(c color.RGBA) color.RGBA {
	if c == (color.RGBA{}) {
		return ink
	}
	return c
}
