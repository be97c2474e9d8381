package mold

import (
	"math"
	"slices"
	"sync"

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
// Gone and Still were both looked at with the mold's own cell; where it stays no tilt of
// a scan with columns of twice the pitch does it, or not that move, at the mold's cell.
type Sensitivity struct {
	Change  Change
	Pocket  int     // ID; 0 for cups
	Half    int     // whose cups
	Gone    float64 // tilt (radians along Side, negative: the other side raised), mm moved, or radians leaned, at which it is gone
	Still   float64 // the nearest value looked at, at which it is still there
	Stays   bool    // none does: a tilt between Still and Gone, Tried of them; a move up to Still
	Tried   int
	Side    float64  // azimuth of the tilt, radians
	Channel int      // the vent that moves
	Toward  geom.Vec // the way it moves, or the build direction leaned toward; unit
}

// SensitivityOptions bounds the work.
type SensitivityOptions struct {
	Limit   float64 // largest tilt, radians; 0 = 60 deg
	Side    float64 // azimuth to tilt at where the block is level, radians
	Allowed float64 // mm3 of air below which a pocket is gone; 0 = 1
	Pockets int     // for how many, the largest first, a tilt is closed in on to 1 deg; 0 = 3
	Moves   int     // for how many, the largest that have a vent to move first, one is moved; 0 = 2
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
	defer p.done()
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
// The value is closed in with coarse pours, to 1 deg or 0.5 mm, for the largest
// pockets; for the others it lies between two tilts of one scan. Both its sides are
// then poured at the mold's cell; what that does not confirm is left out. A pocket is
// gone when no air is left in its place and the air in all is less by its volume. Cost:
// some thirty coarse pours, and four at the cell for each pocket closed in on; the
// others share what is poured, at most one at the cell for each tilt of the scan.
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
	n := len(f.Pockets)
	if n == 0 || f.air == nil {
		return nil, nil
	}
	w := sensing{m: m, f: f, o: o, side: f.TiltSide}
	if f.TiltAngle == 0 {
		w.side = o.Side
	}
	w.coarse = poursBy(func(off int) (strayAir, error) { return m.airAt(w.up(off), 2*m.Cell) })
	w.fine = poursBy(func(off int) (strayAir, error) { return m.airLeft(w.up(off)) })
	w.wide = sync.OnceValues(func() (*Mold, error) { return m.sortedAt(2 * m.Cell) })
	if err := w.scan(); err != nil {
		return nil, err
	}
	w.moves = make([]bool, n)
	for i := range w.moves {
		if w.o.Moves > 0 && w.movable(i) != nil {
			w.moves[i] = true
			w.o.Moves--
		}
	}
	list := make([][]Sensitivity, n)
	faults := make([]error, n)
	sideBySide(n, func(i int) { list[i], faults[i] = w.pocket(i) })
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
	moves []bool // per pocket: a vent is moved for it

	coarse, fine func(off int) (strayAir, error) // pours by degrees off the chosen tilt, each once
	wide         func() (*Mold, error)           // sorted at twice the cell, for vents that are moved
}

// poursBy keeps what was poured by a whole number, such as degrees, so that it is shared.
func poursBy(pour func(off int) (strayAir, error)) func(off int) (strayAir, error) {
	var lock sync.Mutex
	known := map[int]func() (strayAir, error){} // only ever looked up
	return func(off int) (strayAir, error) {
		lock.Lock()
		one := known[off]
		if one == nil {
			one = sync.OnceValues(func() (strayAir, error) { return pour(off) })
			known[off] = one
		}
		lock.Unlock()
		return one()
	}
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
	faults := make([]error, len(todo))
	sideBySide(len(todo), func(i int) { _, faults[i] = w.coarse(todo[i]) })
	for _, err := range faults {
		if err != nil {
			return err
		}
	}
	return nil
}

// pocket returns what frees the i-th pocket.
func (w *sensing) pocket(i int) ([]Sensitivity, error) {
	changes := []func(int) (Sensitivity, bool, error){w.byTilt}
	if w.moves[i] {
		changes = append(changes, w.byVent)
	}
	got, ok, faults := make([]Sensitivity, len(changes)), make([]bool, len(changes)), make([]error, len(changes))
	sideBySide(len(changes), func(k int) { got[k], ok[k], faults[k] = changes[k](i) })
	var out []Sensitivity
	for k := range changes {
		if faults[k] != nil {
			return nil, faults[k]
		}
		if ok[k] {
			out = append(out, got[k])
		}
	}
	return out, nil
}

// coarseShare is how much of a pocket coarse columns, not sharpened, may be off by: what
// they take for gone too readily the finer pours do not confirm.
const coarseShare = 0.25

// gone tells whether the i-th pocket is gone from what stays after a change, that
// before it being was, poured at the same pitch: no air in its place, and none more
// elsewhere, to a share of its volume.
func (w *sensing) gone(i int, a strayAir, was, off float64) bool {
	v := w.f.Pockets[i].Volume
	return w.f.air.share(i, a.air)*v < w.o.Allowed && a.trapped <= max(was-v, 0)+w.o.Allowed+float64(off*v)
}

// goneAt tells whether the i-th pocket is gone some degrees off the chosen tilt, by
// pours of one kind, of which the chosen tilt's own trapped so much.
func (w *sensing) goneAt(i, off int, pours func(off int) (strayAir, error), was, share float64) (bool, error) {
	if math.Abs(w.angle(off)) > w.o.Limit+1e-9 {
		return false, nil
	}
	a, err := pours(off)
	return err == nil && w.gone(i, a, was, share), err
}

// byTilt closes in on the smaller change of the tilt that frees the i-th pocket.
func (w *sensing) byTilt(i int) (Sensitivity, bool, error) {
	now, err := w.coarse(0)
	if err != nil {
		return Sensitivity{}, false, err
	}
	coarse := func(off int) (bool, error) { return w.goneAt(i, off, w.coarse, now.trapped, coarseShare) }
	fine := func(off int) (bool, error) { return w.goneAt(i, off, w.fine, w.f.Trapped, 0) }
	gone, still, err := w.bracket(coarse)
	if gone == 0 || err != nil {
		up, down := w.steps(1), w.steps(-1)
		s := Sensitivity{Change: TiltChange, Pocket: i + 1, Side: w.side, Stays: true, Tried: len(up) + len(down), Gone: w.f.TiltAngle, Still: w.f.TiltAngle}
		if len(up) > 0 {
			s.Gone = w.angle(up[len(up)-1])
		}
		if len(down) > 0 {
			s.Still = w.angle(down[len(down)-1])
		}
		return s, err == nil && s.Tried > 0, err
	}
	ok := false
	if i >= w.o.Pockets { // both ends of the bracket, if they hold
		if ok, err = fine(gone); ok && still != 0 {
			var there bool
			there, err = fine(still)
			ok = !there
		}
	}
	if !ok && err == nil {
		if gone, still, err = halve(gone, still, coarse); err != nil {
			return Sensitivity{}, false, err
		}
		gone, still, ok, err = confirm(gone, still, fine)
	}
	return Sensitivity{Change: TiltChange, Pocket: i + 1, Gone: w.angle(gone), Still: w.angle(still), Side: w.side}, ok, err
}

// bracket returns the nearest tilt of the scan at which something is gone, of both
// sides, and the one before it; 0 for none.
func (w *sensing) bracket(isGone func(off int) (bool, error)) (gone, still int, err error) {
	for _, sense := range [2]int{1, -1} {
		last := 0
		for _, off := range w.steps(sense) {
			ok, err := isGone(off)
			if err != nil {
				return 0, 0, err
			}
			if ok {
				if gone == 0 || abs(off) < abs(gone) {
					gone, still = off, last
				}
				break
			}
			last = off
		}
	}
	return gone, still, nil
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
