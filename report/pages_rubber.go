package report

import (
	"fmt"
	"image/color"
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

const rubberAnchor = "rubber"

// ofRubber tells whether a finding is one of the rubber's.
func ofRubber(f *checks.Finding) bool { return f.Check == "walls" || f.Check == "edges" }

// rubberPages show how thick the halves are, with the thin places numbered.
func (b *book) rubberPages() error {
	o := b.Outcome
	if !b.placed[rubberAnchor] {
		return nil
	}
	b.chapter(150)
	b.pdf.Anchor(rubberAnchor)
	b.pdf.Heading(1, "Rubber at risk")
	b.pdf.Para(b.rubberSummary()...)
	if b.studio != nil {
		for _, r := range o.Rubber {
			if err := b.thicknessPictures(r); err != nil {
				return err
			}
		}
		b.pdf.Note(b.thicknessLegend()...)
	}
	b.wallTable()
	b.edgeTable()
	b.reasons(ofRubber)
	return nil
}

// rubberSummary counts what was found, and gives the land beside it.
func (b *book) rubberSummary() pdf.Runs {
	o := b.Outcome
	thin, knives, length := 0, 0, 0.0
	for _, r := range o.Rubber {
		for i := range r.Walls {
			if b.listed(&r.Walls[i]) {
				thin++
			}
		}
		knives += len(r.Knives)
		for i := range r.Knives {
			length += r.Knives[i].Length
		}
	}
	out := pdf.Runs{pdf.Strong("No thin place. ")}
	if thin > 0 {
		out = pdf.Runs{pdf.Strong(Plural(thin, "thin place") + ". ")}
	}
	edges := "No knife edge. "
	if knives > 0 {
		edges = fmt.Sprintf("%s, %s in all. ", Plural(knives, "knife edge"), Length(length))
	}
	out = append(out, pdf.Text(edges))
	if o.Fit != nil {
		if land, ok := o.Fit.LandMin(); ok {
			out = append(out, pdf.Text(fmt.Sprintf("The land, rubber between cavity and outside at the parting face, is at least %s wide: ", Length(land))))
			if b.placed[fitAnchor] {
				out = append(out, pdf.Ref("p.\u00a0", fitAnchor))
			}
			out = append(out, pdf.Text(". "))
		}
	}
	return append(out, pdf.Text("Thickness is that of the ball between two opposed faces; a square edge is no thin wall."))
}

// listed tells whether a wall breaks a limit: pictures and tables leave out the others.
func (b *book) listed(w *mold.Wall) bool {
	l := b.Outcome.Limits
	if w.Around() {
		return l.Judge(w.Least, "around_stop_mm", "around_mm").Broken()
	}
	return l.Judge(w.Least, "thin_stop_mm", "thin_mm").Broken() || w.Kind != mold.ThinWall && l.Judge(w.Slender, "slender_ratio").Broken()
}

// thicknessSteps are the thicknesses at which the map changes its colour, mm: the
// limits, by default, and one between.
func (b *book) thicknessSteps() [4]float64 {
	v := func(key string) float64 { return b.Outcome.Limits.Get(key).Value }
	s := [4]float64{v("thin_stop_mm"), v("thin_mm"), v("around_stop_mm"), v("around_mm")}
	for i := 1; i < len(s); i++ {
		s[i] = max(s[i], s[i-1])
	}
	return s
}

// thicknessPalette darkens toward thin rubber, in colours whose lightness falls with
// them, so that grey print shows the same.
var thicknessPalette = []color.RGBA{{0x5c, 0x12, 0x2e, 0xff}, {0xb5, 0x3a, 0x3a, 0xff}, {0xe5, 0x8c, 0x4a, 0xff}, {0xf3, 0xd2, 0x8b, 0xff}}

func (b *book) thicknessLegend() pdf.Runs {
	s := b.thicknessSteps()
	return pdf.Runs{pdf.Text(fmt.Sprintf("Darkest: rubber under %s. Red: under %s. Orange: under %s. Yellow: under %s, where the limit holds between cavity and outside only. The half's own colour: thicker, or nothing opposed. Numbers: thin places of that half, as in the table. Violet crosses: knife edges.",
		Length(s[0]), Length(s[1]), Length(s[2]), Length(s[3])))}
}

// thicknessPictures set a half seen from the part's side beside the same from outside.
func (b *book) thicknessPictures(r *mold.HalfRubber) error {
	pull := b.Outcome.Mold.Pulls[r.Half]
	steps := b.thicknessSteps()
	inside := b.studio.thicknessMap(r, pull.Neg(), steps, b.listed, halfWidth)
	outside := b.studio.thicknessMap(r, pull, steps, b.listed, halfWidth)
	high := min(max(inside.wanted(), outside.wanted()), 72)
	first, err := b.studio.take(inside.exactly(high), pdf.Runs{pdf.Strong(b.pdf.Name(r.Name) + ". "), pdf.Text("Thickness, seen from the part's side.")})
	if err != nil {
		return err
	}
	second, err := b.studio.take(outside.exactly(high), pdf.Runs{pdf.Strong(b.pdf.Name(r.Name) + ", from outside. "), pdf.Text("The same walls from the other side.")})
	if err != nil {
		return err
	}
	b.pdf.Figure(first, second)
	return nil
}

// thicknessMap paints a half by its thickness, seen from the side that eye points to.
func (s *studio) thicknessMap(r *mold.HalfRubber, eye geom.Vec, steps [4]float64, listed func(*mold.Wall) bool, width float64) *shot {
	paint := make([]uint8, len(r.Thickness))
	for f, d := range r.Thickness {
		for i := len(steps) - 1; i >= 0; i-- {
			if d < steps[i] {
				paint[f] = uint8(i + 1)
			}
		}
	}
	scene := render.Scene{Camera: render.Oblique(eye, 245, 42), Bodies: []render.Body{{Mesh: r.Mesh, Color: rubberOf(r.Half).color, FacetColor: paint, Palette: thicknessPalette}}}
	sh := s.newShot(scene, width, width)
	sh.frame = []geom.Box{r.Mesh.Box()}
	sh.still = true
	n := 0
	for i := range r.Walls {
		if w := &r.Walls[i]; listed(w) && n < maxMarks {
			n++
			sh.labels = append(sh.labels, label{at: w.At, text: fmt.Sprint(w.ID), ink: render.Strong})
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: w.At, Color: render.Strong, Weight: 3})
		}
	}
	for i := range r.Knives {
		if i < maxMarks {
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: r.Knives[i].At, Color: render.Gate, Weight: 3})
		}
	}
	return sh
}

