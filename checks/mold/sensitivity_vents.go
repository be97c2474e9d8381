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
	coarse := func(half int) (bool, error) {
		n, err := moved(half, w.wide)
		if err != nil {
			return false, nil // no bore can be drawn there
		}
		a, err := n.airAt(w.f.Up, 2*w.m.Cell)
		return err == nil && w.gone(i, a, now.trapped, coarseShare), err
	}
	far := int(math.Ceil(2 * pk.NearDistance))
	drawn := false
	fine := func(half int) (bool, error) {
		n, err := moved(half, func() (*Mold, error) { return w.m, nil })
		if err != nil || half > far {
			return false, nil
		}
		drawn = true
		a, err := n.airLeft(w.f.Up)
		return err == nil && w.gone(i, a, w.f.Trapped, 0), err
	}
	s := Sensitivity{Change: VentMove, Pocket: pk.ID, Channel: c.ID, Toward: way}
	if ok, err := coarse(far); !ok || err != nil {
		if err == nil {
			ok, err = fine(far)
		}
		s.Still, s.Stays, s.Tried = float64(far)/2, true, 1
		return s, drawn && !ok && err == nil, err
	}
	gone, still, err := halve(far, 0, coarse)
	if err != nil {
		return s, false, err
	}
	gone, still, ok, err := confirm(gone, still, fine)
	s.Gone, s.Still = float64(gone)/2, float64(still)/2
	return s, ok, err
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
