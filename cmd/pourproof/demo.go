package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"pourproof/report"
	"pourproof/testdata"
)

// revisions of the example: the job file's stem is the report's folder.
var revisions = []string{"rev-a", "rev-b"}

// runDemo writes the example and checks both revisions. It succeeds when it could
// do so: that revision A must not be printed is what it shows.
func runDemo(w *world, args []string) error {
	s := newFlagSet("demo")
	noPDF := s.Bool("no-pdf", false, "\tleave report.pdf out")
	if err := parseFlags(w, s, args); err != nil {
		return err
	}
	dir := "pourproof-demo"
	switch {
	case s.NArg() > 1:
		return misuse("demo takes one folder, got %s", plural(s.NArg(), "name"))
	case s.NArg() == 1:
		dir = s.Arg(0)
	}
	if err := writeExample(w, dir); err != nil {
		return err
	}
	fmt.Fprintf(w.stdout, "A dimmer knob for a desk lamp and its mold, in %s.\n", dir)
	var earlier *report.Earlier
	for i, rev := range revisions {
		job := filepath.Join(dir, rev+".toml")
		f := newCheckFlags()
		list := []string{job, "--out", filepath.Join(dir, rev)}
		if *noPDF {
			list = append(list, "--no-pdf")
		}
		if err := parseFlags(w, f.set, list); err != nil {
			return err
		}
		r, err := f.request(w)
		if err != nil {
			return err
		}
		d, err := check(w, r)
		if err != nil {
			return err
		}
		if earlier != nil {
			d.Compare(earlier)
		}
		fmt.Fprintf(w.stdout, "\n== Revision %s: pourproof check %s ==\n", d.Revision, job)
		if err := publish(w, r, d); err != nil {
			return err
		}
		if i > 0 {
			fmt.Fprintf(w.stdout, "\n%s", report.ChangeText(d))
		}
		earlier = report.EarlierOf(filepath.ToSlash(filepath.Join("..", rev, "report.json")), d)
	}
	return nil
}

// writeExample fills an empty folder or one that holds the example already. Files
// that differ from the example's are somebody's work: they are left, and the demo
// refuses.
func writeExample(w *world, dir string) error {
	files, err := testdata.Demo()
	if err != nil {
		return err
	}
	return fill(w, dir, "the example", files, revisions)
}

// fill writes files into an empty folder or one that holds them already, beside
// folders named so. what names them in an error.
func fill(w *world, dir, what string, files []testdata.File, beside []string) error {
	if err := ownFolder(w.path(dir), dir, what, files, beside); err != nil {
		return err
	}
	made, err := unfinished.folder(w.path(dir))
	if err != nil {
		unfinished.drop(made...)
		return fmt.Errorf("%s: cannot be made: %v; name another folder", dir, reason(err))
	}
	for _, f := range files {
		target := filepath.Join(w.path(dir), f.Name)
		if _, err := os.Stat(target); err == nil {
			continue // the same bytes: ownFolder has looked
		}
		temp, err := writeTemp(w.path(dir), f.Data)
		made = append(made, temp...)
		if err == nil {
			err = unfinished.settle(func() error { return os.Rename(temp[0], target) }, made...)
		}
		if err != nil {
			unfinished.drop(made...)
			return fmt.Errorf("%s: cannot be written: %v; name another folder", filepath.Join(dir, f.Name), linkReason(reason(err)))
		}
	}
	return nil
}

// ownFolder refuses a folder with anything in it that is not among the files.
func ownFolder(path, dir, what string, files []testdata.File, beside []string) error {
	entries, err := os.ReadDir(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("%s: cannot hold %s: %v; name another folder", dir, what, reason(err))
	}
	for _, e := range entries {
		i := slices.IndexFunc(files, func(f testdata.File) bool { return f.Name == e.Name() })
		switch {
		case i < 0 && e.IsDir() && slices.Contains(beside, e.Name()):
		case i < 0:
			return fmt.Errorf("%s: holds %s, which is not part of %s; name an empty folder", dir, e.Name(), what)
		case !sameBytes(filepath.Join(path, e.Name()), files[i].Data):
			return fmt.Errorf("%s: holds a changed %s; keep it, and name an empty folder", dir, e.Name())
		}
	}
	return nil
}

func sameBytes(path string, data []byte) bool {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() || info.Size() != int64(len(data)) {
		return false
	}
	have, err := os.ReadFile(path)
	return err == nil && bytes.Equal(have, data)
}
