package main

import (
	"slices"

	"pourproof/checks/mold"
)

// charged works out the resin to mix and the pressure cure.
func charged(m *mold.Mold, fill *mold.Fill, r *checkRequest) (*mold.Charge, *mold.PotCure, error) {
	asked := len(r.only) == 0 || slices.Contains(r.only, "charge") || slices.Contains(r.only, "pot")
	if m == nil || fill == nil || !asked {
		return nil, nil, nil
	}
	pot, err := mold.NewPotCure(m, fill)
	if err != nil {
		return nil, nil, err
	}
	charge, err := mold.NewCharge(m, fill, pot.Needed)
	return charge, pot, err
}
