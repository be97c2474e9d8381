// Package testdata holds the meshes that come with the program: the example
// mold that `pourproof demo` writes, the coupon that `pourproof coupon` writes, and
// the small molds with known answers that the tests run on. CASES.md beside this file lists them; build.sh
// rebuilds them from their parametric sources.
//
// Meshes are stored as gzip'd binary STL, in millimeters, and handed out
// unpacked.
package testdata

import (
	"bytes"
	"compress/gzip"
	"embed"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
)

//go:embed demo
var demo embed.FS

//go:embed coupon
var coupon embed.FS

//go:embed cases
var cases embed.FS

// File is one embedded file, unpacked.
type File struct {
	Name string // base name as the user sees it, e.g. "top-a.stl"
	Data []byte
}

// Mold is one case: a part, the halves of its mold in assembled position, and
// the answers that are known for it.
type Mold struct {
	Part   File
	Halves []File // in order of their names
	Why    string // what the case is for, the expected values and their source
}

// Demo returns the files of the example, in order of their names: meshes
// (part.stl, bottom.stl, top-a.stl, top-b.stl) and the job files of both
// revisions. The parametric source of the meshes is left out.
func Demo() ([]File, error) {
	return files(demo, "demo", ".stl.gz", ".toml")
}

// Coupon returns the pieces of the calibration coupon: coupon.stl and peg.stl.
func Coupon() ([]File, error) {
	return files(coupon, "coupon", ".stl.gz")
}

// Cases returns the names of all cases, sorted.
func Cases() ([]string, error) {
	entries, err := cases.ReadDir("cases")
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names, nil
}

// Case returns the mold of that name, e.g. "sphere". It fails if there is no
// such case, or if the case lacks its part, its why.txt or a second half.
func Case(name string) (Mold, error) {
	var m Mold
	dir := path.Join("cases", name)
	why, err := cases.ReadFile(path.Join(dir, "why.txt"))
	if err != nil {
		return m, fmt.Errorf("testdata: case %q: %w", name, err)
	}
	m.Why = string(why)
	meshes, err := files(cases, dir, ".stl.gz")
	if err != nil {
		return m, err
	}
	for _, f := range meshes {
		if f.Name == "part.stl" {
			m.Part = f
		} else {
			m.Halves = append(m.Halves, f)
		}
	}
	if m.Part.Data == nil || len(m.Halves) < 2 {
		return m, fmt.Errorf("testdata: case %q needs part.stl.gz and two halves, has %d meshes", name, len(meshes))
	}
	return m, nil
}

// files reads the files of one folder that end in one of the suffixes and
// unpacks those that end in .gz, dropping that ending from their names.
func files(fsys embed.FS, dir string, suffixes ...string) ([]File, error) {
	entries, err := fsys.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var out []File
	for _, e := range entries {
		if !hasSuffix(e, suffixes) {
			continue
		}
		data, err := fsys.ReadFile(path.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		name, packed := strings.CutSuffix(e.Name(), ".gz")
		if packed {
			if data, err = unpack(data); err != nil {
				return nil, fmt.Errorf("testdata: %s/%s: %w", dir, e.Name(), err)
			}
		}
		out = append(out, File{Name: name, Data: data})
	}
	return out, nil
}

func hasSuffix(e fs.DirEntry, suffixes []string) bool {
	for _, s := range suffixes {
		if strings.HasSuffix(e.Name(), s) {
			return true
		}
	}
	return false
}

func unpack(data []byte) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}
