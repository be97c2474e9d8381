package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"pourproof/checks/mold"
)

// outFile is one file of the output folder.
type outFile struct {
	name string
	data []byte
}

// ourNames are all files that any run may write into its folder. Those that a
// run does not write are removed, so that a folder never mixes two runs.
var ourNames = []string{"report.pdf", "report.json", "report.html", "bench-card.pdf", "vents.csv", "vents.stl",
	"reliefs.stl", "wedge.stl", "marked.3mf"}

// color tells whether a summary written to out may be coloured: only on a
// terminal, and not where NO_COLOR is set (no-color.org).
func (w *world) color(out io.Writer) bool {
	return w.terminal && out == w.stderr && w.env("NO_COLOR") == "" && w.env("TERM") != "dumb"
}

// mayWrite refuses, before any work, an output folder that cannot be one and an
// output that would lie over an input.
func mayWrite(w *world, r *checkRequest) error {
	if err := usableFolder(r.out, w.shown(r.out)); err != nil {
		return err
	}
	inputs := append([]string{r.jobFile, r.job.Printer.CouponPath}, r.job.Includes...)
	for _, b := range append([]mold.BodySpec{r.job.Part}, r.job.Halves...) {
		inputs = append(inputs, pathOf(&b))
	}
	for _, in := range inputs {
		if in == "" {
			continue
		}
		source, err := os.Stat(w.path(in))
		if err != nil {
			continue // the reader says what is wrong with it
		}
		for _, name := range ourNames {
			target, err := os.Stat(filepath.Join(r.out, name))
			if err == nil && os.SameFile(source, target) {
				return fmt.Errorf("%s: is an input and would be overwritten as %s; name another folder with --out", in, filepath.Join(w.shown(r.out), name))
			}
		}
	}
	return nil
}

// usableFolder refuses what is not a folder to write in. A folder that is not
// there yet is made when the report is written.
func usableFolder(dir, shown string) error {
	info, err := os.Stat(dir)
	switch {
	case err == nil && !info.IsDir():
		return fmt.Errorf("%s: is a file; name a folder with --out", shown)
	case err == nil:
		f, err := unfinished.temp(dir)
		if err != nil {
			return fmt.Errorf("%s: cannot be written to: %v; name another folder with --out", shown, reason(err))
		}
		f.Close()
		unfinished.drop(f.Name())
		return nil
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Lstat(dir); err == nil {
			return fmt.Errorf("%s: is a link to what is not there; name a folder with --out", shown)
		}
		parent := filepath.Dir(filepath.Clean(dir))
		if parent == dir || parent == "." {
			return nil
		}
		if info, err := os.Stat(parent); err == nil && !info.IsDir() {
			return fmt.Errorf("%s: cannot be a folder, for %s is a file; name another folder with --out", shown, parent)
		}
		return nil
	}
	return fmt.Errorf("%s: cannot be a folder: %v; name another folder with --out", shown, reason(err))
}

// writeAll writes every file whole: all under other names first, then renamed,
// then what is left of an earlier run is removed. An interrupt comes before the
// renames or after them, and two runs take turns, so that a folder never mixes two
// of them. On an error no file is half written and those of an earlier run are
// still there as far as they were not yet replaced.
func writeAll(dir string, files []outFile) (err error) {
	made, err := unfinished.folder(dir)
	defer func() {
		if err != nil {
			unfinished.drop(made...)
		}
	}()
	if err != nil {
		return fmt.Errorf("%s: cannot be made: %v; name another folder with --out", dir, reason(err))
	}
	unlock, held := lockFolder(dir)
	defer unlock()
	if held {
		staleAway(dir)
	}
	for _, f := range files {
		temp, err := writeTemp(dir, f.data)
		made = append(made, temp...)
		if err != nil {
			return fmt.Errorf("%s: cannot be written: %v; free some room or name another folder with --out", filepath.Join(dir, f.name), reason(err))
		}
	}
	temps := made[len(made)-len(files):]
	return unfinished.settle(func() error { return putInPlace(dir, files, temps) }, made...)
}

// putInPlace gives files that are whole their names and removes what an earlier
// run left.
func putInPlace(dir string, files []outFile, temps []string) error {
	written := map[string]bool{} // asked by name only
	for i, f := range files {
		target := filepath.Join(dir, f.name)
		if err := os.Rename(temps[i], target); err != nil {
			return fmt.Errorf("%s: cannot be replaced: %v; close the program that holds it, or name another folder with --out", target, linkReason(err))
		}
		written[f.name] = true
	}
	for _, name := range ourNames {
		if written[name] {
			continue
		}
		if err := os.Remove(filepath.Join(dir, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%s: is left from an earlier run and cannot be removed: %v", filepath.Join(dir, name), reason(err))
		}
	}
	return nil
}

// writeTemp writes a file under another name, which it returns in a list as soon
// as there is such a file.
func writeTemp(dir string, data []byte) (made []string, err error) {
	f, err := unfinished.temp(dir)
	if err != nil {
		return nil, err
	}
	_, err = f.Write(data)
	if e := f.Chmod(0o644); err == nil && e != nil && !strings.Contains(e.Error(), "not supported") {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	return []string{f.Name()}, err
}
