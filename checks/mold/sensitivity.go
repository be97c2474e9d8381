package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Change is a kind of small change that a sensitivity is about.
type Change string

// The changes that are looked at.
const (
	TiltChange Change = "tilt" // the block is tilted more, or less, at the same azimuth
	VentMove   Change = "vent" // the nearest vent is moved toward the pocket's top
	LeanChange Change = "lean" // the half is laid otherwise on the platform
)

// Sensitivity says how little has to change for a pocket, or a half's cups, to go.
// Gone and Still were both looked at with the mold's own cell.
type Sensitivity struct {
	Change  Change
	Pocket  int      // ID; 0 for cups
	Half    int      // whose cups
	Gone    float64  // tilt (radians along Side, negative: the other side raised), mm moved, or radians leaned, at which it is gone
	Still   float64  // the nearest value looked at, at which it is still there
	Side    float64  // azimuth of the tilt, radians
	Channel int      // the vent that moves
	Toward  geom.Vec // the way it moves, or the build direction leaned toward; unit
}

// SensitivityOptions bounds the work.
type SensitivityOptions struct {
	Limit   float64 // largest tilt, radians; 0 = 60 deg
	Side    float64 // azimuth to tilt at where the block is level, radians
	Allowed float64 // mm3 of air below which a pocket is gone; 0 = 1
	Pockets int     // how many, the largest first; 0 = 3
	Moves   int     // for how many of them a vent is moved; 0 = 2
}

// trial air of a changed mold: what stays, and where.
type strayAir struct {
	air     *airField
	trapped float64
}

// airAt pours at a pitch and keeps the air of all pockets in one list, not
// sharpened.
func (m *Mold) airAt(up geom.Vec, cell float64) (strayAir, error) {
	p, err := m.flooded(up, cell)
	if err != nil {
		return strayAir{}, err
	}
	out := strayAir{air: &airField{lat: p.lat, columns: make([][]airColumn, 1)}}
	for _, v := range p.cavityVolumes() {
		out.trapped += v
	}
	for r, i := range p.piece {
		if p.flow.Pocket[r] < 0 || !p.flow.Reached[r] {
			continue
		}
		x, y := p.column(i)
		if z := p.levelNow(int32(r)); z < p.hi[i] {
			out.air.columns[0] = append(out.air.columns[0], airColumn{int32(x), int32(y), z, p.hi[i]})
		}
	}
	return out, nil
}

// Sensitivities looks for the smallest change that makes a pocket go: of the tilt
// at its azimuth, and of the place of the nearest vent that serves nothing else.
// The value is closed in with coarse pours, to 1 deg or 0.5 mm, and both its sides
// are then poured at the mold's cell; what that does not confirm is left out. A
// pocket is gone when no air is left in its place and the air in all is less by its
// volume. Cost: some thirty coarse pours, and four a pocket at the cell.
func Sensitivities(m *Mold, f *Fill, o SensitivityOptions) ([]Sensitivity, error) {
	if o.Limit == 0 {
		o.Limit = tiltCap
	}
	if o.Allowed == 0 {
		o.Allowed = reported
	}
	if o.Pockets == 0 {
		o.Pockets = 3
	}
	if o.Moves == 0 {
		o.Moves = 2
	}
	n := min(o.Pockets, len(f.Pockets))
	if n == 0 || f.air == nil {
		return nil, nil
	}
	w := sensing{m: m, f: f, o: o, side: f.TiltSide, tilts: map[int]strayAir{}}
	if f.TiltAngle == 0 {
		w.side = o.Side
	}
	if err := w.scan(); err != nil {
		return nil, err
	}
	list := make([][]Sensitivity, n)
	faults := make([]error, n)
	sideBySide(n, func(i int) { list[i], faults[i] = w.pocket(i, i < o.Moves) })
	for _, err := range faults {
		if err != nil {
			return nil, err
		}
	}
	return slices.Concat(list...), nil
}

