package mold

import (
	"fmt"
	"math"

	"pourproof/geom"
)

// Tilt is how the block stands while pouring: the side that faces the azimuth
// Side is raised by Angle (both radians; a negative angle raises the other side).
type Tilt struct{ Angle, Side float64 }

// BoreSpec is a straight bore tried out without touching the CAD model: from a
// cavity point to the outside.
type BoreSpec struct {
	At        geom.Vec
	Diameter  float64
	Direction *geom.Vec // nil: along the pour's up
}

// Job is everything the user asked for. A zero or nil field means: by default
// or by rule, and the report says which value that came to. Settings lists every
// field with its name in the job file, unit, range, default and source.
type Job struct {
	Up       *geom.Vec // rest direction of the block, nil = +Z
	Tilt     *Tilt     // nil = level
	Gates    []geom.Vec
	GateOpen bool // free pour: the gate's mouth is an opening too
	Vents    []BoreSpec

	Seal  float64 // mm, gaps narrower than this are closed; 0 = max(0.12, 2.4 x chord error)
	Reach float64 // mm, radius of the ball that defines the outside; 0 = 8
	Cell  float64 // mm, column pitch; 0 = by rule from the narrowest channel

	TiltLimit float64 // radians, largest tilt that a search may propose
	Units     string  // of files that state none: mm, cm, m, in, ft, um; empty = mm, assumed

	Part    BodySpec
	Halves  []BodySpec
	Liquid  Liquid
	Rubber  Rubber
	Printer Printer
	Pot     Pot
	Limits  []LimitValue // in the order of the job file
	Show    []ShowFace
	Accept  []Accept
	Report  ReportInfo
	Coupon  *Coupon // what was measured on the printer's coupon, nil = none; Calibrate sets it

	Includes []string // paths of the presets read, in order

	from map[string]string // setting's name to where its value came from; never ranged over
}

// BodySpec names one mesh of the job and where it stands. A mesh is scaled about
// its file's origin, then turned about X, Y and Z in this order, then moved.
type BodySpec struct {
	File  string // as the user named it
	Path  string // to open, File seen from the job file's folder
	Body  string // name of one body of a file that holds several; empty = all
	Name  string // empty = the file's stem
	Units string // of this file, if it states none

	Build *geom.Vec // halves: from the build platform into the print, nil = by rule
	Pull  *geom.Vec // halves: the way it leaves the part, nil = by rule
	Flat  bool      // halves: stands on the platform instead of on supports

	Move  geom.Vec // mm
	Turn  geom.Vec // radians about X, Y, Z
	Scale float64  // 0 = 1
}

// Liquid is the casting resin. Zero means not given.
type Liquid struct {
	Name             string
	Density          float64   // g/ml, mixed
	DensityA         float64   // g/ml
	DensityB         float64   // g/ml
	RatioMass        []float64 // parts A, parts B by mass
	RatioVolume      []float64 // parts A, parts B by volume
	Viscosity        float64   // mPa s
	SurfaceTension   float64   // mN/m
	ContactAngle     float64   // radians on the rubber
	PotLife          float64   // s
	Rate             float64   // ml/s pushed by the syringe
	SyringeMl        float64   // ml
	PlungerMM        float64   // mm, bore of the syringe
	Dead             float64   // ml that stay in cup and syringe
	PigmentPercent   float64   // of the mixed mass, on top
	SparePercent     float64   // mixed beyond the need
	ShrinkPercent    float64   // linear
	SmallestBatchG   float64   // g
	SyringeStaysFull bool      // the syringe stays in the gate with a free plunger
}

// Rubber is the elastomer that the halves are printed in. Zero means not given.
type Rubber struct {
	Name       string
	ShoreA     float64
	Elongation float64 // percent at break
	Tear       float64 // J/m2, tear energy

	TearStrengthT float64 // kN/m, trouser test: force over thickness
}

// Printer is the bottom-up vat printer.
type Printer struct {
	Size        []float64 // mm, build volume x, y, z; nil = not given
	Layer       float64   // mm
	BoreLoss    float64   // mm that a bore prints narrower than drawn
	Undersize   float64   // percent that a print comes out smaller than drawn, linear
	Penetration float64   // mm, depth D_p at which light has fallen to 1/e in the uncured elastomer
	Exposure    float64   // of a layer over the least that gels, E/E_c
	Raise       float64   // mm between platform and a half on supports
	SelfSupport float64   // radians from level
	Lift        float64   // mm/s
	Viscosity   float64   // mPa s of the uncured elastomer
	Relief      float64   // mm, width from which a passage relieves a closed cup
	ReliefDrop  float64   // kPa, drop in it that still relieves
	Coupon      string    // results of a printed coupon, as the user named them; empty = none
	CouponPath  string    // to open, seen from the job file's folder
}

// Pot is the pressure pot. Pressures in kPa.
type Pot struct {
	Gauge        float64
	Rating       float64   // gauge, 0 = not given
	Ambient      float64   // absolute, at sea level
	Altitude     float64   // m
	PourC, CureC float64   // degrees Celsius
	Up           *geom.Vec // away from gravity while it stands in the pot, nil = not given
}

// Shrink returns what is left of an air pocket's volume under the pot's pressure
// (Boyle): p0/(p0+p).
func (p *Pot) Shrink() float64 { a := p.Air(); return a / (a + p.Gauge) }

// Air returns the air pressure around, kPa absolute: that at sea level, less what the
// altitude takes off, p = p0 (1 - 2.25577e-5 h)^5.25588 (ISO 2533, troposphere).
// Rounded to 1e-6 kPa.
func (p *Pot) Air() float64 {
	if p.Altitude == 0 {
		return p.Ambient
	}
	return math.Round(p.Ambient*math.Pow(1-2.25577e-5*p.Altitude, 5.25588)*1e6) / 1e6
}

// LimitValue is a limit that the user set.
type LimitValue struct {
	Key   string
	Value float64
	From  string // job file line n
}

// ShowFace marks faces of the part that will be looked at: those inside a box,
// or those that face a direction.
type ShowFace struct {
	Name      string
	Box       []float64 // min x, y, z, max x, y, z; nil = none
	Direction *geom.Vec // outward normal; nil = none
	Within    float64   // radians off Direction
}

// Accept is a finding that the user has decided to live with.
type Accept struct {
	Key    string // the finding's stable key
	Reason string
	From   string // job file line n, or flag --accept
}

// ReportInfo is what the report's title block says; nothing of it is judged.
type ReportInfo struct {
	Title, Revision, Date, Author string
	Paper                         string // a4 or letter
}

// NewJob returns a job with every default of Settings.
func NewJob() *Job {
	j := &Job{from: map[string]string{}}
	for i := range settings {
		if s := &settings[i]; !s.Many && s.Default != "" {
			if err := s.Set(j, 0, s.Default); err != nil {
				panic(fmt.Sprintf("default of %s: %v", s.Name(), err)) // a test sets every default
			}
		}
	}
	return j
}

// SetFrom notes where a setting's value came from.
func (j *Job) SetFrom(name, from string) {
	if j.from == nil {
		j.from = map[string]string{}
	}
	j.from[name] = from
}

// From returns where a setting's value came from; empty for a default.
func (j *Job) From(name string) string { return j.from[name] }

// Body is one closed mesh of the job in the assembled position.
type Body struct {
	Name       string
	Mesh       *geom.Mesh
	ChordError float64   // mm, estimate of the mesh's distance from the surface it stands for
	Pull       *geom.Vec // halves: the way it leaves the part, nil = from the parting faces

	file  string     // that it was read from
	index *bodyIndex // of Mesh as it was read; nil where nothing was read
}
