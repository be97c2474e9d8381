package report

import (
	"fmt"
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

const fitAnchor = "fit"

// fitPages show how the halves meet, and how the part fits the cavity.
func (b *book) fitPages() error {
	c := b.Outcome.Fit
	if c == nil || b.Outcome.Mold == nil {
		return nil
	}
	b.pdf.PageBreak()
	b.pdf.Anchor(fitAnchor)
	b.pdf.Heading(1, "Fit of the halves")
	b.pdf.Numbers(b.fitFigures(c)...)
	for i := range c.Faces {
		b.facePictures(&c.Faces[i])
	}
	b.pdf.Note(pdf.Text(fmt.Sprintf("Faces touch where they are nearer than the chord errors of both facets and the rounding of files, here at most %.3f mm. Gaps under the seal of %s count as closed for the pour.",
		c.Tolerance, Length(b.Outcome.Mold.Seal))))
	b.landTable(c)
	b.keyTable(c)
	b.partInCavity(c)
	b.stubTable(c)
	b.reasons(func(f *checks.Finding) bool { return f.Check == "fit" })
	return nil
}

// fitFigures are the key figures of the fit.
func (b *book) fitFigures(c *mold.Closing) []pdf.Number {
	number := func(v float64, ok bool, unit, label string) pdf.Number {
		if !ok {
			return pdf.Number{Value: "–", Label: label}
		}
		return pdf.Number{Value: hundredth(v), Unit: unit, Label: label}
	}
	land, found := c.LandMin()
	clearance := math.Inf(1)
	for i := range c.Keys {
		clearance = min(clearance, c.Keys[i].Clearance)
	}
	keys := "no keys"
	if n := len(c.Keys); n > 0 {
		keys = fmt.Sprintf("least clearance of %s, per side", Plural(n, "key"))
	}
	offset := 0.0
	if c.HalvesOffset != nil {
		offset = c.HalvesOffset.Shift.Norm()
	}
	return []pdf.Number{number(c.OverlapDepth, true, "mm", "deepest overlap of halves"), number(c.GapMax, true, "mm", "largest gap between parting faces"),
		number(land, found, "mm", "narrowest land"), number(clearance, len(c.Keys) > 0, "mm", keys),
		number(offset, c.HalvesOffset != nil, "mm", "step, half against half"), number(c.Deviation.Max, true, "mm", "largest deviation of the cavity")}
}

// facePictures set both halves' faces side by side, from one camera.
func (b *book) facePictures(f *mold.FaceMap) {
	c := b.Outcome.Fit
	w := newFaceView(f, max(c.GapMax, 0.1), c.Tolerance)
	if w.nu <= 0 || w.nv <= 0 {
		return
	}
	name := func(h int) string { return b.pdf.Name(b.Outcome.Mold.Halves[h].Name) }
	legend := fmt.Sprintf("Pale: touches the other half. Violet: gap, darkest from %s. Red: overlap. Slate: part. Blue: gate and vents. Yellow: keys, K1 and on. Grey: sockets' rims, slots. Arrow: narrowest land.", hundredth(w.top*(gapSteps-1)/gapSteps)+" mm")
	const high = 95
	b.pdf.Figure(w.picture(b, f.A, pdf.Runs{pdf.Strong(fmt.Sprintf("Parting face of %s, seen along %s. ", name(f.A), axisName(f.Axis.Neg()))), pdf.Text(legend)}, high),
		w.picture(b, f.B, pdf.Runs{pdf.Strong(fmt.Sprintf("Parting face of %s, from the same side. ", name(f.B))), pdf.Text("Seen through the half: both pictures lie on each other as the closed halves do. Look whether pale rubber is all around the part.")}, high))
}

func (b *book) landTable(c *mold.Closing) {
	if len(c.Leaks) == 0 {
		b.pdf.Para(pdf.Text("No way along the parting faces leads from the cavity to the outside within 60 mm."))
		return
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Ways out along the parting face"}, {Title: "Land", Align: pdf.Right}, {Title: "From X, Y, Z"}, {Title: "To X, Y, Z"}}}
	for i := range c.Leaks {
		l := &c.Leaks[i]
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain("from the " + l.From), pdf.Plain(Length(l.Land)), pdf.Plain(coordinates(l.Path[0])), pdf.Plain(coordinates(l.Path[len(l.Path)-1]))}})
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Land")
	b.pdf.Table(t)
	b.pdf.Note(pdf.Text("Land: length of touching faces on the way. A channel's own exit is left out, and so is a way that is no shortcut past it."))
}

