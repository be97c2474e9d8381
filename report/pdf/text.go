package pdf

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"unicode/utf8"
)

// Run is a stretch of text set in one way.
type Run struct {
	Text   string
	Style  Style
	Ink    color.RGBA // zero for the ordinary ink
	Mark   Mark       // a shape set before the text
	Link   string     // name of the anchor a click leads to
	PageOf string     // name of an anchor whose page number is set after Text
}

// Runs is text that flows as one.
type Runs []Run

// Text is a run in the regular font.
func Text(s string) Run { return Run{Text: s} }

// Strong is a run in the bold font.
func Strong(s string) Run { return Run{Text: s, Style: Bold} }

// Code is a run in the font of fixed width.
func Code(s string) Run { return Run{Text: s, Style: Mono} }

// Tag is a word with a shape of its own before it: readable without colour.
func Tag(m Mark, word string, c color.RGBA) Run {
	return Run{Text: word, Style: Bold, Mark: m, Ink: c}
}

// Ref is the number of the page an anchor is on, as a link to it: "p. 4" with text "p. ".
func Ref(text, anchor string) Run { return Run{Text: text, Link: anchor, PageOf: anchor, Ink: accent} }

// To is a run that leads to an anchor.
func To(text, anchor string) Run { return Run{Text: text, Link: anchor, Ink: accent} }

// Plain is one regular run.
func Plain(s string) Runs { return Runs{Text(s)} }

// Formatted is one regular run, formatted as by fmt.Sprintf.
func Formatted(format string, args ...any) Runs { return Plain(fmt.Sprintf(format, args...)) }

// piece is a part of one run on one line; x counts from the line's left end.
type piece struct {
	run  *Run
	text string
	mark bool // the run's mark stands before the text
	ref  bool // the page number stands after it
	x, w float64
}

// line is what fits into the width at once.
type line struct {
	pieces []piece
	w      float64
}

const pageDigits = "00" // room left for a page number

// breaker fills lines word by word.
type breaker struct {
	size, width float64
	lines       []line
	cur         line
	space       float64 // white before the next word
	blanks      string  // the same as text
	blanksOf    *Run    // the run it comes from, nil if from several
	word        []piece
	wordW       float64
	widest      float64 // word seen so far
}

// wrap breaks runs into lines of at most width points: at blanks and line
// ends, and inside a word only where it alone is wider than a line.
func (d *Doc) wrap(runs Runs, size, width float64) []line {
	return d.fill(runs, size, width).lines
}

// extent returns the widths of the widest word and of the widest line when
// nothing breaks a line but a line end.
func (d *Doc) extent(runs Runs, size float64) (word, whole float64) {
	b := d.fill(runs, size, math.Inf(1))
	for _, l := range b.lines {
		whole = max(whole, l.w)
	}
	return b.widest, whole
}

func (d *Doc) fill(runs Runs, size, width float64) *breaker {
	b := &breaker{size: size, width: width}
	for i := range runs {
		run := &runs[i]
		text := d.clean(run.Text)
		b.add(piece{run: run, mark: run.Mark != NoMark})
		for {
			at := strings.IndexAny(text, " \n")
			if at < 0 {
				break
			}
			b.add(piece{run: run, text: text[:at]})
			b.endWord()
			if text[at] == '\n' {
				b.endLine()
			} else {
				b.blank(run)
			}
			text = text[at+1:]
		}
		b.add(piece{run: run, text: text, ref: run.PageOf != ""})
	}
	b.endWord()
	b.endLine()
	return b
}

// blank adds white before the next word.
func (b *breaker) blank(run *Run) {
	if b.space == 0 {
		b.blanksOf = run
	} else if b.blanksOf != run {
		b.blanksOf = nil
	}
	b.blanks += " "
	b.space += measure(" ", run.Style, b.size)
}

// add appends a piece to the word in the making.
func (b *breaker) add(p piece) {
	if p.text == "" && !p.mark && !p.ref {
		return
	}
	p.w = b.reserve(p)
	b.word = append(b.word, p)
	b.wordW += p.w
}

