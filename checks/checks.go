// Package checks judges the facts of one mold: every check reads package mold's
// answers and returns findings; limits.go alone turns a number into a severity.
//
// To add a check: write check_<name>.go with a Check value, add it to suite.go,
// add its limits with unit and source to limits.go, and a mold with a want file
// to testdata/cases.
package checks

import (
	"pourproof/checks/mold"
	"pourproof/geom"
)

// Check is one question asked of the mold.
type Check struct {
	Name  string // as --only takes it: air, vents, …
	Title string // as a page heading
	Doc   string // what it measures, its formula, its source: what `explain` prints
	Run   func(p *Pass)
}

// Pass is what a check's Run gets: the facts, the limits, and where to put
// findings.
type Pass struct {
	Job    *mold.Job
	Inputs []mold.Input
	Mold   *mold.Mold // nil if the mold could not be closed
	Fill   *mold.Fill // nil if the pour was not computed
	Limits *Limits

	check    *Check
	findings []Finding
	unjudged []NotJudged
}

// Report adds a finding of the running check.
func (p *Pass) Report(f Finding) {
	f.Check = p.check.Name
	p.findings = append(p.findings, f)
}

// CannotJudge says that the running check could not be judged, and why.
func (p *Pass) CannotJudge(why string) {
	p.unjudged = append(p.unjudged, NotJudged{p.check.Name, why, true})
}

// NotJudged is a check without an answer. It is never green.
type NotJudged struct {
	Check string
	Why   string
	Asked bool // false: left out by the user (--only) or not built yet
}

// Verdict is the one line at the top.
type Verdict string

// The verdicts, best first.
const (
	Ready       Verdict = "ready"
	Talk        Verdict = "discuss"
	DoNotPrint  Verdict = "stop"
	NoJudgement Verdict = "not_judged"
)

// Outcome is everything a run found out, as the report needs it.
type Outcome struct {
	Verdict   Verdict
	Findings  []Finding // in order of harm
	NotJudged []NotJudged
	Job       *mold.Job
	Inputs    []mold.Input
	Mold      *mold.Mold
	Fill      *mold.Fill
	Limits    *Limits
	Settings  []Setting // every value used, in fixed order
}

// Setting is one value that the run used and where it came from.
type Setting struct {
	Name   string // as in the job file: pour.seal
	Value  string // with unit
	Number *float64
	Unit   string
	From   string // default, by rule, job file line n, flag --seal
	Source string // of a default
}

// place is a convenience for findings.
func place(name string, at geom.Vec) Where { return Where{Body: name, At: &at} }