// sensing is one search.
type sensing struct {
	m     *Mold
	f     *Fill
	o     SensitivityOptions
	side  float64
	tilts map[int]strayAir // by degrees off the chosen tilt; only ever looked up
}

// scanSteps are the degrees off the chosen tilt that are looked at first.
var scanSteps = [7]int{1, 2, 4, 8, 14, 22, 32}

// up returns the direction of a tilt some degrees off the chosen one.
func (w *sensing) up(off int) geom.Vec {
	return UpFor(w.m.Rest, Tilt{w.angle(off), w.side})
}

// angle returns that tilt, rounded to 1/1000 deg as every tilt that is tried.
func (w *sensing) angle(off int) float64 {
	const q = math.Pi / 180000
	return math.Round((w.f.TiltAngle+float64(off)*math.Pi/180)/q) * q
}

// steps lists the degrees off the chosen tilt on one side of it, nearest first:
// scanSteps, and the one at which the block is level, which may be the only one.
func (w *sensing) steps(sense int) []int {
	var out []int
	if flat := -int(math.Round(w.f.TiltAngle * 180 / math.Pi)); flat*sense > 0 {
		out = append(out, flat)
	}
	for _, s := range scanSteps {
		if off := sense * s; math.Abs(w.angle(off)) <= w.o.Limit+1e-9 && !slices.Contains(out, off) {
			out = append(out, off)
		}
	}
	slices.SortFunc(out, func(a, b int) int { return abs(a) - abs(b) })
	return out
}

// scan pours coarsely on both sides of the chosen tilt.
func (w *sensing) scan() error {
	todo := append(append(w.steps(1), w.steps(-1)...), 0)
	got, faults := make([]strayAir, len(todo)), make([]error, len(todo))
	sideBySide(len(todo), func(i int) { got[i], faults[i] = w.m.airAt(w.up(todo[i]), 2*w.m.Cell) })
	for i, off := range todo {
		if faults[i] != nil {
			return faults[i]
		}
		w.tilts[off] = got[i]
	}
	return nil
}

// pocket returns what frees the i-th pocket.
func (w *sensing) pocket(i int, move bool) ([]Sensitivity, error) {
	var out []Sensitivity
	s, ok, err := w.byTilt(i)
	if err != nil {
		return nil, err
	}
	if ok {
		out = append(out, s)
	}
	if !move {
		return out, nil
	}
	s, ok, err = w.byVent(i)
	if ok {
		out = append(out, s)
	}
	return out, err
}

// gone tells whether the i-th pocket is gone from what stays after a change, that
// before it being was, poured at the same pitch.
func (w *sensing) gone(i int, a *airField, trapped, was float64) bool {
	v := w.f.Pockets[i].Volume
	return w.f.air.share(i, a)*v < w.o.Allowed && trapped <= max(was-v, 0)+w.o.Allowed
}

// byTilt closes in on the smaller change of the tilt that frees the i-th pocket.
func (w *sensing) byTilt(i int) (Sensitivity, bool, error) {
	gone, still := 0, 0
	for _, sense := range [2]int{1, -1} {
		last := 0
		for _, off := range w.steps(sense) {
			if a := w.tilts[off]; w.gone(i, a.air, a.trapped, w.tilts[0].trapped) {
				if gone == 0 || abs(off) < abs(gone) {
					gone, still = off, last
				}
				break
			}
			last = off
		}
	}
	if gone == 0 {
		return Sensitivity{}, false, nil
	}
	gone, still, err := halve(gone, still, func(off int) (bool, error) {
		a, err := w.m.airAt(w.up(off), 2*w.m.Cell)
		return err == nil && w.gone(i, a.air, a.trapped, w.tilts[0].trapped), err
	})
	if err != nil {
		return Sensitivity{}, false, err
	}
	gone, still, ok, err := confirm(gone, still, func(off int) (bool, error) {
		if math.Abs(w.angle(off)) > w.o.Limit+1e-9 {
			return false, nil
		}
		g, err := w.m.Pour(w.up(off))
		return err == nil && w.gone(i, g.air, g.Trapped, w.f.Trapped), err
	})
	return Sensitivity{Change: TiltChange, Pocket: i + 1, Gone: w.angle(gone), Still: w.angle(still), Side: w.side}, ok, err
}

