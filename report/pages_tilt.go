package report

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
)

// tiltAnchor names the page of the tilts.
const tiltAnchor = "tilt"

// tiltPages show what every way to stand the block traps.
func (b *book) tiltPages() error {
	s := b.Outcome.Tilts
	if s == nil {
		return nil
	}
	b.chapter(200)
	b.pdf.Anchor(tiltAnchor)
	b.pdf.Heading(1, "Tilt")
	b.pdf.Para(b.tiltSummary(s)...)
	b.pdf.Figure(tiltDisc(s))
	b.pdf.Table(tiltTable(s))
	if s.Best.Tilt != s.Now.Tilt {
		b.bestVents(s)
	}
	if s.Rocking != nil {
		b.pdf.Para(pdf.Strong("Rocking, tilts one after the other: "), pdf.Text(rockingLine(s)))
	}
	b.pdf.Note(pdf.Text(fmt.Sprintf("Margin: how far off that tilt the block may stand, to any of eight sides, before another pocket or %s more air appears; looked at up to 16°. "+
		"The tilts are poured with columns every %s and are known to that; the best one was poured again at the cell of this report.", Volume(b.Outcome.Limits.Get("air_stop_mm3").Value), Length(s.Cell))))
	return nil
}

// bestVents lists the vents that free what the best tilt leaves.
func (b *book) bestVents(s *mold.TiltSearch) {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Mouth X, Y, Z (mm)"}, {Title: "Exit X, Y, Z (mm)"}, {Title: "Direction"}, {Title: "Diameter", Align: pdf.Right},
		{Title: "Length", Align: pdf.Right}, {Title: "Through"}, {Title: "Frees", Align: pdf.Right}}}
	for i := range s.BestFill.Vents {
		v := &s.BestFill.Vents[i]
		t.Rows = append(t.Rows, pdf.R(coordinates(v.Mouth), coordinates(v.Exit), direction(v.Direction), Length(v.Diameter), Length(v.Length), b.pdf.Name(v.Half), Volume(v.Frees)))
	}
	if len(t.Rows) == 0 {
		return
	}
	b.pdf.Heading(3, "Vents to add at the best tilt")
	b.pdf.Para(pdf.Text(fmt.Sprintf("Poured at %s with these added, %s stay. Pour with --tilt %s to have them in vents.csv and vents.stl.", tiltFlag(s.Best.Tilt), Volume(s.BestFill.VentsLeave), tiltFlag(s.Best.Tilt))))
	b.pdf.Table(t)
}

// tiltSummary says in a few sentences what the search found.
func (b *book) tiltSummary(s *mold.TiltSearch) pdf.Runs {
	free := len(s.Free())
	out := pdf.Runs{pdf.Text(fmt.Sprintf("%d ways to stand the block were poured, up to %s off its rest. ", len(s.Points), Degrees(s.Limit)))}
	switch {
	case free > 0:
		out = append(out, pdf.Strong(fmt.Sprintf("%d of them leave no air in the mold as drawn", free)), pdf.Text(": a tilt inside the ringed region needs no change in CAD. "))
	default:
		out = append(out, pdf.Strong("None of them leaves the mold as drawn without air. "))
	}
	if s.Best.Tilt == s.Now.Tilt {
		out = append(out, pdf.Text("The chosen tilt is the best of them. "))
	} else {
		out = append(out, pdf.Text(fmt.Sprintf("The best, --tilt %s, leaves %s. ", tiltFlag(s.Best.Tilt), Volume(s.BestFill.Trapped))))
	}
	return append(out, pdf.Text(marginSentence(s)), pdf.Text(fmt.Sprintf(" Within 5° of it up to %s stay.", Volume(s.Worst5))))
}

// The disc of tilts is drawn in cells of 2.5 by 5 degrees at the default limit,
// finer than the tilts lie; each takes the answer of the tilt nearest to it.
const (
	discRings   = 24
	discSectors = 72
)

// tiltDisc is the map of all tilts.
func tiltDisc(s *mold.TiltSearch) pdf.Disc {
	deg := func(rad float64) float64 { return rad * 180 / math.Pi }
	m := pdf.Disc{Sectors: discSectors, Classes: classWords(), Ringed: true, Label: "air that stays, mm³", Size: 96,
		Caption: pdf.Runs{pdf.Strong("Every way to stand the block. "), pdf.Text("The middle is the block at rest; a point at the right is the side facing +X raised, at the top the side facing +Y; the distance from the middle is the angle. " +
			"Darker and denser: more air stays. Ringed: no air, nothing to change. Each place shows the nearest tilt poured.")}}
	for i := range discRings {
		m.Rings = append(m.Rings, deg(s.Limit)*float64(i+1)/discRings)
		for k := range discSectors {
			t := mold.Tilt{Angle: s.Limit * (float64(i) + 0.5) / discRings, Side: 2 * math.Pi * float64(k) / discSectors}
			m.Values = append(m.Values, float64(airClass(s, nearestTilt(s, t))))
		}
	}
	right := geom.FrameFor(s.Rest).X // of the paper
	now := pdf.DiscMark{Angle: deg(s.Now.Tilt.Angle), Azimuth: deg(s.Now.Tilt.Side), Text: "chosen", Solid: true}
	if s.Best.Tilt == s.Now.Tilt {
		now.Text, now.Right = "chosen, best", s.Now.Up.Dot(right) > s.Rest.Dot(right) // away from the middle
	} else {
		best := pdf.DiscMark{Angle: deg(s.Best.Tilt.Angle), Azimuth: deg(s.Best.Tilt.Side), Text: "best", Right: s.Best.Up.Dot(right) > s.Now.Up.Dot(right)}
		now.Right = !best.Right
		m.Marks = append(m.Marks, best)
	}
	m.Marks = append(m.Marks, now)
	return m
}

func tiltTable(s *mold.TiltSearch) pdf.Table {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Tilt"}, {Title: "As flag"}, {Title: "Air in the part", Align: pdf.Right}, {Title: "Pockets", Align: pdf.Right}, {Title: "Margin", Align: pdf.Right}, {Title: "What it is"}}}
	row := func(p mold.TiltPoint, margin, what string) {
		t.Rows = append(t.Rows, pdf.R(tiltWords(p.Tilt), "--tilt "+tiltFlag(p.Tilt), Volume(p.Trapped), fmt.Sprint(p.Pockets), margin, what))
	}
	if s.Best.Tilt == s.Now.Tilt {
		row(poured(s.Now, s.BestFill), marginText(s.BestMargin), "chosen, and the best")
	} else {
		row(poured(s.Now, s.NowFill), marginText(s.NowMargin), "chosen")
		row(poured(s.Best, s.BestFill), marginText(s.BestMargin), "least air")
	}
	if s.Fewest.Tilt != s.Best.Tilt {
		row(s.Fewest, "–", "fewest pockets, so fewest vents to add")
	}
	for _, p := range spread(s.Free(), tiltRows, s.Best, s.Now) {
		row(p, "–", "no change to the mold needed")
	}
	return t
}

// tiltWords says a tilt in words.
func tiltWords(t mold.Tilt) string {
	if Degrees(t.Angle) == "0°" {
		return "level"
	}
	return fmt.Sprintf("%s, side facing azimuth %s raised", Degrees(t.Angle), Degrees(t.Side))
}
