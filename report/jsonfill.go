package report

import (
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
)

type fillJSON struct {
	Up             vec              `json:"up"`
	Tilt           tiltJSON         `json:"tilt"`
	Cell           *float64         `json:"cell_mm"`
	Cavity         *float64         `json:"cavity_mm3"`
	Channels3      *float64         `json:"channels_mm3"`
	Filled         *float64         `json:"filled_mm3"`
	Trapped        *float64         `json:"trapped_mm3"`
	Unreached      *float64         `json:"unreached_mm3"`
	UnreachedAt    *vec             `json:"unreached_at_mm"`
	TrappedError   *float64         `json:"trapped_error_mm3"`
	Marginal       bool             `json:"marginal"`
	Small          smallJSON        `json:"small"`
	TrappedCured   *float64         `json:"trapped_cured_mm3"`
	MarginDeg      *float64         `json:"margin_deg"`
	WorstWithin5   *float64         `json:"worst_within_5deg_mm3"`
	LevelCeiling   *float64         `json:"level_ceiling_mm2"`
	LevelCeilingAt *vec             `json:"level_ceiling_at_mm"`
	Lowest         vec              `json:"lowest_mm"`
	Highest        *float64         `json:"highest_level_mm"`
	Pockets        []pocketJSON     `json:"pockets"`
	Vents          []ventJSON       `json:"suggested_vents"`
	VentsLeave     *float64         `json:"suggested_vents_leave_mm3"`
	Channels       []channelJSON    `json:"channels"`
	Stopped        []stoppedJSON    `json:"stopped_bores"`
	HighPoints     []highPointJSON  `json:"high_points"`
	Stages         []stageJSON      `json:"stages"`
	Narrow         *[]narrowJSON    `json:"narrow"`
	Rocking        *[]rockJSON      `json:"rocking"`
	RockingWhy     *string          `json:"rocking_why"`
	Tilts          *[]tiltTriedJSON `json:"tilts"`
	TiltsWhy       *string          `json:"tilts_why"`
	BestTilt       *bestTiltJSON    `json:"best_tilt"`
	FewestVents    *tiltTriedJSON   `json:"fewest_vents_tilt"`
}

type tiltJSON struct {
	Angle *float64 `json:"angle_deg"`
	Side  *float64 `json:"raised_side_deg"`
}

type smallJSON struct {
	Count  int      `json:"count"`
	Volume *float64 `json:"volume_mm3"`
}

type pocketJSON struct {
	ID          int       `json:"id"`
	Kind        string    `json:"kind"`
	Volume      *float64  `json:"volume_mm3"`
	Channel     *float64  `json:"channel_mm3"`
	VolumeCured *float64  `json:"volume_cured_mm3"`
	Top         vec       `json:"top_mm"`
	Bottom      vec       `json:"bottom_mm"`
	SealedAt    *float64  `json:"sealed_at_mm"`
	Depth       *float64  `json:"depth_mm"`
	Error       *float64  `json:"error_mm3"`
	Marginal    bool      `json:"marginal"`
	Spoils      *float64  `json:"spoils_mm2"`
	Show        bool      `json:"show"`
	ShowFace    *string   `json:"show_face"`
	Near        *nearJSON `json:"near"`
	Vent        *ventJSON `json:"suggested_vent"`
}

type nearJSON struct {
	Channel  int      `json:"channel"`
	Distance *float64 `json:"distance_mm"`
}

type ventJSON struct {
	ID        int      `json:"id"`
	Mouth     vec      `json:"mouth_mm"`
	Exit      vec      `json:"exit_mm"`
	Direction vec      `json:"direction"`
	Diameter  *float64 `json:"diameter_mm"`
	Length    *float64 `json:"length_mm"`
	Half      string   `json:"half"`
	Frees     *float64 `json:"frees_mm3"`
	Gain      *float64 `json:"gain_mm3"`
	Pockets   []int    `json:"pockets"`
	Show      *string  `json:"show"`
}

