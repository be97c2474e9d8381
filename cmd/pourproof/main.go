// Command pourproof tells, before a two-part elastomer mold is printed, what will
// go wrong when it is filled: where air stays, which vents do not vent, and what
// to change.
package main

import (
	"math"
	"os"
	"runtime/debug"
)

// How much more memory than is in use may pile up before it is looked through, per cent,
// unless the user says otherwise (GOGC). What a check of many facets holds are a few large
// arrays without pointers, so looking costs nearly nothing, and at Go's own 100 it takes a
// third more. With few facets looking costs a thirtieth of the time, and half as much
// again is little.
const (
	garbage    = 40
	garbageFew = 100
	few        = 200_000 // facets
)

// mostMemory is from where on memory is looked through as often as it takes, in bytes,
// unless the user says otherwise (GOMEMLIMIT): what a check has in use stays below 4 GB by
// itself, and so does what it has with its garbage.
const mostMemory = 3500 << 20

// spendMemory sets how much garbage may pile up for meshes of so many facets.
func spendMemory(facets int) {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(mostMemory)
	}
	switch {
	case os.Getenv("GOGC") != "":
	case facets <= few:
		debug.SetGCPercent(garbageFew)
	default:
		debug.SetGCPercent(garbage)
	}
}

func main() {
	spendMemory(math.MaxInt) // until they are read
	code := run(os.Args[1:], hostWorld())
	unfinished.end() // what a run that was given up may still have under way
	os.Exit(code)
}
