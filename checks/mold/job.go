package mold

import "pourproof/geom"

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
// or by rule, and the report says which value that came to.
type Job struct {
	Up       *geom.Vec // rest direction of the block, nil = +Z
	Tilt     *Tilt     // nil = level
	Gates    []geom.Vec
	GateOpen bool // free pour: the gate's mouth is an opening too
	Vents    []BoreSpec

	Seal  float64 // mm, gaps narrower than this are closed; 0 = max(0.12, 2.4 x chord error)
	Reach float64 // mm, radius of the ball that defines the outside; 0 = 8
	Cell  float64 // mm, column pitch; 0 = by rule from the narrowest channel
}

// Body is one closed mesh of the job in the assembled position.
type Body struct {
	Name       string
	Mesh       *geom.Mesh
	ChordError float64   // mm, estimate of the mesh's distance from the surface it stands for
	Pull       *geom.Vec // halves: the way it leaves the part, nil = from the parting faces
}
