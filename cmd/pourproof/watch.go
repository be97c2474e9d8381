package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pourproof/report"
)

const (
	// pollEvery is how often the inputs are looked at: short against a check.
	pollEvery = 250 * time.Millisecond
	// settledAfter is how many looks in a row must find the inputs alike before they
	// are read: a program that exports a mesh writes more often than twice a second.
	settledAfter = 2
	// goneAfter is the same for inputs of which one is missing: programs that write
	// under another name and rename leave a gap, but not one of two seconds.
	goneAfter = 8
)

// watch checks again whenever an input changes, until it is interrupted. What a
// run cannot read leaves the last good report as it is. It ends with the exit
// code of the last run.
func watch(w *world, f *checkFlags) error {
	ctx, stop := w.interrupt()
	defer stop()
	s := &watching{w: w, flags: f, code: exitDoubt}
	for {
		s.look() // before reading: what changes during the run is seen after it
		done := make(chan bool, 1)
		var d *report.Document
		var r *checkRequest
		var err error
		go func() {
			d, r, err = s.compute()
			done <- true
		}()
		select {
		case <-ctx.Done():
			return exitCode(s.code)
		case <-done:
		}
		if err == nil {
			err = s.tell(d, r)
		}
		var misused *usageError
		if errors.As(err, &misused) {
			return err // flags do not change by waiting
		}
		if err != nil {
			s.keep(err)
		}
		if !s.wait(ctx) {
			stop() // a second Ctrl-C is not held up
			return exitCode(s.code)
		}
	}
}

// watching is the state between runs.
type watching struct {
	w     *world
	flags *checkFlags
	code  int

	good    *report.Earlier // the last run that could be judged
	files   []string        // paths of the inputs
	seen    []fileState     // as they were when the last run began
	content []string        // their hashes then
	told    bool            // what is watched has been said
}

// fileState is what a look at a file finds without reading it.
type fileState struct {
	there bool
	size  int64
	mod   time.Time
}

func look(files []string) []fileState {
	out := make([]fileState, len(files))
	for i, f := range files {
		if info, err := os.Stat(f); err == nil {
			out[i] = fileState{true, info.Size(), info.ModTime()}
		}
	}
	return out
}

// inputs are the files that a request reads; before it is known which these are,
// those named on the command line.
func (s *watching) inputs(r *checkRequest) []string {
	var out []string
	for _, name := range s.flags.set.Args() {
		out = append(out, s.w.path(name))
	}
	if r != nil {
		for _, name := range append([]string{r.job.Printer.CouponPath}, r.job.Includes...) {
			if name != "" {
				out = append(out, s.w.path(name))
			}
		}
		out = append(out, s.w.path(pathOf(&r.job.Part)))
		for i := range r.job.Halves {
			out = append(out, s.w.path(pathOf(&r.job.Halves[i])))
		}
		if c := r.job.Printer.CouponPath; c != "" {
			out = append(out, s.w.path(c))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// look notes which files the next run will read and how they are.
func (s *watching) look() {
	r, err := s.flags.request(s.w)
	if err != nil {
		r = nil
	}
	s.files = s.inputs(r)
	s.seen = look(s.files)
	s.content = hashes(s.files)
}

// hashes are those of the files' bytes; empty for one that cannot be read.
func hashes(files []string) []string {
	out := make([]string, len(files))
	for i, name := range files {
		info, err := os.Stat(name)
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		if f, err := os.Open(name); err == nil {
			h := sha256.New()
			if _, err := io.Copy(h, f); err == nil {
				out[i] = string(h.Sum(nil))
			}
			f.Close()
		}
	}
	return out
}

// compute runs the check; nothing is written.
func (s *watching) compute() (*report.Document, *checkRequest, error) {
	r, err := s.flags.request(s.w)
	if err != nil {
		return nil, nil, err
	}
	if s.good != nil && (r.since == "" || r.since == last) {
		r.earlier = s.good
	}
	d, err := check(s.w, r)
	return d, r, err
}

// tell writes the report and says what changed: the whole summary the first time,
// then a line.
func (s *watching) tell(d *report.Document, r *checkRequest) error {
	quiet := r.quiet
	r.quiet = quiet || s.good != nil
	if err := publish(s.w, r, d); err != nil {
		return err
	}
	s.code = verdictCode(d.Outcome)
	if s.good != nil && !quiet {
		out := s.w.stdout
		if r.json {
			out = s.w.stderr
		}
		fmt.Fprintf(out, "%s. %s\n", strings.ToUpper(s.line(d)[:1])+s.line(d)[1:], report.VerdictLine(d))
	}
	s.good = report.EarlierOf(filepath.ToSlash(filepath.Join(s.w.shown(r.out), "report.json")), d)
	s.say(quiet, "watching %s; Ctrl-C ends", plural(len(s.files), "file"))
	return nil
}

// line is what changed since the last run of this watch, whatever the report is
// set against.
func (s *watching) line(d *report.Document) string {
	set := report.Document{Outcome: d.Outcome}
	set.Compare(s.good)
	return report.ChangeLine(set.Changes)
}

// say tells once that the program waits.
func (s *watching) say(quiet bool, format string, args ...any) {
	if !quiet && !s.told {
		fmt.Fprintf(s.w.stderr, "pourproof: "+format+"\n", args...)
	}
	s.told = true
}

// keep says why there is no new report.
func (s *watching) keep(err error) {
	s.code = exitDoubt
	complain(s.w, err)
	if s.good != nil {
		fmt.Fprintln(s.w.stderr, "pourproof: the last good report is kept; waiting for the next change")
	} else {
		fmt.Fprintln(s.w.stderr, "pourproof: waiting for the next change; Ctrl-C ends")
	}
}

// wait returns true when an input has changed and all are whole: alike in several
// looks in a row, with other bytes than the last run read. It returns false when
// interrupted.
func (s *watching) wait(ctx context.Context) bool {
	before, alike := s.seen, 0
	for s.w.tick(ctx, pollEvery) {
		now := look(s.files)
		if slices.Equal(now, before) {
			alike++
		} else {
			before, alike = now, 1
		}
		if slices.Equal(now, s.seen) {
			continue
		}
		enough := settledAfter
		if slices.ContainsFunc(now, func(f fileState) bool { return !f.there }) {
			enough = goneAfter
		}
		if alike < enough {
			continue
		}
		if slices.Equal(hashes(s.files), s.content) {
			s.seen = now // written again with the same bytes
			continue
		}
		return true
	}
	return false
}
