package mold

import (
	"math"

	"pourproof/geom"
)

// Form is how a setting's value is written.
type Form string

// The forms of a value. In the job file a Direction, Point or Numbers is a list
// of numbers, Points a list of such lists or one of them; on the command line
// the numbers are set apart by commas.
const (
	Number    Form = "number"
	Numbers   Form = "numbers"
	Direction Form = "direction x, y, z"
	Point     Form = "x, y, z"
	Points    Form = "points x, y, z"
	Text      Form = "text"
	Word      Form = "word" // one of Setting.Words
	Switch    Form = "true or false"
	TiltForm  Form = "ANGLE or ANGLE@SIDE"
	Pressure  Form = "pressure with unit, gauge"
	Date      Form = "date"
)

// Setting is one key of the job file: the single place for its name, unit,
// range, default and that default's source. Job files are read, written and
// reported by it. A field in radians has the unit deg here: degrees end at Set
// and begin again at Show.
type Setting struct {
	Table   string // as in the job file
	Key     string
	Many    bool // the table may be there more than once: [[half]]
	Form    Form
	Count   int // how many numbers, for Numbers
	Unit    string
	Low     float64 // closed range of each number
	High    float64
	Words   []string
	Default string // as on the command line; empty = none, Rule says why
	Rule    string // how an empty default is filled
	Sample  string // a value to show in a written job file where there is no default
	Source  string // of the default
	What    string // a phrase

	field func(j *Job, i int) any // pointer to the field; i counts tables from 0
}

// Name returns table and key: pour.tilt.
func (s *Setting) Name() string { return s.Table + "." + s.Key }

// Settings returns the table of all settings in the order of the job file.
// Limits come from package checks and have no row here.
func Settings() []Setting { return settings }

// SettingNamed returns the setting of that name, nil if there is none.
func SettingNamed(name string) *Setting {
	for i := range settings {
		if settings[i].Name() == name {
			return &settings[i]
		}
	}
	return nil
}

// NotGiven is the rule of a setting that nothing is assumed for.
const NotGiven = "not given"

const (
	commonPractice = "common practice, no source"
	byAssumption   = "assumed"
	farAway        = 1e6 // mm: farther than any mold, near enough for float64 and float32
	anyAngle       = 360.0
)

// ofPart and ofHalf pick the body that a row's field belongs to.
func ofPart(pick func(b *BodySpec) any) func(*Job, int) any {
	return func(j *Job, _ int) any { return pick(&j.Part) }
}

func ofHalf(pick func(b *BodySpec) any) func(*Job, int) any {
	return func(j *Job, i int) any { return pick(&j.Halves[i]) }
}

var lengthUnits = []string{"mm", "cm", "m", "in", "ft", "um"}

// bodySettings are the rows that part and halves share.
func bodySettings(table string, many bool, of func(func(b *BodySpec) any) func(*Job, int) any) []Setting {
	return []Setting{
		{Table: table, Many: many, Key: "file", Form: Text, What: "mesh file, seen from this job file", Rule: "needed",
			field: of(func(b *BodySpec) any { return &b.File })},
		{Table: table, Many: many, Key: "body", Form: Text, Sample: "knob", What: "name of one body, for a file that holds several", Rule: "all bodies",
			field: of(func(b *BodySpec) any { return &b.Body })},
		{Table: table, Many: many, Key: "name", Form: Text, What: "name in the report", Rule: "the file's stem",
			field: of(func(b *BodySpec) any { return &b.Name })},
		{Table: table, Many: many, Key: "units", Form: Word, Words: lengthUnits, What: "unit of a file that states none", Rule: "mm, assumed",
			field: of(func(b *BodySpec) any { return &b.Units })},
		{Table: table, Many: many, Key: "scale", Form: Number, Low: 1e-3, High: 1e3, What: "scale about the file's origin", Rule: "1",
			field: of(func(b *BodySpec) any { return &b.Scale })},
		{Table: table, Many: many, Key: "turn", Form: Point, Unit: "deg", Low: -anyAngle, High: anyAngle, What: "then turn about X, Y, Z in this order", Rule: "0, 0, 0",
			field: of(func(b *BodySpec) any { return &b.Turn })},
		{Table: table, Many: many, Key: "move", Form: Point, Unit: "mm", Low: -farAway, High: farAway, What: "then move", Rule: "0, 0, 0",
			field: of(func(b *BodySpec) any { return &b.Move })},
	}
}

