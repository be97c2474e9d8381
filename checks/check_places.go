package checks

import (
	"fmt"
	"math"
	"strings"

	"pourproof/checks/mold"
	"pourproof/geom"
)

const tellJob = "Export all bodies in the assembled position; or, if that is what you mean, write "

// places reports files that do not lie together; part of the intake. Nothing is
// moved: the job file does that on request.
func (p *Pass) places() {
	a := p.Places
	if a == nil || a.Together {
		return
	}
	why := fmt.Sprintf("As the files lie, the halves shape %s of the part's surface.", percent(a.Covered))
	part := p.partName()
	switch {
	case a.PartIs != "":
		p.Report(Finding{kind: "swapped", Severity: Stop, harm: maxHarm, Where: Where{Body: a.PartIs}, Title: fmt.Sprintf("%s lies in the others as a part does, %s does not", capital(a.PartIs), part),
			Why: text(why, "The part and a half seem to be swapped."), Advice: fmt.Sprintf("Name %s first, as the part.", a.PartIs)})
	case len(a.Moves) > 0:
		for i := range a.Moves {
			p.misplaced(&a.Moves[i], why)
		}
	case a.Mirrored:
		p.Report(Finding{kind: "mirrored", Severity: Stop, harm: maxHarm, Where: Where{Body: part}, Title: "The halves fit a mirrored copy of the part",
			Why: why, Advice: "Mirror the part, or the halves, in CAD and export it again."})
	case a.Bare != nil:
		at := a.Bare.At
		p.Report(Finding{kind: "half-missing", Severity: Stop, harm: maxHarm, Where: Where{Body: part, At: &at}, anchor: &at,
			Title:  fmt.Sprintf("Nothing shapes %s of the part, mostly its %s side: a half is missing", percent(a.Bare.Share), way(a.Bare.Direction)),
			Why:    text(why, "Every half given fits the part where it lies."),
			Advice: "Name every half, insert and core of the mold."})
	case len(a.Foreign) == 0:
		p.Report(Finding{kind: "apart", Severity: Stop, harm: maxHarm, Where: Where{Body: part}, Title: "The halves do not close around the part",
			Why: text(why, "No shift, quarter turn or unit was found that would make them."), Advice: "Check that part and halves are of one mold and one revision, exported in the assembled position."})
	}
	for _, name := range a.Foreign {
		p.Report(Finding{kind: "foreign", Severity: Stop, harm: maxHarm, Where: Where{Body: name}, Title: fmt.Sprintf("%s shapes nothing of the part", capital(name)),
			Why: text(why, "No shift, quarter turn or unit was found that would make it."), Advice: "Check that it is a half of this mold, and of this revision."})
	}
}

// misplaced reports one body that lies elsewhere.
func (p *Pass) misplaced(m *mold.Move, why string) {
	table, where := "[[half]]", "half"
	if m.Part {
		table, where = "[part]", "part"
	}
	var does, lines []string
	if m.Factor != 1 {
		does = append(does, "scaled by "+factor(m.Factor))
		lines = append(lines, "scale = "+factor(m.Factor))
	}
	if m.Turn != (geom.Vec{}) {
		does = append(does, fmt.Sprintf("turned by %s deg about X, Y, Z", degreesOf(m.Turn)))
		lines = append(lines, "turn = ["+degreesOf(m.Turn)+"]")
	}
	if m.Shift != (geom.Vec{}) {
		does = append(does, fmt.Sprintf("moved by %s mm", hundredths(m.Shift)))
		lines = append(lines, "move = ["+strings.Trim(hundredths(m.Shift), "()")+"]")
	}
	title := fmt.Sprintf("%s lies elsewhere: %s the mold would close", capital(m.Body), list(does))
	f := Finding{kind: "elsewhere", Severity: Stop, harm: maxHarm, Where: Where{Body: m.Body}, Title: title, Why: why,
		Advice: tellJob + strings.Join(lines, " and ") + fmt.Sprintf(" for this %s under %s in the job file.", where, table)}
	if p.placed(m) {
		f.Why = text(f.Why, "This comes on top of the scale, turn and move that the job file gives it now.")
	}
	if unit := unitOf(m.Factor); unit != "" {
		f.kind = "unit"
		f.Why = text(f.Why, fmt.Sprintf("It seems to have been drawn in %s and read as mm.", unit))
	}
	size := m.Shift.Norm()
	if m.Factor != 1 {
		size = m.Factor
	}
	f.Value = &size
	p.Report(f)
}

// placed tells whether the job file moves a body already.
func (p *Pass) placed(m *mold.Move) bool {
	names := mold.Names(p.Job)
	for i, s := range append([]mold.BodySpec{p.Job.Part}, p.Job.Halves...) {
		if names[i] == m.Body && (s.Scale != 0 && s.Scale != 1 || s.Turn != (geom.Vec{}) || s.Move != (geom.Vec{})) {
			return true
		}
	}
	return false
}

// unitOf names the unit that a factor turns into mm, empty for none.
func unitOf(factor float64) string {
	for _, s := range scales {
		if math.Abs(factor/s.factor-1) < 1e-3 {
			return s.unit
		}
	}
	return ""
}

func factor(x float64) string { return fmt.Sprintf("%.6g", x) }

func degreesOf(v geom.Vec) string {
	n := func(rad float64) string { return figure(math.Round(rad*180/math.Pi*1e3)/1e3 + 0) }
	return n(v.X) + ", " + n(v.Y) + ", " + n(v.Z)
}
