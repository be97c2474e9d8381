package checks

import (
	"fmt"
	"math"
)

var stepsCheck = Check{
	Name: "steps", Title: "Layer steps",
	Doc: `
Height of the layer steps on the faces that shape the part.

On a face with unit normal n a print in layers of height t has steps (cusps) of
c = t |n . build|: none on upright faces, the whole layer on nearly level ones. A face
that rises less than a layer over its length has no step: level floors are left out.
The mean is taken over the area of the faces that have steps.

Source: Dolenc and Makela, Computer-Aided Design 26, 1994.`,
	Limits: []string{"step_um"},
	Run:    checkSteps,
}

func checkSteps(p *Pass) {
	if !p.printed() {
		return
	}
	for _, q := range p.Prints {
		s := &q.Step
		if s.Area == 0 {
			continue
		}
		worst := um(s.Worst)
		if worst == 0 {
			continue // upright walls and level floors only
		}
		place := s.WorstAt
		f := Finding{kind: "steps", of: q.Name, Where: Where{Body: q.Name, At: &place}, Severity: Note, harm: 1, Value: &worst, Unit: "um"}
		f.Title = fmt.Sprintf("Layer steps on %s: up to %s um, %s um in the mean", q.Name, figure(worst), figure(um(s.Mean)))
		f.Why = fmt.Sprintf("Layers of %s um with build %s leave steps on %s of the faces that shape the part; the largest is at %s.", figure(um(q.Printer.Layer)), way(q.Build), mm2(s.Area), at(place))
		f.Advice = "No action needed where a matt surface is wanted. Thinner layers, or a build direction along the faces that are looked at, make them smaller."
		if j := p.Limits.Judge(worst, "step_um"); j.Broken() {
			f = j.on(f, worst)
		}
		p.Report(f)
	}
}

// um turns millimetres into micrometres, to a tenth.
func um(mm float64) float64 { return math.Round(mm*1e4) / 10 }
