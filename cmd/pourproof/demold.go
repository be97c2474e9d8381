package main

import (
	"slices"

	"pourproof/checks/mold"
)

// demolded works out how the part leaves the halves, where that is asked for.
func demolded(m *mold.Mold, r *checkRequest, p *progress) (*mold.Demolding, error) {
	if m == nil || len(r.only) > 0 && !slices.Contains(r.only, "undercuts") {
		return nil, nil
	}
	p.step("pulling the halves off")
	return m.Demold()
}
