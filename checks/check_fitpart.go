package checks

import (
	"fmt"
	"math"
)

// What the check of the fit says of the part and its cavity.

// deviation reports where the cavity strays from the part. What the chords of both
// meshes explain is taken off first.
func (p *Pass) deviation() {
	if p.Fit.Mirrored {
		p.Report(Finding{kind: "mirrored", Severity: Stop, harm: maxHarm, Where: Where{Body: p.partName()}, Title: "The cavity is a mirrored copy of the part",
			Why: "A mirrored copy of the part fits it, the part itself does not.", Advice: "Mirror the part, or the halves, in CAD and export it again."})
		return
	}
	d := &p.Fit.Deviation
	worst := 0.0
	for i := range p.Fit.Features { // told on their own; they also make the largest deviation
		worst = max(worst, p.Fit.Features[i].Volume)
	}
	chords := 0.0
	for i := range p.Inputs {
		chords = max(chords, p.Inputs[i].Chord)
	}
	size := math.Abs(d.Max)
	j := p.Limits.Judge(size-2*chords, "deviation_mm")
	if !j.Broken() || p.Limits.Judge(worst, "feature_mm3").Broken() {
		return
	}
	side := "outside"
	if d.Max < 0 {
		side = "inside"
	}
	place := d.At
	p.Report(j.on(Finding{kind: "deviation", Where: Where{Body: p.partName(), At: &place}, anchor: &place,
		Title:  fmt.Sprintf("The cavity lies %s %s the part", mm(size), side),
		Why:    fmt.Sprintf("That is after scale and shift were taken out; %s in the mean over the surface.", mm(d.Mean)),
		Advice: "Check that part and halves are of one revision."}, size))
}

func (p *Pass) features() {
	for i := range p.Fit.Features {
		f := &p.Fit.Features[i]
		limits := []string{"feature_mm3"}
		if f.Missing {
			limits = []string{"feature_stop_mm3", "feature_mm3"}
		}
		j := p.Limits.Judge(f.Volume, limits...)
		if !j.Broken() {
			continue
		}
		place := f.At
		x := Finding{kind: "extra", Where: Where{Body: p.partName(), At: &place}, anchor: &place,
			Title:  fmt.Sprintf("The cavity has %s that the part lacks", mm3(f.Volume)),
			Why:    fmt.Sprintf("A hollow %s deep opens into the cavity and ends in the rubber. The cast gets it.", mm(f.Depth)),
			Advice: "Check that part and halves are of one revision."}
		if f.Missing {
			x.kind, x.Title = "missing", fmt.Sprintf("Rubber stands where the part has %s", mm3(f.Volume))
			x.Why = fmt.Sprintf("A piece of the part, up to %s deep, is not cut into the halves. The cast will lack it.", mm(f.Depth))
		}
		p.Report(j.on(x, f.Volume))
	}
}

// castSize compares the expected size of the cast with the drawn one.
func (p *Pass) castSize() {
	c := &p.Fit.Cast
	if !(c.Drawn.X > 0) || !(c.Drawn.Y > 0) || !(c.Drawn.Z > 0) {
		return
	}
	off := 0.0
	for _, s := range [3]float64{c.Size.X / c.Drawn.X, c.Size.Y / c.Drawn.Y, c.Size.Z / c.Drawn.Z} {
		if d := 100 * (s - 1); math.Abs(d) > math.Abs(off) {
			off = d
		}
	}
	off = math.Round(off*1000) / 1000
	j := p.Limits.Judge(math.Abs(off), "shrink_off_percent")
	if !j.Broken() {
		return
	}
	assumed := p.Job.From("liquid.shrink_percent") == "" && p.Job.From("printer.undersize_percent") == ""
	if assumed {
		j = j.atMost(Note)
	}
	way := "large"
	if off < 0 {
		way = "small"
	}
	wanted := 1 / (c.Print * (1 - c.Shrink))
	advice := fmt.Sprintf("Scale the part by %.4f before cutting the cavity, or correct liquid.shrink_percent and printer.undersize_percent.", wanted)
	if assumed {
		advice = "State the shrink of your resin and the size error of your printer: liquid.shrink_percent, printer.undersize_percent. Both are assumed here."
	}
	p.Report(j.on(Finding{kind: "size", Where: Where{Body: p.partName()}, Advice: advice,
		Title: fmt.Sprintf("The cast comes out %s %% too %s", figure(math.Abs(off)), way),
		Why:   fmt.Sprintf("The cavity is %.4f times the part, the print %s %% smaller than drawn, and the resin shrinks by %s %%.", c.Cavity.X/c.Drawn.X, figure(100*(1-c.Print)), figure(100*c.Shrink))}, math.Abs(off)))
}

// sections reports thin places of the part, the thinnest in full.
func (p *Pass) sections() {
	var places []string
	first := -1
	for i := range p.Fit.Sections {
		s := &p.Fit.Sections[i]
		if !p.Limits.Judge(s.Width, "section_stop_mm", "section_mm").Broken() {
			continue
		}
		if first < 0 {
			first = i
		} else if len(places) < 4 {
			places = append(places, fmt.Sprintf("%s at %s", mm(s.Width), at(s.At)))
		}
	}
	if first < 0 {
		return
	}
	s := &p.Fit.Sections[first]
	place := s.At
	why := "Resin is slow in narrow places, traps air and may set before it is through; the cast breaks there."
	if len(places) > 0 {
		why = text(why, "Also "+list(places)+".")
	}
	p.Report(p.Limits.Judge(s.Width, "section_stop_mm", "section_mm").on(Finding{kind: "section", Where: Where{Body: p.partName(), At: &place}, anchor: &place,
		Title: fmt.Sprintf("The part is only %s thick over %s", mm(s.Width), mm2(s.Area)), Why: why, Advice: "Make it 1 mm thick or more."}, s.Width))
}

// stubs reports what stays on show faces.
func (p *Pass) stubs() {
	for i := range p.Fit.Stubs {
		s := &p.Fit.Stubs[i]
		if s.Show == "" {
			continue
		}
		place := s.At
		f := Finding{kind: "stub-on-show", Severity: Discuss, harm: 1, Channel: s.Channel, Where: Where{Body: p.partName(), At: &place}, anchor: &place,
			Title:  fmt.Sprintf("%s leaves a stub of %s on the show face %s", capital(s.What), mm2(s.Area), s.Show),
			Why:    "It is cut off and sanded, and the place stays visible.",
			Advice: "Move it to a face that nobody sees."}
		value := s.Area
		f.Unit = "mm2"
		if s.Channel == 0 {
			f.kind, value, f.Unit = "line-on-show", s.Length, "mm"
			f.Title = fmt.Sprintf("The parting line crosses the show face %s", s.Show)
			f.Why = "A witness line stays on it."
			f.Advice = "Move the parting line to an edge, or accept the line."
		}
		f.Value = &value
		p.Report(f)
	}
}
