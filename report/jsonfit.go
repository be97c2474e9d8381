package report

import (
	"math"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
)

type fitJSON struct {
	Tolerance     *float64      `json:"tolerance_mm"`
	Overlap       *float64      `json:"overlap_mm3"`
	OverlapDepth  *float64      `json:"overlap_depth_mm"`
	OverlapAt     *vec          `json:"overlap_at_mm"`
	Overlaps      []overlapJSON `json:"overlaps"`
	GapMax        *float64      `json:"gap_max_mm"`
	GapAt         *vec          `json:"gap_at_mm"`
	GapArea       *float64      `json:"gap_area_mm2"`
	Touching      *float64      `json:"touching_mm2"`
	HalvesOffset  *vec          `json:"halves_offset_mm"`
	OffsetHalf    *string       `json:"halves_offset_half"`
	OffsetFrom    *string       `json:"halves_offset_from"`
	LandMin       *float64      `json:"land_min_mm"`
	LeakPaths     []leakJSON    `json:"leak_paths"`
	Keys          []keyJSON     `json:"keys"`
	Reversible    bool          `json:"reversible"`
	Turns         []turnJSON    `json:"turns"`
	PartDeviation deviationJSON `json:"part_deviation"`
	Cavities      []cavityJSON  `json:"cavities"`
	Features      []featureJSON `json:"features"`
	Mirrored      bool          `json:"mirrored"`
	Scale         *float64      `json:"scale"`
	Shrink        *float64      `json:"shrink_percent"`
	Offset        vec           `json:"offset_mm"`
	Skin          *float64      `json:"skin_mm"`
	CastSize      vec           `json:"cast_size_mm"`
	PrintScale    *float64      `json:"print_scale"`
	CastShrink    *float64      `json:"cast_shrink_percent"`
	Stubs         []stubJSON    `json:"stubs"`
}

type overlapJSON struct {
	Halves []string `json:"halves"`
	Volume *float64 `json:"volume_mm3"`
	Depth  *float64 `json:"depth_mm"`
	At     vec      `json:"at_mm"`
}

type leakJSON struct {
	From    string   `json:"from"`
	Channel *int     `json:"channel"`
	Land    *float64 `json:"land_mm"`
	Path    []vec    `json:"path_mm"`
}

type keyJSON struct {
	ID        int      `json:"id"`
	Half      string   `json:"half"`
	Socket    string   `json:"socket"`
	At        vec      `json:"at_mm"`
	Width     *float64 `json:"width_mm"`
	Depth     *float64 `json:"depth_mm"`
	Clearance *float64 `json:"clearance_mm"`
	Least     *float64 `json:"least_clearance_mm"`
	ToCavity  *float64 `json:"to_cavity_mm"`
}

type turnJSON struct {
	Half     string   `json:"half"`
	Mirror   bool     `json:"mirror_image"`
	Angle    *float64 `json:"angle_deg"`
	Axis     vec      `json:"axis"`
	About    vec      `json:"about_mm"`
	Harmless bool     `json:"same_cavity"`
}

type deviationJSON struct {
	Max    *float64 `json:"max_mm"`
	Mean   *float64 `json:"mean_mm"`
	Signed *float64 `json:"signed_mean_mm"`
	At     *vec     `json:"at_mm"`
}

type cavityJSON struct {
	Middle    vec           `json:"middle_mm"`
	Volume    *float64      `json:"part_mm3"`
	Deviation deviationJSON `json:"deviation"`
	Scale     *float64      `json:"scale"`
	Offset    vec           `json:"offset_mm"`
}

type featureJSON struct {
	Missing bool     `json:"missing"`
	Volume  *float64 `json:"volume_mm3"`
	Depth   *float64 `json:"depth_mm"`
	At      vec      `json:"at_mm"`
}

type stubJSON struct {
	What    string   `json:"what"`
	Channel *int     `json:"channel"`
	Area    *float64 `json:"area_mm2"`
	Length  *float64 `json:"length_mm"`
	At      vec      `json:"at_mm"`
	Show    *string  `json:"show"`
}

type narrowJSON struct {
	At    vec      `json:"at_mm"`
	Width *float64 `json:"width_mm"`
	Area  *float64 `json:"area_mm2"`
}

type placementJSON struct {
	Together bool       `json:"together"`
	Covered  *float64   `json:"covered"`
	Moves    []moveJSON `json:"moves"`
	PartIs   *string    `json:"part_is"`
	Foreign  []string   `json:"foreign"`
	Bare     *bareJSON  `json:"bare"`
	Mirrored bool       `json:"mirrored"`
}

type moveJSON struct {
	Body  string   `json:"body"`
	Scale *float64 `json:"scale"`
	Turn  vec      `json:"turn_deg"`
	Move  vec      `json:"move_mm"`
}

type bareJSON struct {
	Share     *float64 `json:"share"`
	Direction vec      `json:"direction"`
	At        vec      `json:"at_mm"`
}

