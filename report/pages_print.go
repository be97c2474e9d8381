package report

import (
	"fmt"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

// printPages show each half as it is printed: cut open through its largest cup, from
// the platform's side with the faces that need supports, the area sealed layer by
// layer, and the best ways to lay it.
func (b *book) printPages() error {
	o := b.Outcome
	for i := range o.Prints {
		p := o.Prints[i]
		if i == 0 {
			b.pdf.PageBreak()
		} else {
			b.chapter(190)
		}
		b.pdf.Anchor(printAnchor(p.Name))
		b.pdf.Heading(1, "Printing "+b.pdf.Name(p.Name))
		b.pdf.Para(b.printSummary(p)...)
		if b.studio != nil {
			if err := b.printPictures(i, p); err != nil {
				return err
			}
		}
		b.cupTable(p)
		if err := b.stepsAndSeal(i, p); err != nil {
			return err
		}
		b.reasons(func(f *checks.Finding) bool { return ofPrint(f) && f.Where.Body == p.Name })
		if s := poseOf(o, p.Half); s != nil {
			if err := b.poses(i, p, s); err != nil {
				return err
			}
		}
	}
	return nil
}

func printAnchor(name string) string { return "print-" + name }

// ofPrint tells whether a finding is one of the print's.
func ofPrint(f *checks.Finding) bool {
	return f.Check == "cups" || f.Check == "scars" || f.Check == "steps"
}

// printSummary says in a few sentences how a half is printed.
func (b *book) printSummary(p *mold.Printed) pdf.Runs {
	build := "assumed: the parting face looks away from the platform"
	if p.Given {
		build = "as stated"
	}
	stands := "flat on the platform"
	if !p.Flat {
		stands = fmt.Sprintf("on supports, %s above the platform", Length(p.Printer.Raise))
	}
	out := pdf.Runs{pdf.Text("Build direction "), pdf.Strong(direction(p.Build)), pdf.Text(fmt.Sprintf(" (%s), %s, %s high. ", build, stands, Length(p.Height)))}
	scars := fmt.Sprintf("%s of its faces need supports, %s of them shape the part. ", Area(p.Scars.Area), Area(p.Scars.Molding))
	if p.Scars.Area == 0 {
		scars = "No face needs supports. "
	}
	out = append(out, pdf.Text(scars))
	if n := len(p.Starts); n > 0 {
		out = append(out, pdf.Text(fmt.Sprintf("%s. ", Plural(n, "free start"))))
	}
	if n := len(p.Loose); n > 0 {
		out = append(out, pdf.Strong(fmt.Sprintf("%s. ", Plural(n, "loose piece"))))
	}
	if p.Step.Area > 0 && p.Step.Worst > 0 {
		out = append(out, pdf.Text(fmt.Sprintf("Layer steps on %s that shape the part: %s µm in the mean, %s µm at most. ", Area(p.Step.Area), Figure(1000*p.Step.Mean), Figure(1000*p.Step.Worst))))
	}
	return append(out, pdf.Text("Heights are counted from the lowest point of the half."))
}

// printPictures set the section through the largest cup beside the view from the
// platform's side.
func (b *book) printPictures(i int, p *mold.Printed) error {
	s := b.studio
	section, under := s.printedCut(i, p, halfWidth), s.printedBelow(i, p, halfWidth)
	high := max(section.wanted(), under.wanted())
	cut, err := s.take(section.exactly(high), pdf.Runs{pdf.Strong("As printed, cut open. "),
		pdf.Text("Dots: hollows that the film seals, as large as they get. The platform is below, the film above. Look where a cup's floor could drain.")})
	if err != nil {
		return err
	}
	below, err := s.take(under.exactly(high), pdf.Runs{pdf.Strong("From the platform's side. "),
		pdf.Text("Dark red: faces that need supports and shape the part. Amber: other faces that need supports.")})
	if err != nil {
		return err
	}
	b.pdf.Figure(cut, below)
	return nil
}

// mostCups is how many cups the table of a half lists.
const mostCups = 10

func (b *book) cupTable(p *mold.Printed) {
	if len(p.Cups) == 0 && len(p.Sealed) == 0 {
		b.pdf.Para(pdf.Text("No closed cup and no sealed void."))
		return
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Cup", Width: 11}, {Title: "Opening", Align: pdf.Right}, {Title: "Suction up to", Align: pdf.Right}, {Title: "Volume", Align: pdf.Right},
		{Title: "From, to", Align: pdf.Right}, {Title: "Deepest X, Y, Z"}, {Title: "Way out below the film"}, {Title: "Relief hole"}}}
	for i := range p.Cups[:min(len(p.Cups), mostCups)] {
		c := &p.Cups[i]
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Strong(fmt.Sprint(c.ID))}, pdf.Plain(Area(c.Area)), pdf.Plain(Figure(c.Bound) + " N"), pdf.Plain(Volume(c.Volume)),
			pdf.Plain(fmt.Sprintf("%s, %s", hundredth(c.From), hundredth(c.To))), pdf.Plain(coordinates(c.Deepest)), pdf.Plain(wayOut(c)), pdf.Plain(holeText(c))}})
	}
	for _, v := range p.Sealed {
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Strong(fmt.Sprintf("void %d", v.ID))}, pdf.Plain("–"), pdf.Plain("–"), pdf.Plain(Volume(v.Volume)), pdf.Plain("–"), pdf.Plain(coordinates(v.At)), pdf.Plain("none: sealed"), pdf.Plain("–")}})
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Closed cups")
	b.pdf.Table(t)
	if n := len(p.Cups) - mostCups; n > 0 {
		b.pdf.Note(pdf.Text(fmt.Sprintf("%s more in report.json.", Plural(n, "smaller cup"))))
	}
}

