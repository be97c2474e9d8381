package checks

import (
	"fmt"
	"math"
	"strings"

	"pourproof/checks/mold"
)

// betterTilt says that another tilt spares air: it costs nothing but a wedge.
func (p *Pass) betterTilt() {
	s := p.Tilts
	if s == nil || s.Best.Tilt == s.Now.Tilt {
		return
	}
	gain := p.Fill.Trapped - s.BestFill.Trapped
	j := p.Limits.Judge(gain, "tilt_gain_mm3")
	if !j.Broken() || s.BestFill.Trapped > p.Fill.Trapped/2 {
		return
	}
	f := Finding{kind: "tilt", Title: fmt.Sprintf("Tilt %s leaves %s of air instead of %s", tiltFlag(s.Best.Tilt), mm3(s.BestFill.Trapped), mm3(p.Fill.Trapped)),
		Why:    "The tilt is free to choose until the mold is poured. " + p.tiltChoice(),
		Advice: fmt.Sprintf("Pour with --tilt %s: %s. It may be off by %s.", tiltFlag(s.Best.Tilt), raised(s.Best.Tilt), marginWords(s.BestMargin))}
	if s.IsFree(s.Best) && len(s.BestFill.Pockets) == 0 {
		f.Title = "Tilt " + tiltFlag(s.Best.Tilt) + " leaves no air: nothing to change in CAD"
	} else {
		j = j.atMost(Note) // vents are needed all the same
	}
	p.Report(j.on(f, gain))
}

// rocking says that tilts, one after the other, leave no air.
func (p *Pass) rocking() {
	s := p.Tilts
	if s == nil || s.Rocking == nil || len(s.Rocking.Steps) < 2 || len(p.Fill.Pockets) == 0 {
		return
	}
	gain := p.Fill.Trapped - s.Rocking.Least
	j := p.Limits.Judge(gain, "tilt_gain_mm3")
	if !j.Broken() {
		return
	}
	steps := s.Rocking.Steps
	many := map[int]string{2: "Two", 3: "Three"}[len(steps)]
	advice := ""
	for i, q := range steps {
		way := fmt.Sprintf("%s (%s)", tiltFlag(q.Tilt), raised(q.Tilt))
		switch i {
		case 0:
			advice = fmt.Sprintf("Stand the block at %s and press in %s.", way, ml(q.Until/1000))
		case len(steps) - 1:
			advice = text(advice, fmt.Sprintf("Turn it to %s and fill it up, plugging each vent as it weeps.", way))
		default:
			advice = text(advice, fmt.Sprintf("Turn it to %s and press in more, up to %s in all.", way, ml(q.Until/1000)))
		}
	}
	p.Report(j.atMost(Note).on(Finding{kind: "rocking", Title: many + " tilts, one after the other, leave less than " + mm3(s.Rocking.Least) + " of air",
		Why:    fmt.Sprintf("No single tilt up to %s deg frees every pocket of the mold as drawn. No exit that is still open lies below the resin on the way.", tenthDeg(s.Limit)),
		Advice: text(advice, "Turn slowly, so that the air has time to rise.")}, gain))
}

// tiltChoice says what else the search found.
func (p *Pass) tiltChoice() string {
	s := p.Tilts
	if n := len(s.Free()); n > 0 {
		return fmt.Sprintf("%d of %d tilts up to %s deg leave no air in the mold as drawn.", n, len(s.Points), tenthDeg(s.Limit))
	}
	if s.Fewest.Pockets < s.Best.Pockets {
		return fmt.Sprintf("No tilt up to %s deg leaves none; %s needs the fewest vents added: %d.", tenthDeg(s.Limit), tiltFlag(s.Fewest.Tilt), s.Fewest.Pockets)
	}
	return fmt.Sprintf("No tilt up to %s deg leaves none in the mold as drawn.", tenthDeg(s.Limit))
}

// narrowTilt says that a tilt without air must be held closely.
func (p *Pass) narrowTilt() {
	s := p.Tilts
	if s == nil || len(p.Fill.Pockets) > 0 || s.NowMargin.AtLeast || p.Limits.Judge(p.Fill.LevelCeilingArea, "level_ceiling_mm2").Broken() {
		return
	}
	deg := s.NowMargin.Angle * 180 / math.Pi
	j := p.Limits.Judge(deg, "tilt_margin_deg")
	if !j.Broken() {
		return
	}
	f := Finding{kind: "margin", Title: fmt.Sprintf("The tilt must hold: at %s %s of air stay", tiltFlag(s.NowMargin.Fails), mm3(s.NowMargin.Adds)),
		Why:    fmt.Sprintf("The chosen tilt leaves no air, and may be off by %s.", marginWords(s.NowMargin)),
		Advice: "Stand the block on a wedge cut to this angle, and check it with a level."}
	if s.Best.Tilt != s.Now.Tilt && s.BestMargin.Angle > s.NowMargin.Angle {
		f.Advice += fmt.Sprintf(" Or pour with --tilt %s, which may be off by %s.", tiltFlag(s.Best.Tilt), marginWords(s.BestMargin))
	}
	p.Report(j.on(f, deg))
}

// marginWords says how far off a tilt may be.
func marginWords(m mold.TiltMargin) string {
	switch {
	case m.AtLeast:
		return tenthDeg(m.Angle) + " deg and more"
	case m.Angle == 0:
		return "less than 1 deg"
	}
	return tenthDeg(m.Angle) + " deg"
}

// tenthDeg writes an angle to a tenth of a degree.
func tenthDeg(rad float64) string { return figure(math.Round(rad*1800/math.Pi) / 10) }

// tiltFlag writes a tilt as the flag takes it.
func tiltFlag(t mold.Tilt) string {
	if tenthDeg(t.Angle) == "0" {
		return "0"
	}
	return tenthDeg(t.Angle) + "@" + tenthDegree(t.Side)
}

// tenthDegree writes an azimuth, of which figure would drop the tenths.
func tenthDegree(rad float64) string { return strings.TrimSuffix(tenth(rad*180/math.Pi), ".0") }

// raised says a tilt in words.
func raised(t mold.Tilt) string {
	if tenthDeg(t.Angle) == "0" {
		return "the block level"
	}
	side := "azimuth " + tenthDegree(t.Side)
	switch tenthDegree(t.Side) {
	case "0":
		side = "+X"
	case "90":
		side = "+Y"
	case "180":
		side = "-X"
	case "270":
		side = "-Y"
	}
	return fmt.Sprintf("raise the side facing %s by %s deg", side, tenthDeg(t.Angle))
}