// newFitJSON returns the section of the fit; nil where it was not computed.
func newFitJSON(o *checks.Outcome) *fitJSON {
	c := o.Fit
	if c == nil || o.Mold == nil {
		return nil
	}
	fit := &o.Mold.Fit
	j := &fitJSON{
		Tolerance: num(c.Tolerance), Overlap: num(c.OverlapVolume), OverlapDepth: num(c.OverlapDepth), Overlaps: []overlapJSON{},
		GapMax: num(c.GapMax), GapAt: placePtr(c.GapAt), GapArea: num(c.GapArea), Touching: num(c.Touching),
		LeakPaths: []leakJSON{}, Keys: []keyJSON{}, Reversible: c.Reversible(), Turns: []turnJSON{},
		PartDeviation: newDeviation(&c.Deviation), Cavities: []cavityJSON{}, Features: []featureJSON{}, Mirrored: c.Mirrored,
		Scale: num(fit.Scale), Shrink: num(100 * (1 - 1/fit.Scale)), Offset: place(fit.Offset), Skin: num(o.Mold.Skin),
		CastSize: place(c.Cast.Size), PrintScale: num(c.Cast.Print), CastShrink: num(100 * c.Cast.Shrink), Stubs: []stubJSON{},
	}
	for i := range c.Overlaps {
		v := &c.Overlaps[i]
		if i == 0 {
			j.OverlapAt = placePtr(&v.At)
		}
		j.Overlaps = append(j.Overlaps, overlapJSON{[]string{v.A, v.B}, num(v.Volume), num(v.Depth), place(v.At)})
	}
	if v := c.HalvesOffset; v != nil {
		j.HalvesOffset, j.OffsetHalf, j.OffsetFrom = placePtr(&v.Shift), word(v.Half), word(v.From)
	}
	if land, ok := c.LandMin(); ok {
		j.LandMin = num(land)
	}
	j.lists(c)
	return j
}

func (j *fitJSON) lists(c *mold.Closing) {
	for i := range c.Leaks {
		l := &c.Leaks[i]
		one := leakJSON{l.From, id(l.Channel), num(l.Land), []vec{}}
		for _, p := range l.Path {
			one.Path = append(one.Path, place(p))
		}
		j.LeakPaths = append(j.LeakPaths, one)
	}
	for i := range c.Keys {
		k := &c.Keys[i]
		j.Keys = append(j.Keys, keyJSON{i + 1, k.Half, k.Socket, place(k.At), num(k.Width), num(k.Depth), num(k.Clearance), num(k.Least), num(k.ToCavity)})
	}
	for i := range c.Turns {
		t := &c.Turns[i]
		j.Turns = append(j.Turns, turnJSON{t.Half, t.Mirror, num(t.Angle * 180 / math.Pi), place(t.Axis), place(t.About), t.Harmless})
	}
	for i := range c.Cavities {
		v := &c.Cavities[i]
		j.Cavities = append(j.Cavities, cavityJSON{place(v.Middle), num(v.Volume), newDeviation(&v.Deviation), num(v.Scale), place(v.Offset)})
	}
	for i := range c.Features {
		v := &c.Features[i]
		j.Features = append(j.Features, featureJSON{v.Missing, num(v.Volume), num(v.Depth), place(v.At)})
	}
	for i := range c.Stubs {
		s := &c.Stubs[i]
		one := stubJSON{What: s.What, Channel: id(s.Channel), Area: num(s.Area), At: place(s.At), Show: word(s.Show)}
		if s.Length > 0 {
			one.Length = num(s.Length)
		}
		j.Stubs = append(j.Stubs, one)
	}
}

func newDeviation(d *mold.Deviation) deviationJSON {
	j := deviationJSON{num(d.Max), num(d.Mean), num(d.Signed), placePtr(&d.At)}
	if d.Max == 0 {
		j.At = nil // the same everywhere
	}
	return j
}

// narrowJSONs lists the thin sections of the part; nil where they were not looked
// for.
func narrowJSONs(o *checks.Outcome) *[]narrowJSON {
	if o.Fit == nil {
		return nil
	}
	out := []narrowJSON{}
	for i := range o.Fit.Sections {
		s := &o.Fit.Sections[i]
		out = append(out, narrowJSON{place(s.At), num(s.Width), num(s.Area)})
	}
	return &out
}

// newPlacement tells whether the files lie together; nil where nobody asked.
func newPlacement(a *mold.Assembly) *placementJSON {
	if a == nil {
		return nil
	}
	j := &placementJSON{Together: a.Together, Covered: num(a.Covered), Moves: []moveJSON{}, PartIs: word(a.PartIs), Foreign: append([]string{}, a.Foreign...), Mirrored: a.Mirrored}
	for i := range a.Moves {
		v := &a.Moves[i]
		deg := geom.Vec{X: v.Turn.X * 180 / math.Pi, Y: v.Turn.Y * 180 / math.Pi, Z: v.Turn.Z * 180 / math.Pi}
		j.Moves = append(j.Moves, moveJSON{v.Body, num(v.Factor), place(deg), place(v.Shift)})
	}
	if b := a.Bare; b != nil {
		j.Bare = &bareJSON{num(b.Share), place(b.Direction), place(b.At)}
	}
	return j
}
