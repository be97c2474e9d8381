package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pourproof/checks"
)

// Changes is what differs from an earlier run, findings told apart by key.
type Changes struct {
	Earlier  *Earlier
	Fixed    []EarlierFinding // there then, gone now
	New      []*checks.Finding
	Same     []SameFinding
	Accepted []*checks.Finding // of the findings of now
	// Unjudged are findings of checks that this run did not judge: whether they are
	// fixed is not known. FirstJudged are findings of checks that the earlier run
	// did not judge: whether they are new is not known.
	Unjudged    []EarlierFinding
	FirstJudged []*checks.Finding
}

// SameFinding is one that was there then and is there now.
type SameFinding struct {
	Now *checks.Finding
	Was EarlierFinding
}

// Compare sets the document's findings against those of an earlier report. An
// earlier finding is the same as one of now if their keys are equal, else if
// checks.SameKey takes one for the other; each is taken once.
func (d *Document) Compare(e *Earlier) {
	c := &Changes{Earlier: e}
	findings := d.Outcome.Findings
	was := pairs(findings, e.Findings)
	taken := make([]bool, len(e.Findings))
	for i := range findings {
		f := &findings[i]
		if was[i] >= 0 {
			taken[was[i]] = true
		}
		switch {
		case f.Accepted != nil:
			c.Accepted = append(c.Accepted, f)
		case was[i] >= 0:
			c.Same = append(c.Same, SameFinding{f, e.Findings[was[i]]})
		case slices.Contains(e.NotJudged, f.Check):
			c.FirstJudged = append(c.FirstJudged, f)
		default:
			c.New = append(c.New, f)
		}
	}
	for k, f := range e.Findings {
		switch {
		case taken[k]:
		case slices.ContainsFunc(d.Outcome.NotJudged, func(n checks.NotJudged) bool { return n.Check == f.Check }):
			c.Unjudged = append(c.Unjudged, f)
		default:
			c.Fixed = append(c.Fixed, f)
		}
	}
	d.Changes = c
}

// pairs returns for every finding of now the index of the earlier one that it is,
// -1 for none. Quadratic in the findings at worst.
func pairs(now []checks.Finding, earlier []EarlierFinding) []int {
	was := slices.Repeat([]int{-1}, len(now))
	taken := make([]bool, len(earlier))
	for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, checks.SameKey} {
		for i := range now {
			for k := 0; k < len(earlier) && was[i] < 0; k++ {
				if !taken[k] && same(now[i].Key, earlier[k].Key) {
					was[i], taken[k] = k, true
				}
			}
		}
	}
	return was
}

// tendency says whether a run is better than an earlier one: what counts is the
// number of stop findings, of equals the number to discuss, of equals the notes.
// A finding that the user accepted counts as little now as it did then.
func (c *Changes) tendency() string {
	more := map[string]int{} // asked by severity only
	for _, f := range c.Fixed {
		if f.Accepted == nil {
			more[f.Severity]--
		}
	}
	for _, f := range c.New {
		more[f.Severity.String()]++
	}
	for _, f := range c.Same {
		if f.Was.Accepted == nil {
			more[f.Was.Severity]--
			more[f.Now.Severity.String()]++
		}
	}
	switch n := cmp.Or(more[checks.Stop.String()], more[checks.Discuss.String()], more[checks.Note.String()]); {
	case n < 0:
		return "better"
	case n > 0:
		return "worse"
	case len(c.New)+len(c.Fixed) > 0:
		return "changed"
	}
	return "unchanged"
}

// ChangeLine says in a line what differs from an earlier run: better: 3 fixed, 1
// new.
func ChangeLine(c *Changes) string {
	return fmt.Sprintf("%s: %d fixed, %d new", c.tendency(), len(c.Fixed), len(c.New))
}

// changePhrase is ChangeLine with what did not change.
func changePhrase(c *Changes) string {
	var rest []string
	for _, g := range []struct {
		n    int
		what string
	}{
		{len(c.Same), "still there"}, {len(c.Accepted), "accepted"}, {len(c.Unjudged), "not judged in this run"},
		{len(c.FirstJudged), "of checks that were not judged then"},
	} {
		if g.n > 0 {
			rest = append(rest, fmt.Sprintf("%d %s", g.n, g.what))
		}
	}
	line := ChangeLine(c)
	if len(rest) > 0 {
		line += "; " + strings.Join(rest, ", ")
	}
	return line
}

// changeRow is one finding in a list of changes.
type changeRow struct {
	word string
	now  *checks.Finding // nil: gone
	was  *EarlierFinding // nil: not there then
}

// rows lists all findings of now and then, what changed first.
func (c *Changes) rows() []changeRow {
	var out []changeRow
	for i := range c.Fixed {
		out = append(out, changeRow{"fixed", nil, &c.Fixed[i]})
	}
	for _, f := range c.New {
		out = append(out, changeRow{"new", f, nil})
	}
	for _, f := range c.FirstJudged {
		out = append(out, changeRow{"not judged then", f, nil})
	}
	for i := range c.Unjudged {
		out = append(out, changeRow{"not judged now", nil, &c.Unjudged[i]})
	}
	for i := range c.Same {
		out = append(out, changeRow{"same", c.Same[i].Now, &c.Same[i].Was})
	}
	for _, f := range c.Accepted {
		out = append(out, changeRow{"accepted", f, nil})
	}
	return out
}

// ChangeText lists what differs from an earlier run, a line a finding.
func ChangeText(d *Document) string {
	c := d.Changes
	if c == nil {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, "What changed: %s\n", changePhrase(c))
	for _, r := range c.rows() {
		severity, title := "", ""
		if r.now != nil {
			severity, title = r.now.Severity.String(), r.now.Title
		} else {
			severity, title = r.was.Severity, r.was.Title
		}
		fmt.Fprintf(&b, "  %-7s %-8s %s\n", r.word, severity, title)
	}
	return b.String()
}