// wayOut says how a cup reaches the outside.
func wayOut(c *mold.Cup) string {
	switch w := c.Passage; {
	case w != nil:
		name := fmt.Sprintf("⌀ %s at %s", Length(w.Width), coordinates(w.At))
		if w.Channel != 0 {
			name = fmt.Sprintf("channel %d, ⌀ %s", w.Channel, Length(w.Width))
		}
		if w.Count > 1 {
			name += fmt.Sprintf(" and %d more", w.Count-1)
		}
		return fmt.Sprintf("%s; loses %s kPa", name, Figure(w.Drop))
	case c.Into != 0:
		return fmt.Sprintf("merges with cup %d", c.Into)
	case c.Void != 0:
		return fmt.Sprintf("none: sealed void %d", c.Void)
	case c.Platform:
		return "none: the platform closes it"
	}
	return "none"
}

func holeText(c *mold.Cup) string {
	o := c.Hole
	if o == nil {
		return "–"
	}
	plug := ""
	if o.Molding {
		plug = "; plug before casting"
	}
	return fmt.Sprintf("⌀ %s from %s along %s, %s long%s", Length(o.Diameter), coordinates(o.At), direction(o.Direction), Length(o.Length), plug)
}

// stepsAndSeal set the layer steps beside the area that each layer seals.
func (b *book) stepsAndSeal(i int, p *mold.Printed) error {
	var row []pdf.Figure
	if b.studio != nil && p.Step.Area+p.Step.Level > 0 {
		const high = 62
		um := func(quarters float64) string { return Figure(1000 * p.Printer.Layer * quarters / 4) }
		picture, err := b.studio.take(b.studio.stepped(i, p, halfWidth).exactly(high), pdf.Runs{pdf.Strong("Layer steps, seen from the part. "),
			pdf.Text(fmt.Sprintf("The darker, the higher: up to %s, %s, %s and %s µm. Palest: upright or level, no steps. The cross marks the highest: %s µm.", um(1), um(2), um(3), um(4), Figure(1000*p.Step.Worst)))})
		if err != nil {
			return err
		}
		row = append(row, picture)
	}
	if c, ok := sealedChart(p); ok {
		row = append(row, c)
	}
	if len(row) > 0 {
		b.pdf.Figure(row...)
	}
	return nil
}

