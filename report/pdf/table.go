package pdf

import "math"

// Column is one column of a table.
type Column struct {
	Title string
	Width float64 // millimetres; 0 shares what the other columns leave by need
	Align Align
}

// Row is one row of a table; missing cells are empty.
type Row struct {
	Cells  []Runs
	Link   string // a click anywhere in the row leads to this anchor
	Anchor string // names the row itself
	Total  bool   // set bold, below a stronger rule
}

// Table is a table that may run over pages; its head is repeated on each.
type Table struct {
	Columns []Column
	Rows    []Row
	Empty   string  // set when there are no rows, "none" when empty
	Size    float64 // type size in points, 8.5 when zero
	Zebra   bool    // every second row tinted, instead of rules
}

// R makes a row of plain cells.
func R(cells ...string) Row {
	row := Row{Cells: make([]Runs, len(cells))}
	for i, c := range cells {
		row.Cells[i] = Plain(c)
	}
	return row
}

const (
	cellPadX = 4.0
	cellPadY = 3.0
)

// grid is a table with its widths settled.
type grid struct {
	Table
	x, w  []float64 // left edges and widths, points
	width float64   // of all columns
}

// setRow is a row broken into lines.
type setRow struct {
	Row
	cells  [][]line
	height float64
}

// Table sets a table. A row is never split, unless it alone is higher than a page.
func (d *Doc) Table(t Table) {
	d.tell(Block{Kind: TableBlock, Table: t})
	d.block("table", func() {
		if len(t.Columns) == 0 {
			d.fail("table without columns")
			return
		}
		if t.Size == 0 {
			t.Size = tableSize
		}
		if t.Size = d.q(t.Size); t.Size < 4 {
			d.fail("table with type of %g points: use 4 or more", t.Size)
			return
		}
		g := d.layGrid(t)
		head := d.breakRow(g, headOf(t), true)
		rows := d.breakRows(g, d.bottom-d.top-head.height-1)
		if d.err != nil {
			return
		}
		first := leading(t.Size) + 2*cellPadY
		if len(rows) > 0 {
			first = rows[0].height
		}
		d.begin(head.height + first)
		d.drawHead(g, head)
		for i, r := range rows {
			if d.y+r.height > d.bottom {
				d.newPage()
				d.drawHead(g, head)
			}
			d.drawRow(g, r, i, i == len(rows)-1)
		}
		if len(rows) == 0 {
			d.drawEmpty(g)
		}
		d.stroke(d.left, d.y, d.left+g.width, d.y, thin, muted)
		d.after = blockGap + 3
	})
}

// headOf makes the head row of a table.
func headOf(t Table) Row {
	row := Row{Cells: make([]Runs, len(t.Columns))}
	for i, c := range t.Columns {
		row.Cells[i] = Runs{Strong(c.Title)}
	}
	return row
}

// breakRows breaks all rows into lines; rows higher than most are parted.
func (d *Doc) breakRows(g grid, most float64) []setRow {
	if most < 3*leading(g.Size) {
		d.fail("the head of a table leaves no room for rows: shorten the titles of its columns")
		return nil
	}
	rows := make([]setRow, 0, len(g.Rows))
	for _, r := range g.Rows {
		if len(r.Cells) > len(g.Columns) {
			d.fail("table row with %d cells for %d columns", len(r.Cells), len(g.Columns))
			return nil
		}
		whole := d.breakRow(g, r, false)
		rows = append(rows, g.part(whole, int((most-2*cellPadY)/leading(g.Size)))...)
	}
	return rows
}

// breakRow breaks the cells of a row into lines.
func (d *Doc) breakRow(g grid, r Row, head bool) setRow {
	out := setRow{Row: r, cells: make([][]line, len(r.Cells))}
	most := 1
	for i, c := range r.Cells {
		if r.Total {
			c = bold(c)
		}
		out.cells[i] = d.wrap(c, g.Size, g.w[i]-2*cellPadX)
		most = max(most, len(out.cells[i]))
	}
	out.height = g.rowHeight(most)
	return out
}

func (g grid) rowHeight(lines int) float64 {
	return float64(float64(lines)*leading(g.Size)) + 2*cellPadY
}

// bold returns the runs with regular type made bold.
func bold(runs Runs) Runs {
	out := make(Runs, len(runs))
	for i, r := range runs {
		if r.Style == Regular {
			r.Style = Bold
		}
		out[i] = r
	}
	return out
}

// part splits a row of more than n lines into rows of at most n.
func (g grid) part(r setRow, n int) []setRow {
	var out []setRow
	for {
		piece, rest, most, left := r, r, 1, false
		piece.cells, rest.cells = make([][]line, len(r.cells)), make([][]line, len(r.cells))
		for i, lines := range r.cells {
			k := min(n, len(lines))
			piece.cells[i], rest.cells[i] = lines[:k], lines[k:]
			most, left = max(most, k), left || k < len(lines)
		}
		piece.height = g.rowHeight(most)
		out = append(out, piece)
		if !left {
			return out
		}
		rest.Anchor = ""
		r = rest
	}
}