type channelJSON struct {
	ID            int      `json:"id"`
	Role          string   `json:"role"`
	Assumed       bool     `json:"assumed"`
	Tried         bool     `json:"tried"`
	Mouth         vec      `json:"mouth_mm"`
	Exit          *vec     `json:"exit_mm"`
	Diameter      *float64 `json:"diameter_mm"`
	Narrowest     vec      `json:"narrowest_mm"`
	MouthDiameter *float64 `json:"mouth_diameter_mm"`
	Length        *float64 `json:"length_mm"`
	Volume        *float64 `json:"volume_mm3"`
	Half          string   `json:"half"`
	Joins         *int     `json:"joins"`
	GapToHigh     *float64 `json:"gap_to_high_point_mm"`
	Drains        []int    `json:"drains"`
	WeepsOrder    *int     `json:"weeps_order"`
	WeepsAt       *float64 `json:"weeps_at_ml"`
	PlugAt        *float64 `json:"plug_at_ml"`
	NeckStretch   *float64 `json:"neck_stretch"`
}

type stoppedJSON struct {
	Half  string   `json:"half"`
	End   vec      `json:"end_mm"`
	Ahead vec      `json:"ahead_mm"`
	Left  *float64 `json:"left_mm"`
	Width *float64 `json:"width_mm"`
}

type highPointJSON struct {
	ID         int      `json:"id"`
	At         vec      `json:"at_mm"`
	Prominence *float64 `json:"prominence_mm"`
	VentedBy   *int     `json:"vented_by"`
	Pocket     *int     `json:"pocket"`
}

type stageJSON struct {
	Percent *float64 `json:"percent"`
	Filled  *float64 `json:"filled_ml"`
	Level   *float64 `json:"level_mm"`
	Front   []vec    `json:"front_mm"`
	Weeping []int    `json:"weeping"`
	Covered []int    `json:"covered"`
}

type halfJSON struct {
	Name         string            `json:"name"`
	Build        *vec              `json:"build"`
	BuildAssumed bool              `json:"build_assumed"`
	Raised       *bool             `json:"raised"`
	PrintHeight  *float64          `json:"print_height_mm"`
	Cups         *[]cupJSON        `json:"cups"`
	SealedVoids  *[]voidJSON       `json:"sealed_voids"`
	SealedArea   *[]sealedAreaJSON `json:"sealed_area"`
	Starts       *[]startJSON      `json:"starts"`
	Loose        *[]looseJSON      `json:"loose_pieces"`
	Scars        *scarsJSON        `json:"scars"`
	LayerStep    *stepJSON         `json:"layer_step"`
	Poses        *[]poseJSON       `json:"poses"`
	Walls        *[]wallJSON       `json:"walls"`
	Edges        *[]edgeJSON       `json:"edges"`
	Corners      *[]edgeJSON       `json:"corners"`
	Bores        *[]boreJSON       `json:"bores"`
	Undercuts    *[]undercutJSON   `json:"undercuts"`
	Undrafted    *[]steepWallJSON  `json:"undrafted"`
	Pull         *vec              `json:"pull"`
	PullFrom     *string           `json:"pull_from"`
	PullShare    *float64          `json:"pull_share"`
	PullSure     *bool             `json:"pull_sure"`
}

func newFillJSON(o *checks.Outcome) *fillJSON {
	f := o.Fill
	cured := math.NaN()
	if o.Job != nil {
		cured = o.Job.Pot.Share()
	}
	j := &fillJSON{
		Up: place(f.Up), Tilt: tiltJSON{num(f.TiltAngle * 180 / math.Pi), num(f.TiltSide * 180 / math.Pi)}, Cell: num(f.Cell),
		Cavity: num(f.Cavity), Channels3: num(f.Channels), Filled: num(f.Filled), Trapped: num(f.Trapped), Unreached: num(f.Unreached),
		UnreachedAt: placePtr(f.UnreachedAt), TrappedError: num(f.TrappedError), Marginal: f.Marginal,
		Small: smallJSON{f.SmallCount, num(f.SmallVolume)}, TrappedCured: num(f.Trapped * cured),
		LevelCeiling: num(f.LevelCeilingArea), LevelCeilingAt: placePtr(f.LevelCeilingAt), Lowest: place(f.LowestCavityPoint), Highest: num(f.HighestPoint),
		Pockets: []pocketJSON{}, Channels: []channelJSON{}, Stopped: []stoppedJSON{}, HighPoints: []highPointJSON{}, Stages: []stageJSON{}, Narrow: narrowJSONs(o),
	}
	for i := range f.Pockets {
		j.Pockets = append(j.Pockets, newPocketJSON(&f.Pockets[i], cured))
	}
	for i := range f.Clinging {
		j.Pockets = append(j.Pockets, newPocketJSON(&f.Clinging[i].Pocket, cured))
	}
	for i := range f.Ports {
		j.Channels = append(j.Channels, newChannelJSON(&f.Ports[i]))
	}
	if o.Mold != nil {
		for _, s := range o.Mold.Stopped {
			j.Stopped = append(j.Stopped, stoppedJSON{s.Half, place(s.End), place(s.Ahead), num(s.Left), num(s.Width)})
		}
	}
	for i, h := range f.HighPoints {
		j.HighPoints = append(j.HighPoints, highPointJSON{i + 1, place(h.At), num(h.Prominence), id(h.VentedBy), id(h.Pocket)})
	}
	for _, s := range f.Stages {
		front := []vec{}
		weeping, covered := s.Vents(f.Ports)
		for _, p := range s.Front {
			front = append(front, place(p))
		}
		j.Stages = append(j.Stages, stageJSON{num(s.Percent), num(s.Filled / 1000), num(s.Level), front, append([]int{}, weeping...), append([]int{}, covered...)})
	}
	j.Vents, j.VentsLeave = ventsJSON(f.Vents), num(f.VentsLeave)
	j.putTilts(o.Tilts)
	return j
}

