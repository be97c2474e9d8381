package report

import (
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
)

// verdictPage is the page that is read alone: may we print, and why not.
func (b *book) verdictPage() error {
	b.pdf.Title()
	mark, ink := verdictLook(b.Outcome.Verdict)
	b.pdf.Banner(mark, ink, VerdictLine(b.Document), b.because()...)
	if err := b.wholePicture(); err != nil {
		return err
	}
	if b.Outcome.Fill != nil {
		b.pdf.Numbers(b.keyFigures()...)
	}
	b.files()
	b.pdf.Fields(
		pdf.Field{Label: "Decision", Options: []string{"print", "print after changes", "change, review again"}, Weight: 1.5},
		pdf.Field{Label: "Owner"}, pdf.Field{Label: "Date", Weight: 0.7}, pdf.Field{Label: "Signature", Weight: 1.2})
	return nil
}

// because names the worst finding and what could not be judged.
func (b *book) because() pdf.Runs {
	var out pdf.Runs
	for i := range b.Outcome.Findings {
		f := &b.Outcome.Findings[i]
		if f.Accepted == nil && f.Severity != checks.Note {
			out = append(out, pdf.Text("Begin with: "), pdf.To(typeset(f.Title), actionAnchor(f)), pdf.Text(". "))
			break
		}
	}
	var unjudged []string
	for _, n := range b.Outcome.NotJudged {
		if n.Asked {
			unjudged = append(unjudged, n.Check)
		}
	}
	if len(unjudged) > 0 {
		out = append(out, pdf.Text("Not judged: "+join(unjudged)+". "))
	}
	if b.Changes != nil {
		out = append(out, pdf.Text("Since the last run: "), pdf.To(ChangeLine(b.Changes), changesAnchor), pdf.Text("."))
	}
	return out
}

// join writes a list: a, b and c.
func join(words []string) string {
	out := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			out += " and "
		default:
			out += ", "
		}
		out += w
	}
	return out
}

// wholePicture sets the large picture, as high as the page allows beside the
// figures, the files and the boxes below it.
func (b *book) wholePicture() error {
	s := b.studio
	if s == nil {
		b.pdf.Para(pdf.Text("There is no picture: the mold could not be closed around the part. See what was not judged, and the inputs."))
		return nil
	}
	below := 78 + float64(6.5*float64(len(b.Outcome.Inputs)))
	v := s.whole()
	sh := s.wholeMold(v, b.Outcome.Findings, max(60, b.pdf.Room()-below))
	p, err := s.take(sh, b.wholeCaption(v, sh))
	if err != nil {
		return err
	}
	b.pdf.Figure(p)
	return nil
}

func (b *book) wholeCaption(v view, sh *shot) pdf.Runs {
	f := b.studio.fill
	if f == nil {
		return pdf.Runs{pdf.Strong("The closed mold cut open. "), pdf.Text("The pour was not computed.")}
	}
	out := pdf.Runs{pdf.Strong("The closed mold cut open as it is poured: " + tiltPhrase(f) + ". ")}
	air := "No air stays in this section. "
	if len(v.pockets) > 0 {
		air = "Look at the dotted blue areas: air that stays. "
	}
	out = append(out, pdf.Text(air+"Ochre is resin, hatched is rubber."))
	if n := len(b.Outcome.Findings); n > len(sh.marks) && len(sh.marks) == maxMarks {
		out = append(out, pdf.Text(fmt.Sprintf(" The circles carry the numbers of the %d most harmful findings that have a place; a dashed leader goes to a place in front of or behind this section.", maxMarks)))
	} else if len(sh.marks) > 0 {
		out = append(out, pdf.Text(" The circles carry the numbers of the findings; a dashed leader goes to a place in front of or behind this section."))
	}
	return out
}

// keyFigures are the numbers one asks for first.
func (b *book) keyFigures() []pdf.Number {
	f := b.Outcome.Fill
	share := "0"
	switch {
	case f.Cavity > 0 && f.Trapped >= 1e-4*f.Cavity:
		share = Figure(100 * f.Trapped / f.Cavity)
	case f.Trapped > 0:
		share = "< 0.01"
	}
	count := map[mold.Role]int{} // asked by role only
	for i := range f.Ports {
		count[f.Ports[i].Role]++
	}
	tilt := "tilt, side at azimuth " + Degrees(f.TiltSide) + " raised"
	if Degrees(f.TiltAngle) == "0°" {
		tilt = "tilt: poured level"
	}
	vents := "open to the outside"
	if n := count[mold.Blind]; n > 0 {
		vents += fmt.Sprintf("; %d blind", n)
	}
	return []pdf.Number{
		{Value: Figure(f.Trapped), Unit: "mm³", Label: "air trapped in the part, ± " + Volume(f.TrappedError)},
		{Value: share, Unit: "%", Label: "of the part's volume"},
		{Value: Figure(f.Cavity / 1000), Unit: "ml", Label: "cavity; channels " + Milliliters(f.Channels)},
		{Value: fmt.Sprint(count[mold.Vent]), Unit: noun(count[mold.Vent], "vent"), Label: vents},
		{Value: Degrees(f.TiltAngle), Label: tilt},
		{Value: Figure(f.Cell), Unit: "mm", Label: "cell of the check"},
	}
}

// noun is a word in the number that goes with n.
func noun(n int, one string) string { return strings.TrimLeft(Plural(n, one), "0123456789 ") }

// files lists what was read, shortly; the basis pages say the rest.
func (b *book) files() {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Role"}, {Title: "File"}, {Title: "Units"}, {Title: "Size", Align: pdf.Right}, {Title: "Volume", Align: pdf.Right}, {Title: "SHA-256, first 12", Align: pdf.Right}}}
	for _, in := range b.Outcome.Inputs {
		units := in.Units
		if in.UnitsFrom != "" {
			units += ", " + in.UnitsFrom
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{
			pdf.Plain(in.Role), pdf.Plain(b.pdf.Name(in.File)), pdf.Plain(units), pdf.Plain(sizeOf(in.Box)),
			pdf.Plain(Milliliters(in.Volume)), {pdf.Code(short(in.SHA256))},
		}})
	}
	b.pdf.Table(t)
}

// sizeOf writes the sides of a box.
func sizeOf(b geom.Box) string {
	if b.Empty() {
		return "empty"
	}
	s := b.Size()
	return fmt.Sprintf("%s × %s × %s mm", hundredth(s.X), hundredth(s.Y), hundredth(s.Z))
}

// short is the beginning of a hash, enough to tell files apart by eye.
func short(hash string) string { return hash[:min(12, len(hash))] }