// drawHead sets the head row over a strong rule.
func (d *Doc) drawHead(g grid, r setRow) {
	d.within("table head", d.left, d.y, g.width, r.height, func() {
		for i, lines := range r.cells {
			d.setCell(g, i, lines, r.height, float64(float64(len(lines))*leading(g.Size)))
		}
	})
	d.y += r.height
	d.stroke(d.left, d.y, d.left+g.width, d.y, medium, ink)
}

// drawRow sets row number i and, but for the last, the rule below it.
func (d *Doc) drawRow(g grid, r setRow, i int, last bool) {
	if r.Anchor != "" {
		d.reach([]string{r.Anchor})
	}
	if g.Zebra && i%2 == 1 {
		d.fillRect(d.left, d.y, g.width, r.height, tint)
	}
	if r.Total && i > 0 {
		d.stroke(d.left, d.y, d.left+g.width, d.y, medium, muted)
	}
	d.within("row", d.left, d.y, g.width, r.height, func() {
		for i, lines := range r.cells {
			d.setCell(g, i, lines, r.height, r.height-2*cellPadY)
		}
	})
	if r.Link != "" {
		d.lib.Link(d.q(d.left), d.q(d.y), d.q(g.width), d.q(r.height), d.link(r.Link))
	}
	d.y += r.height
	if !g.Zebra && !last {
		d.stroke(d.left, d.y, d.left+g.width, d.y, thin, rule)
	}
}

// setCell sets one cell; textHeight less than the row's puts the text at the foot.
func (d *Doc) setCell(g grid, i int, lines []line, height, textHeight float64) {
	y := d.y + height - cellPadY - textHeight
	d.within("cell", g.x[i], d.y, g.w[i], height, func() {
		d.setLines(lines, g.x[i]+cellPadX, y, g.w[i]-2*cellPadX, g.Size, g.Columns[i].Align, ink)
	})
}

// drawEmpty says that there are no rows.
func (d *Doc) drawEmpty(g grid) {
	text := g.Empty
	if text == "" {
		text = "none"
	}
	h := g.rowHeight(1)
	d.within("row", d.left, d.y, g.width, h, func() {
		s := d.fit(d.oneLine(text), Regular, g.Size, g.width-2*cellPadX)
		d.setLines(d.wrap(Plain(s), g.Size, g.width), d.left+cellPadX, d.y+cellPadY, g.width-2*cellPadX, g.Size, Left, muted)
	})
	d.y += h
}

// layGrid settles the widths: given ones first; the others get what their
// longest line wants if there is room, else their longest word and a share of
// the rest by want.
func (d *Doc) layGrid(t Table) grid {
	n := len(t.Columns)
	g := grid{Table: t, x: make([]float64, n), w: make([]float64, n)}
	least, want := make([]float64, n), make([]float64, n)
	room, sumLeast, sumWant := d.width, 0.0, 0.0
	for i, c := range t.Columns {
		if w := d.q(c.Width * point); w > 0 {
			g.w[i] = w
			room -= g.w[i]
			continue
		}
		least[i], want[i] = d.needs(t, i)
		sumLeast += least[i]
		sumWant += want[i]
	}
	if room < 0 || (room < 12 && sumWant > 0) {
		d.fail("the columns of a table are wider than the page: %.0f of %.0f mm", (d.width-room)/point, d.width/point)
		room = math.Max(room, 12)
	}
	for i, c := range t.Columns {
		switch {
		case c.Width > 0:
		case sumWant <= room: // all fit: spread what is left by want
			g.w[i] = want[i] * (room / sumWant)
		case sumLeast <= room:
			g.w[i] = least[i] + float64((want[i]-least[i])*((room-sumLeast)/(sumWant-sumLeast)))
		default:
			g.w[i] = least[i] * (room / sumLeast)
		}
	}
	x := d.left
	for i := range g.w {
		g.x[i] = x
		x += g.w[i]
	}
	g.width = x - d.left
	return g
}

// needs returns the widths a column wants: of its longest word and of its
// longest line, with padding. Words count up to a third of the page; longer
// ones are broken.
func (d *Doc) needs(t Table, i int) (least, want float64) {
	see := func(runs Runs) {
		word, whole := d.extent(runs, t.Size)
		least, want = max(least, word), max(want, whole)
	}
	see(Runs{Strong(t.Columns[i].Title)})
	for _, r := range t.Rows {
		if i < len(r.Cells) {
			see(r.Cells[i])
			if r.Total {
				see(bold(r.Cells[i]))
			}
		}
	}
	const pad = 2*cellPadX + 0.5 // half a point against rounding, or a line that just fits would break
	return min(least, d.width/3) + pad, want + pad
}
