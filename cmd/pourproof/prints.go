package main

import (
	"slices"
	"sync"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// printed works out the print of every half, side by side, and how else they could
// be laid.
func printed(m *mold.Mold, r *checkRequest, p *progress) ([]*mold.Printed, []*mold.PoseSearch, error) {
	if m == nil || !asksForPrints(r.only) {
		return nil, nil, nil
	}
	p.step("printing the halves")
	prints := make([]*mold.Printed, len(m.Halves))
	faults := make([]error, len(m.Halves))
	var wg sync.WaitGroup
	for i := range m.Halves {
		wg.Go(func() {
			build, _ := m.DefaultBuild(i)
			prints[i], faults[i] = m.Print(i, build, mold.PrintOptions{Flat: flat(r.job, i)})
		})
	}
	wg.Wait()
	for _, err := range faults {
		if err != nil {
			return nil, nil, err
		}
	}
	o := mold.PoseOptions{}
	switch r.search {
	case "none":
		return prints, nil, nil
	case "quick":
		o.Quick = true
	}
	poses, err := searchPoses(m, r.job, o, p)
	return prints, poses, err
}

// cupsSensed asks how far halves have to be leaned for their cups to go; nothing
// without a search of poses.
func cupsSensed(m *mold.Mold, prints []*mold.Printed, poses []*mold.PoseSearch, r *checkRequest) ([]mold.Sensitivity, error) {
	if m == nil || len(poses) == 0 {
		return nil, nil
	}
	limits, err := checks.LimitsFor(r.job)
	if err != nil {
		return nil, err
	}
	return mold.CupSensitivities(m, prints, poses, limits.Get("cup_discuss_n").Value, limits.Get("cup_volume_mm3").Value)
}

// searchPoses searches build directions half by half.
func searchPoses(m *mold.Mold, job *mold.Job, o mold.PoseOptions, p *progress) ([]*mold.PoseSearch, error) {
	var out []*mold.PoseSearch
	for i := range m.Halves {
		o.Flat = flat(job, i)
		o.Progress = func(done, total int) { p.bar("laying "+m.Halves[i].Name, done, total) }
		s, err := m.Pose(i, o)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

func flat(job *mold.Job, half int) bool { return half < len(job.Halves) && job.Halves[half].Flat }

// asksForPrints tells whether a check of the print is asked for.
func asksForPrints(only []string) bool {
	return len(only) == 0 || slices.ContainsFunc(only, func(name string) bool { return slices.Contains([]string{"cups", "scars", "steps"}, name) })
}
