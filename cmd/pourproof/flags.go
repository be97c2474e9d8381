package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report"
)

// checkRequest is a check command as understood: the job and what to do with the
// answers.
type checkRequest struct {
	job     *mold.Job
	jobFile string // empty without one
	out     string
	only    []string
	try     []int
	search  string
	noPDF   bool
	quiet   bool
	json    bool // report.json on stdout
	since   string
	earlier *report.Earlier // to compare with; read from since where that is given
}

// checkFlags holds the flags of check as written.
type checkFlags struct {
	set *pflag.FlagSet

	out, up, tilt, units, cell, pressure, paper, search, json string
	gates, vents, builds, flats, pulls, accepts, roles        []string
	only, try                                                 string
	noPDF, quiet                                              bool
	since                                                     string
	watch                                                     bool
}

func newCheckFlags() *checkFlags { return newRequestFlags("check") }

// newRequestFlags returns the flags of a command that takes a job.
func newRequestFlags(command string) *checkFlags {
	f := &checkFlags{set: newFlagSet(command)}
	s := f.set
	s.StringVarP(&f.out, "out", "o", "pourproof-out", "DIR\tfolder that the report goes to; default pourproof-out")
	s.StringVar(&f.tilt, "tilt", "", "ANGLE@SIDE\tdegrees by which the side facing azimuth SIDE (0 = +x, 90 = +y) is raised")
	s.StringVar(&f.up, "up", "", "x,y,z\taway from gravity while the block rests; default 0,0,1")
	s.StringArrayVar(&f.gates, "gate", nil, "x,y,z\ta point at the gate; default the widest channel (repeatable)")
	s.StringArrayVar(&f.vents, "vent", nil, "x,y,z,D[,dx,dy,dz]\ttry out a vent D mm wide from a cavity point (repeatable)")
	s.StringVar(&f.try, "try", "", "1,3\tcheck again with these suggested vents of this run")
	s.StringVar(&f.only, "only", "", "air,vents\tonly these checks")
	s.StringVar(&f.units, "units", "", "mm|cm|m|in\tunit of files that state none; default mm")
	s.StringVar(&f.cell, "cell", "", "MM\tcolumn pitch; default from the narrowest channel")
	s.StringVar(&f.pressure, "pressure", "", "60psi\tgauge pressure of the pot, with its unit")
	s.StringArrayVar(&f.pulls, "pull", nil, "NAME=x,y,z\tthe way a half leaves the part (repeatable)")
	s.StringArrayVar(&f.builds, "build", nil, "NAME=x,y,z\tfrom the platform into a half's print (repeatable)")
	s.StringArrayVar(&f.flats, "flat", nil, "NAME\tthis half is printed flat on the platform (repeatable)")
	s.StringArrayVar(&f.roles, "as", nil, "NAME=part|half\trole of a body of one 3MF (repeatable)")
	s.StringVar(&f.search, "search", "quick", "none|quick|full\thow far to search for tilts and for ways to lay the halves")
	s.StringArrayVar(&f.accepts, "accept", nil, "KEY=reason\ta finding you can live with (repeatable)")
	s.StringVar(&f.paper, "paper", "", "a4|letter\tpaper of report.pdf; default a4")
	s.BoolVar(&f.noPDF, "no-pdf", false, "\tleave out what is drawn for people: the PDFs, report.html, marked.3mf")
	s.BoolVar(&f.quiet, "quiet", false, "\tno summary")
	s.StringVar(&f.json, "json", "", "-\treport.json to standard output too, the summary to standard error")
	s.StringVar(&f.since, "since", "", "FILE|last\tsay what changed against an earlier report.json; last is the one in --out")
	s.BoolVar(&f.watch, "watch", false, "\tcheck again whenever an input changes, until Ctrl-C")
	if command != "check" {
		hide(s, "since", "watch")
	}
	return f
}

func hide(s *pflag.FlagSet, names ...string) {
	for _, n := range names {
		s.Lookup(n).Hidden = true
	}
}

func newFlagSet(name string) *pflag.FlagSet {
	s := pflag.NewFlagSet(name, pflag.ContinueOnError)
	s.SortFlags = false
	s.Usage = func() {}
	s.SetOutput(discard{})
	return s
}

type discard struct{}

func (discard) Write(b []byte) (int, error) { return len(b), nil }

