// Package report shows what a run found: report.json, the pages of report.pdf,
// the terminal summary, and the vents as a table and as cutters. It turns numbers
// into text and degrees; it judges nothing and reads no clock.
package report

import (
	"pourproof/checks"
)

// Schema names the version of report.json.
const Schema = "pourproof/1"

// ToolName is the name the reports carry.
const ToolName = "pourproof"

// Document is what every output is made from: the outcome of a run and what the
// title block says.
type Document struct {
	Title    string // from the job file, else the part's name
	Revision string
	Date     string
	Author   string
	Paper    string // a4 or letter
	Version  string // of the program

	Outcome *checks.Outcome
	Changes *Changes // against an earlier run; nil without one
	JSON    []byte   // report.json, for the PDF to carry; may be nil
}

// New makes the document of a run.
func New(o *checks.Outcome, version string) *Document {
	d := &Document{Outcome: o, Version: version, Paper: "a4"}
	if o.Job != nil {
		r := o.Job.Report
		d.Title, d.Revision, d.Date, d.Author = r.Title, r.Revision, r.Date, r.Author
		if r.Paper != "" {
			d.Paper = r.Paper
		}
	}
	if d.Title == "" {
		d.Title = "Mold"
		if len(o.Inputs) > 0 {
			d.Title = o.Inputs[0].Name
		}
	}
	return d
}

// Counts returns how many findings of each severity are not accepted, and how
// many are.
func (d *Document) Counts() (stop, discuss, note, accepted int) {
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		switch {
		case f.Accepted != nil:
			accepted++
		case f.Severity == checks.Stop:
			stop++
		case f.Severity == checks.Discuss:
			discuss++
		default:
			note++
		}
	}
	return stop, discuss, note, accepted
}

// Changes is what differs from an earlier run, findings told apart by key.
type Changes struct {
	Report   string           // the earlier report, as the user named it
	Fixed    []EarlierFinding // there then, gone now
	New      []*checks.Finding
	Same     []*checks.Finding
	Accepted []*checks.Finding // of the findings of now
}

// EarlierFinding is a finding of an earlier run, as its report.json has it.
type EarlierFinding struct {
	ID       int
	Key      string
	Check    string
	Severity string
	Title    string
}

// Compare sets the document's findings against those of an earlier report. An
// earlier finding is the same as one of now if their keys are equal, else if
// checks.SameKey takes one for the other; each is taken once.
func (d *Document) Compare(name string, earlier []EarlierFinding) {
	c := &Changes{Report: name}
	findings := d.Outcome.Findings
	was := make([]int, len(findings)) // 1 + index of the earlier finding
	taken := make([]bool, len(earlier))
	for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, checks.SameKey} {
		for i := range findings {
			for k := 0; k < len(earlier) && was[i] == 0; k++ {
				if !taken[k] && same(findings[i].Key, earlier[k].Key) {
					was[i], taken[k] = k+1, true
				}
			}
		}
	}
	for i := range findings {
		switch f := &findings[i]; {
		case f.Accepted != nil:
			c.Accepted = append(c.Accepted, f)
		case was[i] > 0:
			c.Same = append(c.Same, f)
		default:
			c.New = append(c.New, f)
		}
	}
	for k, e := range earlier {
		if !taken[k] {
			c.Fixed = append(c.Fixed, e)
		}
	}
	d.Changes = c
}

// Earlier returns this run's findings for a later one to compare with.
func Earlier(d *Document) []EarlierFinding {
	var out []EarlierFinding
	for i := range d.Outcome.Findings {
		f := &d.Outcome.Findings[i]
		out = append(out, EarlierFinding{f.ID, f.Key, f.Check, f.Severity.String(), f.Title})
	}
	return out
}
