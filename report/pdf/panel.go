package pdf

import (
	"image/color"
	"slices"
)

// Banner sets a framed statement with a shape, an ink bar at its left and large
// type: what the reader must not miss.
func (d *Doc) Banner(m Mark, c color.RGBA, title string, runs ...Run) {
	d.tell(Block{Kind: BannerBlock, Mark: m, Ink: c, Title: title, Runs: runs})
	d.block("banner", func() { d.panel(m, c, title, 14, runs, bodySize) })
}

// Caution sets a framed warning with a triangle.
func (d *Doc) Caution(title string, runs ...Run) {
	d.tell(Block{Kind: CautionBlock, Mark: Warning, Title: title, Runs: runs})
	d.block("caution", func() { d.panel(Warning, ink, title, bodySize, runs, tableSize) })
}

// panel sets a title with a mark, and text below, in one piece.
func (d *Doc) panel(m Mark, c color.RGBA, title string, titleSize float64, runs Runs, size float64) {
	const padX, padY, bar = 11.0, 8.0, 3.0
	width := d.width - bar - 2*padX
	head := d.wrap(Runs{{Text: title, Style: Bold, Mark: m}}, titleSize, width)
	var body []line
	gap := 0.0
	if len(runs) > 0 {
		body, gap = d.wrap(runs, size, width), 2
	}
	headH := float64(float64(len(head)) * leading(titleSize))
	h := headH + gap + float64(float64(len(body))*leading(size)) + 2*padY
	if h > d.bottom-d.top {
		d.fail("panel %q is higher than a page: move text into paragraphs", title)
		return
	}
	d.begin(h)
	d.fillRect(d.left, d.y, d.width, h, tint)
	d.fillRect(d.left, d.y, bar, h, c)
	d.within("panel", d.left, d.y, d.width, h, func() {
		x := d.left + bar + padX
		d.setLines(head, x, d.y+padY, width, titleSize, Left, c)
		d.setLines(body, x, d.y+padY+headH+gap, width, size, Left, ink)
	})
	d.y += h
	d.after = blockGap + 2
}

// Number is one figure of a row of key figures.
type Number struct {
	Value string // set large
	Unit  string
	Label string // set small below
}

// Numbers sets up to six key figures side by side between thin rules.
func (d *Doc) Numbers(ns ...Number) {
	d.tell(Block{Kind: NumbersBlock, Numbers: ns})
	d.block("numbers", func() {
		if len(ns) == 0 || len(ns) > 6 {
			d.fail("%d key figures in a row: use 1 to 6", len(ns))
			return
		}
		const big, padX, padY = 16.0, 8.0, 6.0
		column := d.width / float64(len(ns))
		labels, most := make([][]line, len(ns)), 0
		for i, n := range ns {
			labels[i] = d.wrap(Plain(n.Label), smallSize, column-padX)
			most = max(most, len(labels[i]))
		}
		h := 2*padY + leading(big) + float64(float64(most)*leading(smallSize))
		d.begin(h)
		for i, n := range ns {
			x := d.left + float64(float64(i)*column)
			if i > 0 {
				d.stroke(x-padX/2, d.y+padY, x-padX/2, d.y+h-padY, thin, rule)
			}
			d.within("number", x, d.y, column-padX, h, func() { d.number(n, labels[i], x, d.y+padY, column-padX, big) })
		}
		d.stroke(d.left, d.y+h, d.left+d.width, d.y+h, thin, rule)
		d.y += h
		d.after = blockGap + 2
	})
}

// number sets one key figure; a value too wide for its column is set smaller.
func (d *Doc) number(n Number, label []line, x, y, width, size float64) {
	value, unit := d.oneLine(n.Value), d.oneLine(n.Unit)
	unitSize, gap, base := smallSize+1, 0.0, y+baseline(size)
	if unit != "" && unit != "°" {
		gap = 3
	}
	unit = d.fit(unit, Regular, unitSize, width/2)
	unitW := measure(unit, Regular, unitSize)
	valueSize := size
	for valueSize > 8 && measure(value, Bold, valueSize)+gap+unitW > width {
		valueSize--
	}
	value = d.fit(value, Bold, valueSize, width-gap-unitW)
	valueW := measure(value, Bold, valueSize)
	d.record("line", x, y, valueW+gap+unitW, leading(size))
	d.write(x, base, value, Bold, valueSize, ink)
	d.write(x+valueW+gap, base, unit, Regular, unitSize, muted)
	d.setLines(label, x, y+leading(size), width, smallSize, Left, muted)
}

