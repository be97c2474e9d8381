package report

import (
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/report/pdf"
)

// basisPages say what all the rest stands on: inputs, settings, limits, method,
// errors, what was not judged, and the cautions.
func (b *book) basisPages() error {
	b.chapter(110)
	b.pdf.Heading(1, "What this rests on")
	b.inputs()
	b.notJudged()
	b.method()
	b.selfProof()
	b.limits()
	b.settings()
	b.coupon()
	b.cautions()
	return nil
}

func (b *book) inputs() {
	b.pdf.Anchor("inputs")
	b.pdf.Heading(2, "Inputs")
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "Name"}, {Title: "Role"}, {Title: "Format"}, {Title: "Facets", Align: pdf.Right}, {Title: "Shells", Align: pdf.Right}, {Title: "Closed"},
		{Title: "Volume", Align: pdf.Right}, {Title: "Area", Align: pdf.Right}, {Title: "Chord error", Align: pdf.Right}, {Title: "From X, Y, Z"}, {Title: "To X, Y, Z"}}}
	for _, in := range b.Outcome.Inputs {
		closed := "no"
		if in.Closed {
			closed = "yes"
		}
		t.Rows = append(t.Rows, pdf.R(b.pdf.Name(in.Name), in.Role, in.Format, fmt.Sprint(in.Triangles), fmt.Sprint(in.Shells), closed,
			Volume(in.Volume), Area(in.Area), Length(in.Chord), coordinates(in.Box.Min), coordinates(in.Box.Max)))
	}
	b.pdf.Table(t)
	sums := pdf.Runs{pdf.Text("SHA-256")}
	for _, in := range b.Outcome.Inputs {
		sums = append(sums, pdf.Text("\n"), pdf.Code(in.SHA256), pdf.Text("  "+b.pdf.Name(in.File)))
	}
	b.pdf.Note(sums...)
	var said []pdf.Runs
	for _, in := range b.Outcome.Inputs {
		for _, r := range in.Repairs {
			said = append(said, pdf.Runs{pdf.Strong(b.pdf.Name(in.Name) + ", put right: "), pdf.Text(typeset(repairText(&r)) + ".")})
		}
		for _, w := range in.Warnings {
			said = append(said, pdf.Runs{pdf.Strong(b.pdf.Name(in.Name) + ", note: "), pdf.Text(typeset(w.Text))})
		}
	}
	if m := b.Outcome.Mold; m != nil {
		for _, w := range m.Warnings {
			said = append(said, pdf.Runs{pdf.Strong("Closed mold: "), pdf.Text(typeset(w))})
		}
	}
	if len(said) > 0 {
		b.pdf.Bullets(said...)
	}
	b.reasons(func(f *checks.Finding) bool { return f.Check == "intake" })
}

func (b *book) notJudged() {
	b.pdf.Heading(2, "Not judged")
	if len(b.Outcome.NotJudged) == 0 {
		b.pdf.Para(pdf.Text("Every check of this version was judged."))
		return
	}
	var reasons []string
	checks := map[string][]string{} // by reason; read in the order of reasons
	for _, n := range b.Outcome.NotJudged {
		if len(checks[n.Why]) == 0 {
			reasons = append(reasons, n.Why)
		}
		checks[n.Why] = append(checks[n.Why], n.Check)
	}
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Why"}, {Title: "Checks"}}}
	for _, why := range reasons {
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Tag(pdf.Dash, typeset(why), quietInk)}, pdf.Plain(strings.Join(checks[why], ", "))}})
	}
	b.pdf.Table(t)
}

// method says how the answers were made and how far off they may be.
func (b *book) method() {
	b.pdf.Heading(2, "Method and errors")
	b.pdf.Para(pdf.Text("Geometry and hydrostatics, nothing else: the halves are closed around the part, the empty space between them is sorted into cavity, channels and outside, and resin is let rise from the gate. It gathers in pools that rise, spill over and merge; air leaves as long as it has a way to the outside; what is cut off stays. This is gravity-ordered invasion with trapping (Wilkinson and Willemsen 1983; Masson 2016) with pools (Barnes et al. 2021)."))
	b.pdf.Para(pdf.Text("It knows nothing of viscous flow, surface tension beyond a note, jets, resin that gels half way, heat, cure or rubber that bends."))
	o := b.Outcome
	if o.Mold == nil {
		return
	}
	pairs := []pdf.Pair{
		{Key: "Cell", Value: pdf.Plain(fmt.Sprintf("%s mm, %s", Figure(o.Mold.Cell), o.Mold.CellWhy))},
		{Key: "Seal", Value: pdf.Plain(Length(o.Mold.Seal) + ": narrower gaps between the halves count as closed")},
		{Key: "Skin", Value: pdf.Plain(Length(o.Mold.Skin) + " around the part still counts as cavity")},
		{Key: "Reach", Value: pdf.Plain(Length(o.Mold.Reach) + ": radius of the ball that rolls over the outside")},
		{Key: "Part in cavity", Value: pdf.Plain(b.fit())},
	}
	if f := o.Fill; f != nil {
		pairs = append(pairs,
			pdf.Pair{Key: "Volumes", Value: pdf.Plain(fmt.Sprintf("cavity %s = filled %s + trapped %s + not reached %s; channels %s", Milliliters(f.Cavity), Milliliters(f.Filled), Volume(f.Trapped), Volume(f.Unreached), Milliliters(f.Channels)))},
			pdf.Pair{Key: "Error", Value: pdf.Plain(fmt.Sprintf("trapped air ± %s; a pocket below its own error or 1 mm³ is not listed (here %d, together %s)", Volume(f.TrappedError), f.SmallCount, least(f.SmallVolume)))},
			pdf.Pair{Key: "Up of the pour", Value: pdf.Plain(Way(f.Up) + " in the CAD frame, " + tiltPhrase(f))})
	}
	b.pdf.Pairs(1, pairs...)
}

