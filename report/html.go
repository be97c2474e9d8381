package report

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"image"
	"image/png"
	"runtime"
	"strings"
	"sync"

	"pourproof/report/pdf"
)

// report.html says what report.pdf says, from the same blocks: one file without
// fonts or addresses, for a phone beside the printer and for a screen reader.
// Everything that came from the user's files is escaped, and the page's own policy
// lets nothing be loaded. Its scripts only add a slider to the fill strip, a step
// through the findings and the mold in 3D (view.go); without them all is there.

//go:embed html.css
var htmlStyle string

//go:embed html.js
var htmlScript string

// The mold in 3D: the library (three/README.md says how it was made), and what is ours.
var (
	//go:embed three/three.min.js
	viewLibrary string
	//go:embed view/view.js
	viewScript string
	//go:embed view/view.css
	viewStyle string
)

const htmlPolicy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

// htmlPage writes the story of a document.
type htmlPage struct {
	b      strings.Builder
	images []string // PNG in base64, in the order of the story
	next   int
	strip  bool // a strip of small pictures is open
	view   string
}

// htmlOf returns report.html for the blocks of a written book and the view of the mold,
// which may be empty.
func htmlOf(d *Document, story []pdf.Block, view string) ([]byte, error) {
	h := &htmlPage{view: view}
	var err error
	if h.images, err = encodeImages(story); err != nil {
		return nil, err
	}
	fmt.Fprintf(&h.b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"%s\">\n", escape(htmlPolicy))
	fmt.Fprintf(&h.b, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>%s</title>\n<style>\n%s%s</style>\n</head>\n<body>\n", escape(htmlTitle(d)), htmlStyle, viewStyle)
	viewed := h.view != ""
	h.contents(story)
	h.b.WriteString("<main>\n")
	for i := range story {
		h.block(&story[i], i)
	}
	h.closeStrip()
	fmt.Fprintf(&h.b, "</main>\n<footer>%s %s · geometry check only</footer>\n<script>\n%s</script>\n", ToolName, escape(d.Version), htmlScript)
	if viewed {
		fmt.Fprintf(&h.b, "<script>\n%s</script>\n<script>\n%s</script>\n", viewLibrary, viewScript)
	}
	h.b.WriteString("</body>\n</html>\n")
	return []byte(h.b.String()), nil
}

func htmlTitle(d *Document) string {
	if d.Revision == "" {
		return d.Title
	}
	return d.Title + ", " + d.Revision
}

// encodeImages packs the pictures, on all cores; the order is that of the story.
func encodeImages(story []pdf.Block) ([]string, error) {
	var list []image.Image
	for i := range story {
		for _, f := range story[i].Figures {
			if f.Image != nil {
				list = append(list, f.Image)
			}
		}
	}
	out, faults := make([]string, len(list)), make([]error, len(list))
	work := make(chan int)
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for i := range work {
				var b bytes.Buffer
				faults[i] = png.Encode(&b, list[i])
				out[i] = base64.StdEncoding.EncodeToString(b.Bytes())
			}
		})
	}
	for i := range list {
		work <- i
	}
	close(work)
	group.Wait()
	for _, err := range faults {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// contents lists the chapters.
func (h *htmlPage) contents(story []pdf.Block) {
	h.b.WriteString("<nav aria-label=\"Contents\"><ul>\n")
	if h.view != "" {
		h.b.WriteString("<li><a href=\"#mold-3d\">The mold in 3D</a></li>\n")
	}
	for i := range story {
		if b := &story[i]; b.Kind == pdf.HeadingBlock && b.Level == 1 {
			fmt.Fprintf(&h.b, "<li><a href=\"#%s\">%s</a></li>\n", chapterID(i), escape(b.Title))
		}
	}
	h.b.WriteString("</ul></nav>\n")
}

func chapterID(i int) string { return fmt.Sprintf("chapter-%d", i) }

func (h *htmlPage) block(b *pdf.Block, i int) {
	if b.Kind != pdf.FigureBlock {
		h.closeStrip()
	}
	for _, a := range b.Anchors {
		fmt.Fprintf(&h.b, "<span id=\"%s\"></span>\n", escape(a))
	}
	switch b.Kind {
	case pdf.TitleBlock:
		fmt.Fprintf(&h.b, "<h1>%s</h1>\n<p class=\"note\">%s</p>\n", escape(b.Title), h.runs(b.Runs))
	case pdf.HeadingBlock:
		id := ""
		if b.Level == 1 {
			h.b.WriteString(h.view) // before the first chapter
			h.view = ""
			id = fmt.Sprintf(" id=\"%s\"", chapterID(i))
		}
		fmt.Fprintf(&h.b, "<h%d%s>%s</h%d>\n", b.Level+1, id, escape(b.Title), b.Level+1)
	case pdf.ParaBlock:
		if len(b.Runs) > 0 {
			fmt.Fprintf(&h.b, "<p>%s</p>\n", h.runs(b.Runs))
		}
	case pdf.NoteBlock:
		fmt.Fprintf(&h.b, "<p class=\"note\">%s</p>\n", h.runs(b.Runs))
	case pdf.ListBlock:
		h.b.WriteString("<ul>\n")
		for _, item := range b.Items {
			fmt.Fprintf(&h.b, "<li>%s</li>\n", h.runs(item))
		}
		h.b.WriteString("</ul>\n")
	case pdf.BannerBlock, pdf.CautionBlock:
		h.panel(b)
	case pdf.NumbersBlock, pdf.PairsBlock, pdf.FieldsBlock:
		h.facts(b)
	case pdf.TableBlock:
		h.table(&b.Table)
	case pdf.FigureBlock:
		h.figures(b.Figures)
	}
}

func (h *htmlPage) panel(b *pdf.Block) {
	class := "caution"
	if b.Kind == pdf.BannerBlock {
		class = "banner"
	}
	title := h.runs(pdf.Runs{{Text: b.Title, Style: pdf.Bold, Mark: b.Mark, Ink: b.Ink}})
	fmt.Fprintf(&h.b, "<section class=\"%s\" style=\"border-color:%s\"><p>%s</p><p>%s</p></section>\n", class, cssColor(b.Ink), title, h.runs(b.Runs))
}

// facts are key figures, pairs, and boxes to fill in by hand.
func (h *htmlPage) facts(b *pdf.Block) {
	switch b.Kind {
	case pdf.NumbersBlock:
		h.b.WriteString("<dl class=\"numbers\">\n")
		for _, n := range b.Numbers {
			fmt.Fprintf(&h.b, "<div><dt>%s</dt><dd>%s <small>%s</small></dd></div>\n", escape(n.Label), escape(n.Value), escape(n.Unit))
		}
	case pdf.PairsBlock:
		h.b.WriteString("<dl class=\"pairs\">\n")
		for _, p := range b.Pairs {
			fmt.Fprintf(&h.b, "<div><dt>%s</dt><dd>%s</dd></div>\n", escape(p.Key), h.runs(p.Value))
		}
	default:
		h.b.WriteString("<dl class=\"fields\">\n")
		for _, f := range b.Fields {
			fmt.Fprintf(&h.b, "<div><dt>%s</dt><dd>", escape(f.Label))
			for _, o := range f.Options {
				fmt.Fprintf(&h.b, "☐ %s<br>", escape(o))
			}
			h.b.WriteString("</dd></div>\n")
		}
	}
	h.b.WriteString("</dl>\n")
}

func (h *htmlPage) table(t *pdf.Table) {
	class := ""
	if len(t.Columns) > 3 {
		class = " class=\"stack\"" // on a narrow screen every cell has a line of its own
	}
	fmt.Fprintf(&h.b, "<div class=\"scroll\"><table%s><thead><tr>", class)
	for _, c := range t.Columns {
		width := ""
		if c.Width > 0 { // set for type of 8 points, three quarters of that here
			width = fmt.Sprintf(" style=\"min-width:%.0fmm\"", 1.3*c.Width)
		}
		fmt.Fprintf(&h.b, "<th scope=\"col\"%s%s>%s</th>", alignment(c.Align), width, escape(c.Title))
	}
	h.b.WriteString("</tr></thead>\n<tbody>\n")
	for i := range t.Rows {
		r := &t.Rows[i]
		attributes := ""
		if r.Anchor != "" {
			attributes = fmt.Sprintf(" id=\"%s\" tabindex=\"-1\"", escape(r.Anchor))
		}
		if r.Total {
			attributes += " class=\"total\""
		}
		fmt.Fprintf(&h.b, "<tr%s>", attributes)
		for k, cell := range r.Cells {
			c := pdf.Column{}
			if k < len(t.Columns) {
				c = t.Columns[k]
			}
			text := h.runs(cell)
			if k == 0 && r.Link != "" && !strings.Contains(text, "<a ") {
				text = fmt.Sprintf("<a href=\"#%s\">%s</a>", escape(r.Link), text)
			}
			fmt.Fprintf(&h.b, "<td data-label=\"%s\"%s>%s</td>", escape(c.Title), alignment(c.Align), text)
		}
		h.b.WriteString("</tr>\n")
	}
	if len(t.Rows) == 0 {
		empty := t.Empty
		if empty == "" {
			empty = "none"
		}
		fmt.Fprintf(&h.b, "<tr><td colspan=\"%d\">%s</td></tr>\n", len(t.Columns), escape(empty))
	}
	h.b.WriteString("</tbody></table></div>\n")
}

func alignment(a pdf.Align) string {
	switch a {
	case pdf.Right:
		return " class=\"right\""
	case pdf.Center:
		return " class=\"center\""
	}
	return ""
}

// figures sets drawings side by side where there is room; small ones gather in a
// strip.
func (h *htmlPage) figures(list []pdf.Drawing) {
	strip := len(list) > 0 && list[0].Strip
	if h.strip && !strip {
		h.closeStrip()
	}
	if strip && !h.strip {
		h.b.WriteString("<div class=\"strip\">\n")
		h.strip = true
	}
	if !strip {
		h.b.WriteString("<div class=\"figures\">\n")
	}
	for i := range list {
		f := &list[i]
		svg := f.SVG
		if f.Image != nil {
			svg = strings.Replace(svg, pdf.ImageHere, "data:image/png;base64,"+h.images[h.next], 1)
			h.next++
		}
		fmt.Fprintf(&h.b, "<figure style=\"flex:1 1 %.0fpx\"><svg viewBox=\"0 0 %.2f %.2f\" role=\"img\" aria-label=\"%s\">%s</svg><figcaption>%s</figcaption></figure>\n",
			f.Width, f.Width, f.Height, escape(plainText(f.Caption)), svg, h.runs(f.Caption))
	}
	if !strip {
		h.b.WriteString("</div>\n")
	}
}

func (h *htmlPage) closeStrip() {
	if h.strip {
		h.b.WriteString("</div>\n")
		h.strip = false
	}
}
