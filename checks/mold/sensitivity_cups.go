package mold

import (
	"math"
	"slices"
)

// CupSensitivities tells, for every half with a cup above the bounds (suction N,
// volume mm3) that nothing relieves, how far it has to be leaned toward the best
// build direction of the search for all of them to go. Closed in on with prints at
// the search's pitch, to 1 deg; both sides are then printed at the print's own.
func CupSensitivities(m *Mold, prints []*Printed, poses []*PoseSearch, bound, volume float64) ([]Sensitivity, error) {
	out := make([]*Sensitivity, len(prints))
	faults := make([]error, len(prints))
	sideBySide(len(prints), func(i int) {
		if !prints[i].hasCup(bound, volume) {
			return
		}
		k := slices.IndexFunc(poses, func(s *PoseSearch) bool { return s != nil && s.Half == prints[i].Half })
		if k >= 0 {
			out[i], faults[i] = m.leaning(prints[i], poses[k], bound, volume)
		}
	})
	var list []Sensitivity
	for i, s := range out {
		if faults[i] != nil {
			return nil, faults[i]
		}
		if s != nil {
			list = append(list, *s)
		}
	}
	return list, nil
}

// hasCup tells whether a cup above the bounds is not relieved.
func (p *Printed) hasCup(bound, volume float64) bool {
	b := &cupBounds{bound, volume}
	return slices.ContainsFunc(p.Cups, func(c Cup) bool { return b.exceededBy(&c) })
}

// cupBounds are what a cup counts from.
type cupBounds struct{ bound, volume float64 } // N, mm3

// exceededBy tells whether a cup by itself is above the bounds and not relieved; above
// none none is.
func (b *cupBounds) exceededBy(c *Cup) bool {
	return b != nil && c.Void == 0 && c.Into == 0 && !c.Relieved && (c.Bound >= b.bound || c.Volume >= b.volume)
}

// settledBy tells whether the passages of a cup that were found so far say whether it is
// above the bounds and not relieved: more of them only let the pressure fall.
func (b *cupBounds) settledBy(c *Cup, p *Passage, by *Printer) bool {
	return b != nil && (!b.exceededBy(c) || p.Relieves(p.Width, by) || p.Width < by.Relief-p.Error)
}

// leaning closes in on the lean of one half; nil where the best direction has cups
// too, or a value is not confirmed.
func (m *Mold) leaning(now *Printed, s *PoseSearch, bound, volume float64) (*Sensitivity, error) {
	k := slices.IndexFunc(s.Points, func(q PosePoint) bool { return q.Best && q.CupArea < s.Now.CupArea/2 })
	if k < 0 {
		return nil, nil
	}
	to := s.Points[k].Build
	aside := to.AddScaled(now.Build, -to.Dot(now.Build))
	if aside.Norm() < 1e-6 {
		return nil, nil // the opposite direction: no side to lean to
	}
	aside = aside.Unit()
	far := int(math.Floor(angleBetween(now.Build, to) * 180 / math.Pi))
	free := func(deg int, cell float64) (bool, error) {
		if deg > far {
			return false, nil
		}
		sin, cos := math.Sincos(float64(deg) * math.Pi / 180)
		build := now.Build.Scale(roundAngle(cos)).AddScaled(aside, roundAngle(sin)).Unit()
		p, err := m.Print(now.Half, build, PrintOptions{Cell: cell, NoHoles: true, over: &cupBounds{bound, volume}})
		return err == nil && !p.hasCup(bound, volume), err
	}
	coarse := func(deg int) (bool, error) { return free(deg, s.Cell) }
	still, gone := 0, 0
	for _, deg := range [7]int{6, 14, 26, 45, 80, 115, 180} {
		if deg = min(deg, far); deg <= still {
			break
		}
		ok, err := coarse(deg)
		if err != nil {
			return nil, err
		}
		if ok {
			gone = deg
			break
		}
		still = deg
	}
	if gone == 0 {
		return nil, nil
	}
	gone, still, err := halve(gone, still, coarse)
	if err != nil {
		return nil, err
	}
	gone, still, ok, err := confirm(gone, still, func(deg int) (bool, error) { return free(deg, 0) })
	if !ok || err != nil {
		return nil, err
	}
	const rad = math.Pi / 180
	return &Sensitivity{Change: LeanChange, Half: now.Half, Gone: float64(gone) * rad, Still: float64(still) * rad, Toward: to}, nil
}