// Pair is a key and its value.
type Pair struct {
	Key   string
	Value Runs
}

// Pairs sets keys and values in one to three columns, read across.
func (d *Doc) Pairs(columns int, pairs ...Pair) {
	d.tell(Block{Kind: PairsBlock, Pairs: pairs})
	d.block("pairs", func() {
		if columns < 1 || columns > 3 {
			d.fail("pairs in %d columns: use 1 to 3", columns)
			return
		}
		const gutter, padY, size = 16.0, 1.6, tableSize
		column := (d.width - float64(float64(columns-1)*gutter)) / float64(columns)
		keyW := d.keyWidth(pairs, size, column)
		for len(pairs) > 0 {
			n := min(columns, len(pairs))
			keys, values, most := make([][]line, n), make([][]line, n), 1
			for i, p := range pairs[:n] {
				keys[i] = d.wrap(Plain(p.Key), size, keyW-6)
				values[i] = d.wrap(p.Value, size, column-keyW)
				most = max(most, len(keys[i]), len(values[i]))
			}
			h := float64(float64(most)*leading(size)) + 2*padY
			if h > d.bottom-d.top {
				d.fail("value of %q is higher than a page: use a paragraph", pairs[0].Key)
				return
			}
			d.begin(h)
			for i := range n {
				x := d.left + float64(float64(i)*(column+gutter))
				d.within("pair", x, d.y, column, h, func() {
					d.setLines(keys[i], x, d.y+padY, keyW, size, Left, muted)
					d.setLines(values[i], x+keyW, d.y+padY, column-keyW, size, Left, ink)
				})
			}
			d.y += h
			pairs = pairs[n:]
		}
		d.after = blockGap + 2
	})
}

// keyWidth is what the longest key needs, at most 45 % of the column.
func (d *Doc) keyWidth(pairs []Pair, size, column float64) float64 {
	w := 0.0
	for _, p := range pairs {
		_, whole := d.extent(Plain(p.Key), size)
		w = max(w, whole)
	}
	return min(w+10, 0.45*column)
}

// Field is an empty box to be filled in by hand.
type Field struct {
	Label   string
	Options []string // each with a small box to tick
	Weight  float64  // share of the width, 1 when zero
}

// Fields sets empty boxes side by side: decision, owner, date, signature.
func (d *Doc) Fields(fields ...Field) {
	d.tell(Block{Kind: FieldsBlock, Fields: fields})
	d.block("fields", func() {
		const gutter, pad = 5.0, 5.0
		fields = slices.Clone(fields)
		total, most := 0.0, 2
		for i := range fields {
			if fields[i].Weight <= 0 {
				fields[i].Weight = 1
			}
			total += fields[i].Weight
			most = max(most, len(fields[i].Options))
		}
		if len(fields) == 0 || len(fields) > 6 || most > 12 {
			d.fail("%d fields with up to %d options: use 1 to 6 fields, 12 options", len(fields), most)
			return
		}
		h := 2*pad + leading(smallSize) + float64(float64(most)*leading(bodySize))
		d.begin(h)
		x, room := d.left, d.width-float64(float64(len(fields)-1)*gutter)
		for _, f := range fields {
			w := float64(room * (f.Weight / total))
			d.within("box", x, d.y, w, h, func() { d.field(f, x, w, h, pad) })
			x += w + gutter
		}
		d.y += h
		d.after = blockGap + 2
	})
}

// field draws one box with its label and options.
func (d *Doc) field(f Field, x, w, h, pad float64) {
	d.frame(x, d.y, w, h, thin, muted)
	label := d.fit(d.oneLine(f.Label), Regular, smallSize, w-2*pad)
	d.setLines(d.wrap(Plain(label), smallSize, w), x+pad, d.y+pad, w-2*pad, smallSize, Left, muted)
	y := d.y + pad + leading(smallSize)
	for _, o := range f.Options {
		room := w - 2*pad - Open.advance(bodySize)
		d.drawMark(Open, x+pad, y+baseline(bodySize), bodySize, muted)
		text := d.fit(d.oneLine(o), Regular, bodySize, room)
		d.setLines(d.wrap(Plain(text), bodySize, w), x+pad+Open.advance(bodySize), y, room, bodySize, Left, ink)
		y += leading(bodySize)
	}
}
