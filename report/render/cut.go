package render

import (
	"fmt"
	"math"
)

// cutter is the section plane as the samples see it: its signed distance, in mm
// and positive on the removed side, at sample (i, j) and depth z is
// a + b i + c j + d z.
type cutter struct {
	plane      Plane
	a, b, c, d float64
	eps        float64 // surface this near to the plane counts as removed
	caps       bool    // the viewer stands on the removed side and sees cut faces
}

func (f *frame) newCutter(p *Plane) (*cutter, error) {
	if p == nil {
		return nil, nil
	}
	n := p.Normal.Unit()
	if !n.Finite() || n.Norm2() == 0 || math.IsNaN(p.Offset-p.Offset) {
		return nil, fmt.Errorf("section plane with normal %v and offset %g: the normal must not be zero and both must be finite", p.Normal, p.Offset)
	}
	v := &f.v
	k := &cutter{plane: Plane{n, p.Offset}, d: n.Dot(v.look)}
	k.b = n.Dot(v.right) * f.pitch
	k.c = -n.Dot(v.up) * f.pitch
	// the middle of sample 0 is half a sample, a quarter pixel, from the edge
	k.a = n.Dot(v.center) - p.Offset + float64(k.b*(0.5-subPixel*v.cx)) + float64(k.c*(0.5-subPixel*v.cy))
	// Edge-on to within 0.06 degrees a cut face is not seen.
	k.caps = k.d < -1e-3
	// The distance is computed in single precision from terms of about the
	// frame's size (three roundings of 2^-24), and snapping moves a corner by up
	// to 1/22 of a sample across the view.
	k.eps = v.extent/(1<<18) + f.pitch/snapSteps
	return k, nil
}

// row returns the plane's distance at depth 0 for sample 0 of row j, and the
// steps along x and z, in single precision.
func (k *cutter) row(j int) (s, sx, sz float32) {
	return float32(k.a + float64(k.c*float64(j))), float32(k.b), float32(k.d)
}

// capPaint is how a cut face is filled.
type capPaint struct {
	style     CapStyle
	fill, ink rgb
	period    int // samples between hatch lines, along a row
	width     int // width of a hatch line along a row
}

// capPaintOf derives the filling: the ground is light under a hatch, white under
// dots and full colour where it stands alone; the hatch is the darkened colour.
func capPaintOf(b *Body, unit float64) capPaint {
	c := pack(b.Color)
	pale := uint32(70)
	if luminance(b.Color) < 0.3 { // a dark ground would swallow the hatch
		pale = 150
	}
	p := capPaint{style: b.Cap, fill: c.mix(0xffffff, pale), ink: c.mix(0x101820, 150)}
	switch b.Cap {
	case CapSolid:
		p.fill = c
	case CapDots, CapCross:
		p.fill = c.mix(0xffffff, 235)
		p.ink = c
	}
	if b.Fill != nil {
		p.fill = pack(*b.Fill)
	}
	p.period = max(6, int(math.Round(36*unit)))
	p.width = max(2, int(math.Round(3.6*unit)))
	if b.Cap == CapDots || b.Cap == CapCross {
		p.period = max(6, 2*int(math.Round(11*unit)))
	}
	return p
}

// at returns the colour of the cut face at a sample of the picture.
func (p *capPaint) at(gx, gy int) rgb {
	on := false
	switch p.style {
	case CapHatch:
		on = mod(gx+gy, p.period) < p.width
	case CapHatchBack:
		on = mod(gx-gy, p.period) < p.width
	case CapCross:
		on = mod(gx+gy, p.period) < p.width || mod(gx-gy, p.period) < p.width
	case CapDots:
		// rows of dots, every other row shifted by half a period
		half := p.period / 2
		row := floorDiv(gy, half)
		dx := mod(gx+(row&1)*half, p.period) - half
		dy := gy - row*half - half/2
		on = 4*(dx*dx+dy*dy) <= p.width*p.width*3
	}
	if on {
		return p.ink
	}
	return p.fill
}

// pixel returns the mean colour at a sample, the one on its right and the two below them.
func (p *capPaint) pixel(gx, gy int) rgb {
	switch p.style {
	case CapSolid:
		return p.fill
	case CapHatch:
		return p.across(mod(gx+gy, p.period))
	case CapHatchBack:
		return p.across(mod(gx-gy-1, p.period))
	}
	return mean(p.at(gx, gy), p.at(gx+1, gy), p.at(gx, gy+1), p.at(gx+1, gy+1))
}

// across returns the mean colour of four samples of a hatch, one of which lies at a place
// in its period, two at the next and one at that after it.
func (p *capPaint) across(at int) rgb {
	var c [3]rgb
	for i := range c {
		if c[i] = p.fill; at < p.width {
			c[i] = p.ink
		}
		if at++; at == p.period {
			at = 0
		}
	}
	return mean(c[0], c[1], c[1], c[2])
}

func mod(a, m int) int {
	r := a % m
	if r < 0 {
		r += m
	}
	return r
}

func floorDiv(a, m int) int { return (a - mod(a, m)) / m }
