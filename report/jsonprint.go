package report

import (
	"pourproof/checks"
	"pourproof/checks/mold"
)

type cupJSON struct {
	ID        int          `json:"id"`
	Area      *float64     `json:"area_mm2"`
	AreaAt    *float64     `json:"area_at_mm"`
	Volume    *float64     `json:"volume_mm3"`
	From      *float64     `json:"from_mm"`
	To        *float64     `json:"to_mm"`
	Deepest   vec          `json:"deepest_mm"`
	Lip       *vec         `json:"lip_mm"`
	Bound     *float64     `json:"suction_bound_n"`
	Merges    *int         `json:"merges_into"`
	Void      *int         `json:"sealed_void"`
	Molding   bool         `json:"on_molding_face"`
	Platform  bool         `json:"closed_by_platform"`
	Relieved  bool         `json:"relieved"`
	RelievedB *float64     `json:"relieved_by"`
	Drop      *float64     `json:"drop_kpa"`
	Passage   *passageJSON `json:"passage"`
	Relief    *reliefJSON  `json:"relief"`
}

type passageJSON struct {
	At      vec      `json:"at_mm"`
	Width   *float64 `json:"width_mm"`
	Error   *float64 `json:"error_mm"`
	Length  *float64 `json:"length_mm"`
	Count   int      `json:"count"`
	Channel *int     `json:"channel"`
}

type reliefJSON struct {
	At        vec      `json:"at_mm"`
	Exit      vec      `json:"exit_mm"`
	Direction vec      `json:"direction"`
	Diameter  *float64 `json:"diameter_mm"`
	Length    *float64 `json:"length_mm"`
	Drop      *float64 `json:"drop_kpa"`
	Left      *float64 `json:"left_mm2"`
	Molding   bool     `json:"opens_on_molding_face"`
}

type voidJSON struct {
	ID     int      `json:"id"`
	Volume *float64 `json:"volume_mm3"`
	At     vec      `json:"at_mm"`
}

type sealedAreaJSON struct {
	Height *float64 `json:"height_mm"`
	Area   *float64 `json:"area_mm2"`
}

type startJSON struct {
	ID      int      `json:"id"`
	At      vec      `json:"at_mm"`
	Height  *float64 `json:"height_mm"`
	Area    *float64 `json:"area_mm2"`
	Molding bool     `json:"on_molding_face"`
}

type looseJSON struct {
	ID      int      `json:"id"`
	At      vec      `json:"at_mm"`
	Volume  *float64 `json:"volume_mm3"`
	Molding bool     `json:"shapes_part"`
}

type scarsJSON struct {
	Area    *float64    `json:"area_mm2"`
	Molding *float64    `json:"molding_area_mm2"`
	Count   int         `json:"count"`
	Patches []patchJSON `json:"patches"`
}

type patchJSON struct {
	ID      int      `json:"id"`
	Area    *float64 `json:"area_mm2"`
	Width   *float64 `json:"width_mm"`
	At      vec      `json:"at_mm"`
	Molding bool     `json:"on_molding_face"`
}

type stepJSON struct {
	Mean    *float64 `json:"mean_um"`
	Worst   *float64 `json:"worst_um"`
	WorstAt *vec     `json:"worst_at_mm"`
	Area    *float64 `json:"area_mm2"`
	Level   *float64 `json:"level_mm2"`
}

type poseJSON struct {
	Build     vec      `json:"build"`
	Raised    bool     `json:"raised"`
	CupArea   *float64 `json:"cup_area_mm2"`
	CupVolume *float64 `json:"cup_volume_mm3"`
	Scar      *float64 `json:"scar_area_mm2"`
	ScarAll   *float64 `json:"scar_area_all_mm2"`
	Starts    int      `json:"starts"`
	Height    *float64 `json:"height_mm"`
	Fits      *bool    `json:"fits_printer"`
	Step      *float64 `json:"step_mean_um"`
	Best      bool     `json:"best"`
	Now       bool     `json:"now"`
}

type boreJSON struct {
	Channel  int      `json:"channel"`
	Ratio    *float64 `json:"length_over_diameter"`
	OpenEnds int      `json:"open_ends"`
	Washable bool     `json:"washable"`
	Level    bool     `json:"near_level"`
	Through  *float64 `json:"print_through_mm"`
	Height   *float64 `json:"height_left_mm"`
}

// What a list in report.json holds at most; counts beside it tell of the rest.
const (
	mostPatches = 50
	mostPoses   = 12
)

