package report

import "strings"

// changedInput is a mesh that is not the one of then: another file, or the same
// name with other bytes.
type changedInput struct {
	role     string
	was, now string // file names; empty where there is none
}

// changedInputs sets the meshes of now beside those of then, in their order.
func (d *Document) changedInputs() []changedInput {
	now, was := d.Outcome.Inputs, d.Changes.Earlier.Inputs
	var out []changedInput
	for i := range max(len(now), len(was)) {
		c := changedInput{}
		switch {
		case i < len(now) && i < len(was) && now[i].SHA256 == was[i].SHA256:
			continue
		case i >= len(was):
			c.role, c.now = now[i].Role, now[i].File
		case i >= len(now):
			c.role, c.was = was[i].Role, was[i].File
		default:
			c = changedInput{now[i].Role, was[i].File, now[i].File}
		}
		out = append(out, c)
	}
	return out
}

// changedSetting is a value that differs from that of then.
type changedSetting struct {
	name     string
	was, now string // empty where there is none
}

// changedSettings lists the settings whose values differ, in the order of now,
// then those that are gone. Names of files are told with the inputs; title and
// date change nothing.
func (d *Document) changedSettings() []changedSetting {
	told := func(name string) bool {
		return !strings.HasSuffix(name, ".file") && !strings.HasPrefix(name, "report.") && !strings.HasPrefix(name, "accept ")
	}
	was := map[string]string{} // asked by name only
	for _, s := range d.Changes.Earlier.Settings {
		was[s.Name] = s.Value
	}
	now := map[string]bool{} // asked by name only
	var out []changedSetting
	for _, s := range d.Outcome.Settings {
		now[s.Name] = true
		if then, ok := was[s.Name]; told(s.Name) && (!ok || then != s.Value) {
			out = append(out, changedSetting{s.Name, then, s.Value})
		}
	}
	for _, s := range d.Changes.Earlier.Settings {
		if !now[s.Name] && told(s.Name) {
			out = append(out, changedSetting{s.Name, s.Value, ""})
		}
	}
	return out
}
