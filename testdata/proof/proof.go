// Package proof holds the program against sources outside it: closed forms and
// handbook values, general-purpose programs, and a slow flood and a slow layer
// sweep written a second time on another basis. Its tests rewrite or check
// ../PROOF.md, which lists what was compared.
//
// The package lies under testdata, so that it is a test group of its own:
//
//	go test ./testdata/proof              compares, and checks that the page is not stale
//	go test ./testdata/proof -write       rewrites the page (make proof)
package proof

import (
	"fmt"
	"math"
	"strings"
)

// Line is one comparison of the page: what was compared with what, how often, and
// the largest difference.
type Line struct {
	Group   string
	What    string
	Source  string  // author and year, or program and what it does
	Unit    string  // of Largest and Allowed: mm, mm3, %, or empty for counts
	Allowed float64 // largest difference that passes
	Count   int
	Largest float64
	Program string // that must be installed, empty for none
	Skipped string // why nothing was compared
}

// Add takes one pair into the line and reports whether it is near enough. In a
// line in % the difference is relative to want.
func (l *Line) Add(got, want float64) bool {
	d := math.Abs(got - want)
	if l.Unit == "%" {
		d *= 100 / math.Abs(want)
	}
	l.Count++
	l.Largest = max(l.Largest, d)
	return d <= l.Allowed // false for no number too
}

// row is the line in the page's table. Differences are rounded to two digits, and
// those far below what is allowed are not told, so that the last bits of another
// program do not show.
func (l *Line) row() string {
	if l.Skipped != "" {
		return fmt.Sprintf("| %s | %s | 0 | | %s | %s |", l.What, l.Source, amount(l.Allowed, l.Unit), l.Skipped)
	}
	largest := amount(l.Largest, l.Unit)
	if l.Largest > 0 && l.Largest < l.Allowed/100 {
		largest = "under " + amount(l.Allowed/100, l.Unit)
	}
	return fmt.Sprintf("| %s | %s | %d | %s | %s | |", l.What, l.Source, l.Count, largest, amount(l.Allowed, l.Unit))
}

// amount writes a difference: nothing below a billionth, else two digits.
func amount(x float64, unit string) string {
	if math.Abs(x) < 1e-9 {
		return "0"
	}
	text := strings.TrimSuffix(fmt.Sprintf("%.2g", x), ".0")
	if x >= 0.0001 && x < 1e6 { // no powers of ten where plain digits are short
		digits := max(0, 1-int(math.Floor(math.Log10(x))))
		text = fmt.Sprintf("%.*f", digits, x)
		if strings.Contains(text, ".") {
			text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
		}
	}
	return strings.TrimSpace(text + " " + unit)
}

// Page is the table of all comparisons.
type Page struct{ Lines []*Line }

// String writes the page, groups in the order in which they first appear.
func (p *Page) String() string {
	var b strings.Builder
	b.WriteString(heading)
	var groups []string
	rows := map[string][]string{}
	for _, l := range p.Lines {
		if rows[l.Group] == nil {
			groups = append(groups, l.Group)
		}
		rows[l.Group] = append(rows[l.Group], l.row())
	}
	for _, g := range groups {
		fmt.Fprintf(&b, "\n## %s\n\n| compared | against | how many | largest difference | allowed | skipped |\n|---|---|---|---|---|---|\n%s\n", g, strings.Join(rows[g], "\n"))
	}
	return b.String()
}

// heading opens the page.
const heading = `# The program against sources outside it

Written by ` + "`make proof`" + ` from the comparisons in ` + "`proof/`" + `; a test fails when this page is stale. Every
difference is the largest of its line, rounded to two digits. "Trapped air" is what a
pour leaves inside the part, at the default cell unless another is named. Where the scans
come from and on which terms stands in ` + "`cases/bunny/why.txt` and `cases/dragon/why.txt`" + `.
`
