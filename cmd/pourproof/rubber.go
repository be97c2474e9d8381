package main

import (
	"slices"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// measured measures the rubber of the halves, where that is asked for.
func measured(m *mold.Mold, r *checkRequest, p *progress) ([]*mold.HalfRubber, error) {
	if m == nil || len(r.only) > 0 && !slices.Contains(r.only, "walls") && !slices.Contains(r.only, "edges") {
		return nil, nil
	}
	limits, err := checks.LimitsFor(r.job)
	if err != nil {
		return nil, err
	}
	p.step("measuring the rubber")
	return m.Rubber(checks.RubberOptions(limits))
}
