package mold

import (
	"math"
	"slices"
)

// moveFar is the distance in mm up to which moving a vent is looked at.
const moveFar = 30

// byVent closes in on how far the nearest vent has to move toward the pocket's top:
// tried as a bore of its width and direction from the moved place.
func (w *sensing) byVent(i int) (Sensitivity, bool, error) {
	pk, c := &w.f.Pockets[i], w.movable(i)
	way := pk.Top.Sub(c.Mouth).Unit()
	d := c.Axis
	if d.Dot(w.f.Up) < ventRise {
		d = w.f.Up
	}
	moved := func(half int, from func() (*Mold, error)) (*Mold, error) {
		m, err := from()
		if err != nil {
			return nil, err
		}
		return m.With([]BoreSpec{{At: c.Mouth.AddScaled(way, float64(half)/2), Diameter: max(c.Diameter, ventDiameter), Direction: &d}})
	}
	now, err := w.coarse(0)
	if err != nil {
		return Sensitivity{}, false, err
	}
	trial := poursBy(func(half int) (strayAir, error) {
		n, err := moved(half, w.wide)
		if err != nil {
			return strayAir{}, nil // no bore can be drawn there
		}
		defer n.forget()
		return n.airAt(w.f.Up, 2*w.m.Cell)
	})
	coarse := func(half int, share float64) (bool, error) {
		a, err := trial(half)
		return a.air != nil && w.gone(i, a, now.trapped, share), err
	}
	far := int(math.Ceil(2 * pk.NearDistance))
	drawn := false
	fine := func(half int) (bool, error) {
		n, err := moved(half, func() (*Mold, error) { return w.m, nil })
		if err != nil || half > far {
			return false, nil
		}
		defer n.forget()
		drawn = true
		a, err := n.airLeft(w.f.Up)
		return err == nil && w.gone(i, a, w.f.Trapped, 0), err
	}
	s := Sensitivity{Change: VentMove, Pocket: pk.ID, Channel: c.ID, Toward: way}
	// A share that may be off is what makes coarse pours err to one side: where the pocket
	// is gone at the far end without it, it is closed in on without it first.
	for _, share := range [2]float64{0, coarseShare} {
		if ok, err := coarse(far, share); err != nil {
			return s, false, err
		} else if !ok {
			continue
		}
		gone, still, err := halve(far, 0, func(half int) (bool, error) { return coarse(half, share) })
		if err != nil {
			return s, false, err
		}
		gone, still, ok, err := confirm(gone, still, fine)
		if s.Gone, s.Still = float64(gone)/2, float64(still)/2; ok || share > 0 || err != nil {
			return s, ok, err
		}
	}
	ok, err := fine(far)
	s.Gone, s.Still, s.Stays, s.Tried = 0, float64(far)/2, true, 1
	return s, drawn && !ok && err == nil, err
}

// movable returns the vent that may be moved for the i-th pocket: its nearest channel, if
// that is a vent that serves nothing else. nil for none.
func (w *sensing) movable(i int) *Channel {
	pk := &w.f.Pockets[i]
	k := slices.IndexFunc(w.f.Ports, func(c Channel) bool { return c.ID == pk.Near })
	if k < 0 || w.f.Ports[k].Role != Vent || pk.NearDistance > moveFar || w.serves(&w.f.Ports[k], pk.ID) {
		return nil
	}
	return &w.f.Ports[k]
}

// serves tells whether a vent drains a high point of other air than one pocket's.
func (w *sensing) serves(c *Channel, pocket int) bool {
	return slices.ContainsFunc(c.Drains, func(i int) bool {
		return i >= 0 && i < len(w.f.HighPoints) && w.f.HighPoints[i].Pocket != pocket
	})
}