// sealedChart shows how much area each layer seals.
func sealedChart(p *mold.Printed) (pdf.Chart, bool) {
	most := 0.0
	s := pdf.Series{Name: "sealed area", Steps: true}
	for _, a := range p.Curve {
		s.X, s.Y = append(s.X, a.Height), append(s.Y, a.Area)
		most = max(most, a.Area)
	}
	if len(p.Curve) < 2 || most == 0 {
		return pdf.Chart{}, false
	}
	c := pdf.Chart{X: pdf.Axis{Label: "height above the half's lowest point, mm", Min: 0, Max: p.Extent}, Y: pdf.Axis{Label: "mm²", Min: 0, Max: 1.1 * max(most, 220)},
		Lines: []pdf.Series{s}, Height: 42, Caption: pdf.Runs{pdf.Strong("Area sealed by the film, layer by layer. "), pdf.Text("Cups that no passage relieves. Air pressure times area bounds the suction: 98.7 mm² is 10 N, 197 mm² is 20 N.")}}
	c.Limits = []pdf.Limit{{At: 20 / 0.101325, Label: "20 N"}}
	if most < 1000 { // else the two lines are one
		c.Limits = append(c.Limits, pdf.Limit{At: 10 / 0.101325, Label: "10 N"})
	}
	return c, true
}

// poses lists the best ways to lay a half and shows three of them.
func (b *book) poses(i int, p *mold.Printed, s *mold.PoseSearch) error {
	best := s.Distinct(3)
	if len(best) == 0 {
		return nil
	}
	b.pdf.Keep(120)
	b.pdf.Heading(2, "Ways to lay it")
	b.pdf.Para(pdf.Text(fmt.Sprintf("%s were tried. Below are up to three that no other beats in everything, at least 15° apart, on supports, and the present one. Figures are those of coarse columns (%s).", Plural(len(s.Points), "build direction"), Length(s.Cell))))
	if b.studio != nil {
		var pictures []pdf.Figure
		for n := range best {
			sh := b.studio.posed(i, p, best[n].Build, 54)
			picture, err := b.studio.take(sh.exactly(50), pdf.Runs{pdf.Strong(fmt.Sprintf("Way %d. ", n+1)), pdf.Text("Build " + direction(best[n].Build))})
			if err != nil {
				return err
			}
			pictures = append(pictures, picture)
		}
		b.pdf.Figure(pictures...)
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Way"}, {Title: "Build X, Y, Z"}, {Title: "Sealed at most", Align: pdf.Right}, {Title: "In cups", Align: pdf.Right}, {Title: "Scars on the part", Align: pdf.Right},
		{Title: "Elsewhere", Align: pdf.Right}, {Title: "Free starts", Align: pdf.Right}, {Title: "Step, mean", Align: pdf.Right}, {Title: "Height", Align: pdf.Right}, {Title: "Fits"}}}
	row := func(name string, x *mold.PosePoint) {
		fits := "–"
		if x.Fits != nil {
			fits = map[bool]string{true: "yes", false: "no"}[*x.Fits]
		}
		build := direction(x.Build)
		if x.Flat {
			build += ", flat"
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Strong(name)}, pdf.Plain(build), pdf.Plain(Area(x.CupArea)), pdf.Plain(Volume(x.CupVolume)), pdf.Plain(Area(x.Scar)), pdf.Plain(Area(x.ScarAll - x.Scar)),
			pdf.Plain(fmt.Sprint(x.Starts)), pdf.Plain(Figure(1000*x.Step) + " µm"), pdf.Plain(Length(x.Height)), pdf.Plain(fits)}})
	}
	for n := range best {
		row(fmt.Sprint(n+1), &best[n])
	}
	row("now", &s.Now)
	b.pdf.Table(t)
	b.pdf.Note(pdf.Text("Sealed at most: by one layer. Passages narrower than the relief width count as closed. Scars: faces that need supports. Fits: the printer's build volume; – where that is not given."))
	return nil
}
