//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// A file over the limit of the user's shell is an error of the write, as a full
// disk is, not the end of the process.
func init() { signal.Ignore(syscall.SIGXFSZ) }

// lockFolder waits until no other run writes into a folder. The lock ends with
// the process, however that ends. held is false where the file system has no
// locks.
func lockFolder(dir string) (unlock func(), held bool) {
	f, err := os.Open(dir)
	if err != nil {
		return func() {}, false
	}
	for {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err {
		case nil:
			return func() { f.Close() }, true
		case syscall.EINTR:
		default:
			f.Close()
			return func() {}, false
		}
	}
}
