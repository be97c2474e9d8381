package report

import "pourproof/checks"

type sinceJSON struct {
	Report      string             `json:"report"`
	Line        string             `json:"line"`
	Verdict     string             `json:"verdict"`
	Fixed       []string           `json:"fixed"`
	New         []string           `json:"new"`
	Same        []string           `json:"same"`
	Accepted    []string           `json:"accepted"`
	Unjudged    []string           `json:"not_judged_now"`
	FirstJudged []string           `json:"not_judged_then"`
	Inputs      []changedInputJSON `json:"inputs"`
	Settings    []changedValueJSON `json:"settings"`
}

type changedInputJSON struct {
	Role string  `json:"role"`
	Was  *string `json:"was"`
	Now  *string `json:"now"`
}

type changedValueJSON struct {
	Name string  `json:"name"`
	Was  *string `json:"was"`
	Now  *string `json:"now"`
}

func changesJSON(d *Document) *sinceJSON {
	c := d.Changes
	if c == nil {
		return nil
	}
	j := &sinceJSON{Report: c.Earlier.Name, Line: ChangeLine(c), Verdict: c.Earlier.Verdict,
		Fixed: earlierKeys(c.Fixed), New: keysOf(c.New), Same: []string{}, Accepted: keysOf(c.Accepted),
		Unjudged: earlierKeys(c.Unjudged), FirstJudged: keysOf(c.FirstJudged),
		Inputs: []changedInputJSON{}, Settings: []changedValueJSON{}}
	for _, f := range c.Same {
		j.Same = append(j.Same, f.Now.Key)
	}
	for _, in := range d.changedInputs() {
		j.Inputs = append(j.Inputs, changedInputJSON{in.role, word(in.was), word(in.now)})
	}
	for _, s := range d.changedSettings() {
		j.Settings = append(j.Settings, changedValueJSON{s.name, word(s.was), word(s.now)})
	}
	return j
}

func keysOf(list []*checks.Finding) []string {
	out := []string{}
	for _, f := range list {
		out = append(out, f.Key)
	}
	return out
}

func earlierKeys(list []EarlierFinding) []string {
	out := []string{}
	for _, f := range list {
		out = append(out, f.Key)
	}
	return out
}