var settings = concat(
	bodySettings("part", false, ofPart),
	bodySettings("half", true, ofHalf),
	[]Setting{
		{Table: "half", Many: true, Key: "build", Form: Direction, Low: -farAway, High: farAway, What: "from the build platform into the growing print", Rule: "the parting face looks away from the platform",
			field: ofHalf(func(b *BodySpec) any { return &b.Build })},
		{Table: "half", Many: true, Key: "flat", Form: Switch, What: "stands on the platform instead of on supports", Rule: "false",
			field: ofHalf(func(b *BodySpec) any { return &b.Flat })},
		{Table: "half", Many: true, Key: "pull", Form: Direction, Low: -farAway, High: farAway, What: "the way this half leaves the part", Rule: "from the parting faces",
			field: ofHalf(func(b *BodySpec) any { return &b.Pull })},
	},
	pourSettings, materialSettings, machineSettings, tableSettings,
)

var pourSettings = []Setting{
	{Table: "pour", Key: "up", Form: Direction, Low: -farAway, High: farAway, What: "away from gravity while the block rests", Rule: "0, 0, 1",
		field: func(j *Job, _ int) any { return &j.Up }},
	{Table: "pour", Key: "tilt", Form: TiltForm, Unit: "deg", Low: -180, High: 180, What: "the side facing azimuth SIDE (0 = +x, 90 = +y) is raised by ANGLE", Rule: "level",
		field: func(j *Job, _ int) any { return &j.Tilt }},
	{Table: "pour", Key: "gate", Form: Points, Unit: "mm", Low: -farAway, High: farAway, What: "a point at the gate", Rule: "the widest channel, of equals the one with the lower mouth",
		field: func(j *Job, _ int) any { return &j.Gates }},
	{Table: "pour", Key: "gate_open", Form: Switch, Default: "false", Source: commonPractice, What: "free pour: no syringe seals the gate",
		field: func(j *Job, _ int) any { return &j.GateOpen }},
	{Table: "pour", Key: "seal", Form: Number, Unit: "mm", Low: 0.001, High: 2, Sample: "0.12", What: "gaps between the halves narrower than this are closed", Rule: "the larger of 0.12 mm and 2.4 x chord error", Source: byAssumption,
		field: func(j *Job, _ int) any { return &j.Seal }},
	{Table: "pour", Key: "reach", Form: Number, Unit: "mm", Low: 0.5, High: 100, Sample: "8", What: "radius of the ball that rolls over the outside; larger than any funnel", Rule: "8 mm", Source: byAssumption,
		field: func(j *Job, _ int) any { return &j.Reach }},
	{Table: "pour", Key: "cell", Form: Number, Unit: "mm", Low: 0.01, High: 5, Sample: "0.2", What: "column pitch", Rule: "a third of the narrowest channel, within 0.10 and 0.25 mm",
		field: func(j *Job, _ int) any { return &j.Cell }},
	{Table: "pour", Key: "tilt_limit_deg", Form: Number, Unit: "deg", Low: 0, High: 180, Default: "60", Source: commonPractice, What: "largest tilt that a search may propose",
		field: func(j *Job, _ int) any { return &j.TiltLimit }},
	{Table: "vent", Many: true, Key: "at", Form: Point, Unit: "mm", Low: -farAway, High: farAway, Sample: "12.5, 0, 20", What: "vent to try out: a point of the cavity", Rule: "needed",
		field: func(j *Job, i int) any { return &j.Vents[i].At }},
	{Table: "vent", Many: true, Key: "diameter", Form: Number, Unit: "mm", Low: 0.05, High: 50, Sample: "2", What: "its diameter", Rule: "needed",
		field: func(j *Job, i int) any { return &j.Vents[i].Diameter }},
	{Table: "vent", Many: true, Key: "direction", Form: Direction, Low: -farAway, High: farAway, What: "its way to the outside", Rule: "the pour's up",
		field: func(j *Job, i int) any { return &j.Vents[i].Direction }},
}

