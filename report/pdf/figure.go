package pdf

// Figure is something with a caption that is kept in one piece: a Picture, a
// Chart or a Disc.
type Figure interface {
	// caption is set below the figure.
	caption() Runs
	// extent returns width and height in points within the given bounds.
	extent(d *Doc, maxW, maxH float64) (w, h float64)
	// draw draws the figure into the rectangle.
	draw(d *Doc, x, y, w, h float64)
	// kind names it in the list of placed items.
	kind() string
}

const (
	figureGutter = 14.0
	captionGap   = 5.0
)

// Figure sets one to three figures side by side, each over its caption.
// Figures and captions stay together on one page; what is too high for a page
// is made smaller.
func (d *Doc) Figure(figs ...Figure) {
	d.block("figure", func() {
		if len(figs) == 0 || len(figs) > 3 {
			d.fail("%d figures in a row: use 1 to 3", len(figs))
			return
		}
		n := float64(len(figs))
		column := (d.width - float64((n-1)*figureGutter)) / n
		captions := make([][]line, len(figs))
		captionH := 0.0
		for i, f := range figs {
			captions[i] = d.wrap(f.caption(), captionSize, column)
			if len(f.caption()) > 0 {
				captionH = max(captionH, captionGap+float64(float64(len(captions[i]))*leading(captionSize)))
			}
		}
		most := d.bottom - d.top - captionH
		for _, h := range d.pending {
			most -= h.height() + h.type_.between()
		}
		if most < 20*point {
			d.fail("a caption leaves no room for its figure: shorten it")
			return
		}
		ws, hs, tall := make([]float64, len(figs)), make([]float64, len(figs)), 0.0
		for i, f := range figs {
			ws[i], hs[i] = f.extent(d, column, most)
			tall = max(tall, hs[i])
		}
		if d.err != nil {
			return
		}
		d.after = max(d.after, blockGap+3)
		d.begin(tall + captionH)
		drawings := make([]Drawing, len(figs))
		for i, f := range figs {
			x := d.left + float64(float64(i)*(column+figureGutter))
			d.drawFigure(f, x, column, ws[i], hs[i], tall, captions[i])
			drawings[i] = Drawing{Width: ws[i], Height: hs[i], SVG: d.sketched(f, ws[i], hs[i]), Caption: f.caption()}
			if p, ok := f.(Picture); ok {
				drawings[i].Image, drawings[i].Strip = p.Image, p.Strip
			}
		}
		d.tell(Block{Kind: FigureBlock, Figures: drawings})
		d.y += tall + captionH
		d.after = blockGap + 5
	})
}

// drawFigure sets one figure at the foot of its row, and its caption.
func (d *Doc) drawFigure(f Figure, x, column, w, h, tall float64, caption []line) {
	d.within(f.kind(), x, d.y+tall-h, w, h, func() { f.draw(d, x, d.y+tall-h, w, h) })
	if len(f.caption()) == 0 {
		return
	}
	top := d.y + tall + captionGap
	d.within("caption", x, top, column, float64(float64(len(caption))*leading(captionSize)), func() {
		d.setLines(caption, x, top, column, captionSize, Left, muted)
	})
}
