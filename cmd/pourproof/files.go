package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"pourproof/checks/mold"
)

// path returns a file's path as seen from the world's folder.
func (w *world) path(name string) string {
	if w.dir == "" || filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(w.dir, name)
}

// shown is the inverse of path: what the user would type.
func (w *world) shown(path string) string {
	if w.dir == "" {
		return path
	}
	if rel, err := filepath.Rel(w.dir, path); err == nil && filepath.IsLocal(rel) {
		return rel
	}
	return path
}

// files is the file system of the meshes: any path the user names.
func (w *world) files() fs.FS { return hostFiles{w} }

type hostFiles struct{ w *world }

// Open opens a file for reading.
func (h hostFiles) Open(name string) (fs.File, error) { return os.Open(h.w.path(name)) }

// Stat tells a folder or a pipe apart before it is opened.
func (h hostFiles) Stat(name string) (fs.FileInfo, error) { return os.Stat(h.w.path(name)) }

// readJobFile reads a job file that is no larger than one may be.
func readJobFile(path, name string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("%s: does not exist; check the name and the folder", name)
	case err != nil:
		return nil, fmt.Errorf("%s: cannot be opened: %v", name, reason(err))
	case info.IsDir():
		return nil, fmt.Errorf("%s: is a folder; name a job file", name)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: is not a regular file; name a job file", name)
	case info.Size() > mold.MaxJobFile:
		return nil, fmt.Errorf("%s: is %d bytes, more than a job file may have; is it a mesh?", name, info.Size())
	}
	return readWhole(path, name, mold.MaxJobFile)
}

// readWhole reads a file of at most so many bytes that stays as it is meanwhile. It
// reads no more than the file's size, which files of the system's own that never end
// state as nothing.
func readWhole(path, name string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be opened: %v", name, reason(err))
	}
	defer f.Close()
	changed := fmt.Errorf("%s: was changed while it was read; run again once it is saved", name)
	before, err := f.Stat()
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s: cannot be read: %v", name, reason(err))
	case before.Size() > most:
		return nil, changed
	}
	data := make([]byte, before.Size())
	if _, err = io.ReadFull(f, data); err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, fmt.Errorf("%s: cannot be read: %v", name, reason(err))
	}
	if after, e := f.Stat(); err != nil || e != nil || after.Size() != before.Size() || !after.ModTime().Equal(before.ModTime()) {
		return nil, changed
	}
	return data, nil
}

// readPreset reads a preset that a job file includes.
func (w *world) readPreset(path string) ([]byte, error) { return readJobFile(w.path(path), path) }

// pathOf returns the path that a body is read from.
func pathOf(b *mold.BodySpec) string {
	if b.Path != "" {
		return b.Path
	}
	return b.File
}

// reason strips the path from an error of the file system.
func reason(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// linkReason strips the paths from a rename's error.
func linkReason(err error) error {
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err
	}
	return err
}
