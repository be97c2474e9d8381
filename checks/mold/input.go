package mold

import "pourproof/geom"

// Input is what the intake knows of one mesh of the job.
type Input struct {
	Role      string // part or half
	Name      string
	File      string // as the user named it
	SHA256    string
	Units     string // what the file's numbers were taken as: mm, cm, m, in
	UnitsFrom string // stated in the file, flag, job file, assumed
	Format    string // STL binary, STL text, 3MF, OBJ
	Triangles int
	Shells    int
	Closed    bool
	Volume    float64 // mm3
	Area      float64 // mm2
	Box       geom.Box
	Chord     float64 // mm, estimated chord error
	Repairs   []Repair
	Warnings  []Caution
}

// Repair is something wrong in a file that was put right.
type Repair struct {
	Kind  string // a geom.Repair's
	Count int
	At    *geom.Vec
	Width float64 // of the widest hole, mm; else 0
	Text  string  // what was done, as a phrase
}

// Caution is something in a file that the user should know.
type Caution struct {
	Kind string // short stable name for keys: "open edges", "nested shell", …
	Text string // a sentence with place and remedy
	At   *geom.Vec
	Size float64 // count or mm, for limits; 0 where none
}
