// Package pdf sets a report on paper: flowing text, tables, pictures with
// marks, small charts, bookmarks, links and attached files.
//
// It knows pages, words and lines and nothing of what the report is about.
// Lengths in the interface are millimetres, type sizes points (1/72 inch);
// the origin of a page is its upper left corner, y runs down.
//
// A Doc is filled from top to bottom. A block that does not fit goes to the
// next page; headings stay with what follows them, captions with their
// picture. The first fault (a coordinate that is no number, a link without a
// target) is kept, later calls do nothing, and Bytes returns it with its page.
//
// Same calls give the same bytes: no clock, no map order, and every coordinate
// is rounded to 1/100 point before it is written, so that the last bit of a
// sine or of a fused product never shows.
package pdf

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Options are the facts about the document as a whole.
type Options struct {
	Paper    string // "a4" (also when empty) or "letter"
	Title    string // heads every page; document property
	Revision string // beside the date, upper right
	Author   string // document property
	Subject  string // document property
	Date     string // printed as it is; when it reads 2006-01-02 it is also the date in the file's properties
	Language string // BCP 47 tag, "en" when empty
	Footer   string // lower left on every page
}

const (
	point = 72.0 / 25.4 // points in a millimetre

	marginSide   = 20 * point
	marginTop    = 25 * point
	marginBottom = 22 * point
	headerLine   = 14 * point // baseline of the running head, from the upper edge
	footerLine   = 12 * point // baseline of the running foot, from the lower edge
)

// fixedDate stands in the file's properties when the caller gives no date: a
// program that never reads the clock has no better one.
var fixedDate = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// Doc is one document in the making. It is not safe for concurrent use.
type Doc struct {
	lib  *fpdf.Fpdf
	opts Options
	err  error

	pageW, pageH     float64 // points
	left, top        float64
	width, bottom    float64
	y, after         float64 // next free line; space wanted before the next block
	pen              pen
	items            []Item
	inside           int // index of the open item, -1 outside
	pending          []heading
	waiting          []string // anchors for the next block
	lastLevel        int
	links            map[string]int
	targets          map[string]target
	later            []later
	lacking          map[rune]bool
	names            []string // names whose printed form differs from the original
	pictures         []*raster
	busy             chan struct{} // bounds the pictures being compressed
	files            []file
	finished         []byte
	finishedAlready  bool
	titleOnFirstPage bool

	story        []Block
	storyAnchors []string // that wait for the next block
	svg          *sketch  // takes a figure's strokes instead of the page
}

// target is where an anchor lies.
type target struct {
	page int
	y    float64
}

// New starts a document with one empty page. It fails on an unknown paper or a
// language that is no tag.
func New(o Options) (*Doc, error) {
	size := strings.ToLower(o.Paper)
	if size == "" {
		size = "a4"
	}
	if size != "a4" && size != "letter" {
		return nil, fmt.Errorf("pdf: unknown paper %q: use a4 or letter", o.Paper)
	}
	if o.Language == "" {
		o.Language = "en"
	}
	if strings.Trim(o.Language, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-") != "" {
		return nil, fmt.Errorf("pdf: language %q is no language tag: use one like en or de-CH", o.Language)
	}
	d := &Doc{
		lib: fpdf.New("P", "pt", size, ""), opts: o, inside: -1,
		links: map[string]int{}, targets: map[string]target{}, lacking: map[rune]bool{},
		busy: make(chan struct{}, workers()),
	}
	d.pageW, d.pageH = d.lib.GetPageSize()
	d.left, d.top = marginSide, marginTop
	d.width, d.bottom = d.pageW-2*marginSide, d.pageH-marginBottom
	d.setUp()
	d.newPage()
	return d, d.lib.Error()
}

// setUp fixes everything the library would otherwise choose by the clock or by
// its own taste.
func (d *Doc) setUp() {
	date := fixedDate
	if t, err := time.Parse("2006-01-02", d.opts.Date); err == nil {
		date = t
	}
	l := d.lib
	l.SetCatalogSort(true)
	l.SetCreationDate(date)
	l.SetModificationDate(date)
	l.SetAutoPageBreak(false, 0)
	l.SetMargins(0, 0, 0)
	l.SetCellMargin(0)
	l.SetLang(d.opts.Language)
	l.SetTitle(utf16BE(d.opts.Title), false)
	l.SetAuthor(utf16BE(d.opts.Author), false)
	l.SetSubject(utf16BE(d.opts.Subject), false)
	l.SetProducer("", false)
	l.SetCreator("", false)
	for s := Regular; s <= Mono; s++ {
		l.AddUTF8FontFromBytes(fonts[s].family, "", slices.Clone(fonts[s].ttf))
	}
	l.SetFont(fonts[Regular].family, "", bodySize) // or a bookmark before the first text is written in no encoding
}

// fail keeps the first fault, with the page it happened on.
func (d *Doc) fail(format string, args ...any) {
	if d.err == nil {
		d.err = fmt.Errorf("pdf: page %d: %s", d.lib.PageNo(), fmt.Sprintf(format, args...))
	}
}

// block runs one public call: nothing after a fault, and a panic below becomes
// an error that names the page.
func (d *Doc) block(what string, draw func()) {
	if d.err != nil {
		return
	}
	if d.finishedAlready {
		d.fail("%s after Bytes: the document is closed", what)
		return
	}
	defer func() {
		if r := recover(); r != nil {
			d.fail("%s: %v", what, r)
		}
	}()
	draw()
	if err := d.lib.Error(); err != nil {
		d.fail("%s: %v", what, err)
	}
}

