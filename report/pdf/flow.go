package pdf

import (
	"image/color"
	"slices"
	"strconv"
	"strings"
)

// Align says where text stands in its width.
type Align uint8

// Left is the default.
const (
	Left Align = iota
	Right
	Center
)

// Type sizes of the running text, points.
const (
	bodySize    = 9.5
	smallSize   = 8.0
	tableSize   = 8.5
	captionSize = 8.5
	titleSize   = 22.0

	blockGap = 7.0 // white after a block
)

// headingType is how a level of heading looks.
type headingType struct{ size, before, below float64 }

// between is the white before a heading that follows another at once.
func (t headingType) between() float64 { return t.before / 3 }

var headingTypes = [3]headingType{
	{size: 15, before: 22, below: 7},
	{size: 11, before: 15, below: 4},
	{size: 9.5, before: 10, below: 2},
}

// heading waits for the block it belongs to.
type heading struct {
	level   int
	text    string
	lines   []line
	type_   headingType
	anchors []string
}

func (h heading) height() float64 {
	return float64(float64(len(h.lines))*leading(h.type_.size)) + h.type_.below
}

// Title sets the document's title with its revision, date and author below, and
// leaves out the running head of the first page, which would repeat it.
func (d *Doc) Title() {
	d.tell(Block{Kind: TitleBlock, Title: d.opts.Title, Runs: Plain(joinNonEmpty(" · ", d.opts.Subject, d.opts.Revision, d.opts.Date, d.opts.Author))})
	d.block("title", func() {
		lines := d.wrap(Runs{Strong(d.opts.Title)}, titleSize, d.width)
		sub := d.wrap(Plain(joinNonEmpty(" · ", d.opts.Subject, d.opts.Revision, d.opts.Date, d.opts.Author)), bodySize, d.width)
		if d.lib.PageNo() == 1 && d.fresh() {
			d.titleOnFirstPage = true
			d.y -= 10 * point // the place of the running head
		}
		h := float64(float64(len(lines))*leading(titleSize)) + float64(float64(len(sub))*leading(bodySize))
		d.begin(h)
		d.within("heading", d.left, d.y, d.width, h, func() {
			d.setLines(lines, d.left, d.y, d.width, titleSize, Left, ink)
			d.setLines(sub, d.left, d.y+float64(float64(len(lines))*leading(titleSize)), d.width, bodySize, Left, muted)
		})
		d.y += h
		d.stroke(d.left, d.y+5, d.left+d.width, d.y+5, medium, ink)
		d.y += 6
		d.after = 9
	})
}

// Heading sets a heading of level 1, 2 or 3 with a bookmark. It stays on the
// page of the block that follows.
func (d *Doc) Heading(level int, text string) {
	d.tell(Block{Kind: HeadingBlock, Level: level, Title: text})
	d.block("heading", func() {
		if level < 1 || level > len(headingTypes) {
			d.fail("heading %q has level %d: use 1 to %d", text, level, len(headingTypes))
			return
		}
		t := headingTypes[level-1]
		d.pending = append(d.pending, heading{
			level: level, text: text, type_: t, anchors: d.waiting,
			lines: d.wrap(Runs{Strong(text)}, t.size, d.width),
		})
		d.waiting = nil
	})
}

// drawHeading sets a heading at the current place.
func (d *Doc) drawHeading(h heading) {
	d.reach(h.anchors)
	// A viewer's tree has no gaps: a level may only be one deeper than the last.
	d.lastLevel = min(h.level, d.lastLevel+1)
	d.lib.Bookmark(firstPlane(h.text), d.lastLevel-1, d.q(d.y))
	height := h.height()
	d.within("heading", d.left, d.y, d.width, height-h.type_.below, func() {
		c := ink
		if h.level == 1 {
			c = accent
		}
		d.setLines(h.lines, d.left, d.y, d.width, h.type_.size, Left, c)
	})
	d.y += height
}

// Para sets a paragraph of running text.
func (d *Doc) Para(runs ...Run) {
	d.tell(Block{Kind: ParaBlock, Runs: runs})
	d.block("paragraph", func() { d.paragraph("paragraph", runs, 0, bodySize, ink) })
}