// parseFlags parses a command's arguments; help goes to stdout.
func parseFlags(w *world, s *pflag.FlagSet, args []string) error {
	err := s.Parse(args)
	if err == nil {
		return nil
	}
	if errors.Is(err, pflag.ErrHelp) && w.onHelp != nil {
		w.onHelp(s)
		return err
	}
	if errors.Is(err, pflag.ErrHelp) {
		fmt.Fprint(w.stdout, commandHelp(s.Name(), s))
		return err
	}
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		var known []string
		s.VisitAll(func(f *pflag.Flag) {
			if !f.Hidden {
				known = append(known, f.Name)
			}
		})
		word := unknown.GetSpecifiedName()
		if short := unknown.GetSpecifiedShortnames(); short != "" {
			return misuse("unknown flag -%s%s", short, didYouMean("--", mold.Nearest(short, known)))
		}
		return misuse("unknown flag --%s%s", word, didYouMean("--", mold.Nearest(word, known)))
	}
	return misuse("%v", err)
}

func didYouMean(dashes, near string) string {
	if near == "" {
		return ""
	}
	return "; did you mean " + dashes + near + "?"
}

// request turns flags and files into a job: the job file first, flags win.
func (f *checkFlags) request(w *world) (*checkRequest, error) {
	r := &checkRequest{out: w.path(f.out), search: f.search, noPDF: f.noPDF, quiet: f.quiet, json: f.json != "", since: f.since}
	if err := f.plain(r); err != nil {
		return nil, err
	}
	if err := f.files(w, r); err != nil {
		return nil, err
	}
	for _, step := range []func(*mold.Job) error{f.settings, f.triedVents, f.named, f.accepted} {
		if err := step(r.job); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// plain checks the flags that are no settings of the job.
func (f *checkFlags) plain(r *checkRequest) error {
	if f.json != "" && f.json != "-" {
		return misuse("--json: must be -, for standard output, not %q; report.json is always written to the --out folder", f.json)
	}
	if f.out == "" {
		return misuse("--out: must name a folder")
	}
	if f.set.Changed("since") && f.since == "" {
		return misuse("--since: must name a report.json, or be last")
	}
	if !slices.Contains([]string{"none", "quick", "full"}, f.search) {
		return misuse("--search: must be none, quick or full, not %q", f.search)
	}
	if f.set.Changed("only") {
		for _, name := range strings.Split(f.only, ",") {
			name = strings.TrimSpace(name)
			if err := checks.Known([]string{name}); err != nil {
				return misuse("--only: %v", err)
			}
			r.only = append(r.only, name)
		}
	}
	if f.set.Changed("try") {
		for _, text := range strings.Split(f.try, ",") {
			n, err := strconv.Atoi(strings.TrimSpace(text))
			if err != nil || n < 1 || n > 1e6 {
				return misuse("--try: must be numbers of suggested vents, as 1,3, not %q", f.try)
			}
			r.try = append(r.try, n)
		}
	}
	return nil
}

// files finds the job file or the meshes among the arguments.
func (f *checkFlags) files(w *world, r *checkRequest) error {
	names := f.set.Args()
	if len(names) == 1 && strings.EqualFold(filepath.Ext(names[0]), ".toml") {
		if len(f.roles) > 0 {
			return misuse("--as goes with one 3MF file, not with a job file: name the bodies there (body = ...)")
		}
		data, err := readJobFile(w.path(names[0]), names[0])
		if err != nil {
			return err
		}
		r.jobFile = names[0]
		if r.job, err = mold.ParseJobWith(names[0], data, limitKeys(), w.readPreset); err != nil {
			return err
		}
		return calibrate(w, r.job)
	}
	r.job = mold.NewJob()
	for _, name := range names {
		if strings.EqualFold(filepath.Ext(name), ".toml") {
			return misuse("%s: a job file names its meshes itself; give it alone", name)
		}
	}
	if len(f.roles) > 0 {
		return f.bodies(names, r.job)
	}
	if len(names) < 3 {
		return misuse("check needs a part and at least two halves, or a job file; got %s", plural(len(names), "file"))
	}
	r.job.Part = mold.BodySpec{File: names[0]}
	r.job.SetFrom("part.file", argument)
	for i, name := range names[1:] {
		r.job.Halves = append(r.job.Halves, mold.BodySpec{File: name})
		r.job.SetFrom(fmt.Sprintf("half %d.file", i+1), argument)
	}
	return nil
}

// argument is where a file named on the command line comes from.
const argument = "argument"

// bodies takes part and halves from one file by their names.
func (f *checkFlags) bodies(names []string, job *mold.Job) error {
	if len(names) != 1 {
		return misuse("--as goes with one file that holds part and halves; got %s", plural(len(names), "file"))
	}
	parts := 0
	for _, text := range f.roles {
		name, role, _ := cutLast(text, "=")
		switch role {
		case "part":
			job.Part = mold.BodySpec{File: names[0], Body: name}
			job.SetFrom("part.file", argument)
			job.SetFrom("part.body", "flag --as")
			parts++
		case "half":
			job.Halves = append(job.Halves, mold.BodySpec{File: names[0], Body: name})
			job.SetFrom(fmt.Sprintf("half %d.file", len(job.Halves)), argument)
			job.SetFrom(fmt.Sprintf("half %d.body", len(job.Halves)), "flag --as")
		default:
			return misuse("--as: must be NAME=part or NAME=half, not %q", text)
		}
	}
	if parts != 1 || len(job.Halves) < 2 {
		return misuse("--as: needs one part and at least two halves, got %s and %s", plural(parts, "part"), plural(len(job.Halves), "half"))
	}
	return nil
}

// settings hands flags that are settings of the job file to those settings.
func (f *checkFlags) settings(job *mold.Job) error {
	for _, one := range []struct{ flag, setting, text string }{
		{"up", "pour.up", f.up},
		{"tilt", "pour.tilt", f.tilt},
		{"gate", "pour.gate", strings.Join(f.gates, ";")},
		{"cell", "pour.cell", f.cell},
		{"pressure", "pot.pressure", f.pressure},
		{"paper", "report.paper", f.paper},
	} {
		if !f.set.Changed(one.flag) {
			continue
		}
		if err := mold.SettingNamed(one.setting).Set(job, 0, one.text); err != nil {
			return misuse("--%s: %v", one.flag, err)
		}
		job.SetFrom(one.setting, "flag --"+one.flag)
	}
	if f.set.Changed("units") {
		if words := mold.SettingNamed("part.units").Words; !slices.Contains(words, f.units) {
			return misuse("--units: must be one of %s, not %q", strings.Join(words, ", "), f.units)
		}
		job.Units = f.units
		job.SetFrom("units", "flag --units")
	}
	return nil
}

// triedVents adds the bores of --vent.
func (f *checkFlags) triedVents(job *mold.Job) error {
	for _, text := range f.vents {
		n := strings.Split(text, ",")
		if len(n) != 4 && len(n) != 7 {
			return misuse("--vent: must be x,y,z,D or x,y,z,D,dx,dy,dz in mm, got %s in %q", plural(len(n), "number"), text)
		}
		i := len(job.Vents)
		job.Vents = append(job.Vents, mold.BoreSpec{})
		values := [][2]string{{"at", strings.Join(n[:3], ",")}, {"diameter", n[3]}}
		if len(n) == 7 {
			values = append(values, [2]string{"direction", strings.Join(n[4:], ",")})
		}
		for _, v := range values {
			if err := mold.SettingNamed("vent."+v[0]).Set(job, i, v[1]); err != nil {
				return misuse("--vent: %s: %s %v", text, v[0], err)
			}
			job.SetFrom(fmt.Sprintf("vent %d.%s", i+1, v[0]), "flag --vent")
		}
	}
	return nil
}

// named hands flags that name a half to it.
func (f *checkFlags) named(job *mold.Job) error {
	names := mold.Names(job)[1:]
	set := func(flag, key, name, value string) error {
		i := slices.Index(names, name)
		if i < 0 {
			hint := didYouMean("", mold.Nearest(name, names))
			if hint == "" {
				hint = "; the halves are " + strings.Join(names, ", ")
			}
			return misuse("--%s: no half is named %q%s", flag, name, hint)
		}
		if err := mold.SettingNamed("half."+key).Set(job, i, value); err != nil {
			return misuse("--%s: %s %v", flag, name, err)
		}
		job.SetFrom(fmt.Sprintf("half %d.%s", i+1, key), "flag --"+flag)
		return nil
	}
	for _, name := range f.flats {
		if err := set("flat", "flat", name, "true"); err != nil {
			return err
		}
	}
	for _, group := range []struct {
		flag  string
		texts []string
	}{{"build", f.builds}, {"pull", f.pulls}} {
		for _, text := range group.texts {
			name, value, ok := cutLast(text, "=")
			if !ok {
				return misuse("--%s: must be NAME=x,y,z, not %q", group.flag, text)
			}
			if err := set(group.flag, group.flag, name, value); err != nil {
				return err
			}
		}
	}
	return nil
}

// accepted adds the findings of --accept.
func (f *checkFlags) accepted(job *mold.Job) error {
	for _, text := range f.accepts {
		key, reason, ok := strings.Cut(text, "=")
		if !ok || key == "" || strings.TrimSpace(reason) == "" {
			return misuse("--accept: must be KEY=reason, not %q", text)
		}
		job.Accept = append(job.Accept, mold.Accept{Key: key, Reason: strings.TrimSpace(reason), From: "flag --accept"})
	}
	return nil
}

// cutLast cuts at the last sep: names may hold one themselves.
func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return s, "", false
}

func limitKeys() []string {
	var keys []string
	for _, l := range checks.DefaultLimits().All() {
		keys = append(keys, l.Key)
	}
	return keys
}

func plural(n int, one string) string {
	switch {
	case n == 1:
		return "1 " + one
	case one == "half":
		return fmt.Sprintf("%d halves", n)
	}
	return fmt.Sprintf("%d %ss", n, one)
}