func (b *book) keyTable(c *mold.Closing) {
	if len(c.Keys) == 0 {
		b.pdf.Para(pdf.Text("No keys were found: protrusions of one half in recesses of another."))
		return
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Key", Width: 11}, {Title: "On"}, {Title: "Into"}, {Title: "Middle X, Y, Z"}, {Title: "Width", Align: pdf.Right}, {Title: "Depth", Align: pdf.Right},
		{Title: "Clearance a side", Align: pdf.Right}, {Title: "Least", Align: pdf.Right}, {Title: "To the cavity", Align: pdf.Right}}}
	for i := range c.Keys {
		k := &c.Keys[i]
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Strong(fmt.Sprintf("K%d", i+1))}, pdf.Plain(b.pdf.Name(k.Half)), pdf.Plain(b.pdf.Name(k.Socket)), pdf.Plain(coordinates(k.At)),
			pdf.Plain(Length(k.Width)), pdf.Plain(Length(k.Depth)), pdf.Plain(Length(k.Clearance)), pdf.Plain(Length(k.Least)), pdf.Plain(Length(k.ToCavity))}})
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Keys")
	b.pdf.Table(t)
	turned := "The mold closes one way only."
	if c.Reversible() {
		turned = "It would also close with one half mirrored."
		if t := &c.Turns[0]; !t.Mirror {
			turned = fmt.Sprintf("It also closes turned by %s.", Degrees(t.Angle))
		}
	}
	b.pdf.Para(pdf.Text(turned))
}

// partInCavity says how the part fits the cavity, and how large it comes out.
func (b *book) partInCavity(c *mold.Closing) {
	m := b.Outcome.Mold
	b.pdf.Keep(60)
	b.pdf.Heading(2, "Part and cavity")
	d := &c.Deviation
	pairs := []pdf.Pair{
		{Key: "Scale", Value: pdf.Plain(fmt.Sprintf("cavity %.4f times the part: a shrink of %s %%", m.Fit.Scale, Figure(100*(1-1/m.Fit.Scale))))},
		{Key: "Shift", Value: pdf.Plain(fmt.Sprintf("%s, %s, %s mm", hundredth(m.Fit.Offset.X), hundredth(m.Fit.Offset.Y), hundredth(m.Fit.Offset.Z)))},
		{Key: "Deviation", Value: pdf.Plain(deviationText(d))},
		{Key: "Cast size", Value: pdf.Plain(fmt.Sprintf("%s × %s × %s mm: cavity × %s printed × %s cast; drawn %s × %s × %s mm", size(c.Cast.Size.X), size(c.Cast.Size.Y), size(c.Cast.Size.Z),
			Figure(c.Cast.Print), fmt.Sprintf("%.4g", 1-c.Cast.Shrink), size(c.Cast.Drawn.X), size(c.Cast.Drawn.Y), size(c.Cast.Drawn.Z)))},
	}
	if n := len(c.Sections); n > 0 {
		s := &c.Sections[0]
		pairs = append(pairs, pdf.Pair{Key: "Thin sections", Value: pdf.Plain(fmt.Sprintf("%s, the thinnest %s at %s", Plural(n, "place"), Length(s.Width), coordinates(s.At)))})
	}
	if len(c.Cavities) > 1 {
		for i := range c.Cavities {
			v := &c.Cavities[i]
			pairs = append(pairs, pdf.Pair{Key: fmt.Sprintf("Cavity %d", i+1), Value: pdf.Plain(fmt.Sprintf("around %s: %s", coordinates(v.Middle), deviationText(&v.Deviation)))})
		}
	}
	b.pdf.Pairs(1, pairs...)
	if math.Abs(d.Max) > leastShown {
		b.deviationPictures(c)
	}
}

// leastShown is the deviation from which a map of it is drawn, mm.
const leastShown = 0.1

// size writes a length of the cast: nothing finer than 0.05 mm can be expected.
func size(mm float64) string { return fmt.Sprintf("%.2f", math.Round(mm*20)/20) }

func deviationText(d *mold.Deviation) string {
	if math.Abs(d.Max) < 0.005 {
		return "under 0.01 mm everywhere"
	}
	side := "outside"
	if d.Max < 0 {
		side = "inside"
	}
	return fmt.Sprintf("up to %s %s the part at %s, %s in the mean", Length(math.Abs(d.Max)), side, coordinates(d.At), Length(d.Mean))
}

func (b *book) stubTable(c *mold.Closing) {
	if len(c.Stubs) == 0 {
		return
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "What stays on the cast"}, {Title: "Area", Align: pdf.Right}, {Title: "Length", Align: pdf.Right}, {Title: "At X, Y, Z"}, {Title: "Show face"}}}
	for i := range c.Stubs {
		s := &c.Stubs[i]
		show, length, area := s.Show, "–", Area(s.Area)
		if show == "" {
			show = "no"
		}
		if s.Channel == 0 {
			length = Length(s.Length)
			if s.Area == 0 {
				area = "a line"
			}
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain(s.What), pdf.Plain(area), pdf.Plain(length), pdf.Plain(coordinates(s.At)), pdf.Plain(show)}})
	}
	b.keep(len(t.Rows))
	b.pdf.Heading(2, "Stubs and lines")
	b.pdf.Table(t)
}
