package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report"
)

// last is the word of --since for the report that --out holds.
const last = "last"

// readSince reads the report that --since names, before anything is written.
func readSince(w *world, r *checkRequest) error {
	if r.since == "" || r.earlier != nil {
		return nil
	}
	path, name := w.path(r.since), r.since
	missing := "check the name and the folder, or leave --since out"
	if r.since == last {
		path = filepath.Join(r.out, "report.json")
		name = filepath.Join(w.shown(r.out), "report.json")
		missing = "a first run has none: leave --since out"
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fmt.Errorf("%s: does not exist; %s", name, missing)
	case err != nil:
		return fmt.Errorf("%s: cannot be opened: %v", name, reason(err))
	case info.IsDir():
		return fmt.Errorf("%s: is a folder; name the report.json in it", name)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: is not a regular file; name the report.json of an earlier run", name)
	case info.Size() > report.MaxEarlier:
		return fmt.Errorf("%s: is %d bytes, more than a report has; name the report.json of an earlier run", name, info.Size())
	}
	data, err := readWhole(path, name, report.MaxEarlier)
	if err != nil {
		return err
	}
	r.earlier, err = report.ReadEarlier(filepath.ToSlash(name), data)
	return err
}

// picturesOfThen closes and pours the mold of the earlier run again, where its
// files are still what they were and the pages will show something.
func picturesOfThen(w *world, r *checkRequest, d *report.Document, p *progress) {
	e := d.Changes.Earlier
	if e.Outcome != nil || r.noPDF || d.Outcome.Mold == nil || len(d.Changes.Fixed)+len(d.Changes.New)+len(d.Changes.FirstJudged) == 0 {
		return
	}
	p.step("closing and pouring the mold of then")
	o, err := runOfThen(w, r, e)
	if err != nil {
		e.NoPictures = err.Error()
		return
	}
	e.Outcome = o
}

// runOfThen takes the job out of an earlier report, finds its files by their
// hashes, and pours.
func runOfThen(w *world, r *checkRequest, e *report.Earlier) (*checks.Outcome, error) {
	then := &checkRequest{job: mold.NewJob()}
	if err := jobOfThen(then, e); err != nil {
		return nil, err
	}
	if err := findFiles(w, r, then.job, e); err != nil {
		return nil, err
	}
	in, err := mold.Load(w.files(), then.job)
	if err != nil {
		return nil, err
	}
	for i := range in.Inputs {
		if in.Inputs[i].SHA256 != e.Inputs[i].SHA256 {
			return nil, changedFile(e.Inputs[i].File)
		}
	}
	quiet := newProgress(w, true)
	m, err := closed(in, then, quiet)
	if err != nil {
		return nil, fmt.Errorf("the mold of then cannot be closed again: %v", err)
	}
	fill, err := pour(m, quiet)
	if err != nil {
		return nil, fmt.Errorf("the mold of then cannot be poured again: %v", err)
	}
	return &checks.Outcome{Job: then.job, Inputs: in.Inputs, Mold: m, Fill: fill}, nil
}

// jobOfThen sets what an earlier report says was given: by argument, flag or job
// file. Defaults and rules are those of this version.
func jobOfThen(then *checkRequest, e *report.Earlier) error {
	job := then.job
	for _, s := range e.Settings {
		given := s.From == argument || strings.HasPrefix(s.From, "flag ") || strings.HasPrefix(s.From, "job file ") || strings.HasPrefix(s.From, "include ")
		if !given || strings.HasPrefix(s.Name, "limits.") {
			continue
		}
		switch s.Name {
		case "units":
			job.Units = s.Value
			continue
		case "try":
			for _, word := range strings.Fields(s.Value) {
				n, err := strconv.Atoi(word)
				if err != nil {
					return unreadable(s)
				}
				then.try = append(then.try, n)
			}
			continue
		case "only", "search":
			continue
		}
		if err := setOfThen(job, s); err != nil {
			return err
		}
	}
	if len(e.Inputs) != 1+len(job.Halves) {
		return errors.New("its report does not name the files of a part and its halves as this version writes them")
	}
	return nil
}

func unreadable(s report.EarlierSetting) error {
	return fmt.Errorf("its report gives %s as %q, which this version does not take", s.Name, s.Value)
}

// setOfThen sets pour.tilt, or half 2.file, which makes room for the second half.
func setOfThen(job *mold.Job, s report.EarlierSetting) error {
	table, key, ok := strings.Cut(s.Name, ".")
	if !ok {
		return unreadable(s)
	}
	i := 0
	if word, number, many := strings.Cut(table, " "); many {
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 || n > maxOfThen {
			return unreadable(s)
		}
		table, i = word, n-1
		for n > job.Count(table) {
			if !job.Grow(table) {
				return unreadable(s)
			}
		}
	}
	known := mold.SettingNamed(table + "." + key)
	if known == nil || known.Set(job, i, s.Value) != nil {
		return unreadable(s)
	}
	return nil
}

// maxOfThen bounds the tables of one kind in an earlier report.
const maxOfThen = 500

// findFiles puts paths to the files of then, wherever they lie with the bytes
// they had: as named, beside the job file of now, or about the earlier report.
func findFiles(w *world, r *checkRequest, job *mold.Job, e *report.Earlier) error {
	folders := []string{w.path(".")}
	if r.jobFile != "" {
		folders = append(folders, filepath.Dir(w.path(r.jobFile)))
	}
	from := filepath.Dir(w.path(filepath.FromSlash(e.Name)))
	folders = append(folders, from, filepath.Dir(from))
	bodies := []*mold.BodySpec{&job.Part}
	for i := range job.Halves {
		bodies = append(bodies, &job.Halves[i])
	}
	for i, b := range bodies {
		in := e.Inputs[i]
		there := false
		for _, dir := range folders {
			path := in.File
			if !filepath.IsAbs(path) {
				path = filepath.Join(dir, path)
			}
			same, found := hashIs(path, in.SHA256)
			there = there || found
			if same {
				b.File, b.Path = in.File, path
				break
			}
		}
		switch {
		case b.Path != "":
		case there:
			return changedFile(in.File)
		default:
			return fmt.Errorf("%s is no longer where it was", in.File)
		}
	}
	return nil
}

func changedFile(file string) error {
	return fmt.Errorf("%s has changed since; keep a copy of each revision under its own name to see both", file)
}

// hashIs tells whether a regular file of that path is there, and whether it has
// the hash.
func hashIs(path, want string) (same, found bool) {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return false, false
	}
	f, err := os.Open(path)
	if err != nil {
		return false, true
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return false, true
	}
	return hex.EncodeToString(h.Sum(nil)) == want, true
}
