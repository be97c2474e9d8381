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

// tempPrefix begins the names of files that are not whole yet.
const tempPrefix = ".pourproof-part-"

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
		f, err := os.CreateTemp(dir, tempPrefix)
		if err != nil {
			return fmt.Errorf("%s: cannot be written to: %v; name another folder with --out", shown, reason(err))
		}
		f.Close()
		return os.Remove(f.Name())
	case errors.Is(err, fs.ErrNotExist):
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
// then what is left of an earlier run is removed. On an error no file is half
// written and those of an earlier run are still there as far as they were not
// yet replaced.
func writeAll(dir string, files []outFile) (err error) {
	made, err := makeFolder(dir)
	if err != nil {
		return err
	}
	temps := make([]string, 0, len(files))
	defer func() {
		if err == nil {
			return
		}
		for _, t := range temps {
			os.Remove(t)
		}
		for _, d := range made {
			os.Remove(d) // only if empty
		}
	}()
	for _, f := range files {
		temp, err := writeTemp(dir, f.data)
		if temp != "" {
			temps = append(temps, temp)
		}
		if err != nil {
			return fmt.Errorf("%s: cannot be written: %v; free some room or name another folder with --out", filepath.Join(dir, f.name), reason(err))
		}
	}
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

// makeFolder makes a folder and those above it; it returns what it made, the
// deepest first.
func makeFolder(dir string) (made []string, err error) {
	var missing []string
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := os.Stat(d); err == nil || !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		missing = append(missing, d)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("%s: cannot be made: %v; name another folder with --out", dir, reason(err))
	}
	return missing, nil
}

func writeTemp(dir string, data []byte) (name string, err error) {
	f, err := os.CreateTemp(dir, tempPrefix)
	if err != nil {
		return "", err
	}
	_, err = f.Write(data)
	if e := f.Chmod(0o644); err == nil && e != nil && !strings.Contains(e.Error(), "not supported") {
		err = e
	}
	if e := f.Close(); err == nil {
		err = e
	}
	return f.Name(), err
}
