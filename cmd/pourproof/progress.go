package main

import (
	"fmt"
	"strings"
)

// progress says on a terminal what the program is doing. Elsewhere it is silent:
// a log wants results, not steps.
type progress struct {
	w  *world
	on bool
}

func newProgress(w *world, quiet bool) *progress { return &progress{w, w.terminal && !quiet} }

// step replaces the line on the terminal.
func (p *progress) step(what string) {
	if p.on {
		fmt.Fprintf(p.w.stderr, "\r\x1b[K%s ...", what)
	}
}

// bar shows how much of a step is done.
func (p *progress) bar(what string, done, total int) {
	if !p.on || total == 0 {
		return
	}
	const wide = 30
	n := min(wide*done/total, wide)
	fmt.Fprintf(p.w.stderr, "\r\x1b[K%s [%s%s] %d of %d", what, strings.Repeat("#", n), strings.Repeat(".", wide-n), done, total)
}

// done clears the line.
func (p *progress) done() {
	if p.on {
		fmt.Fprint(p.w.stderr, "\r\x1b[K")
	}
}
