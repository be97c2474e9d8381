package report

import (
	"pourproof/checks"
	"pourproof/checks/mold"
)

type undercutJSON struct {
	ID       int      `json:"id"`
	Kind     string   `json:"kind"`
	Depth    *float64 `json:"depth_mm"`
	Error    *float64 `json:"error_mm"`
	Area     *float64 `json:"area_mm2"`
	Volume   *float64 `json:"volume_mm3"`
	At       vec      `json:"at_mm"`
	Side     vec      `json:"moves_towards"`
	Radius   *float64 `json:"radius_mm"`
	Wall     *float64 `json:"wall_mm"`
	Stretch  *float64 `json:"stretch"`
	Flaw     *float64 `json:"critical_flaw_mm"`
	FlawLow  *float64 `json:"critical_flaw_least_mm"`
	FlawHigh *float64 `json:"critical_flaw_most_mm"`
}

type steepWallJSON struct {
	Depth   *float64 `json:"depth_mm"`
	Area    *float64 `json:"area_mm2"`
	At      vec      `json:"at_mm"`
	Core    *float64 `json:"core_mm2"`
	Suction *float64 `json:"suction_bound_n"`
}

type demoldJSON struct {
	Order []string   `json:"order"`
	Peels []peelJSON `json:"peels"`
	Plugs []plugJSON `json:"plugs"`
}

type peelJSON struct {
	Half   string `json:"half"`
	At     vec    `json:"at_mm"`
	Toward vec    `json:"towards"`
	Pull   vec    `json:"pull"`
	Why    string `json:"why"`
}

type plugJSON struct {
	Channel int      `json:"channel"`
	Stretch *float64 `json:"neck_stretch"`
	At      vec      `json:"at_mm"`
}

// releaseOf returns how half i leaves the part, nil if that was not computed.
func releaseOf(o *checks.Outcome, i int) *mold.Release {
	if o.Demolding == nil || i >= len(o.Demolding.Halves) {
		return nil
	}
	return &o.Demolding.Halves[i]
}

// positive returns nil for the 0 that means none.
func positive(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return num(x)
}

// putRelease fills in what holds the part in a half.
func (h *halfJSON) putRelease(r *mold.Release, rubber *mold.Rubber) {
	cuts, walls := []undercutJSON{}, []steepWallJSON{}
	for i := range r.Undercuts {
		u := &r.Undercuts[i]
		j := undercutJSON{ID: u.ID, Kind: string(u.Kind), Depth: num(u.Depth), Error: num(u.Error), Area: num(u.Area), Volume: num(u.Volume), At: place(u.At), Side: place(u.Side),
			Radius: positive(u.Radius), Wall: positive(u.Wall), Stretch: numPtr(u.Stretch)}
		if f := rubber.Flaw(u.Stretch); f != nil {
			j.Flaw, j.FlawLow, j.FlawHigh = num(f.Mid), num(f.Least), num(f.Most)
		}
		cuts = append(cuts, j)
	}
	for i := range r.Walls[:min(len(r.Walls), mostPatches)] {
		w := &r.Walls[i]
		walls = append(walls, steepWallJSON{num(w.Depth), num(w.Area), place(w.At), positive(w.Core), positive(checks.SuctionBound(w.Core))})
	}
	from := string(r.From)
	h.Undercuts, h.Undrafted, h.PullFrom, h.PullShare = &cuts, &walls, &from, positive(r.Share)
	sure := r.Sure()
	h.PullSure = &sure
}

func newDemold(o *checks.Outcome) *demoldJSON {
	d := o.Demolding
	if d == nil {
		return nil
	}
	j := &demoldJSON{Order: []string{}, Peels: []peelJSON{}, Plugs: []plugJSON{}}
	for _, h := range d.Order {
		r := &d.Halves[h]
		j.Order = append(j.Order, r.Name)
		j.Peels = append(j.Peels, peelJSON{r.Name, place(r.Peel.At), place(r.Peel.Toward), place(r.Pull), string(r.Peel.Why)})
	}
	for _, p := range d.Plugs {
		j.Plugs = append(j.Plugs, plugJSON{p.Channel, num(p.Stretch), place(p.At)})
	}
	return j
}
