package main

import (
	"encoding/json"

	"pourproof/checks/mold"
)

// search is what the commands that search and write no files have in common.
type search struct {
	*checkRequest
	mold     *mold.Mold
	progress *progress // done is called by whoever got it
}

// startSearch reads a search's command line and meshes and closes the mold. what names
// what is searched; without lists flags of check that say nothing to it.
func startSearch(w *world, command, what, extent string, without, args []string) (*search, error) {
	f := newRequestFlags(command)
	hide(f.set, without...)
	if err := parseFlags(w, f.set, args); err != nil {
		return nil, err
	}
	for _, name := range without {
		if f.set.Changed(name) {
			return nil, misuse("--%s: says nothing to a search of %s; it belongs to check", name, what)
		}
	}
	if !f.set.Changed("search") {
		f.search = extent
	}
	r, err := f.request(w)
	if err != nil {
		return nil, err
	}
	if r.search == "none" {
		return nil, misuse("--search: must be quick or full for %s, not %q", command, r.search)
	}
	s := &search{checkRequest: r, progress: newProgress(w, r.quiet)}
	s.progress.step("reading the meshes")
	in, err := mold.Load(w.files(), r.job)
	if err == nil {
		s.progress.step("closing the mold")
		s.mold, err = mold.Close(*r.job, in.Part, in.Halves)
	}
	if err != nil {
		s.progress.done()
		return nil, err
	}
	return s, nil
}

// printJSON writes a value to standard output.
func printJSON(w *world, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	return w.writeData(append(data, '\n'))
}