// Note sets a paragraph in small, quiet type: sources, conditions.
func (d *Doc) Note(runs ...Run) {
	d.tell(Block{Kind: NoteBlock, Runs: runs})
	d.block("note", func() { d.paragraph("paragraph", runs, 0, smallSize, muted) })
}

// Bullets sets a list.
func (d *Doc) Bullets(items ...Runs) {
	d.tell(Block{Kind: ListBlock, Items: items})
	d.block("list", func() {
		for i, item := range items {
			d.paragraphWith("bullet", item, 11, bodySize, ink, func() {
				d.dot(d.left+3.2, d.y+leading(bodySize)/2, 1.15, muted, thin, muted)
			})
			if i < len(items)-1 {
				d.after = 2
			}
		}
	})
}

// paragraph sets text that may run over pages.
func (d *Doc) paragraph(kind string, runs Runs, indent, size float64, c color.RGBA) {
	d.paragraphWith(kind, runs, indent, size, c, func() {})
}

// paragraphWith is paragraph with something drawn beside its first line. At a
// page's foot and head at least two lines stay together.
func (d *Doc) paragraphWith(kind string, runs Runs, indent, size float64, c color.RGBA, first func()) {
	lines := d.wrap(runs, size, d.width-indent)
	lead := leading(size)
	d.begin(float64(float64(min(len(lines), 2)) * lead))
	for n := 0; len(lines) > 0; n++ {
		fit := min(len(lines), int((d.bottom-d.y)/lead))
		if rest := len(lines) - fit; rest == 1 && fit > 2 {
			fit--
		}
		if fit < 1 || (fit == 1 && len(lines) > 1 && !d.fresh()) {
			d.newPage()
			continue
		}
		if n == 0 {
			first()
		}
		h := float64(float64(fit) * lead)
		d.within(kind, d.left, d.y, d.width, h, func() {
			d.setLines(lines[:fit], d.left+indent, d.y, d.width-indent, size, Left, c)
		})
		d.y += h
		if lines = lines[fit:]; len(lines) > 0 {
			d.newPage()
		}
	}
	d.after = blockGap
}

// Anchor names the place of the next block or heading, for links and page numbers.
func (d *Doc) Anchor(name string) {
	d.storyAnchors = append(d.storyAnchors, name)
	d.block("anchor", func() { d.waiting = append(d.waiting, name) })
}

// reach puts anchors at the current place.
func (d *Doc) reach(names []string) {
	for _, n := range names {
		if _, twice := d.targets[n]; twice {
			d.fail("anchor %q is set twice", n)
			return
		}
		t := target{d.lib.PageNo(), max(0, d.y-8)}
		d.targets[n] = t
		d.lib.SetLink(d.link(n), d.q(t.y), t.page)
	}
}

// link returns the library's number for an anchor, known or not yet.
func (d *Doc) link(anchor string) int {
	id, ok := d.links[anchor]
	if !ok {
		id = d.lib.AddLink()
		d.links[anchor] = id
	}
	return id
}

// resolve finds links that lead nowhere.
func (d *Doc) resolve() {
	var lost []string
	for name := range d.links {
		if _, ok := d.targets[name]; !ok {
			lost = append(lost, strconv.Quote(name))
		}
	}
	if len(lost) > 0 {
		slices.Sort(lost)
		d.fail("links lead to anchors that were never set: %s", strings.Join(lost, ", "))
	}
}

// later is what can be drawn only once all pages exist: the rest of a line
// from the first page number in it.
type later struct {
	page int
	draw func()
}

// setLater draws what waited for page numbers.
func (d *Doc) setLater() {
	for _, l := range d.later {
		d.turnTo(l.page)
		l.draw()
	}
}

// pageOf returns the page number of an anchor as text.
func (d *Doc) pageOf(anchor string) string {
	t, ok := d.targets[anchor]
	if !ok {
		d.fail("page of anchor %q asked for, which was never set", anchor)
	}
	return strconv.Itoa(t.page)
}