// reserve is the width a piece needs, with room for a page number.
func (b *breaker) reserve(p piece) float64 {
	w := p.width(b.size)
	if p.ref {
		w += measure(pageDigits, p.run.Style, b.size)
	}
	return w
}

// endWord sets the word on this line or the next.
func (b *breaker) endWord() {
	if len(b.word) == 0 {
		return
	}
	b.widest = max(b.widest, b.wordW)
	if len(b.cur.pieces) > 0 && b.cur.w+b.space+b.wordW > b.width {
		b.endLine()
	}
	for _, p := range b.word {
		if len(b.cur.pieces) == 0 {
			b.space, b.blanks = 0, ""
		}
		for b.cur.w+b.space+p.w > b.width && utf8.RuneCountInString(p.text) > 1 {
			head, rest := b.cut(p)
			if head.text == "" && len(b.cur.pieces) > 0 {
				b.endLine()
				continue
			}
			b.place(head)
			b.endLine()
			p = rest
		}
		if len(b.cur.pieces) > 0 && b.cur.w+b.space+p.w > b.width { // a single character or a mark
			b.endLine()
		}
		b.place(p)
	}
	b.word, b.wordW = b.word[:0], 0
}

// cut parts a piece so that the first part fits on the line: after a sign that
// separates parts of names where there is one, else anywhere. An empty line
// takes at least one character.
func (b *breaker) cut(p piece) (head, rest piece) {
	room := b.width - b.cur.w - b.space
	if p.mark {
		room -= p.run.Mark.advance(b.size)
	}
	end, soft := 0, 0
	for i, r := range p.text {
		next := i + utf8.RuneLen(r)
		if next == len(p.text) || measure(p.text[:next], p.run.Style, b.size) > room {
			break
		}
		if end = next; strings.ContainsRune("/\\_-.,;:)>", r) {
			soft = next
		}
	}
	if 2*soft > end {
		end = soft
	}
	if end == 0 && len(b.cur.pieces) == 0 {
		_, end = utf8.DecodeRuneInString(p.text)
	}
	head, rest = p, p
	head.text, head.ref = p.text[:end], false
	rest.text, rest.mark = p.text[end:], false
	head.w, rest.w = b.reserve(head), b.reserve(rest)
	return head, rest
}

// place puts a piece at the end of the line, joined with the last one when it
// goes on in the same run: one stretch of text in the file, one link.
func (b *breaker) place(p piece) {
	n := len(b.cur.pieces)
	if n > 0 && b.cur.pieces[n-1].run == p.run && !p.mark && (b.space == 0 || b.blanksOf == p.run) {
		last := &b.cur.pieces[n-1]
		last.text += b.blanks + p.text
		last.w += b.space + p.w
		last.ref = p.ref
	} else {
		p.x = b.cur.w + b.space
		b.cur.pieces = append(b.cur.pieces, p)
	}
	b.cur.w += b.space + p.w
	b.space, b.blanks = 0, ""
}

// endLine closes the line, also an empty one.
func (b *breaker) endLine() {
	b.lines = append(b.lines, b.cur)
	b.cur, b.space, b.blanks = line{}, 0, ""
}

// leading is the distance of baselines for a type size.
func leading(size float64) float64 { return float64(size * 1.38) }

// baseline is where the letters of a line stand, from its upper edge: the
// capitals (0.72 em) lie in the middle of the line.
func baseline(size float64) float64 { return (leading(size) + float64(0.70*size)) / 2 }

// setLines sets lines below each other from y on and records each.
func (d *Doc) setLines(lines []line, x, y, width, size float64, align Align, c color.RGBA) {
	for i, l := range lines {
		top := y + float64(float64(i)*leading(size))
		lx := x
		switch align {
		case Right:
			lx += width - l.w
		case Center:
			lx += (width - l.w) / 2
		}
		if len(l.pieces) > 0 {
			d.record("line", lx, top, l.w, leading(size))
		}
		d.setPieces(l.pieces, lx, top, size, c)
	}
}