// mostWalls is how many thin places, and lines of edges, a table lists.
const mostWalls = 14

func (b *book) wallTable() {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Thin place", Align: pdf.Right}, {Title: "Half"}, {Title: "Kind"}, {Title: "Between"}, {Title: "Least", Align: pdf.Right}, {Title: "Area, one side", Align: pdf.Right},
		{Title: "At X, Y, Z"}, {Title: "Height", Align: pdf.Right}, {Title: "Slenderness", Align: pdf.Right}}}
	n := 0
	for _, r := range b.Outcome.Rubber {
		for i := range r.Walls {
			w := &r.Walls[i]
			if !b.listed(w) {
				continue
			}
			if n++; n > mostWalls {
				continue
			}
			height, slender := "–", "–"
			if w.Height > 0 {
				height = Length(w.Height)
			}
			if w.Slender > 0 {
				slender = Figure(math.Round(w.Slender*10) / 10)
			}
			t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Strong(fmt.Sprint(w.ID))}, pdf.Plain(b.pdf.Name(r.Name)), pdf.Plain(string(w.Kind)), pdf.Plain(w.Between[0].String() + ", " + w.Between[1].String()),
				pdf.Plain(Length(w.Least)), pdf.Plain(Area(w.Area)), pdf.Plain(Place(w.At)), pdf.Plain(height), pdf.Plain(slender)}})
		}
	}
	if n == 0 {
		return
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Thin places")
	b.pdf.Table(t)
	if n > mostWalls {
		b.pdf.Note(pdf.Text(fmt.Sprintf("%s more in report.json.", Plural(n-mostWalls, "thin place"))))
	}
}

func (b *book) edgeTable() {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Edge"}, {Title: "Half"}, {Title: "Angle", Align: pdf.Right}, {Title: "Length", Align: pdf.Right}, {Title: "Sharpest at X, Y, Z"}, {Title: "Shapes the part"}}}
	n := 0
	row := func(r *mold.HalfRubber, what string, e *mold.Edge) {
		if n++; n > mostWalls {
			return
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain(what), pdf.Plain(b.pdf.Name(r.Name)), pdf.Plain(Degrees(e.Angle)), pdf.Plain(Length(e.Length)), pdf.Plain(Place(e.At)),
			pdf.Plain(map[bool]string{true: "yes", false: "no"}[e.Molding])}})
	}
	for _, r := range b.Outcome.Rubber {
		for i := range r.Knives {
			row(r, "knife edge", &r.Knives[i])
		}
	}
	for _, r := range b.Outcome.Rubber { // of the inner corners the sharpest three a half
		for i := range r.Corners[:min(len(r.Corners), 3)] {
			row(r, "inner corner", &r.Corners[i])
		}
	}
	if n == 0 {
		return
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Sharp edges")
	b.pdf.Table(t)
	b.pdf.Note(pdf.Text("Knife edge: the angle is that of the rubber. Inner corner, without a fillet: that of the space in it; the sharpest three of each half are listed."))
}

// rubberPhrase says in a line how thin and sharp the rubber is; empty where nobody
// asked.
func rubberPhrase(o *checks.Outcome) string {
	if len(o.Rubber) == 0 || scattered(o) {
		return ""
	}
	around, thin := math.Inf(1), math.Inf(1)
	knives, corners := 0, 0
	for _, r := range o.Rubber {
		knives, corners = knives+len(r.Knives), corners+len(r.Corners)
		for i := range r.Walls {
			if w := &r.Walls[i]; w.Around() {
				around = min(around, w.Least)
			} else {
				thin = min(thin, w.Least)
			}
		}
	}
	least := func(x float64, key string) string {
		if limit := o.Limits.Get(key).Value; x >= limit {
			return "over " + Length(limit)
		}
		return Length(x)
	}
	return fmt.Sprintf("%s around the cavity, %s elsewhere; %s, %s", least(around, "around_mm"), least(thin, "thin_mm"), Plural(knives, "knife edge"), Plural(corners, "sharp inner corner"))
}
