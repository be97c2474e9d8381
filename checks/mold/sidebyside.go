package mold

import (
	"runtime"
	"sync"
)

// sideBySide does n pieces of work on all cores.
func sideBySide(n int, do func(i int)) { sideBySideUntil(n, nil, do) }

// sideBySideUntil does n pieces of work on all cores, and no further piece once stop says
// so; it is asked before each, never by two at a time. nil = never.
func sideBySideUntil(n int, stop func() bool, do func(i int)) {
	var wg sync.WaitGroup
	var lock sync.Mutex
	next := 0
	take := func() int { // -1: nothing more to do
		lock.Lock()
		defer lock.Unlock()
		if stop != nil && stop() || next == n {
			return -1
		}
		next++
		return next - 1
	}
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := take(); i >= 0; i = take() {
				do(i)
			}
		})
	}
	wg.Wait()
}
