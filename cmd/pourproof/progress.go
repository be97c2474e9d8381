package main

import (
	"fmt"
	"strings"
	"sync"
)

// progress says on a terminal what the program is doing. Elsewhere it is silent:
// a log wants results, not steps.
// Steps that run side by side take turns on the line.
type progress struct {
	w    *world
	on   bool
	lock sync.Mutex
}

func newProgress(w *world, quiet bool) *progress { return &progress{w: w, on: w.terminal && !quiet} }

// step replaces the line on the terminal.
func (p *progress) step(what string) {
	p.show(what + " ...")
}

// bar shows how much of a step is done.
func (p *progress) bar(what string, done, total int) {
	if total == 0 {
		return
	}
	const wide = 30
	n := min(wide*done/total, wide)
	p.show(fmt.Sprintf("%s [%s%s] %d of %d", what, strings.Repeat("#", n), strings.Repeat(".", wide-n), done, total))
}

// done clears the line.
func (p *progress) done() {
	p.show("")
}

func (p *progress) show(line string) {
	if !p.on {
		return
	}
	p.lock.Lock()
	defer p.lock.Unlock()
	fmt.Fprint(p.w.stderr, "\r\x1b[K"+line)
}