var materialSettings = []Setting{
	{Table: "liquid", Key: "name", Form: Text, What: "casting resin, as the report should name it", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.Name }},
	{Table: "liquid", Key: "density", Form: Number, Unit: "g/ml", Low: 0.2, High: 20, Default: "1.05", Source: commonPractice, What: "of the mixed resin",
		field: func(j *Job, _ int) any { return &j.Liquid.Density }},
	{Table: "liquid", Key: "density_a", Form: Number, Unit: "g/ml", Low: 0.2, High: 20, Sample: "1.05", What: "of component A", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.DensityA }},
	{Table: "liquid", Key: "density_b", Form: Number, Unit: "g/ml", Low: 0.2, High: 20, Sample: "1.2", What: "of component B", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.DensityB }},
	{Table: "liquid", Key: "ratio_mass", Form: Numbers, Count: 2, Low: 1e-3, High: 1e4, Sample: "100, 90", What: "parts A, parts B by mass", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.RatioMass }},
	{Table: "liquid", Key: "ratio_volume", Form: Numbers, Count: 2, Low: 1e-3, High: 1e4, What: "parts A, parts B by volume", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.RatioVolume }},
	{Table: "liquid", Key: "viscosity", Form: Number, Unit: "mPa s", Low: 0.1, High: 1e6, Default: "100", Source: commonPractice, What: "while it is poured",
		field: func(j *Job, _ int) any { return &j.Liquid.Viscosity }},
	{Table: "liquid", Key: "surface_tension", Form: Number, Unit: "mN/m", Low: 1, High: 500, Default: "35", Source: commonPractice, What: "against air",
		field: func(j *Job, _ int) any { return &j.Liquid.SurfaceTension }},
	{Table: "liquid", Key: "contact_angle_deg", Form: Number, Unit: "deg", Low: 0, High: 180, Default: "60", Source: commonPractice, What: "on the rubber",
		field: func(j *Job, _ int) any { return &j.Liquid.ContactAngle }},
	{Table: "liquid", Key: "pot_life_s", Form: Number, Unit: "s", Low: 5, High: 1e6, Sample: "300", What: "from mixing to too thick to pour", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.PotLife }},
	{Table: "liquid", Key: "rate_ml_s", Form: Number, Unit: "ml/s", Low: 1e-3, High: 100, Default: "0.5", Source: commonPractice, What: "pushed by the syringe",
		field: func(j *Job, _ int) any { return &j.Liquid.Rate }},
	{Table: "liquid", Key: "syringe_ml", Form: Number, Unit: "ml", Low: 0.1, High: 1e4, Sample: "20", What: "what the syringe holds", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.SyringeMl }},
	{Table: "liquid", Key: "syringe_stays", Form: Switch, Default: "false", Source: commonPractice, What: "the full syringe stays in the gate with a free plunger",
		field: func(j *Job, _ int) any { return &j.Liquid.SyringeStaysFull }},
	{Table: "liquid", Key: "plunger_mm", Form: Number, Unit: "mm", Low: 1, High: 200, Sample: "19.1", What: "bore of the syringe, for forces", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Liquid.PlungerMM }},
	{Table: "liquid", Key: "dead_ml", Form: Number, Unit: "ml", Low: 0, High: 1e3, Default: "2", Source: byAssumption, What: "stays in cup, on stirrer and in syringe",
		field: func(j *Job, _ int) any { return &j.Liquid.Dead }},
	{Table: "liquid", Key: "pigment_percent", Form: Number, Unit: "%", Low: 0, High: 50, Default: "0", Source: byAssumption, What: "pigment on top of the mixed mass",
		field: func(j *Job, _ int) any { return &j.Liquid.PigmentPercent }},
	{Table: "liquid", Key: "spare_percent", Form: Number, Unit: "%", Low: 0, High: 500, Default: "15", Source: commonPractice, What: "mixed beyond what mold and pot need",
		field: func(j *Job, _ int) any { return &j.Liquid.SparePercent }},
	{Table: "liquid", Key: "shrink_percent", Form: Number, Unit: "%", Low: 0, High: 10, Default: "0.2", Source: commonPractice, What: "linear shrink of the cast",
		field: func(j *Job, _ int) any { return &j.Liquid.ShrinkPercent }},
	{Table: "liquid", Key: "smallest_batch_g", Form: Number, Unit: "g", Low: 0.1, High: 1e5, Default: "100", Source: commonPractice, What: "least that can be weighed and cures well",
		field: func(j *Job, _ int) any { return &j.Liquid.SmallestBatchG }},
	{Table: "rubber", Key: "name", Form: Text, What: "elastomer of the halves, as the report should name it", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Rubber.Name }},
	{Table: "rubber", Key: "shore_a", Form: Number, Low: 5, High: 95, Default: "50", Source: "printable elastomers are 30 to 80; " + byAssumption, What: "hardness, Shore A",
		field: func(j *Job, _ int) any { return &j.Rubber.ShoreA }},
	{Table: "rubber", Key: "elongation_percent", Form: Number, Unit: "%", Low: 5, High: 2000, Default: "150", Source: "printable elastomers break at 60 to 300 % (from memory); " + byAssumption, What: "elongation at break",
		field: func(j *Job, _ int) any { return &j.Rubber.Elongation }},
	{Table: "rubber", Key: "tear_j_m2", Form: Number, Unit: "J/m2", Low: 1, High: 1e5, Default: "300", Source: "elastomers of low hysteresis (PNAS 2019, PMC6442615); " + byAssumption, What: "tear energy",
		field: func(j *Job, _ int) any { return &j.Rubber.Tear }},
	{Table: "rubber", Key: "tear_strength_t", Form: Number, Unit: "kN/m", Low: 1e-3, High: 100, Sample: "0.5", What: "in place of tear_j_m2: tear strength by the trouser test (ASTM D624 type T, ISO 34-1 method A)", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Rubber.TearStrengthT }},
}

