package report

import (
	"fmt"

	"pourproof/checks"
	"pourproof/report/pdf"
)

// actionPages list the findings in order of harm, each with what to do; those
// that the user accepted stand apart.
func (b *book) actionPages() error {
	b.pdf.PageBreak()
	b.pdf.Heading(1, "Actions")
	var open, accepted []*checks.Finding
	for i := range b.Outcome.Findings {
		if f := &b.Outcome.Findings[i]; f.Accepted != nil {
			accepted = append(accepted, f)
		} else {
			open = append(open, f)
		}
	}
	if len(open) == 0 {
		b.pdf.Para(pdf.Text("Nothing to do: no finding is open."))
	} else {
		b.pdf.Note(pdf.Text("In order of harm. The number is the same in text, pictures and report.json; the page below it has the reason and the evidence. Coordinates are those of the CAD files, in mm."))
		b.pdf.Table(b.actionTable(open))
	}
	if len(accepted) > 0 {
		b.pdf.Heading(2, "Accepted with a reason")
		b.pdf.Note(pdf.Text("Someone decided to live with these. They do not count for the verdict."))
		b.pdf.Table(b.acceptedTable(accepted))
	}
	return nil
}

func (b *book) actionTable(list []*checks.Finding) pdf.Table {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "No.", Width: 11}, {Title: "Severity", Width: 18}, {Title: "What", Width: 30}, {Title: "Where", Width: 19},
		{Title: "Value, limit", Width: 22}, {Title: "What to do"}, {Title: "Owner", Width: 13}, {Title: "Done", Width: 10}}}
	for _, f := range list {
		t.Rows = append(t.Rows, pdf.Row{Anchor: actionAnchor(f), Cells: []pdf.Runs{
			b.number(f), {tag(f)}, {pdf.Strong(typeset(f.Title))}, b.where(f), valueAndLimit(f), adviceOf(f), nil, {pdf.Tag(pdf.Open, "", quietInk)}}})
	}
	return t
}

// adviceOf is what to do, and how little has to change for the finding to go.
func adviceOf(f *checks.Finding) pdf.Runs {
	out := pdf.Plain(typeset(f.Advice))
	if f.Sensitivity != "" {
		out = append(out, pdf.Text("\n"), pdf.Strong(typeset(f.Sensitivity)))
	}
	return out
}

func (b *book) acceptedTable(list []*checks.Finding) pdf.Table {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{
		{Title: "No.", Width: 11}, {Title: "Severity", Width: 18}, {Title: "What"}, {Title: "Where", Width: 22}, {Title: "Value, limit", Width: 24}, {Title: "Accepted because"}}}
	for _, f := range list {
		t.Rows = append(t.Rows, pdf.Row{Anchor: actionAnchor(f), Cells: []pdf.Runs{
			b.number(f), {pdf.Tag(pdf.Check, f.Severity.String(), quietInk)}, {pdf.Strong(typeset(f.Title))}, b.where(f), valueAndLimit(f), pdf.Plain(*f.Accepted)}})
	}
	return t
}

// number is a finding's number as a link to its evidence.
func (b *book) number(f *checks.Finding) pdf.Runs {
	n, to := fmt.Sprint(f.ID), b.evidence(f)
	if to == actionAnchor(f) {
		return pdf.Runs{pdf.Strong(n)}
	}
	return pdf.Runs{{Text: n, Style: pdf.Bold, Link: to}, pdf.Text("\n"), pdf.Ref("p.\u00a0", to)}
}

// where is a finding's body and place, one coordinate a line.
func (b *book) where(f *checks.Finding) pdf.Runs {
	body := f.Where.Body
	switch {
	case body == "" && f.Where.At == nil:
		return pdf.Plain("–")
	case body == "":
		body = "closed mold"
	}
	out := pdf.Plain(b.pdf.Name(body))
	if at := f.Where.At; at != nil {
		out = append(out, pdf.Text(fmt.Sprintf("\nX\u00a0%s\nY\u00a0%s\nZ\u00a0%s", hundredth(at.X), hundredth(at.Y), hundredth(at.Z))))
	}
	return out
}

// valueAndLimit writes what was measured, how far off it may be, and the limit.
func valueAndLimit(f *checks.Finding) pdf.Runs {
	if f.Value == nil {
		return pdf.Plain("–")
	}
	s := Number(*f.Value, f.Unit)
	if f.Error != nil {
		s += "\n± " + Number(*f.Error, f.Unit)
	}
	if f.Limit != nil {
		s += "\nlimit " + Number(*f.Limit, f.Unit)
	}
	return pdf.Plain(s)
}
