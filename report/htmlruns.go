package report

import (
	"fmt"
	"html"
	"image/color"
	"strings"

	"pourproof/report/pdf"
)

// markShapes are the shapes before a severity as letters.
var markShapes = map[pdf.Mark]string{pdf.Full: "■", pdf.Half: "◧", pdf.Open: "□", pdf.Check: "☑", pdf.Dash: "⊟", pdf.Warning: "⚠"} // asked by mark only

// runs writes text with its styles and links. A page number has no meaning here:
// of "What to do: p. 3" the words before it are the link.
func (h *htmlPage) runs(list pdf.Runs) string {
	var b strings.Builder
	for _, r := range list {
		text := r.Text
		if r.PageOf != "" {
			text = strings.TrimRight(strings.TrimSuffix(strings.TrimRight(text, " \u00a0"), "p."), " ,:\u00a0")
			if text == "" {
				text = "see there"
			}
		}
		text = strings.ReplaceAll(escape(text), "\n", "<br>")
		if shape := markShapes[r.Mark]; shape != "" {
			text = fmt.Sprintf("<span aria-hidden=\"true\">%s</span> %s", shape, text)
		}
		switch r.Style {
		case pdf.Bold:
			text = "<b>" + text + "</b>"
		case pdf.Mono:
			text = "<code>" + text + "</code>"
		}
		if r.Link != "" {
			text = fmt.Sprintf("<a href=\"#%s\">%s</a>", escape(r.Link), text)
		} else if r.Mark != pdf.NoMark && r.Ink != (color.RGBA{}) {
			text = fmt.Sprintf("<span style=\"color:%s\">%s</span>", cssColor(r.Ink), text)
		}
		b.WriteString(text)
	}
	return b.String()
}

// clean takes out what a page may not hold: controls other than a line's end.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return '\ufffd'
		}
		return r
	}, s)
}

// plainText is text without styles, for those who hear a picture's caption.
func plainText(list pdf.Runs) string {
	var b strings.Builder
	for _, r := range list {
		b.WriteString(strings.ReplaceAll(clean(r.Text), "\n", " "))
	}
	return b.String()
}

func cssColor(c color.RGBA) string {
	if c == (color.RGBA{}) {
		return "#1e262c"
	}
	return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
}

// escape makes text of what came from anywhere.
func escape(s string) string { return html.EscapeString(clean(s)) }
