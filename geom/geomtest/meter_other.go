//go:build !unix

package geomtest

import "time"

var started = time.Now()

// cpuTime returns elapsed time, for want of the processor's.
func cpuTime() time.Duration { return time.Since(started) }
