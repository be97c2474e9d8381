package main

import (
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
	r, err := startSearch(w, "pose", "poses", "quick", notForPose, args)
	if err != nil {
		return err
	}
	defer r.progress.done()
	o := mold.PoseOptions{Directions: map[string]int{"quick": 500, "full": 2000}[r.search]}
	list, err := searchPoses(r.mold, r.job, o, r.progress)
	if err != nil {
		return err
	}
	r.progress.done()
	if r.json {
		return printJSON(w, report.Poses(list))
	}
	for i, s := range list {
		if i > 0 {
			fmt.Fprintln(w.stdout)
		}
		fmt.Fprint(w.stdout, report.PoseText(s, poseRows))
	}
	return nil
}
