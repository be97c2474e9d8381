package main

import (
	"slices"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// measuresRubber tells whether a check asked for needs the rubber of the halves.
func measuresRubber(r *checkRequest) bool {
	return len(r.only) == 0 || slices.Contains(r.only, "walls") || slices.Contains(r.only, "edges")
}

// measureAhead begins to measure it while the mold is closed.
func measureAhead(in *mold.Intake, r *checkRequest) {
	if limits, err := checks.LimitsFor(r.job); err == nil && measuresRubber(r) {
		in.MeasureAhead(checks.RubberOptions(limits))
	}
}

// measured measures the rubber of the halves, where that is asked for.
func measured(m *mold.Mold, r *checkRequest, p *progress) ([]*mold.HalfRubber, error) {
	if m == nil || !measuresRubber(r) {
		return nil, nil
	}
	limits, err := checks.LimitsFor(r.job)
	if err != nil {
		return nil, err
	}
	p.step("measuring the rubber")
	return m.Rubber(checks.RubberOptions(limits))
}
