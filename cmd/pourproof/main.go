// Command pourproof tells, before a two-part elastomer mold is printed, what will
// go wrong when it is filled: where air stays, which vents do not vent, and what
// to change.
package main

import "os"

func main() {
	code := run(os.Args[1:], hostWorld())
	unfinished.end() // what a run that was given up may still have under way
	os.Exit(code)
}
