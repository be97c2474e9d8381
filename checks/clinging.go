package checks

import (
	"fmt"

	"pourproof/geom"
)

// clinging notes the holes whose air surface tension may hold, all in one: part of the
// check of the air. Resin may run down a wall of each, so they are no pockets.
func (p *Pass) clinging() {
	list := p.Fill.Clinging
	if len(list) == 0 {
		return
	}
	sure, narrow := 0, list[0].Width
	for i := range list {
		if list[i].Sure {
			sure++
		}
		narrow = min(narrow, list[i].Width)
	}
	holds, may := p.Job.Liquid.CapillaryWidths()
	top, v, e := list[0].Top, list[0].Volume, list[0].Error
	f := Finding{kind: "capillary", Severity: Note, harm: 1, Where: Where{Body: p.partName(), At: &top}, anchor: &top, Pocket: list[0].ID, Value: &v, Unit: "mm3", Error: &e,
		Title: fmt.Sprintf("%s upward may keep air: narrowest %s", holesOpen(len(list)), mm(narrow)),
		Why: fmt.Sprintf("Resin of %s mN/m and %s g/ml can bridge a hole up to %s wide and lie over its air; in one under %s (%s here) a bubble does not rise at all. They are counted as filled.",
			figure(p.Job.Liquid.SurfaceTension), figure(p.Job.Liquid.Density), mm(may), mm(holds), figure(float64(sure))),
		Advice: fmt.Sprintf("Put resin into %s with a brush or a needle before closing the mold, or tip it during the pour so that one wall is wetted first.", places(list[0].Top, len(list)))}
	p.Report(f)
}

func holesOpen(n int) string {
	if n == 1 {
		return "1 narrow hole that opens"
	}
	return fmt.Sprintf("%d narrow holes that open", n)
}

func places(first geom.Vec, n int) string {
	if n == 1 {
		return "it at " + at(first)
	}
	return fmt.Sprintf("them, the largest at %s", at(first))
}