// setPieces draws the pieces of a line; from the first page number on at the
// end, when the number is known and what follows it can be moved up to it.
func (d *Doc) setPieces(pieces []piece, x, top, size float64, c color.RGBA) {
	for i, p := range pieces {
		if !p.ref {
			d.setPiece(p, x+p.x, top, size, c)
			continue
		}
		d.later = append(d.later, later{d.lib.PageNo(), func() {
			x := x
			for _, p := range pieces[i:] {
				if p.ref {
					p.text += d.pageOf(p.run.PageOf)
					reserved := p.w
					p.w = p.width(size)
					d.setPiece(p, x+p.x, top, size, c)
					x -= reserved - p.w
					continue
				}
				d.setPiece(p, x+p.x, top, size, c)
			}
		}})
		return
	}
}

// width is the width of mark and text.
func (p piece) width(size float64) float64 {
	w := measure(p.text, p.run.Style, size)
	if p.mark {
		w += p.run.Mark.advance(size)
	}
	return w
}

// setPiece draws one piece and its link.
func (d *Doc) setPiece(p piece, x, top, size float64, c color.RGBA) {
	if p.run.Ink != (color.RGBA{}) {
		c = p.run.Ink
	}
	if p.run.Link != "" {
		d.lib.Link(d.q(x), d.q(top), d.q(p.w), d.q(leading(size)), d.link(p.run.Link))
	}
	base := top + baseline(size)
	if p.mark {
		d.drawMark(p.run.Mark, x, base, size, c)
		x += p.run.Mark.advance(size)
	}
	d.write(x, base, p.text, p.run.Style, size, c)
}

// write sets clean text with its first letter at x on the baseline.
func (d *Doc) write(x, base float64, s string, style Style, size float64, c color.RGBA) {
	if d.svg != nil {
		d.svg.text(d, x, base, s, style, size, c)
		return
	}
	for s != "" {
		at := strings.IndexFunc(s, func(r rune) bool { return !style.has(r) })
		if at != 0 {
			part := s
			if at > 0 {
				part = s[:at]
			}
			d.letters(x, base, part, style, size, c)
			x += measure(part, style, size)
			s = s[len(part):]
			continue
		}
		r, n := utf8.DecodeRuneInString(s)
		d.drawSign(r, x, base, style, size, c)
		x += measure(s[:n], style, size)
		s = s[n:]
	}
}

// letters hands text to the library. Text takes the fill ink, so that the
// library has no need to change inks around every word.
func (d *Doc) letters(x, base float64, s string, style Style, size float64, c color.RGBA) {
	d.setFill(c)
	if d.pen.text != c {
		d.lib.SetTextColor(int(c.R), int(c.G), int(c.B))
		d.pen.text = c
	}
	if d.pen.size != size || d.pen.style != style {
		d.lib.SetFont(fonts[style].family, "", d.q(size))
		d.pen.size, d.pen.style = size, style
	}
	d.lib.Text(d.q(x), d.q(base), s)
}

// drawSign strokes a sign of our own and sets the character itself over it,
// invisible, so that copied and searched text has it.
func (d *Doc) drawSign(r rune, x, base float64, style Style, size float64, c color.RGBA) {
	g, ok := signs[r]
	if !ok {
		return
	}
	em := func(p xy) xy { return xy{x + float64(p.x*size/1000), base - float64(p.y*size/1000)} }
	weight := size * 0.075
	for _, s := range g.strokes {
		pts := make([]xy, len(s))
		for i, p := range s {
			pts[i] = em(p)
		}
		d.polyline(pts, weight, 0, c)
	}
	if g.ring.r > 0 {
		at := em(xy{g.ring.x, g.ring.y})
		d.ring(at.x, at.y, g.ring.r*size/1000, weight, c)
	}
	d.lib.SetTextRenderingMode(3)
	d.letters(x, base, string(r), style, size, c)
	d.lib.SetTextRenderingMode(0)
}

// fit shortens clean text with an ellipsis until it is at most width wide.
func (d *Doc) fit(s string, style Style, size, width float64) string {
	if measure(s, style, size) <= width {
		return s
	}
	for s != "" && measure(s+"…", style, size) > width {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	return strings.TrimRight(s, " ") + "…"
}
