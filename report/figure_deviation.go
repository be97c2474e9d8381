package report

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// Maps of how far the cavity lies off the part, seen along the parting axis from
// both sides.

// deviationSteps is the number of colours to either side of none.
const deviationSteps = 4

// deviationPalette goes from red (rubber inside the part) over pale to blue (cavity
// outside it); both ends darken, so grey print shows how far but not which way: the
// numbers say that.
func deviationPalette() color.Palette {
	return color.Palette{render.Paper,
		color.RGBA{0x8c, 0x1a, 0x25, 0xff}, color.RGBA{0xb8, 0x4b, 0x42, 0xff}, color.RGBA{0xd8, 0x86, 0x71, 0xff}, color.RGBA{0xec, 0xbd, 0xa9, 0xff},
		color.RGBA{0xee, 0xee, 0xea, 0xff},
		color.RGBA{0xb4, 0xcf, 0xe6, 0xff}, color.RGBA{0x7d, 0xaa, 0xd2, 0xff}, color.RGBA{0x46, 0x7f, 0xb8, 0xff}, color.RGBA{0x1d, 0x51, 0x8c, 0xff}}
}

// deviationInk returns the colour of a deviation on a scale up to top.
func deviationInk(v, top float64) uint8 {
	step := int(math.Round(v / top * deviationSteps))
	return uint8(1 + deviationSteps + max(-deviationSteps, min(deviationSteps, step)))
}

// deviationPictures set the map from above and from below side by side.
func (b *book) deviationPictures(c *mold.Closing) {
	axis := geom.Vec{Z: 1}
	if len(c.Faces) > 0 {
		axis = c.Faces[0].Axis
	}
	top := math.Abs(c.Deviation.Max)
	legend := fmt.Sprintf("Blue: the cavity lies outside the part, the cast is thicker. Red: inside it. Darkest: %s. The circle marks the largest.", hundredth(top)+" mm")
	const high = 80
	b.pdf.Figure(deviationMap(c, axis, top, pdf.Runs{pdf.Strong("Seen along " + axisName(axis.Neg()) + ". "), pdf.Text(legend)}, high),
		deviationMap(c, axis.Neg(), top, pdf.Runs{pdf.Strong("Seen along " + axisName(axis) + ". "), pdf.Text("The same from the other side.")}, high))
}

// deviationMap paints every sample that faces the eye as a square on its place; of
// several the one nearest to the eye shows.
func deviationMap(c *mold.Closing, eye geom.Vec, top float64, caption pdf.Runs, height float64) pdf.Picture {
	frame := geom.FrameFor(eye)
	box := geom.EmptyBox()
	for i := range c.Deviation.Samples {
		box = box.Include(frame.Turn(c.Deviation.Samples[i].At))
	}
	size := box.Size()
	const pixels = 600
	scale := pixels / max(size.X, size.Y, 1e-6)
	dot := int(math.Ceil(max(size.X, size.Y, size.Z) / 80 * scale * 1.1)) // the samples' distance
	img := image.NewPaletted(image.Rect(0, 0, int(size.X*scale)+2*dot+1, int(size.Y*scale)+2*dot+1), deviationPalette())
	near := make([]float64, len(img.Pix))
	for i := range near {
		near[i] = math.Inf(-1)
	}
	b := img.Bounds()
	at := func(p geom.Vec) (x, y float64) {
		q := frame.Turn(p).Sub(box.Min)
		return q.X*scale + float64(dot), float64(b.Dy()) - q.Y*scale - float64(dot)
	}
	for i := range c.Deviation.Samples {
		s := &c.Deviation.Samples[i]
		x, y := at(s.At)
		z, ink := frame.Turn(s.At).Z, deviationInk(s.Value, top)
		for v := max(int(y)-dot/2, 0); v <= min(int(y)+dot/2, b.Dy()-1); v++ {
			for u := max(int(x)-dot/2, 0); u <= min(int(x)+dot/2, b.Dx()-1); u++ {
				if k := v*img.Stride + u; z > near[k] {
					near[k], img.Pix[k] = z, ink
				}
			}
		}
	}
	p := pdf.Picture{Image: img, Caption: caption, Height: height}
	x, y := at(c.Deviation.At)
	p.Over.Circles = append(p.Over.Circles, pdf.Circle{X: x, Y: y, Text: fmt.Sprintf("%+.2f", c.Deviation.Max), Ink: render.Ink})
	return p
}
