package report

import (
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
)

type wallJSON struct {
	ID      int      `json:"id"`
	Kind    string   `json:"kind"`
	Between []string `json:"between"`
	Least   *float64 `json:"min_mm"`
	Mean    *float64 `json:"mean_mm"`
	Error   *float64 `json:"error_mm"`
	Area    *float64 `json:"area_mm2"`
	At      vec      `json:"at_mm"`
	Molding bool     `json:"molding"`
	Height  *float64 `json:"height_mm"`
	Slender *float64 `json:"slenderness"`
}

type edgeJSON struct {
	ID      int      `json:"id"`
	Angle   *float64 `json:"angle_deg"`
	Length  *float64 `json:"length_mm"`
	At      vec      `json:"at_mm"`
	Molding bool     `json:"molding"`
}

// rubberFacts returns what was measured of half i's rubber, nil for nothing.
func rubberFacts(o *checks.Outcome, i int) *mold.HalfRubber {
	for _, r := range o.Rubber {
		if r != nil && r.Half == i {
			return r
		}
	}
	return nil
}

// putRubber fills in how thick and how sharp a half is.
func (h *halfJSON) putRubber(r *mold.HalfRubber) {
	walls, knives, corners := []wallJSON{}, edgesJSON(r.Knives), edgesJSON(r.Corners)
	for i := range r.Walls[:min(len(r.Walls), mostPatches)] {
		w := &r.Walls[i]
		walls = append(walls, wallJSON{w.ID, string(w.Kind), []string{sideName(w.Between[0]), sideName(w.Between[1])}, num(w.Least), num(w.Mean), num(r.Error), num(w.Area),
			place(w.At), w.Molding, positive(w.Height), positive(w.Slender)})
	}
	h.Walls, h.Edges, h.Corners = &walls, &knives, &corners
}

func edgesJSON(list []mold.Edge) []edgeJSON {
	out := []edgeJSON{}
	for i := range list[:min(len(list), mostPatches)] {
		e := &list[i]
		out = append(out, edgeJSON{e.ID, num(e.Angle * 180 / math.Pi), num(e.Length), place(e.At), e.Molding})
	}
	return out
}

// sideName is a side as one word.
func sideName(s mold.Side) string {
	if s == mold.AtParting {
		return "parting"
	}
	return s.String()
}
