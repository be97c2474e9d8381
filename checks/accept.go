package checks

import (
	"strconv"
	"strings"

	"pourproof/checks/mold"
)

// accept marks the findings that the user has decided to live with. A key that
// matches none becomes a note, unless its check was not asked in this run.
func (o *Outcome) accept(list []mold.Accept, asked func(string) bool) {
	var notes []Finding
	for _, a := range list {
		f := o.match(a.Key)
		if f != nil {
			reason := a.Reason
			f.Accepted = &reason
			continue
		}
		if check, _, ok := strings.Cut(a.Key, "/"); ok && Known([]string{check}) == nil && !asked(check) {
			continue
		}
		notes = append(notes, Finding{Check: intakeCheck.Name, Severity: Note, kind: "accept-" + plainName(a.Key),
			Title:  "Accepted, but not found: " + a.Key,
			Why:    "Nothing in this run has that key or number, so accepting it changes nothing.",
			Advice: ("Take the entry out if the finding is fixed, or copy the key from this report.")})
	}
	giveKeys(notes)
	for i := range notes {
		notes[i].ID = len(o.Findings) + 1 + i
	}
	o.Findings = append(o.Findings, notes...)
}

// match returns the finding that a key or a number of this run names: the one
// with that key, else the only one that SameKey takes for it and that no exact
// key of the run names.
func (o *Outcome) match(key string) *Finding {
	if id, err := strconv.Atoi(key); err == nil {
		if id >= 1 && id <= len(o.Findings) {
			return &o.Findings[id-1]
		}
		return nil
	}
	var near []*Finding
	for i := range o.Findings {
		f := &o.Findings[i]
		if f.Key == key {
			return f
		}
		if SameKey(f.Key, key) {
			near = append(near, f)
		}
	}
	if len(near) == 1 {
		return near[0]
	}
	return nil
}