var machineSettings = []Setting{
	{Table: "printer", Key: "coupon", Form: Text, Sample: "coupon.toml", What: "results of a printed coupon (pourproof coupon writes it), seen from this job file", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Printer.Coupon }},
	{Table: "printer", Key: "size", Form: Numbers, Count: 3, Unit: "mm", Low: 1, High: 1e4, Sample: "120, 70, 150", What: "build volume x, y, z", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Printer.Size }},
	{Table: "printer", Key: "layer", Form: Number, Unit: "mm", Low: 0.001, High: 1, Default: "0.05", Source: commonPractice, What: "layer height",
		field: func(j *Job, _ int) any { return &j.Printer.Layer }},
	{Table: "printer", Key: "bore_loss", Form: Number, Unit: "mm", Low: 0, High: 2, Default: "0.15", Source: commonPractice, What: "a bore prints this much narrower than drawn",
		field: func(j *Job, _ int) any { return &j.Printer.BoreLoss }},
	{Table: "printer", Key: "undersize_percent", Form: Number, Unit: "%", Low: -5, High: 5, Default: "0", Source: byAssumption, What: "a print comes out this much smaller than drawn, linear; measure one",
		field: func(j *Job, _ int) any { return &j.Printer.Undersize }},
	{Table: "printer", Key: "penetration", Form: Number, Unit: "mm", Low: 0.001, High: 5, Default: "0.15", Source: byAssumption, What: "depth in the uncured elastomer at which light has fallen to 1/e (D_p)",
		field: func(j *Job, _ int) any { return &j.Printer.Penetration }},
	{Table: "printer", Key: "exposure_ratio", Form: Number, Low: 1, High: 1000, Default: "3", Source: byAssumption, What: "exposure of a layer over the least that gels (E/E_c)",
		field: func(j *Job, _ int) any { return &j.Printer.Exposure }},
	{Table: "printer", Key: "raise", Form: Number, Unit: "mm", Low: 0, High: 100, Default: "5", Source: commonPractice, What: "between the platform and a half on supports",
		field: func(j *Job, _ int) any { return &j.Printer.Raise }},
	{Table: "printer", Key: "self_support_deg", Form: Number, Unit: "deg", Low: 0, High: 90, Default: "20", Source: byAssumption, What: "faces flatter than this need supports",
		field: func(j *Job, _ int) any { return &j.Printer.SelfSupport }},
	{Table: "printer", Key: "lift_mm_s", Form: Number, Unit: "mm/s", Low: 0.001, High: 100, Default: "1", Source: commonPractice, What: "speed at which a layer is lifted off the film",
		field: func(j *Job, _ int) any { return &j.Printer.Lift }},
	{Table: "printer", Key: "viscosity", Form: Number, Unit: "mPa s", Low: 0.1, High: 1e6, Default: "1000", Source: commonPractice, What: "of the uncured elastomer",
		field: func(j *Job, _ int) any { return &j.Printer.Viscosity }},
	{Table: "printer", Key: "relief", Form: Number, Unit: "mm", Low: 0.1, High: 50, Default: "2", Source: byAssumption, What: "width from which a passage relieves a closed cup",
		field: func(j *Job, _ int) any { return &j.Printer.Relief }},
	{Table: "printer", Key: "relief_kpa", Form: Number, Unit: "kPa", Low: 0.01, High: 1000, Default: "20", Source: byAssumption, What: "pressure drop up to which it does",
		field: func(j *Job, _ int) any { return &j.Printer.ReliefDrop }},
	{Table: "pot", Key: "pressure", Form: Pressure, Unit: "kPa", Low: 0, High: 3000, Default: "60psi", Source: commonPractice, What: "gauge pressure in the pot while the resin cures",
		field: func(j *Job, _ int) any { return &j.Pot.Gauge }},
	{Table: "pot", Key: "rating", Form: Pressure, Unit: "kPa", Low: 1, High: 10000, Sample: "80psi", What: "highest gauge pressure the vessel is rated for", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Pot.Rating }},
	{Table: "pot", Key: "ambient_kpa", Form: Number, Unit: "kPa", Low: 20, High: 120, Default: "101.325", Source: "standard atmosphere, ISO 2533", What: "air pressure around, absolute",
		field: func(j *Job, _ int) any { return &j.Pot.Ambient }},
	{Table: "pot", Key: "altitude_m", Form: Number, Unit: "m", Low: -400, High: 5000, Default: "0", Source: "ISO 2533", What: "of the shop; lowers the air pressure around",
		field: func(j *Job, _ int) any { return &j.Pot.Altitude }},
	{Table: "pot", Key: "pour_c", Form: Number, Unit: "C", Low: -20, High: 200, Default: "23", Source: byAssumption, What: "temperature at which it is poured, degrees Celsius",
		field: func(j *Job, _ int) any { return &j.Pot.PourC }},
	{Table: "pot", Key: "cure_c", Form: Number, Unit: "C", Low: -20, High: 300, Default: "23", Source: byAssumption, What: "temperature that it reaches while it cures",
		field: func(j *Job, _ int) any { return &j.Pot.CureC }},
	{Table: "pot", Key: "up", Form: Direction, Low: -farAway, High: farAway, What: "away from gravity while the mold stands in the pot", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Pot.Up }},
}

