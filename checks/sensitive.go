package checks

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourproof/checks/mold"
)

// sensitivity says how little has to change for what a finding is about to go: for its
// pocket, for the cups of the half that it names, for its channel. Where nothing within a
// range does it that is said. Empty where nothing is known, and for notes but those about
// channels.
func (p *Pass) sensitivity(f *Finding) string {
	if p.trial {
		return ""
	}
	var out []string
	for i := range p.Sensitive {
		s := &p.Sensitive[i]
		cup := s.Change == mold.LeanChange && f.kind == "cup" && f.Where.Body == p.Mold.Halves[s.Half].Name
		if f.Severity >= Discuss && (cup || f.Pocket > 0 && s.Pocket == f.Pocket) {
			out = append(out, p.sensitive(s))
		}
	}
	switch {
	case f.Check == "vents":
		out = append(out, p.channelLine(f))
	case f.kind == "cup" && f.Severity >= Discuss:
		out = append(out, p.cupLine(f, len(out) > 0))
	}
	return text(out...)
}

func (p *Pass) sensitive(s *mold.Sensitivity) string {
	switch {
	case s.Change == mold.TiltChange && s.Stays:
		with := ""
		if k := p.pocketOf(s.Pocket); k != nil && k.Vent != nil && slices.Contains(k.Vent.Pockets, k.ID) {
			with = fmt.Sprintf("; suggested vent %d does", k.Vent.ID)
		}
		return fmt.Sprintf("None of the %s tried, from %s to %s, frees it without air elsewhere%s.", count(s.Tried, "other tilt"), tiltName(s.Still, s.Side), tiltName(s.Gone, s.Side), with)
	case s.Change == mold.TiltChange:
		return fmt.Sprintf("Gone %s; still there %s.", tiltAt(s.Gone, s.Side), tiltAt(s.Still, s.Side))
	case s.Change == mold.VentMove:
		vent := fmt.Sprintf("vent %d", s.Channel)
		if c := p.ventOf(s.Channel); c != nil && c.Diameter*acrossFlats < wellVented {
			vent += ", bored " + mm(wellVented) + " wide,"
		}
		if s.Stays {
			return fmt.Sprintf("Still there if %s moves %s toward %s.", vent, mm(s.Still), way(s.Toward))
		}
		return fmt.Sprintf("Gone if %s moves %s toward %s; still there at %s.", vent, mm(s.Gone), way(s.Toward), mm(s.Still))
	}
	return fmt.Sprintf("Gone if %s is leaned by %s deg toward build %s; still there at %s deg.", p.Mold.Halves[s.Half].Name, tenthDeg(s.Gone), flagDirection(s.Toward), tenthDeg(s.Still))
}

// cupLine says what a relief hole, printed again with it, does to a cup, and that no way to
// lay the half does without it where that is so and nothing else was said.
func (p *Pass) cupLine(f *Finding, leaned bool) string {
	for _, q := range p.Prints {
		for i := range q.Cups {
			c := &q.Cups[i]
			if q.Name != f.Where.Body || f.anchor == nil || c.Middle != *f.anchor {
				continue
			}
			if o := c.Hole; o != nil {
				return fmt.Sprintf("Gone with the relief hole of %s: printed with it the film seals %s of this cup, and the resin loses %s kPa.", mm(o.Diameter), mm2(o.Left), figure(o.Drop))
			}
			if line := widerPassage(c, &q.Printer); line != "" {
				return line
			}
			if s := p.posesOf(q.Half); s != nil && !leaned && !slices.ContainsFunc(s.Points, func(x mold.PosePoint) bool { return x.CupArea < s.Now.CupArea/2 }) {
				return fmt.Sprintf("Still there, or half as large at least, in all %s tried.", count(len(s.Points), "other direction"))
			}
		}
	}
	return ""
}

// widerPassage says how wide the only way out of a cup would have to be to relieve it.
func widerPassage(c *mold.Cup, by *mold.Printer) string {
	w := c.Passage
	if w == nil || w.Count > 1 || !(w.Width > 0) {
		return ""
	}
	first := int(math.Floor(w.Width / widthStep))
	for n := first + 1; n < first+200; n++ {
		if gone := math.Round(float64(n)*widthStep*1e6) / 1e6; w.Relieves(gone, by) {
			still := math.Round(float64(n-1)*widthStep*1e6) / 1e6
			return fmt.Sprintf("Gone if its passage is %s wide all along; still there at %s.", mm(gone), mm(still))
		}
	}
	return ""
}

// posesOf returns the search of ways to lay a half, nil for none.
func (p *Pass) posesOf(half int) *mold.PoseSearch {
	for _, s := range p.Poses {
		if s != nil && s.Half == half {
			return s
		}
	}
	return nil
}

// ventOf is channel, pocketOf pocket; without a pour none.
func (p *Pass) ventOf(id int) *mold.Channel {
	if p.Fill == nil {
		return nil
	}
	return p.channel(id)
}

func (p *Pass) pocketOf(id int) *mold.Pocket {
	if p.Fill == nil {
		return nil
	}
	return p.pocket(id)
}

// tiltName says a tilt given along an azimuth; negative is the other side.
func tiltName(angle, side float64) string { return strings.TrimPrefix(tiltAt(angle, side), "at ") }

// tiltAt says a tilt given along an azimuth: negative is the other side.
func tiltAt(angle, side float64) string {
	t := mold.Tilt{Angle: math.Abs(angle), Side: side}
	if angle < 0 {
		t.Side = math.Mod(side+math.Pi, 2*math.Pi)
	}
	if flag := tiltFlag(t); flag != "0" {
		return "at tilt " + flag
	}
	return "level"
}
