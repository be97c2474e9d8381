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
	settings := mold.Settings()
	for from := 0; from < len(settings); {
		to := from
		for to < len(settings) && settings[to].Table == settings[from].Table {
			to++
		}
		out = append(out, tableSettings(r.job, settings[from:to], m)...)
		from = to
	}
	if limits, err := checks.LimitsFor(r.job); err == nil { // a fault there is one of the job's, and judged as such
		for _, l := range limits.All() {
			out = append(out, checks.Setting{Name: "limits." + l.Key, Value: fmt.Sprint(l.Value), Number: &l.Value, Unit: l.Unit, From: l.From, Source: l.Source})
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

// tableSettings lists the settings of one table, as often as it is there. Of
// bodies and other tables that may be there more than once, what nobody gave is
// left out unless a rule filled it with something worth knowing.
func tableSettings(job *mold.Job, rows []mold.Setting, m *mold.Mold) []checks.Setting {
	var out []checks.Setting
	if !rows[0].Many {
		for i := range rows {
			if one := oneSetting(job, &rows[i], 0, rows[i].Name(), m); one.From != byRule || worthTelling(&rows[i]) {
				out = append(out, one)
			}
		}
		return out
	}
	for n := range tablesOf(job, rows[0].Table) {
		for i := range rows {
			name := fmt.Sprintf("%s %d.%s", rows[i].Table, n+1, rows[i].Key)
			if one := oneSetting(job, &rows[i], n, name, m); one.From != byRule || worthTelling(&rows[i]) {
				out = append(out, one)
			}
		}
	}
	return out
}

// worthTelling says which settings are listed although a rule filled them.
func worthTelling(s *mold.Setting) bool {
	switch s.Table {
	case "part":
		return s.Key == "file"
	case "half":
		return s.Key == "file" || s.Key == "build" || s.Key == "flat" || s.Key == "pull"
	case "vent":
		return s.Key == "direction"
	}
	return !s.Many
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
	case s.Rule == mold.NotGiven:
		out.From, out.Value, out.Number = mold.NotGiven, mold.NotGiven, nil
	default:
		out.From = byRule
		if !given {
			out.Value = s.Rule
		}
		if m != nil {
			found(&out, i, m)
		}
	}
	return out
}

// found puts in what a rule came to.
func found(s *checks.Setting, i int, m *mold.Mold) {
	put := func(x float64, why string) { s.Value, s.Number, s.Source = fmt.Sprintf("%.4g", x), &x, why }
	switch s.Name {
	case "pour.seal":
		put(m.Seal, s.Value)
	case "pour.reach":
		put(m.Reach, s.Value)
	case "pour.cell":
		put(m.Cell, m.CellWhy)
	}
	if i < len(m.Pulls) && strings.HasSuffix(s.Name, ".pull") {
		p := m.Pulls[i]
		s.Value, s.Source = fmt.Sprintf("%.4g, %.4g, %.4g", p.X, p.Y, p.Z), s.Value
	}
}

// tablesOf returns a slice as long as a table is often there.
func tablesOf(job *mold.Job, table string) []struct{} {
	return make([]struct{}, job.Count(table))
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