var tableSettings = []Setting{
	{Table: "show", Many: true, Key: "name", Form: Text, What: "show face, as the report should name it", Rule: NotGiven,
		field: func(j *Job, i int) any { return &j.Show[i].Name }},
	{Table: "show", Many: true, Key: "box", Form: Numbers, Count: 6, Unit: "mm", Low: -farAway, High: farAway, Sample: "-10, -10, 15, 10, 10, 18", What: "the part's faces inside this box: min x, y, z, max x, y, z", Rule: NotGiven,
		field: func(j *Job, i int) any { return &j.Show[i].Box }},
	{Table: "show", Many: true, Key: "direction", Form: Direction, Low: -farAway, High: farAway, What: "or those that face this way", Rule: NotGiven,
		field: func(j *Job, i int) any { return &j.Show[i].Direction }},
	{Table: "show", Many: true, Key: "within_deg", Form: Number, Unit: "deg", Low: 0, High: 180, Sample: "20", What: "within this angle", Rule: "20 deg",
		field: func(j *Job, i int) any { return &j.Show[i].Within }},
	{Table: "accept", Many: true, Key: "key", Form: Text, Sample: "air/...", What: "stable key of a finding you can live with", Rule: "needed",
		field: func(j *Job, i int) any { return &j.Accept[i].Key }},
	{Table: "accept", Many: true, Key: "reason", Form: Text, What: "why", Rule: "needed",
		field: func(j *Job, i int) any { return &j.Accept[i].Reason }},
	{Table: "report", Key: "title", Form: Text, What: "of the report", Rule: "the part's name",
		field: func(j *Job, _ int) any { return &j.Report.Title }},
	{Table: "report", Key: "revision", Form: Text, What: "of the mold", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Report.Revision }},
	{Table: "report", Key: "date", Form: Date, What: "on the report; the program never reads the clock", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Report.Date }},
	{Table: "report", Key: "author", Form: Text, What: "who asks", Rule: NotGiven,
		field: func(j *Job, _ int) any { return &j.Report.Author }},
	{Table: "report", Key: "paper", Form: Word, Words: []string{"a4", "letter"}, Default: "a4", Source: "ISO 216", What: "paper size",
		field: func(j *Job, _ int) any { return &j.Report.Paper }},
}

func concat(lists ...[]Setting) []Setting {
	var out []Setting
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// radians turns a number written in the setting's unit into the field's.
func (s *Setting) radians(x float64) float64 {
	if s.Unit == "deg" {
		return x * (math.Pi / 180)
	}
	return x
}

// inUnit is the inverse of radians, rounded to 1e-9 so that 60 deg shows as 60;
// a pressure given in another unit is rounded to 1e-4 kPa.
func (s *Setting) inUnit(x float64) float64 {
	switch s.Unit {
	case "deg":
		return math.Round(x*(180/math.Pi)*1e9)/1e9 + 0
	case "kPa":
		return math.Round(x*1e4) / 1e4
	}
	return x
}

// vec and its inverse keep Point fields and Setting's numbers apart.
func (s *Setting) vec(n []float64) geom.Vec {
	return geom.Vec{X: s.radians(n[0]), Y: s.radians(n[1]), Z: s.radians(n[2])}
}
