package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// runInit writes a job file with every setting commented. It never overwrites.
func runInit(w *world, args []string) error {
	s := newFlagSet("init")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	name := "pourproof.toml"
	switch {
	case s.NArg() > 1:
		return misuse("init writes one job file, got %s", plural(s.NArg(), "name"))
	case s.NArg() == 1:
		name = s.Arg(0)
	}
	if !strings.HasSuffix(strings.ToLower(name), ".toml") {
		return misuse("%s: a job file's name ends in .toml", name)
	}
	switch err := unfinished.settle(func() error { return writeNew(w.path(name), jobTemplate()) }); {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s: is there already and is left as it is; name another file", name)
	case err != nil:
		return fmt.Errorf("%s: cannot be written: %v", name, reason(err))
	}
	fmt.Fprintf(w.stdout, "%s written: name the meshes in it, then run pourproof check %s\n", name, name)
	return nil
}

// writeNew writes a file that must not be there yet.
func writeNew(path, text string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(path)
	}
	return err
}

const templateHead = `# Job file of pourproof. Lengths in mm, angles in degrees, coordinates in the CAD
# frame of the meshes. Files are seen from this file's folder. A line that begins
# with # changes nothing: take the # away to use it. Behind the semicolon stands the
# source of the value shown, or, where that is a sample, what holds without it.
`

// jobTemplate writes the table of settings as a job file, defaults commented out.
func jobTemplate() string {
	var b strings.Builder
	b.WriteString(templateHead)
	b.WriteString("\n#include = [\"my-resin.toml\", \"my-printer.toml\"]  # presets of your own: tables as below that hold in every job; what is set here counts over them\n")
	table := ""
	settings := mold.Settings()
	for i := range settings {
		s := &settings[i]
		if s.Table != table {
			if table == "half" {
				b.WriteString("\n[[half]]\nfile = \"bottom.stl\"\n")
			}
			if s.Table == "report" {
				writeLimits(&b)
			}
			table = s.Table
			b.WriteString("\n" + tableLine(s) + "\n")
		}
		fmt.Fprintf(&b, "%s\n", settingLine(s))
	}
	return b.String()
}

// tableLine heads a table; tables that a job can do without and that may be there
// more than once are commented out with their settings.
func tableLine(s *mold.Setting) string {
	switch {
	case s.Many && s.Table == "half":
		return "[[half]]          # two or more"
	case s.Many:
		return "#[[" + s.Table + "]]        # as many as you like"
	}
	return "[" + s.Table + "]"
}

func settingLine(s *mold.Setting) string {
	if s.Key == "file" {
		name := map[string]string{"part": "part.stl", "half": "top.stl"}[s.Table]
		return fmt.Sprintf("file = %q  # %s", name, s.What)
	}
	why := s.Rule
	if s.Default != "" {
		why = s.Source
	}
	unit := ""
	if s.Unit != "" {
		unit = ", " + s.Unit
	}
	return fmt.Sprintf("#%-28s # %s%s; %s", s.Key+" = "+sample(s), s.What, unit, why)
}

// sample is a value as the job file writes it: the default, or one that shows the
// form.
func sample(s *mold.Setting) string {
	text := s.Default
	if text == "" {
		text = s.Sample
	}
	if text == "" {
		text = map[mold.Form]string{mold.Number: "1", mold.Direction: "0, 0, 1", mold.Point: "0, 0, 0", mold.Points: "0, 0, 0", mold.Text: "...",
			mold.Switch: "false", mold.TiltForm: "15@90", mold.Pressure: "60psi", mold.Date: "2026-03-31"}[s.Form]
		switch s.Form {
		case mold.Word:
			text = s.Words[0]
		case mold.Numbers:
			text = strings.TrimSuffix(strings.Repeat("1, ", s.Count), ", ")
		}
	}
	switch s.Form {
	case mold.Number, mold.Switch:
		return text
	case mold.Direction, mold.Point, mold.Points, mold.Numbers:
		return "[" + text + "]"
	}
	return fmt.Sprintf("%q", text)
}

// writeLimits writes the table of limits, each with its source.
func writeLimits(b *strings.Builder) {
	b.WriteString("\n[limits]\n")
	for _, l := range checks.DefaultLimits().All() {
		unit := ""
		if l.Unit != "" {
			unit = ", " + l.Unit
		}
		fmt.Fprintf(b, "#%-28s # %s%s; %s\n", fmt.Sprintf("%s = %v", l.Key, l.Value), l.What, unit, l.Source)
	}
}
