// Package meshio reads and writes mesh files: STL, binary and text, OBJ and 3MF.
//
// Read decides by a file's content and size, never by its name. It refuses what
// it cannot read rightly, with a ReadError that names the file, the place and
// what to do; what it can read in spite of a flaw it reads with a Warning. It
// never trusts a count: memory is bounded by the file's size before it is asked
// for. What is wrong with the mesh itself is found afterwards, by geom.Mend.
package meshio

import (
	"errors"
	"fmt"
	"io"
	"io/fs"

	"pourproof/geom"
)

// Format names what a file was read as.
type Format string

// The formats that Read knows.
const (
	STLBinary Format = "stl-binary"
	STLText   Format = "stl-text"
	OBJ       Format = "obj"
	ThreeMF   Format = "3mf"
)

// File is a mesh file as read, in millimetres.
type File struct {
	Name     string
	Format   Format
	Units    string // unit of the numbers in the file: mm, cm, m, in, ft or um
	Assumed  bool   // the unit is stated neither by the file nor by Options
	SHA256   string // of the file's bytes, in hexadecimal
	Size     int64  // bytes
	Bodies   []Body
	Warnings []Warning
}

// Body is one separate piece of a file: all of an STL, a group of an OBJ, an
// item of a 3MF. Its mesh is welded and has at least one facet.
type Body struct {
	Name string // as in the file; empty where it gives none
	Mesh *geom.Mesh
}

// Warning is a flaw that did not keep the file from being read.
type Warning struct {
	Kind string // stable, for programs
	Text string // for people
}

// Options is what the reader is told beside the file.
type Options struct {
	// Units of a file that states none: mm, cm, m, in, ft or um. Empty means mm.
	// A 3MF states its own.
	Units string
}

// MaxFacets is the largest mesh that is read, in facets: welded it takes about
// 1.2 GB.
const MaxFacets = 40_000_000

// ReadError says why a file was not read. Line is 1-based and 0 where the file
// has no lines; Byte counts from 0 and is -1 where no place can be given.
type ReadError struct {
	File   string
	Line   int
	Byte   int64
	What   string // what is wrong
	Remedy string // what to do about it
}

// Error gives file, place, fault and remedy in one line.
func (e *ReadError) Error() string {
	at := ""
	switch {
	case e.Line > 0:
		at = fmt.Sprintf("line %d: ", e.Line)
	case e.Byte >= 0:
		at = fmt.Sprintf("byte %d: ", e.Byte)
	}
	return fmt.Sprintf("%s: %s%s; %s", e.File, at, e.What, e.Remedy)
}

// Remedies that several faults share.
const (
	remedyExport = "export it again as STL, OBJ or 3MF"
	remedyCopy   = "the file is cut short: copy or export it again"
	remedyChange = "wait until the export has finished, then run again"
)

// Look tells whether there is a file to read, without opening it.
func Look(fsys fs.FS, name string) error {
	info, err := fs.Stat(fsys, name)
	switch {
	case err != nil:
		return openError(name, err)
	case info.IsDir():
		return &ReadError{File: name, Byte: -1, What: "is a folder", Remedy: "name a mesh file"}
	case !info.Mode().IsRegular():
		return &ReadError{File: name, Byte: -1, What: "is not a regular file", Remedy: "name a mesh file"}
	}
	return nil
}

// ReadFile opens a file and reads it. Only regular files are opened: a folder, a
// pipe or a device is refused, and so is a file that is changed meanwhile.
func ReadFile(fsys fs.FS, name string, o Options) (*File, error) {
	if err := Look(fsys, name); err != nil { // before Open, which would wait for a pipe's writer
		return nil, err
	}
	f, err := fsys.Open(name)
	if err != nil {
		return nil, openError(name, err)
	}
	defer f.Close()
	r, ok := f.(io.ReaderAt)
	if !ok {
		return nil, &ReadError{File: name, Byte: -1, What: "cannot be read at random places", Remedy: "copy it to a disk first"}
	}
	info, err := f.Stat()
	if err != nil {
		return nil, openError(name, err)
	}
	read, err := Read(name, r, info.Size(), o)
	if now, e := f.Stat(); e == nil && (now.Size() != info.Size() || !now.ModTime().Equal(info.ModTime())) {
		return nil, &ReadError{File: name, Byte: -1, What: "was changed while it was read", Remedy: remedyChange}
	}
	return read, err
}

func openError(name string, err error) error {
	what, remedy := "cannot be opened: "+reason(err), "check the name and the folder"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		what = "does not exist"
	case errors.Is(err, fs.ErrPermission):
		what, remedy = "may not be read", "give yourself the right to read it"
	}
	return &ReadError{File: name, Byte: -1, What: what, Remedy: remedy}
}

// reason strips the path from an error of the file system: ReadError names it.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// Read reads a mesh file of the given size. name stands in messages only.
func Read(name string, r io.ReaderAt, size int64, o Options) (*File, error) {
	unit, err := unitNamed(o.Units)
	if err != nil {
		return nil, &ReadError{File: name, Byte: -1, What: err.Error(), Remedy: "use one of mm, cm, m, in, ft, um"}
	}
	in := newInput(name, r, size)
	defer in.close()
	head, err := in.peek(sniffLength)
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, Size: size, Units: unit.name, Assumed: o.Units == ""}
	if f.Format, err = sniff(name, head, size); err != nil {
		return nil, err
	}
	switch f.Format {
	case STLBinary:
		err = f.readBinarySTL(in, head)
	case STLText:
		err = f.readTextSTL(in)
	case OBJ:
		err = f.readOBJ(in)
	case ThreeMF:
		unit, err = f.readThreeMF(r)
	}
	if err != nil {
		return nil, err
	}
	if f.SHA256, err = in.sum(); err != nil {
		return nil, err
	}
	if err := f.settle(unit); err != nil {
		return nil, err
	}
	return f, nil
}

// warn adds a warning.
func (f *File) warn(kind, format string, args ...any) {
	f.Warnings = append(f.Warnings, Warning{kind, fmt.Sprintf(format, args...)})
}

// Facets returns the number of facets of all bodies.
func (f *File) Facets() int {
	n := 0
	for _, b := range f.Bodies {
		n += len(b.Mesh.Facets)
	}
	return n
}

// Merged returns all bodies as one mesh, their shells side by side.
func (f *File) Merged() *geom.Mesh {
	if len(f.Bodies) == 1 {
		return f.Bodies[0].Mesh
	}
	m := &geom.Mesh{}
	for _, b := range f.Bodies {
		m.Append(b.Mesh)
	}
	return m
}