// least writes a volume that may be next to nothing.
func least(mm3 float64) string {
	if mm3 > 0 && mm3 < 0.01 {
		return "under 0.01 mm³"
	}
	return Volume(mm3)
}

// fit says how the part lies in the cavity.
func (b *book) fit() string {
	f := b.Outcome.Mold.Fit
	if !f.Applied {
		return fmt.Sprintf("as modeled; 90 %% of its surface lies within %s of the cavity's", Length(f.Quantile90))
	}
	return fmt.Sprintf("scaled by %.4f and moved by %s to lie in the cavity; then 90 %% of its surface lies within %s of it", f.Scale, Place(f.Offset), Length(f.Quantile90))
}

func (b *book) limits() {
	if b.Outcome.Limits == nil {
		return
	}
	b.pdf.Heading(2, "Limits")
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Limit"}, {Title: "Value", Align: pdf.Right, Width: 18}, {Title: "What it decides"}, {Title: "Source"}, {Title: "Set by"}}}
	for _, l := range b.Outcome.Limits.All() {
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Code(l.Key)}, pdf.Plain(Number(l.Value, l.Unit)), pdf.Plain(typeset(l.What)), pdf.Plain(typeset(l.Source)), pdf.Plain(l.From)}})
	}
	b.pdf.Table(t)
}

func (b *book) settings() {
	if len(b.Outcome.Settings) == 0 {
		return
	}
	b.pdf.Heading(2, "Settings")
	t := pdf.Table{Size: 7.5, Columns: []pdf.Column{{Title: "Setting", Width: 44}, {Title: "Value"}, {Title: "Set by", Width: 30}, {Title: "Source of the default"}}}
	var open []string
	for _, s := range b.Outcome.Settings {
		if s.From == "not given" {
			open = append(open, s.Name)
			continue
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{{pdf.Code(s.Name)}, pdf.Plain(b.pdf.Name(typeset(withUnit(s)))), pdf.Plain(s.From), pdf.Plain(typeset(s.Source))}})
	}
	b.pdf.Table(t)
	if len(open) > 0 {
		b.pdf.Note(pdf.Text("Not given, and not needed for this report: " + join(open) + "."))
	}
}

// withUnit is a setting's value with its unit, where it is a bare number.
func withUnit(s checks.Setting) string {
	if s.Number == nil || s.Unit == "" || strings.HasSuffix(s.Value, s.Unit) {
		return s.Value
	}
	return s.Value + " " + s.Unit
}

// cautions defer to those who know the materials and the vessel.
func (b *book) cautions() {
	b.pdf.Keep(105)
	b.pdf.Heading(2, "Cautions")
	b.pdf.Caution("Geometry check only. Follow the data sheets of your material makers, local codes and qualified practice; they take precedence.")
	b.pdf.Bullets(
		pdf.Runs{pdf.Strong("Pressure vessel. "), pdf.Text("Never above its stamped rating; a rated relief valve with no stop valve before it; only vessels made for pressure, home-made ones have exploded; vent before opening. A closed void in a half can collapse under pressure.")},
		pdf.Runs{pdf.Strong("Compressed air. "), pdf.Text("Fill slowly, or the blast blows resin out of the mold; never point it at skin or eyes.")},
		pdf.Runs{pdf.Strong("Isocyanates. "), pdf.Text("Diisocyanates can cause asthma and permanent sensitization, also through the skin (NIOSH Alert 96-111, 1996; Bello et al. 2007): ventilation, gloves, respiratory protection and training as local rules ask.")},
		pdf.Runs{pdf.Strong("Acrylates and UV. "), pdf.Text("Uncured resin sensitizes skin; change gloves when wet; wash solvent carries uncured resin. Cure in a shielded box; protect eyes and skin.")},
		pdf.Runs{pdf.Strong("Solvents. "), pdf.Text("Isopropyl alcohol and butyl acetate ignite near room temperature: no ignition sources, ventilation, closed waste.")},
		pdf.Runs{pdf.Strong("Cyanoacrylate. "), pdf.Text("Bonds skin and eyes; do not pull apart, get medical help.")},
		pdf.Runs{pdf.Strong("Heat and edges. "), pdf.Text("Large masses of resin get hot while they cure; knives and trimmed flash are sharp.")})
}