// halve closes in on the whole number nearest to still at which something is gone.
func halve(gone, still int, isGone func(at int) (bool, error)) (int, int, error) {
	for abs(gone-still) > 1 {
		mid := (gone + still) / 2
		ok, err := isGone(mid)
		if err != nil {
			return gone, still, err
		}
		if ok {
			gone = mid
		} else {
			still = mid
		}
	}
	return gone, still, nil
}

// confirm looks at both sides with the finer means; where they disagree with the
// coarse ones it moves on by up to four.
func confirm(gone, still int, isGone func(at int) (bool, error)) (int, int, bool, error) {
	step := 1
	if gone < still {
		step = -1
	}
	ok, err := isGone(gone)
	for n := 0; n < 4 && !ok && err == nil; n++ {
		still, gone = gone, gone+step
		if ok, err = isGone(gone); ok {
			return gone, still, true, nil
		}
	}
	if !ok || err != nil {
		return gone, still, false, err
	}
	for n := 0; n < 4; n++ {
		if still == 0 { // as it is: there
			return gone, still, true, nil
		}
		if ok, err = isGone(still); err != nil || !ok {
			return gone, still, err == nil, err
		}
		gone, still = still, still-step
	}
	return gone, still, false, nil
}

// moveFar is the distance in mm up to which moving a vent is looked at.
const moveFar = 30

// byVent closes in on how far the nearest vent has to move toward the pocket's top:
// tried as a bore of its width and direction from the moved place.
func (w *sensing) byVent(i int) (Sensitivity, bool, error) {
	pk := &w.f.Pockets[i]
	k := slices.IndexFunc(w.f.Ports, func(c Channel) bool { return c.ID == pk.Near })
	if k < 0 || w.f.Ports[k].Role != Vent || pk.NearDistance > moveFar || w.serves(&w.f.Ports[k], pk.ID) {
		return Sensitivity{}, false, nil
	}
	c := &w.f.Ports[k]
	way := pk.Top.Sub(c.Mouth).Unit()
	d := c.Axis
	if d.Dot(w.f.Up) < ventRise {
		d = w.f.Up
	}
	moved := func(half int, cell float64) (*Mold, error) {
		return w.m.with([]BoreSpec{{At: c.Mouth.AddScaled(way, float64(half)/2), Diameter: max(c.Diameter, ventDiameter), Direction: &d}}, cell)
	}
	coarse := func(half int) (bool, error) {
		n, err := moved(half, 2*w.m.Cell)
		if err != nil {
			return false, nil // no bore can be drawn there
		}
		a, err := n.airAt(w.f.Up, 2*w.m.Cell)
		return err == nil && w.gone(i, a.air, a.trapped, w.tilts[0].trapped), err
	}
	far := int(math.Ceil(2 * pk.NearDistance))
	if ok, err := coarse(far); !ok || err != nil {
		return Sensitivity{}, false, err
	}
	gone, still, err := halve(far, 0, coarse)
	if err != nil {
		return Sensitivity{}, false, err
	}
	gone, still, ok, err := confirm(gone, still, func(half int) (bool, error) {
		n, err := moved(half, w.m.Cell)
		if err != nil || half > far {
			return false, nil
		}
		g, err := n.Pour(w.f.Up)
		return err == nil && w.gone(i, g.air, g.Trapped, w.f.Trapped), err
	})
	return Sensitivity{Change: VentMove, Pocket: pk.ID, Channel: c.ID, Gone: float64(gone) / 2, Still: float64(still) / 2, Toward: way}, ok, err
}

// serves tells whether a vent drains a high point of other air than one pocket's.
func (w *sensing) serves(c *Channel, pocket int) bool {
	return slices.ContainsFunc(c.Drains, func(i int) bool {
		return i >= 0 && i < len(w.f.HighPoints) && w.f.HighPoints[i].Pocket != pocket
	})
}
