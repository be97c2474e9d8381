package checks

import (
	"fmt"
	"math"
	"strings"

	"pourproof/checks/mold"
)

// Sense says on which side of a limit the harm lies.
type Sense int

// The senses of a limit.
const (
	From  Sense = iota + 1 // harm at the value and above it
	Over                   // harm above the value only
	Under                  // harm below the value only
)

// String returns the word that stands before the value in a sentence.
func (s Sense) String() string {
	switch s {
	case From:
		return "from"
	case Over:
		return "above"
	case Under:
		return "below"
	}
	return "?"
}

// Limit is one number that judges, with its unit and where it comes from.
type Limit struct {
	Key      string // as in the job file under [limits]
	Value    float64
	Unit     string
	Sense    Sense
	Severity Severity // of a finding that lies on the wrong side of the value
	What     string   // a phrase: "air pocket that spoils the part"
	Source   string   // publication, or "common practice, no source"
	From     string   // default, or the job file's line
}

// broken tells whether v lies on the wrong side of the limit.
func (l *Limit) broken(v float64) bool {
	switch l.Sense {
	case From:
		return v >= l.Value
	case Over:
		return v > l.Value
	case Under:
		return v < l.Value
	}
	return false
}

// harm says how far v is on the wrong side: 1 at the limit, 2 at twice (or half)
// of it. It orders findings and is shown nowhere.
func (l *Limit) harm(v float64) float64 {
	a, b := v, l.Value
	if l.Sense == Under {
		a, b = b, a
	}
	if b <= 0 {
		return maxHarm
	}
	return min(a/b, maxHarm)
}

// maxHarm stands for "without bound", as of a bore that has no width.
const maxHarm = 1e6

// Limits is the table of every threshold. It is the only place that turns a
// number into a severity.
type Limits struct {
	list []Limit
}

const (
	practice = "common practice, no source"
	given    = "the project's own choice; no source"
)

