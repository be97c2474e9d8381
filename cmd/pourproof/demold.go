package main

import (
	"slices"

	"pourproof/checks/mold"
)

// demolded works out how the part leaves the halves, where that is asked for: corners are
// judged by how far undercuts stretch them.
func demolded(m *mold.Mold, r *checkRequest, p *progress) (*mold.Demolding, error) {
	if m == nil || len(r.only) > 0 && !slices.Contains(r.only, "undercuts") && !slices.Contains(r.only, "edges") {
		return nil, nil
	}
	p.step("pulling the halves off")
	return m.Demold()
}
