package checks

import (
	"cmp"
	"slices"
	"strings"

	"pourproof/checks/mold"
)

// Input is what a run judges.
type Input struct {
	Job       *mold.Job
	Inputs    []mold.Input
	Mold      *mold.Mold // nil if the mold could not be closed
	Fill      *mold.Fill // nil if the pour was not computed
	Tilts     *mold.TiltSearch
	Sensitive []mold.Sensitivity // of pockets and cups
	Prints    []*mold.Printed
	Poses     []*mold.PoseSearch
	Fit       *mold.Closing
	Places    *mold.Assembly
	Proof     *mold.SelfProof
	Charge    *mold.Charge
	Pot       *mold.PotCure
	Demolding *mold.Demolding
	Rubber    []*mold.HalfRubber
	Fault     error    // why Mold or Fill is nil
	Only      []string // names of the checks asked for; empty = all. Intake is always on
	Settings  []Setting
	Accept    []mold.Accept
	Limits    *Limits // nil = LimitsFor(Job)
}

// Run asks every check and returns the findings in order of harm: by severity,
// then by size against the limit, then in the order of the suite and of places.
// Their numbers follow that order; their keys do not depend on it.
func Run(in Input) *Outcome {
	o := &Outcome{Job: in.Job, Inputs: in.Inputs, Mold: in.Mold, Fill: in.Fill, Tilts: in.Tilts, Prints: in.Prints, Poses: in.Poses, Fit: in.Fit, Places: in.Places, Proof: in.Proof, Charge: in.Charge, Pot: in.Pot, Demolding: in.Demolding, Rubber: in.Rubber, Limits: in.Limits, Settings: in.Settings}
	if o.Job == nil {
		o.Job = mold.NewJob()
	}
	if o.Limits == nil {
		limits, err := LimitsFor(o.Job)
		if err != nil {
			limits = DefaultLimits()
			o.NotJudged = append(o.NotJudged, NotJudged{"limits", err.Error(), true})
		}
		o.Limits = limits
	}
	suite := Suite()
	asked := func(name string) bool {
		return name == intakeCheck.Name || len(in.Only) == 0 || slices.Contains(in.Only, name)
	}
	for _, c := range suite {
		switch {
		case !asked(c.Name):
			o.NotJudged = append(o.NotJudged, NotJudged{c.Name, "not asked", false})
		default:
			p := &Pass{Job: o.Job, Inputs: o.Inputs, Mold: o.Mold, Fill: o.Fill, Tilts: o.Tilts, Sensitive: in.Sensitive, Prints: o.Prints, Poses: o.Poses, Fit: o.Fit, Places: o.Places, Proof: o.Proof, Charge: o.Charge, Pot: o.Pot, Demolding: o.Demolding, Rubber: o.Rubber, Limits: o.Limits, check: c, named: slices.Contains(in.Only, c.Name), asked: asked, fault: in.Fault}
			c.Run(p)
			o.Findings = append(o.Findings, p.findings...)
			o.NotJudged = append(o.NotJudged, p.unjudged...)
		}
	}
	giveKeys(o.Findings)
	o.order(suite)
	o.accept(in.Accept, asked)
	o.judge()
	return o
}

// order sorts the findings by harm and numbers them.
func (o *Outcome) order(suite []*Check) {
	rank := func(f *Finding) int {
		return slices.IndexFunc(suite, func(c *Check) bool { return c.Name == f.Check })
	}
	slices.SortStableFunc(o.Findings, func(f, g Finding) int {
		return cmp.Or(cmp.Compare(g.Severity, f.Severity), cmp.Compare(g.harm, f.harm), cmp.Compare(rank(&f), rank(&g)),
			comparePlaces(f.Where.At, g.Where.At), strings.Compare(f.Key, g.Key))
	})
	for i := range o.Findings {
		o.Findings[i].ID = i + 1
	}
}

// judge sets the verdict from the findings that are not accepted.
func (o *Outcome) judge() {
	worst := Severity(0)
	for i := range o.Findings {
		if f := &o.Findings[i]; f.Accepted == nil {
			worst = max(worst, f.Severity)
		}
	}
	unanswered := slices.ContainsFunc(o.NotJudged, func(n NotJudged) bool { return n.Asked })
	switch {
	case worst == Stop:
		o.Verdict = DoNotPrint
	case unanswered:
		o.Verdict = NoJudgement
	case worst == Discuss:
		o.Verdict = Talk
	default:
		o.Verdict = Ready
	}
}
