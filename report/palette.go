package report

import (
	"image/color"

	"pourproof/checks"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// The inks of severities. They stand only beside the word, and the shapes and
// rings that go with them differ too, so that grey print and every reader's eyes
// tell them apart. As text on white all are darker than CIE lightness 46, a
// contrast of 4.5 and more (WCAG 2.1, 1.4.3).
var (
	stopInk    = render.Strong
	discussInk = color.RGBA{0x8a, 0x5a, 0x00, 0xff} // dark amber
	noteInk    = color.RGBA{0x2a, 0x63, 0x9e, 0xff} // the blue of render.Light, darker
	readyInk   = color.RGBA{0x1d, 0x6b, 0x4f, 0xff} // green beside a tick and the word
	touchInk   = color.RGBA{0x14, 0x48, 0x86, 0xff} // the part's surface that air touches: lit, still darker than resin
	toAdd      = color.RGBA{0xe6, 0xdc, 0xf0, 0xff} // pale violet: a bore that is not there yet
	quietInk   = color.RGBA{0x5a, 0x64, 0x6e, 0xff} // not judged, accepted
)

// look is how a severity appears in text and pictures.
type look struct {
	ink  color.RGBA // of the word and its shape
	mark pdf.Mark

	// The callout in pictures: a dark disc, a mid-tone disc or a ring.
	ring color.RGBA
	fill color.RGBA
	text color.RGBA
}

// lookOf returns the look of a finding: an accepted one is quiet.
func lookOf(f *checks.Finding) look {
	white := render.Paper
	switch {
	case f.Accepted != nil:
		return look{quietInk, pdf.Check, quietInk, white, quietInk}
	case f.Severity == checks.Stop:
		return look{stopInk, pdf.Full, render.Strong, render.Strong, white}
	case f.Severity == checks.Discuss:
		return look{discussInk, pdf.Half, discussInk, color.RGBA{0xf2, 0xcf, 0x7c, 0xff}, render.Ink}
	}
	return look{noteInk, pdf.Open, noteInk, white, render.Ink}
}

// verdictLook returns shape and ink of the verdict.
func verdictLook(v checks.Verdict) (pdf.Mark, color.RGBA) {
	switch v {
	case checks.DoNotPrint:
		return pdf.Full, stopInk
	case checks.Talk:
		return pdf.Half, discussInk
	case checks.Ready:
		return pdf.Check, readyInk
	}
	return pdf.Dash, quietInk
}

// rubber is how a half is drawn: colour and hatch tell neighbours apart.
type rubber struct {
	color color.RGBA
	hatch render.CapStyle
}

// rubberOf returns the look of half number i.
func rubberOf(i int) rubber {
	return [...]rubber{
		{render.Rubber1, render.CapHatch},
		{render.Rubber2, render.CapHatchBack},
		{render.Rubber1, render.CapHatchBack},
		{render.Rubber2, render.CapHatch},
	}[i%4]
}
