package main

import (
	"errors"
	"fmt"
	"slices"

	"pourproof/checks/mold"
	"pourproof/report"
)

// runMesh looks at mesh files one by one: the intake of check, without a mold.
func runMesh(w *world, args []string) error {
	s := newFlagSet("mesh")
	units := s.String("units", "", "mm|cm|m|in\tunit of files that state none; default mm")
	asJSON := s.String("json", "", "-\tthe inputs as in report.json to standard output")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	if s.NArg() == 0 {
		return misuse("mesh needs at least one mesh file")
	}
	if s.Changed("json") && *asJSON != "-" {
		return misuse("--json: must be -, for standard output, not %q", *asJSON)
	}
	if words := mold.SettingNamed("part.units").Words; s.Changed("units") && !slices.Contains(words, *units) {
		return misuse("--units: must be one of %v, not %q", words, *units)
	}
	var inputs []mold.Input
	var faults []error
	for _, file := range s.Args() {
		in, err := mold.LoadFile(w.files(), file, *units, "flag --units")
		if err != nil {
			faults = append(faults, err)
			continue
		}
		inputs = append(inputs, in)
	}
	if s.Changed("json") {
		if err := printJSON(w, report.Inputs(inputs)); err != nil {
			return err
		}
	} else {
		fmt.Fprint(w.stdout, report.InputText(inputs))
	}
	return errors.Join(faults...)
}
