//go:build unix

package geomtest

import (
	"syscall"
	"time"
)

// cpuTime returns the time that the process has had on all cores.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
