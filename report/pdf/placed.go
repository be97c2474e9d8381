package pdf

// Box is a rectangle on a page, millimetres from the upper left corner.
type Box struct{ X, Y, W, H float64 }

// Item says where something was placed. Items form a tree: what lies inside a
// picture, a row or a paragraph names it by Inside. Items with the same Inside
// and page do not overlap, except labels over a picture, whose places the
// caller chose.
type Item struct {
	Page   int
	Box    Box
	Kind   string // heading, paragraph, line, bullet, table head, row, cell, picture, label, caption, chart, disc, panel, box, number, pair, running
	Inside int    // index into the list, -1 for the page itself
}

// Placed returns every item placed so far, in order. Cost: one copy.
func (d *Doc) Placed() []Item {
	out := make([]Item, len(d.items))
	for i, it := range d.items {
		b := it.Box
		it.Box = Box{X: b.X / point, Y: b.Y / point, W: b.W / point, H: b.H / point}
		out[i] = it
	}
	return out
}

// PaperSize returns width and height of the pages in millimetres.
func (d *Doc) PaperSize() (w, h float64) { return d.pageW / point, d.pageH / point }

// record notes an item, in points.
func (d *Doc) record(kind string, x, y, w, h float64) {
	if d.svg != nil {
		return
	}
	d.items = append(d.items, Item{
		Page: d.lib.PageNo(), Kind: kind, Inside: d.inside,
		Box: Box{X: d.q(x), Y: d.q(y), W: d.q(w), H: d.q(h)},
	})
}

// within notes an item and everything draw places as lying inside it.
func (d *Doc) within(kind string, x, y, w, h float64, draw func()) {
	outer := d.inside
	d.record(kind, x, y, w, h)
	d.inside = len(d.items) - 1
	draw()
	d.inside = outer
}