func newPocketJSON(p *mold.Pocket, cured float64) pocketJSON {
	j := pocketJSON{
		ID: p.ID, Kind: string(p.Kind), Volume: num(p.Volume), Channel: num(p.ChannelVolume), VolumeCured: num(p.Volume * cured),
		Top: place(p.Top), Bottom: place(p.Bottom), SealedAt: num(p.SealedAt), Depth: num(p.Depth), Error: num(p.Error),
		Marginal: p.Marginal, Spoils: num(p.Spoils), Show: p.Show != "", ShowFace: word(p.Show),
	}
	if p.Near != 0 {
		j.Near = &nearJSON{p.Near, num(p.NearDistance)}
	}
	if v := p.Vent; v != nil {
		vent := newVentJSON(v)
		j.Vent = &vent
	}
	return j
}

func newVentJSON(v *mold.SuggestedVent) ventJSON {
	return ventJSON{v.ID, place(v.Mouth), place(v.Exit), place(v.Direction), num(v.Diameter), num(v.Length), v.Half, num(v.Frees), num(v.Gain), append([]int{}, v.Pockets...), word(v.Show)}
}

func ventsJSON(vents []mold.SuggestedVent) []ventJSON {
	out := []ventJSON{}
	for i := range vents {
		out = append(out, newVentJSON(&vents[i]))
	}
	return out
}

func newChannelJSON(c *mold.Channel) channelJSON {
	j := channelJSON{
		ID: c.ID, Role: string(c.Role), Assumed: c.Assumed, Tried: c.Tried, Mouth: place(c.Mouth), Exit: placePtr(c.Exit),
		Diameter: num(c.Diameter), Narrowest: place(c.Narrowest), MouthDiameter: num(c.MouthDiameter), Length: num(c.Length), Volume: num(c.Volume),
		Half: c.Half, Joins: id(c.Joins), GapToHigh: num(c.GapToHigh), Drains: []int{}, WeepsOrder: id(c.WeepsOrder), WeepsAt: numPtr(c.WeepsAt), PlugAt: numPtr(c.PlugAt),
	}
	for _, i := range c.Drains {
		j.Drains = append(j.Drains, i+1)
	}
	if c.Diameter > 0 && c.WidestBeyond > 0 {
		j.NeckStretch = num(max(c.WidestBeyond/c.Diameter-1, 0))
	}
	return j
}

func halvesJSON(o *checks.Outcome) []halfJSON {
	out := []halfJSON{}
	if o.Mold == nil {
		return out
	}
	for i := range o.Mold.Halves {
		h := halfJSON{Name: o.Mold.Halves[i].Name}
		if i < len(o.Mold.Pulls) {
			h.Pull = placePtr(&o.Mold.Pulls[i])
		}
		if o.Job != nil && i < len(o.Job.Halves) && o.Job.Halves[i].Build != nil {
			build := o.Job.Halves[i].Build.Unit()
			h.Build = placePtr(&build)
		}
		if o.Job != nil && i < len(o.Job.Halves) {
			raised := !o.Job.Halves[i].Flat
			h.Raised = &raised
		}
		if p := printOf(o, i); p != nil {
			h.putPrint(p)
		}
		if p := poseOf(o, i); p != nil {
			h.putPoses(p)
		}
		if r := rubberFacts(o, i); r != nil {
			h.putRubber(r)
		}
		if r := releaseOf(o, i); r != nil {
			h.putRelease(r, &o.Job.Rubber)
		}
		out = append(out, h)
	}
	return out
}