// q rounds a coordinate to 1/100 point, the precision the file is written in.
// A coordinate that is no number, or far off any page, is a fault.
func (d *Doc) q(v float64) float64 {
	if !(math.Abs(v) < 14400) { // the format's own bound for a page; also catches NaN
		d.fail("coordinate %v lies on no page", v)
		return 0
	}
	return math.Round(v*100) / 100
}

// newPage begins an empty page.
func (d *Doc) newPage() {
	d.lib.AddPage()
	d.pen = pen{}
	d.y, d.after = d.top, 0
}

// fresh tells whether nothing stands on the page yet.
func (d *Doc) fresh() bool { return d.y == d.top }

// begin makes room for a block whose first indivisible part is h high: the
// headings that wait for it come first, on the same page.
func (d *Doc) begin(h float64) {
	heads, gap, total := d.pending, d.after, h
	d.pending, d.after = nil, 0
	for i, hd := range heads {
		total += hd.height()
		if i == 0 {
			gap = max(gap, hd.type_.before)
		} else {
			total += hd.type_.between()
		}
	}
	if !d.fresh() && d.y+gap+total > d.bottom {
		d.newPage()
	}
	if !d.fresh() {
		d.y += gap
	}
	for i, hd := range heads {
		if i > 0 {
			d.y += hd.type_.between()
		}
		d.drawHeading(hd)
	}
	d.reach(d.waiting)
	d.waiting = nil
}

// PageBreak starts a new page unless the current one is still empty.
func (d *Doc) PageBreak() {
	d.block("page break", func() {
		d.flush()
		if !d.fresh() {
			d.newPage()
		}
	})
}

// flush sets headings that no block follows.
func (d *Doc) flush() {
	if len(d.pending)+len(d.waiting) > 0 {
		d.begin(0)
	}
}

// Space adds mm millimetres of white, none at the head of a page.
func (d *Doc) Space(mm float64) {
	d.block("space", func() { d.after += d.q(mm * point) })
}

// Room returns how many millimetres of the page are left for the next block,
// below the headings that wait for it.
func (d *Doc) Room() float64 {
	used := d.after
	for _, h := range d.pending {
		used += h.type_.before + h.height()
	}
	return max(0, d.bottom-d.y-used) / point
}

// Keep starts a new page unless mm millimetres are left on this one.
func (d *Doc) Keep(mm float64) {
	d.block("keep", func() {
		if len(d.pending) == 0 && !d.fresh() && d.y+d.after+d.q(mm*point) > d.bottom {
			d.newPage()
		}
	})
}

// Pages returns how many pages there are so far.
func (d *Doc) Pages() int { return d.lib.PageCount() }

// Bytes finishes the document and returns the file. A second call returns the
// same bytes; drawing after it is a fault.
func (d *Doc) Bytes() ([]byte, error) {
	if d.err == nil && !d.finishedAlready {
		d.block("end", d.finish)
		d.finishedAlready = true
	}
	if d.err != nil {
		return nil, d.err
	}
	return d.finished, nil
}

// finish sets what needs the number of pages, closes the library's file and
// appends pictures and attachments to it.
func (d *Doc) finish() {
	d.flush()
	d.resolve()
	n := d.lib.PageCount()
	for p := 1; p <= n && d.err == nil; p++ {
		d.turnTo(p)
		d.running(p, n)
	}
	d.turnTo(n)
	d.setLater()
	d.turnTo(n)
	d.lib.SetKeywords(utf16BE(strings.Join(d.names, "; ")), false) // names the fonts could not show
	if d.err != nil {
		return
	}
	var out bytes.Buffer
	if err := d.lib.Output(&out); err != nil {
		d.fail("%v", err)
		return
	}
	all, err := d.extend(out.Bytes())
	if err != nil {
		d.fail("%v", err)
		return
	}
	d.finished = all
}

// turnTo goes on with page p, whose pen state is unknown.
func (d *Doc) turnTo(p int) {
	d.lib.SetPage(p)
	d.pen = pen{}
}

// running sets the head and foot of page p of n. The number of pages is known
// by now, so the count is set flush right by its real width.
func (d *Doc) running(p, n int) {
	const size = 7.5
	right := d.left + d.width
	if p > 1 || !d.titleOnFirstPage {
		side := joinNonEmpty(" · ", d.oneLine(d.opts.Revision), d.oneLine(d.opts.Date))
		w := measure(side, Regular, size)
		d.runningText(right-w, headerLine, side, size)
		d.runningText(d.left, headerLine, d.fit(d.oneLine(d.opts.Title), Regular, size, d.width-w-12), size)
		d.stroke(d.left, headerLine+5, right, headerLine+5, thin, rule)
	}
	count := fmt.Sprintf("page %d of %d", p, n)
	w := measure(count, Regular, size)
	base := d.pageH - footerLine
	d.runningText(right-w, base, count, size)
	d.runningText(d.left, base, d.fit(d.oneLine(d.opts.Footer), Regular, size, d.width-w-12), size)
}

// runningText sets one piece of a running line and records it.
func (d *Doc) runningText(x, base float64, s string, size float64) {
	if s == "" {
		return
	}
	d.record("running", x, base-size, measure(s, Regular, size), 1.3*size)
	d.write(x, base, s, Regular, size, muted)
}

// joinNonEmpty joins the parts that are not empty.
func joinNonEmpty(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}