// DefaultLimits returns the table with its defaults.
func DefaultLimits() *Limits {
	row := func(key string, value float64, unit string, sense Sense, sev Severity, what, source string) Limit {
		return Limit{key, value, unit, sense, sev, what, source, "default"}
	}
	return &Limits{list: []Limit{
		row("hole_mm", 1, "mm", Over, Discuss, "width of a hole in a surface that was closed flat", practice),
		row("chord_mm", 0.05, "mm", Over, Discuss, "distance of a mesh from the curve it stands for", "export guides ask for 0.01 to 0.03 mm; "+practice),
		row("part_share", 10, "", Over, Discuss, "size of the block over size of the part that speaks for a wrong unit", given),
		row("skin_mm", 0.5, "mm", Over, Discuss, "skin between part and cavity that says they do not match", given),
		row("shift_mm", 0.5, "mm", Over, Discuss, "shift of the part against the cavity", given),
		row("scale_high", 1.02, "", Over, Discuss, "scale of the cavity over the part that no shrink asks for", "casting resins shrink by 0.15 to 1 % linear (bureau guides, data sheets); the rest is margin"),
		row("scale_low", 0.999, "", Under, Discuss, "scale of the cavity over the part that makes the cast too small", given),

		row("air_stop_mm3", 10, "mm3", From, Stop, "air pocket that spoils the part", given),
		row("air_show_mm3", 1, "mm3", From, Stop, "air pocket on a show face", given),
		row("air_discuss_mm3", 1, "mm3", From, Discuss, "air pocket worth a decision", given),
		row("level_ceiling_mm2", 25, "mm2", From, Discuss, "roof within 2 deg of level that holds a film of bubbles", given),
		row("tilt_gain_mm3", 10, "mm3", From, Discuss, "air that another tilt would spare", "as air_stop_mm3"),
		row("tilt_margin_deg", 2, "deg", Under, Note, "how far off the tilt may be before air stays", "a block on a wedge of card or wood stands within 2 deg; "+practice),
		row("unreached_stop_mm3", 1, "mm3", From, Stop, "space in the cavity that the resin has no way to", given),

		row("stopped_mm", 5, "mm", Under, Discuss, "rubber left between a bore from outside and the cavity", "as around_mm: as much rubber stands there anyway"),
		row("bore_stop_mm", 0.8, "mm", Under, Stop, "width of a channel that closes in print or wash", "rigid resin closes holes under 0.5 mm (print design rules); for rubber "+practice),
		row("bore_discuss_mm", 1.5, "mm", Under, Discuss, "width of a channel that may close", "print design rules ask for 1.0 mm in rigid resin, and holes print 0.1 to 0.2 mm small; for rubber "+practice),
		row("neck_stretch_percent", 25, "%", Over, Discuss, "stretch of the rubber as a cured plug is pulled through its neck", "needed stretch up to 30 % is comfortable (from memory); "+practice),
		row("wash_open_ratio", 10, "", Over, Discuss, "length over width of a bore open at both ends that cannot be washed out", practice),
		row("wash_blind_ratio", 4, "", Over, Note, "length over width of a blind bore that cannot be washed out", practice),
		row("exit_below_mm", 0.1, "mm", Over, Note, "height of the cavity's top over a vent's exit, syringe in the gate", "two heights, each known to 0.05 mm"),
		row("exit_below_open_mm", 0.1, "mm", Over, Stop, "height of the cavity's top or the gate's exit over a vent's exit, poured freely", "casting guides: no outlet below the pour spout; two heights, each known to 0.05 mm"),
		row("gate_small_mm", 2, "mm", Under, Discuss, "width of a gate that takes long to pour through", practice),
		row("gate_large_mm", 8, "mm", Over, Discuss, "width of a gate that leaves a large stub", practice),
		row("gate_height_mm", 3, "mm", Over, Discuss, "height of the gate's mouth over the cavity's lowest point", "casting guides: pour from the low point; the figure is "+practice),
		row("gate_rival_mm", 2, "mm", From, Discuss, "width of another channel, with a lower mouth, that may be the gate", given),
		row("gap_mm", 0.8, "mm", Under, Discuss, "width of an open slit in the parting face, too thin for a vent", "as bore_stop_mm"),
		row("vent_area_ratio", 1, "", Under, Note, "cross-section of all vents over that of the gate", practice),

		row("cup_stop_n", 20, "N", From, Stop, "suction on a closed cup, nothing relieving it and the build direction stated", given),
		row("cup_discuss_n", 10, "N", From, Discuss, "suction on a closed cup", given),
		row("cup_volume_mm3", 500, "mm3", From, Discuss, "volume of a closed cup, whatever its suction", given),
		row("void_stop_mm3", 1, "mm3", From, Stop, "void in the rubber without any way out", given),
		row("loose_mm3", 1, "mm3", From, Stop, "piece of a half that is joined to nothing", "as void_stop_mm3"),
		row("scar_mm2", 1, "mm2", From, Discuss, "faces that shape the part and need supports", given),
		row("start_molding_mm2", 0.01, "mm2", From, Discuss, "new solid above nothing on a face that shapes the part", given),
		row("step_um", 60, "um", Over, Discuss, "layer step on a face that shapes the part", "layers of 50 um are usual; "+given),

		row("around_mm", 5, "mm", Under, Discuss, "rubber between the cavity and the outside", "5 to 10 mm for printed elastomer; "+practice),
		row("around_stop_mm", 2, "mm", Under, Stop, "rubber between the cavity and the outside that bulges or tears", practice),
		row("thin_mm", 1.5, "mm", Under, Discuss, "wall, fin or pin of rubber that tears", "print design rules recommend 1.0 mm in rigid resin, 1.5 mm free-standing; for rubber "+practice),
		row("thin_stop_mm", 0.8, "mm", Under, Stop, "wall, fin or pin of rubber that tears at the first cast", "print design rules: 0.4 mm held, 0.6 mm free-standing in rigid resin; double for rubber, "+practice),
		row("thin_area_mm2", 1, "mm2", Under, Discuss, "area of a thin place too small to stop for", given),
		row("slender_ratio", 4, "", Over, Discuss, "height over thickness of a free-standing fin or pin", practice),
		row("knife_deg", 45, "deg", Under, Discuss, "angle of the rubber at a knife edge", given),
		row("knife_mm", 2, "mm", From, Discuss, "length of a knife edge worth a decision", given),
		row("corner_stretch_percent", 10, "%", Over, Discuss, "stretch at demolding of a sharp inner corner, where a crack starts", given),

		row("overlap_mm", 0.02, "mm", Over, Discuss, "depth to which two halves stand in one place", "above what coordinates in files are rounded to; "+given),
		row("overlap_stop_mm", 0.15, "mm", From, Stop, "depth of overlap that holds the mold open", given),
		row("parting_gap_mm", 0.05, "mm", Over, Discuss, "gap between parting faces that leaves flash", given),
		row("parting_gap_stop_mm", 0.2, "mm", From, Stop, "gap between parting faces that leaks", given),
		row("land_mm", 4, "mm", Under, Discuss, "land between the cavity, or a channel, and the outside", "4 to 8 mm; "+practice),
		row("land_stop_mm", 1.5, "mm", Under, Stop, "land that does not seal", practice),
		row("halves_offset_mm", 0.1, "mm", Over, Discuss, "step at the parting line, one half beside the other", "casting tolerance 0.1 mm up to 25 mm (polyurethane casting handbook)"),
		row("halves_offset_stop_mm", 0.3, "mm", From, Stop, "step at the parting line that spoils the part", given),
		row("key_tight_mm", 0.08, "mm", Under, Discuss, "clearance of a key per side, too tight for rubber", "0.10 to 0.20 mm for rubber, known to 0.02 mm; "+practice),
		row("key_stop_mm", 0.02, "mm", Under, Stop, "clearance of a key per side that keeps it out of its socket", practice),
		row("key_loose_mm", 0.32, "mm", Over, Discuss, "clearance of a key per side that lets the halves shift", "0.3 mm is loose (bureau guides), known to 0.02 mm"),
		row("key_cavity_mm", 4, "mm", Under, Discuss, "distance of a key from the cavity", practice),
		row("key_width_mm", 3.9, "mm", Under, Note, "width of a key that prints and holds", "4 mm; "+practice),
		row("deviation_mm", 0.2, "mm", Over, Discuss, "deviation of the cavity from the part", given),
		row("feature_mm3", 1, "mm3", From, Discuss, "piece that the part or the cavity lacks", given),
		row("feature_stop_mm3", 10, "mm3", From, Stop, "piece of the part that the cavity lacks", given),
		row("shrink_off_percent", 0.5, "%", Over, Discuss, "cast size off the drawn one", "casting tolerance 0.5 % (polyurethane casting handbook)"),
		row("section_mm", 1, "mm", Under, Discuss, "section of the part that may not fill", "design guides for urethane casting ask for 1.0 mm"),
		row("section_stop_mm", 0.5, "mm", Under, Stop, "section of the part that does not fill", "design guides for urethane casting: 0.5 mm in small parts"),

		row("undercut_percent", 25, "%", Over, Discuss, "stretch of the rubber as an undercut lets go", "needed stretch up to 30 % is comfortable, up to 50 % risky (from memory); "+practice),
		row("undercut_stop_percent", 60, "%", Over, Stop, "stretch of the rubber as an undercut lets go that tears it", practice),
		row("elongation_share_percent", 33, "%", Over, Stop, "that stretch as a share of the elongation at break that the user gave", "a third; "+practice),
		row("lock_mm", 0.5, "mm", From, Stop, "depth of an undercut whose rubber has no way to give", given),
		row("critical_flaw_mm", 0.3, "mm", Under, Discuss, "cut from which the rubber of an undercut tears on", "tips of supports are 0.2 to 0.6 mm wide (from memory); "+given),
		row("draft_depth_mm", 15, "mm", Over, Discuss, "depth of walls without draft", "none is needed in soft molds (a silicone casting handbook); below 15 mm suction is small, "+practice),

		row("fill_share_discuss", 0.5, "", Over, Discuss, "time to fill as a share of the pot life", practice),
		row("fill_share_stop", 1, "", Over, Stop, "time to fill beyond the pot life", "by definition"),
		row("degas_s", 300, "s", Under, Note, "pot life in which a mix can hardly be degassed", practice),
		row("gate_drop_kpa", 100, "kPa", Over, Discuss, "pressure lost in the gate", "a thumb makes 50 to 180 kPa (own calculation); "+given),
		row("opening_n", 100, "N", Over, Note, "force that opens the halves with vents blocked", given),
		row("ratio_off_percent", 2, "%", Over, Discuss, "difference of the ratios by mass and by volume", given),
		row("pot_reserve_ml", 0.01, "ml", Over, Discuss, "resin that the pot draws in and that is not there", given),
		row("pot_air_mm3", 10, "mm3", From, Discuss, "air that gathers as the mold stands in the pot", "as air_stop_mm3"),
	}}
}

