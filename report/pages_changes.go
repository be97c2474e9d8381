package report

import (
	"fmt"

	"pourproof/checks"
	"pourproof/report/pdf"
)

const changesAnchor = "changes"

// changePages say what differs from the earlier run: the findings, the files and
// settings, and how the mold looked then and looks now.
func (b *book) changePages() error {
	c := b.Changes
	if c == nil {
		return nil
	}
	b.chapter(110)
	b.pdf.Anchor(changesAnchor)
	b.pdf.Heading(1, "What changed")
	b.pdf.Para(pdf.Strong(capital(ChangeLine(c))+". "), pdf.Text(b.against()))
	b.pdf.Table(b.changeTable())
	b.changedBasis()
	return b.changePictures()
}

// capital begins a sentence.
func capital(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}

func (b *book) against() string {
	e := b.Changes.Earlier
	text := fmt.Sprintf("Set against %s, which ended with: %s. A finding is told by its kind and place, whatever its number.", b.pdf.Name(e.Name), verdictWord(e.Verdict))
	if e.Version != b.Version {
		text += fmt.Sprintf(" That report is of version %s: a finding may be new because a check is.", e.Version)
	}
	return text
}

// verdictWord is a verdict in plain words.
func verdictWord(v string) string {
	switch checks.Verdict(v) {
	case checks.Ready:
		return "ready to print"
	case checks.Talk:
		return "discuss before printing"
	case checks.DoNotPrint:
		return "do not print"
	}
	return "not judged"
}

func (b *book) changeTable() pdf.Table {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Change", Width: 24}, {Title: "No.", Width: 14}, {Title: "Severity", Width: 24}, {Title: "What"}}, Empty: "no findings then and now"}
	for _, r := range b.Changes.rows() {
		if r.now == nil {
			t.Rows = append(t.Rows, pdf.R(r.word, fmt.Sprintf("was %d", r.was.ID), r.was.Severity, typeset(r.was.Title)))
			continue
		}
		what := pdf.Plain(typeset(r.now.Title))
		if r.was != nil && r.was.Title != r.now.Title {
			what = append(what, pdf.Text("\nwas: "+typeset(r.was.Title)))
		}
		severity := pdf.Runs{tag(r.now)}
		if r.was != nil && r.was.Severity != r.now.Severity.String() {
			severity = append(severity, pdf.Text("\nwas "+r.was.Severity))
		}
		t.Rows = append(t.Rows, pdf.Row{Cells: []pdf.Runs{pdf.Plain(r.word), {pdf.To(fmt.Sprint(r.now.ID), actionAnchor(r.now))}, severity, what}})
	}
	return t
}

// changedBasis lists the files and settings that differ.
func (b *book) changedBasis() {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Input", Width: 44}, {Title: "Then"}, {Title: "Now"}}}
	or := func(s string) string {
		if s == "" {
			return "–"
		}
		return s
	}
	for _, in := range b.Document.changedInputs() {
		now := or(b.pdf.Name(in.now))
		if in.now == in.was {
			now += ", other bytes"
		}
		t.Rows = append(t.Rows, pdf.R(in.role, or(b.pdf.Name(in.was)), now))
	}
	for _, s := range b.Document.changedSettings() {
		t.Rows = append(t.Rows, pdf.R(s.name, or(s.was), or(s.now)))
	}
	if len(t.Rows) == 0 {
		b.pdf.Para(pdf.Text("Meshes and settings are those of then."))
		return
	}
	b.keep(min(3, len(t.Rows)))
	b.pdf.Heading(2, "Inputs and settings that differ")
	b.pdf.Table(t)
}
