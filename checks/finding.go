package checks

import "pourproof/geom"

// Where is the place of a finding.
type Where struct {
	Body string    // half's or part's name; empty for the closed mold
	At   *geom.Vec // CAD frame, nil where it has no single place
}

// Finding is one thing to know, with what to do about it.
type Finding struct {
	ID          int    // number in text, picture, JSON and CSV of this run, 1, 2, …
	Key         string // stable across runs: check, kind and place
	Check       string
	Severity    Severity
	Title       string // short sentence: "Air stays here: 640 mm3 (8 %)"
	Where       Where
	Value       *float64 // what was measured
	Unit        string
	Error       *float64 // how far off it may be
	Limit       *float64 // what it is compared with
	LimitKey    string   // its name in the limits' table
	Why         string   // why it matters
	Advice      string   // what to change, where, by how much
	Accepted    *string  // the user's reason
	Sensitivity string   // how little has to change for it to go; empty where that is not known

	Pocket  int // links into the facts, 0 for none
	Channel int

	kind   string    // for the key: pocket, blind, open-edge, …
	anchor *geom.Vec // for the key: the place of the feature; nil for a finding there is one of
	of     string    // for the key: the body, where there may be one finding a body
	harm   float64   // size relative to the limit; orders findings of one severity
}
