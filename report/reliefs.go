package report

import (
	"bytes"
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/meshio"
)

// relief is a suggested relief hole with the half and the cup that it is for.
type relief struct {
	print *mold.Printed
	cup   *mold.Cup
}

// reliefHoles lists the suggested relief holes, half by half.
func reliefHoles(o *checks.Outcome) []relief {
	var out []relief
	for _, p := range o.Prints {
		for i := range p.Cups {
			if c := &p.Cups[i]; c.Hole != nil && c.Into == 0 {
				out = append(out, relief{p, c})
			}
		}
	}
	return out
}

// ReliefsSTL returns the suggested relief holes as closed cylinders to cut from the
// halves, nil where there is none. They are kept apart from the vents because they
// are plugged before casting.
func ReliefsSTL(d *Document) ([]byte, error) {
	cutters := &geom.Mesh{}
	for _, r := range reliefHoles(d.Outcome) {
		cutters.Append(r.cup.Hole.HoleMesh())
	}
	if len(cutters.Facets) == 0 {
		return nil, nil
	}
	var b bytes.Buffer
	err := meshio.WriteBinarySTL(&b, cutters, "relief holes, mm: cut from the halves")
	return b.Bytes(), err
}

// printPhrase says in a line what the print of the halves came to; empty without
// prints.
func printPhrase(o *checks.Outcome) string {
	if len(o.Prints) == 0 {
		return ""
	}
	var parts []string
	for _, p := range o.Prints {
		worst, relieved := 0.0, true
		for i := range p.Cups {
			if c := &p.Cups[i]; c.Bound > worst {
				worst, relieved = c.Bound, c.Relieved
			}
		}
		s := p.Name + " " + Figure(p.Height) + " mm high"
		switch {
		case worst == 0:
			s += ", no cup"
		case relieved:
			s += ", cup relieved"
		default:
			s += ", suction up to " + Figure(worst) + " N"
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, "; ")
}

// PoseText writes a search as a table for the terminal: the ways that no other
// beats, lightest first, and the present one.
func PoseText(s *mold.PoseSearch, most int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s tried, %d of them printed layer by layer at %s\n", s.Name, Plural(len(s.Points), "direction"), s.Cast, Length(s.Cell))
	fmt.Fprintf(&b, "  %-26s %12s %12s %8s %8s %8s %10s %6s\n", "build", "sealed mm2", "scars mm2", "elsewh.", "starts", "step um", "height mm", "fits")
	row := func(p *mold.PosePoint, word string) {
		fits := "?"
		if p.Fits != nil {
			fits = map[bool]string{true: "yes", false: "no"}[*p.Fits]
		}
		build := direction(p.Build)
		if p.Flat {
			build += " flat"
		}
		fmt.Fprintf(&b, "  %-26s %12s %12s %8s %8d %8s %10s %6s  %s\n", build, Figure(p.CupArea), Figure(p.Scar), Figure(p.ScarAll-p.Scar), p.Starts, Figure(1000*p.Step), Figure(p.Height), fits, word)
	}
	own := false
	for i, p := range s.Distinct(most) {
		word := ""
		if i == 0 {
			word = "best"
		}
		if isNow(&p, s) {
			word, own = strings.TrimSpace(word+" now"), true
		}
		row(&p, word)
	}
	if !own {
		row(&s.Now, "now")
	}
	return b.String()
}

// Poses returns searches as report.json lists them, for encoding/json.
func Poses(list []*mold.PoseSearch) any {
	type half struct {
		Name  string     `json:"name"`
		Poses []poseJSON `json:"poses"`
	}
	out := []half{}
	for _, s := range list {
		out = append(out, half{s.Name, posesJSON(s)})
	}
	return out
}
