// Package report shows what a run found: report.json, the pages of report.pdf,
// the terminal summary, and the vents as a table and as cutters. It turns numbers
// into text and degrees; it judges nothing and reads no clock.
package report

import (
	"sync"

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

	lock  sync.Mutex // of what follows
	drawn *studio    // of outcome as it was, with mold and fill
	of    *checks.Outcome
}

// studio returns the bodies that pictures and marked.3mf are made of, worked out
// once; nil without a closed mold.
func (d *Document) studio() *studio {
	d.lock.Lock()
	defer d.lock.Unlock()
	if d.of != d.Outcome || d.drawn != nil && (d.drawn.mold != d.Outcome.Mold || d.drawn.fill != d.Outcome.Fill) || d.drawn == nil {
		d.drawn, d.of = newStudio(d.Outcome), d.Outcome
	}
	return d.drawn
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
