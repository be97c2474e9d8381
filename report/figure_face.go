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

// Maps of two halves' parting faces, both seen along one axis by one camera: the
// lower half from its face, the upper one as if through it.

// The colours of a map. Where faces touch is the half's own rubber; gaps go from pale
// to dark violet and overlaps are red, so that grey print tells both from rubber.
const (
	facePaper = iota
	faceRubber
	faceApart
	facePart
	faceBore
	faceKey
	faceOver
	faceGap  // the first of gapSteps
	gapSteps = 5
)

func facePalette(half int) color.Palette {
	own := rubberOf(half).color
	return color.Palette{render.Paper, own, color.RGBA{0x8d, 0x97, 0xa1, 0xff}, render.Part, render.Vent, color.RGBA{0xf1, 0xe3, 0xb4, 0xff}, render.Strong,
		color.RGBA{0xd5, 0xc6, 0xe4, 0xff}, color.RGBA{0xb3, 0x9a, 0xcb, 0xff}, color.RGBA{0x91, 0x6f, 0xb3, 0xff}, color.RGBA{0x70, 0x48, 0x98, 0xff}, color.RGBA{0x4d, 0x27, 0x74, 0xff}}
}

// faceView is the part of a map that a picture shows.
type faceView struct {
	f         *mold.FaceMap
	u0, v0    int
	nu, nv    int
	pixels    int     // a side of a cell
	top       float64 // largest gap of the scale, mm
	tolerance float64
}

// newFaceView frames a map. Cells are drawn large enough for about 900 pixels.
func newFaceView(f *mold.FaceMap, top, tolerance float64) faceView {
	u0, u1, v0, v1 := f.NU, -1, f.NV, -1
	for c, k := range f.Kind {
		if k != mold.Away {
			u0, u1, v0, v1 = min(u0, c/f.NV), max(u1, c/f.NV), min(v0, c%f.NV), max(v1, c%f.NV)
		}
	}
	const rim = 3 // cells
	u0, v0 = max(u0-rim, 0), max(v0-rim, 0)
	w := faceView{f: f, u0: u0, v0: v0, nu: min(u1+rim, f.NU-1) - u0 + 1, nv: min(v1+rim, f.NV-1) - v0 + 1, top: top, tolerance: tolerance}
	w.pixels = max(1, 900/max(w.nu, w.nv, 1))
	return w
}

// spot returns the pixel of a CAD point.
func (w *faceView) spot(p geom.Vec) (x, y float64) {
	u, v := w.f.Spot(p)
	s := float64(w.pixels)
	return (u - float64(w.u0) + 0.5) * s, (float64(w.nv) - (v - float64(w.v0) + 0.5)) * s
}

// paint draws one half's face.
func (w *faceView) paint(half int) *image.Paletted {
	img := image.NewPaletted(image.Rect(0, 0, w.nu*w.pixels, w.nv*w.pixels), facePalette(half))
	for i := range w.nu {
		for j := range w.nv {
			ink := w.ink(half, (w.u0+i)*w.f.NV+w.v0+j)
			y := (w.nv - 1 - j) * w.pixels
			for k := range w.pixels {
				row := img.Pix[(y+k)*img.Stride+i*w.pixels:]
				for l := range w.pixels {
					row[l] = ink
				}
			}
		}
	}
	return img
}

func (w *faceView) ink(half, c int) uint8 {
	switch w.f.Kind[c] {
	case mold.FirstOnly, mold.OtherOnly:
		if (w.f.Kind[c] == mold.FirstOnly) == (half == w.f.A) {
			return faceRubber
		}
		return facePaper
	case mold.Steep, mold.Apart:
		return faceApart
	case mold.OverPart:
		return facePart
	case mold.OverBore:
		return faceBore
	case mold.OverKey:
		return faceKey
	case mold.Facing:
		return w.gapInk(float64(w.f.Gap[c]))
	}
	return facePaper
}

func (w *faceView) gapInk(gap float64) uint8 {
	switch {
	case gap < -w.tolerance:
		return faceOver
	case gap <= w.tolerance:
		return faceRubber
	}
	return uint8(faceGap + min(gapSteps-1, int(math.Floor(gapSteps*gap/w.top))))
}

// picture draws one half's face with keys, leak paths, a scale bar and the axes.
func (w *faceView) picture(b *book, half int, caption pdf.Runs, height float64) pdf.Picture {
	p := pdf.Picture{Image: w.paint(half), Caption: caption, Height: height}
	c := b.Outcome.Fit
	for i := range c.Leaks {
		l := &c.Leaks[i]
		if i > 0 && l.Land > 8 { // wide enough to say nothing
			continue
		}
		for k := 1; k < len(l.Path); k++ {
			x1, y1 := w.spot(l.Path[k-1])
			x2, y2 := w.spot(l.Path[k])
			p.Over.Lines = append(p.Over.Lines, pdf.Stroke{X1: x1, Y1: y1, X2: x2, Y2: y2, Weight: 1.4, Halo: true, Arrow: k == len(l.Path)-1, Ink: render.Strong})
		}
		x, y := w.spot(l.Path[0].Lerp(l.Path[len(l.Path)-1], 0.5))
		p.Over.Labels = append(p.Over.Labels, pdf.Label{X: x, Y: y - 12, Align: pdf.Center, Size: labelSize, Style: pdf.Bold, Text: Length(l.Land)})
	}
	for i := range c.Keys {
		x, y := w.spot(c.Keys[i].At)
		p.Over.Circles = append(p.Over.Circles, pdf.Circle{X: x, Y: y, Text: fmt.Sprintf("K%d", i+1), Ink: render.Ink})
	}
	w.marks(&p.Over)
	return p
}

// marks add the scale bar and the directions of the map.
func (w *faceView) marks(o *pdf.Overlay) {
	wide, high := float64(w.nu*w.pixels), float64(w.nv*w.pixels)
	bar := 10.0
	for bar*float64(w.pixels)/w.f.Pitch > wide/3 {
		bar /= 2
	}
	length := bar * float64(w.pixels) / w.f.Pitch
	o.Lines = append(o.Lines, pdf.Stroke{X1: wide - 10 - length, Y1: high - 10, X2: wide - 10, Y2: high - 10, Weight: 1.6, Halo: true})
	o.Labels = append(o.Labels, pdf.Label{X: wide - 10 - length/2, Y: high - 32, Align: pdf.Center, Size: 7, Text: Length(bar)})
	u, v := w.f.Axes()
	o.Lines = append(o.Lines, pdf.Stroke{X1: 14, Y1: high - 14, X2: 84, Y2: high - 14, Weight: 1, Arrow: true, Halo: true},
		pdf.Stroke{X1: 14, Y1: high - 14, X2: 14, Y2: high - 84, Weight: 1, Arrow: true, Halo: true})
	o.Labels = append(o.Labels, pdf.Label{X: 92, Y: high - 14, Text: axisName(u), Size: 7}, pdf.Label{X: 14, Y: high - 100, Text: axisName(v), Size: 7})
}

// axisName writes a direction: an axis of the CAD frame by its name.
func axisName(v geom.Vec) string {
	for _, a := range []struct {
		name string
		d    geom.Vec
	}{{"+X", geom.Vec{X: 1}}, {"−X", geom.Vec{X: -1}}, {"+Y", geom.Vec{Y: 1}}, {"−Y", geom.Vec{Y: -1}}, {"+Z", geom.Vec{Z: 1}}, {"−Z", geom.Vec{Z: -1}}} {
		if v.Dist(a.d) < 0.0005 {
			return a.name
		}
	}
	return Way(v)
}
