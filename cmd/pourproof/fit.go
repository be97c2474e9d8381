package main

import (
	"slices"

	"pourproof/checks/mold"
)

// fitted works out how the halves fit, where the fit is asked for; and whether the
// files lie together, also where the mold could not be closed.
func fitted(in *mold.Intake, m *mold.Mold, r *checkRequest, p *progress) (*mold.Closing, *mold.Assembly, error) {
	asked := len(r.only) == 0 || slices.Contains(r.only, "fit")
	if m != nil && !asked {
		return nil, nil, nil
	}
	p.step("fitting the halves")
	places := mold.Placement(in.Part, in.Halves)
	if m == nil || !asked || !places.Together {
		return nil, places, nil
	}
	fit, err := m.Closing()
	return fit, places, err
}
