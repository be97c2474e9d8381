package main

import (
	"errors"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// tempPrefix begins the names of files that are not whole yet.
const tempPrefix = ".pourproof-part-"

// unfinished is what this process has made and must not leave behind if it ends
// before it is through: files under other names, and folders with nothing in them.
var unfinished ledger

// ledger lists files and folders in the order in which they were made. Making and
// listing are one step under its lock, so that an interrupt finds each of them.
type ledger struct {
	lock  sync.Mutex
	names []string
}

// temp makes a file that is not whole yet.
func (l *ledger) temp(dir string) (*os.File, error) {
	l.lock.Lock()
	defer l.lock.Unlock()
	f, err := os.CreateTemp(dir, tempPrefix)
	if err == nil {
		l.names = append(l.names, f.Name())
	}
	return f, err
}

// folder makes a folder and those above it; it returns what it made, the highest
// first.
func (l *ledger) folder(dir string) (made []string, err error) {
	l.lock.Lock()
	defer l.lock.Unlock()
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Lstat(d); err == nil || !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		made = append(made, d)
	}
	slices.Reverse(made)
	l.names = append(l.names, made...)
	return made, os.MkdirAll(dir, 0o777)
}

// drop removes what was made, the last first; a folder only where it is empty.
func (l *ledger) drop(names ...string) {
	l.lock.Lock()
	defer l.lock.Unlock()
	l.remove(names)
}

func (l *ledger) remove(names []string) {
	for _, name := range slices.Backward(slices.Clone(names)) {
		os.Remove(name)
		if i := slices.Index(l.names, name); i >= 0 {
			l.names = slices.Delete(l.names, i, i+1)
		}
	}
}

// settle runs a step that an interrupt waits for, and takes the names off the list
// where it went well.
func (l *ledger) settle(step func() error, names ...string) error {
	l.lock.Lock()
	defer l.lock.Unlock()
	if err := step(); err != nil {
		return err
	}
	l.names = slices.DeleteFunc(l.names, func(n string) bool { return slices.Contains(names, n) })
	return nil
}

// end removes all that is listed. Nothing can be made or settled afterwards: the
// process is about to end.
func (l *ledger) end() {
	l.lock.Lock()
	l.remove(l.names)
}

// staleAway removes what runs that were killed left in a folder. The caller holds
// the folder's lock, so no other run is writing.
func staleAway(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), tempPrefix) && e.Type().IsRegular() {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
}

// deadly are the signals that end the program, but for those it was told to ignore,
// as nohup does.
func deadly() []os.Signal {
	return slices.DeleteFunc([]os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGHUP}, signal.Ignored)
}

// dieOfSignals lets the process die of an interrupt as it would without it, once
// what is unfinished has been removed and a step under way is settled. stop hands
// the signals to others.
func dieOfSignals() (stop func()) {
	caught := make(chan os.Signal, 1)
	signal.Notify(caught, deadly()...)
	go func() {
		s := <-caught
		unfinished.end()
		signal.Reset(s)
		if p, err := os.FindProcess(os.Getpid()); err == nil && p.Signal(s) == nil {
			time.Sleep(time.Second) // it ends here
		}
		os.Exit(exitDoubt) // where a process cannot signal itself
	}()
	return func() { signal.Stop(caught) }
}