// putPrint fills in what the print of a half came to.
func (h *halfJSON) putPrint(p *mold.Printed) {
	build := p.Build
	raised := !p.Flat
	h.Build, h.BuildAssumed, h.Raised, h.PrintHeight = placePtr(&build), !p.Given, &raised, num(p.Height)
	cups, voids, curve, bores := []cupJSON{}, []voidJSON{}, []sealedAreaJSON{}, []boreJSON{}
	starts, loose := []startJSON{}, []looseJSON{}
	for i := range p.Cups {
		cups = append(cups, newCup(&p.Cups[i]))
	}
	for _, v := range p.Sealed {
		voids = append(voids, voidJSON{v.ID, num(v.Volume), place(v.At)})
	}
	for _, a := range p.Curve {
		curve = append(curve, sealedAreaJSON{num(a.Height), num(a.Area)})
	}
	for _, s := range p.Starts {
		starts = append(starts, startJSON{s.ID, place(s.At), num(s.Height), num(s.Area), s.Molding})
	}
	for _, l := range p.Loose {
		loose = append(loose, looseJSON{l.ID, place(l.At), num(l.Volume), l.Molding})
	}
	for _, b := range p.Bores {
		bores = append(bores, boreJSON{b.Channel, num(b.Ratio), b.OpenEnds, b.Washable, b.Level, num(b.Through), num(b.Height)})
	}
	h.Cups, h.SealedVoids, h.SealedArea, h.Starts, h.Loose, h.Bores = &cups, &voids, &curve, &starts, &loose, &bores
	h.Scars = newScars(&p.Scars)
	h.LayerStep = &stepJSON{Mean: num(1000 * p.Step.Mean), Worst: num(1000 * p.Step.Worst), Area: num(p.Step.Area), Level: num(p.Step.Level)}
	if p.Step.Worst > 0 {
		h.LayerStep.WorstAt = placePtr(&p.Step.WorstAt)
	}
}

func newCup(c *mold.Cup) cupJSON {
	j := cupJSON{ID: c.ID, Area: num(c.Area), AreaAt: num(c.AreaAt), Volume: num(c.Volume), From: num(c.From), To: num(c.To), Deepest: place(c.Deepest),
		Lip: placePtr(c.Lip), Bound: num(c.Bound), Merges: id(c.Into), Void: id(c.Void), Molding: c.Molding, Platform: c.Platform, Relieved: c.Relieved}
	if w := c.Passage; w != nil {
		j.RelievedB, j.Drop = num(w.Width), num(w.Drop)
		j.Passage = &passageJSON{place(w.At), num(w.Width), num(w.Error), num(w.Length), w.Count, id(w.Channel)}
	}
	if o := c.Hole; o != nil {
		j.Relief = &reliefJSON{place(o.At), place(o.Exit), place(o.Direction), num(o.Diameter), num(o.Length), num(o.Drop), num(o.Left), o.Molding}
	}
	return j
}

func newScars(s *mold.Scars) *scarsJSON {
	j := &scarsJSON{num(s.Area), num(s.Molding), len(s.Patches), []patchJSON{}}
	for i := range s.Patches[:min(len(s.Patches), mostPatches)] {
		p := &s.Patches[i]
		j.Patches = append(j.Patches, patchJSON{p.ID, num(p.Area), num(p.Width), place(p.At), p.Molding})
	}
	return j
}

// putPoses lists the ways to lay a half that no other beats, and its own.
func (h *halfJSON) putPoses(s *mold.PoseSearch) {
	list := posesJSON(s)
	h.Poses = &list
}

// posesJSON returns the directions that no other beats, and last the half's own if it
// is none of them, as report.json lists them.
func posesJSON(s *mold.PoseSearch) []poseJSON {
	out := []poseJSON{}
	own := false
	for i := range s.Points {
		p := &s.Points[i]
		if !p.Best || len(out) == mostPoses {
			break
		}
		own = own || isNow(p, s)
		out = append(out, newPose(p, s))
	}
	if !own && len(s.Points) > 0 {
		out = append(out, newPose(&s.Now, s))
	}
	return out
}

func newPose(p *mold.PosePoint, s *mold.PoseSearch) poseJSON {
	return poseJSON{place(p.Build), !p.Flat, num(p.CupArea), num(p.CupVolume), num(p.Scar), num(p.ScarAll), p.Starts, num(p.Height), p.Fits, num(1000 * p.Step), p.Best, isNow(p, s)}
}

// isNow tells whether a way to lay a half is its present one.
func isNow(p *mold.PosePoint, s *mold.PoseSearch) bool {
	return p.Build == s.Now.Build && p.Flat == s.Now.Flat
}

// printOf returns the print of half i, nil if it was not computed.
func printOf(o *checks.Outcome, i int) *mold.Printed {
	for _, p := range o.Prints {
		if p != nil && p.Half == i {
			return p
		}
	}
	return nil
}

// poseOf returns the search for half i, nil without one.
func poseOf(o *checks.Outcome, i int) *mold.PoseSearch {
	for _, s := range o.Poses {
		if s != nil && s.Half == i && len(s.Points) > 0 {
			return s
		}
	}
	return nil
}
