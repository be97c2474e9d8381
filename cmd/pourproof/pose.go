package main

import (
	"encoding/json"
	"fmt"

	"pourproof/checks/mold"
	"pourproof/report"
)

// poseRows is how many ways to lay a half the table shows.
const poseRows = 6

// notForPose are flags of check that change nothing in a search of poses.
var notForPose = []string{"out", "up", "tilt", "gate", "vent", "try", "only", "pressure", "accept", "paper", "no-pdf"}

// runPose searches print orientations of each half. It writes no files.
func runPose(w *world, args []string) error {
	f := newRequestFlags("pose")
	hide(f.set, notForPose...)
	if err := parseFlags(w, f.set, args); err != nil {
		return err
	}
	for _, name := range notForPose {
		if f.set.Changed(name) {
			return misuse("--%s: says nothing to a search of poses; it belongs to check", name)
		}
	}
	r, err := f.request(w)
	if err != nil {
		return err
	}
	if r.search == "none" {
		return misuse("--search: must be quick or full for pose, not %q", r.search)
	}
	p := newProgress(w, r.quiet)
	defer p.done()
	p.step("reading the meshes")
	in, err := mold.Load(w.files(), r.job)
	if err != nil {
		return err
	}
	p.step("closing the mold")
	m, err := mold.Close(*r.job, in.Part, in.Halves)
	if err != nil {
		return err
	}
	o := mold.PoseOptions{Directions: map[string]int{"quick": 500, "full": 2000}[r.search]}
	list, err := searchPoses(m, r.job, o, p)
	if err != nil {
		return err
	}
	p.done()
	if r.json {
		data, err := json.MarshalIndent(report.Poses(list), "", "  ")
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(w.stdout, "%s\n", data)
		return err
	}
	for i, s := range list {
		if i > 0 {
			fmt.Fprintln(w.stdout)
		}
		fmt.Fprint(w.stdout, report.PoseText(s, poseRows))
	}
	return nil
}
