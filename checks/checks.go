// Package checks judges the facts of one mold: every check reads package mold's
// answers and returns findings; limits.go alone turns a number into a severity.
//
// To add a check: write check_<name>.go with a Check value, put it in its place in
// suite.go, add its limits with unit and source to limits.go, and say what it finds
// on the stored molds in testdata/<case>.want. Sentences come from sentence.go, keys
// of findings from key.go.
package checks

import (
	"fmt"
	"strings"

	"pourproof/checks/mold"
)

// Check is one question asked of the mold.
type Check struct {
	Name   string   // as --only takes it: air, vents, …
	Title  string   // as a page heading
	Doc    string   // what it measures, its formula, its source
	Limits []string // keys of the limits it judges by
	Run    func(p *Pass)
}

// Explain returns what a check measures and the limits it judges by, with their
// sources.
func (c *Check) Explain(l *Limits) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s\n\n%s\n", c.Name, c.Title, strings.TrimSpace(c.Doc))
	if len(c.Limits) > 0 {
		b.WriteString("\nLimits (set them in the job file under [limits]):\n")
	}
	for _, key := range c.Limits {
		k := l.Get(key)
		fmt.Fprintf(&b, "  %s = %s\n      %s: %s, %s %s.\n      Source: %s.\n", key, figure(k.Value),
			k.Severity, k.What, k.Sense, strings.TrimSpace(figure(k.Value)+" "+k.Unit), k.Source)
	}
	return b.String()
}

// Pass is what a check's Run gets: the facts, the limits, and where to put
// findings.
type Pass struct {
	Job       *mold.Job
	Inputs    []mold.Input
	Mold      *mold.Mold         // nil if the mold could not be closed
	Fill      *mold.Fill         // nil if the pour was not computed
	Tilts     *mold.TiltSearch   // nil if tilts were not searched
	Sensitive []mold.Sensitivity // of pockets and cups; none without a search
	Prints    []*mold.Printed
	Poses     []*mold.PoseSearch
	Fit       *mold.Closing   // nil if the fit was not computed
	Places    *mold.Assembly  // nil if it was not asked whether the files lie together
	Proof     *mold.SelfProof // nil if the mold could not be closed
	Charge    *mold.Charge    // nil if it was not computed, like Pot
	Pot       *mold.PotCure
	Demolding *mold.Demolding    // nil if it was not computed how the part leaves the halves
	Rubber    []*mold.HalfRubber // one a half, or none
	Limits    *Limits

	check    *Check
	named    bool // the user named the check
	asked    func(check string) bool
	fault    error // why Mold or Fill is nil
	trial    bool  // findings are asked for only to see whether they are there
	findings []Finding
	unjudged []NotJudged
}

// Report adds a finding of the running check.
func (p *Pass) Report(f Finding) {
	f.Check = p.check.Name
	f.Sensitivity = p.sensitivity(&f)
	p.findings = append(p.findings, f)
}

// CannotJudge says that the running check could not be judged, and why.
func (p *Pass) CannotJudge(why string) {
	p.unjudged = append(p.unjudged, NotJudged{p.check.Name, why, true})
}

// poured tells whether there is a pour to judge, and says so if not.
func (p *Pass) poured() bool {
	switch {
	case p.Mold != nil && p.Fill != nil:
		return true
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
	case p.Mold == nil:
		p.CannotJudge("the mold could not be closed")
	default:
		p.CannotJudge("the pour was not computed")
	}
	return false
}

// NotJudged is a check without an answer. It is never green.
type NotJudged struct {
	Check string
	Why   string
	Asked bool // false: left out by the user (--only), or not computed
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
	Tilts     *mold.TiltSearch   // nil if tilts were not searched
	Prints    []*mold.Printed    // one a half, or none
	Poses     []*mold.PoseSearch // one a half, or none
	Fit       *mold.Closing
	Places    *mold.Assembly
	Proof     *mold.SelfProof
	Charge    *mold.Charge // nil if it was not computed, like Pot
	Pot       *mold.PotCure
	Demolding *mold.Demolding    // nil if it was not computed how the part leaves the halves
	Rubber    []*mold.HalfRubber // one a half, or none
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
