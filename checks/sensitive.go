package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
)

// sensitivity says how little has to change for what a finding is about to go: for
// its pocket, or for the cups of the half that it names. Empty where nothing is
// known, or where the finding is a note.
func (p *Pass) sensitivity(f *Finding) string {
	if f.Severity < Discuss {
		return ""
	}
	var out []string
	for i := range p.Sensitive {
		s := &p.Sensitive[i]
		cup := s.Change == mold.LeanChange && f.kind == "cup" && f.Where.Body == p.Mold.Halves[s.Half].Name
		if cup || f.Pocket > 0 && s.Pocket == f.Pocket {
			out = append(out, p.sensitive(s))
		}
	}
	return text(out...)
}

func (p *Pass) sensitive(s *mold.Sensitivity) string {
	switch s.Change {
	case mold.TiltChange:
		return fmt.Sprintf("Gone %s; still there %s.", tiltAt(s.Gone, s.Side), tiltAt(s.Still, s.Side))
	case mold.VentMove:
		return fmt.Sprintf("Gone if vent %d moves %s toward %s; still there at %s.", s.Channel, mm(s.Gone), way(s.Toward), mm(s.Still))
	}
	return fmt.Sprintf("Gone if %s is leaned by %s deg toward build %s; still there at %s deg.", p.Mold.Halves[s.Half].Name, tenthDeg(s.Gone), flagDirection(s.Toward), tenthDeg(s.Still))
}

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
