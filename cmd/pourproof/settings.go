package main

import (
	"fmt"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// usedSettings lists every value that a run used and where it came from, in the
// order of the job file. m is nil where the mold could not be closed.
func usedSettings(r *checkRequest, m *mold.Mold) []checks.Setting {
	var out []checks.Setting
	for _, s := range mold.Settings() {
		if !s.Many {
			out = append(out, oneSetting(r.job, &s, 0, s.Name(), m))
			continue
		}
		for i := range tablesOf(r.job, s.Table) {
			name := fmt.Sprintf("%s %d.%s", s.Table, i+1, s.Key)
			if one := oneSetting(r.job, &s, i, name, m); one.From != byRule || s.Table == "half" {
				out = append(out, one)
			}
		}
	}
	units := r.job.Units
	if units == "" {
		units = "mm"
	}
	text := func(name, value, from string) {
		out = append(out, checks.Setting{Name: name, Value: value, From: from})
	}
	text("units", units, orDefault(r.job.From("units")))
	text("only", orWord(strings.Join(r.only, ","), "all"), flagOrDefault(len(r.only) > 0, "--only"))
	text("try", orWord(strings.Trim(fmt.Sprint(r.try), "[]"), "none"), flagOrDefault(len(r.try) > 0, "--try"))
	text("search", r.search, flagOrDefault(r.search != "quick", "--search"))
	return out
}

const byRule = "by rule"

func oneSetting(job *mold.Job, s *mold.Setting, i int, name string, m *mold.Mold) checks.Setting {
	value, number, given := s.Show(job, i)
	out := checks.Setting{Name: name, Value: value, Number: number, Unit: s.Unit, From: job.From(name), Source: s.Source}
	switch {
	case out.From != "":
		out.Source = ""
	case s.Default != "":
		out.From = "default"
	default:
		out.From = byRule
		if !given {
			out.Value = s.Rule
		}
		if m != nil {
			found(&out, m)
		}
	}
	return out
}

// found puts in what a rule came to.
func found(s *checks.Setting, m *mold.Mold) {
	put := func(x float64, why string) { s.Value, s.Number, s.Source = fmt.Sprintf("%.4g", x), &x, why }
	switch s.Name {
	case "pour.seal":
		put(m.Seal, s.Value)
	case "pour.reach":
		put(m.Reach, s.Value)
	case "pour.cell":
		put(m.Cell, m.CellWhy)
	}
}

// tablesOf returns a slice as long as a table is often there.
func tablesOf(job *mold.Job, table string) []struct{} {
	n := map[string]int{"half": len(job.Halves), "vent": len(job.Vents), "show": len(job.Show), "accept": len(job.Accept)}[table]
	return make([]struct{}, n)
}

func orWord(s, word string) string {
	if s == "" {
		return word
	}
	return s
}

func orDefault(from string) string { return orWord(from, "default") }

func flagOrDefault(given bool, flag string) string {
	if given {
		return "flag " + flag
	}
	return "default"
}