// LimitsFor returns the table with the values that a job sets.
func LimitsFor(job *mold.Job) (*Limits, error) {
	l := DefaultLimits()
	if job == nil {
		return l, nil
	}
	if job.Coupon != nil {
		if _, err := l.Calibrate(job); err != nil {
			return nil, err
		}
	}
	for _, v := range job.Limits {
		if err := l.Set(v.Key, v.Value, v.From); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// All returns the table in fixed order.
func (l *Limits) All() []Limit { return l.list }

// Get returns one limit. A key that is not in the table is a mistake in the
// program and panics; the tests of the suite run over every key.
func (l *Limits) Get(key string) *Limit {
	for i := range l.list {
		if l.list[i].Key == key {
			return &l.list[i]
		}
	}
	panic("checks: no limit is named " + key)
}

// Set changes a limit to a value of its unit, which must be positive; from says
// where the value comes from (job file line n).
func (l *Limits) Set(key string, value float64, from string) error {
	var keys []string
	for i := range l.list {
		k := &l.list[i]
		keys = append(keys, k.Key)
		if k.Key != key {
			continue
		}
		if !(value > 0) || math.IsInf(value, 0) {
			return fmt.Errorf("%s: limit %s must be a positive number%s, not %g", from, key, in(k.Unit), value)
		}
		k.Value, k.From = value, from
		return nil
	}
	near := mold.Nearest(key, keys)
	if near != "" {
		return fmt.Errorf("%s: no limit is named %q; did you mean %s?", from, key, near)
	}
	return fmt.Errorf("%s: no limit is named %q; the limits are %s", from, key, strings.Join(keys, ", "))
}

func in(unit string) string {
	if unit == "" {
		return ""
	}
	return " in " + unit
}

// Judgement is what the limits say about a number. The zero value: nothing.
type Judgement struct {
	Severity Severity
	Limit    *Limit
	harm     float64
}

// Judge holds v against limits and returns the worst of those it breaks, of equal
// severities the one named first.
func (l *Limits) Judge(v float64, keys ...string) Judgement {
	var j Judgement
	for _, key := range keys {
		if k := l.Get(key); k.broken(v) && k.Severity > j.Severity {
			j = Judgement{k.Severity, k, k.harm(v)}
		}
	}
	return j
}

// Broken tells whether any limit was.
func (j Judgement) Broken() bool { return j.Limit != nil }

// on puts severity and limit of the judgement of v on a finding.
func (j Judgement) on(f Finding, v float64) Finding {
	f.Value, f.Severity = &v, j.Severity
	if j.Limit != nil {
		limit := j.Limit.Value
		f.Unit, f.Limit, f.LimitKey, f.harm = j.Limit.Unit, &limit, j.Limit.Key, j.harm
	}
	return f
}

// atMost lowers a severity that other doubts stand against.
func (j Judgement) atMost(s Severity) Judgement {
	j.Severity = min(j.Severity, s)
	return j
}
