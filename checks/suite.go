package checks

import (
	"fmt"
	"slices"
	"strings"

	"pourproof/checks/mold"
)

// Suite returns every check in the order of the report. A function, because checks
// must not be reached from a Run.
func Suite() []*Check {
	return []*Check{
		&intakeCheck, // always on: a wrong file makes every other number a lie
		&airCheck,
		&ventsCheck,
		&cupsCheck,
		&scarsCheck,
		&stepsCheck,
		&wallsCheck,
		&edgesCheck,
		&undercutsCheck,
		&fitCheck,
		&chargeCheck,
		&potCheck,
	}
}

// Names returns the names of all checks, as --only takes them.
func Names() []string {
	var names []string
	for _, c := range Suite() {
		names = append(names, c.Name)
	}
	return names
}

// Known returns an error for the first word that names no check.
func Known(only []string) error {
	names := Names()
	for _, w := range only {
		if slices.Contains(names, w) {
			continue
		}
		if near := mold.Nearest(w, names); near != "" {
			return fmt.Errorf("no check is named %q; did you mean %s?", w, near)
		}
		return fmt.Errorf("no check is named %q; the checks are %s", w, strings.Join(names, ", "))
	}
	return nil
}
