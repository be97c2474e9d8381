// Command pourproof tells, before a two-part elastomer mold is printed, what will
// go wrong when it is filled: where air stays, which vents do not vent, and what
// to change.
package main

import (
	"os"
	"runtime/debug"
)

// garbage is how much more memory than is in use may pile up before it is looked
// through, per cent, unless the user says otherwise (GOGC). What a check holds are a few
// large arrays without pointers, so looking costs nearly nothing; at Go's own 100 a mold
// of a million facets takes a third more.
const garbage = 50

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbage)
	}
	code := run(os.Args[1:], hostWorld())
	unfinished.end() // what a run that was given up may still have under way
	os.Exit(code)
}
