package mold

import (
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// A vent that is tried out changes nothing in windows that it does not reach: pours of the
// same block with one bore or another ask the same question of the same passage. What was
// found is kept, by the window's lattice and the way, with the runs of its coarse columns, by
// which the sides of a later pour are told without casting the window again.

// seenWindows is what was found in windows that no tried-out bore reaches.
type seenWindows struct {
	lock sync.Mutex
	by   map[windowKey]*seenWindow // only ever looked up
}

type windowKey struct {
	lat  column.Lattice
	down bool
}

type seenWindow struct {
	runs    coarseRuns
	answers []windowAnswer
}

// windowAnswer is what meet returned for sides of the coarse runs.
type windowAnswer struct {
	sides  []side
	height int32
	ok     bool
	at     [2]int
}

// runsOf returns the coarse runs of a window that was seen; false for one that was not.
func (s *seenWindows) runsOf(key windowKey) (coarseRuns, bool) {
	s.lock.Lock()
	defer s.lock.Unlock()
	if w := s.by[key]; w != nil {
		return w.runs, true
	}
	return coarseRuns{}, false
}

// answer returns what was found between sides in a window; false if they were not asked for.
func (s *seenWindows) answer(key windowKey, sides []side) (windowAnswer, bool) {
	s.lock.Lock()
	defer s.lock.Unlock()
	if w := s.by[key]; w != nil {
		for _, a := range w.answers {
			if slices.Equal(a.sides, sides) {
				return a, true
			}
		}
	}
	return windowAnswer{}, false
}

func (s *seenWindows) keep(key windowKey, runs coarseRuns, a windowAnswer) {
	s.lock.Lock()
	defer s.lock.Unlock()
	if s.by == nil {
		s.by = map[windowKey]*seenWindow{}
	}
	if s.by[key] == nil {
		s.by[key] = &seenWindow{runs: runs}
	}
	s.by[key].answers = append(s.by[key].answers, a)
}

// meetIn returns what meet finds between near and far pieces in the fine window over the
// nodes lo to hi: the height, and the coarse column of the window.
func (p *pour) meetIn(lo, hi [3]int, sideOf func(piece int32) side, down bool) (height int32, ok bool, at [2]int) {
	key := windowKey{p.lat.Window(lo, hi, fineBits), down}
	seen := &p.m.fixed.windows
	if p.m.boreIn(&key.lat) {
		seen = new(seenWindows) // nothing of it is kept
	}
	var w *fineWindow
	runs, known := seen.runsOf(key)
	if !known {
		w = p.window(&key.lat)
		runs = w.coarseRuns()
	}
	sides := p.sides(lo, hi, &runs, sideOf)
	if a, found := seen.answer(key, sides); found {
		return a.height, a.ok, a.at
	}
	if w == nil {
		w = p.window(&key.lat)
	}
	w.seed(&runs, sides)
	a := windowAnswer{sides: sides}
	a.height, a.ok, a.at = w.meet(down)
	seen.keep(key, runs, a)
	return a.height, a.ok, a.at
}

// boreIn tells whether a bore that is tried out may make a difference in a window: whether
// it comes near one of the window's lines, within it or no farther off than a gap that is
// closed may be long.
func (m *Mold) boreIn(w *column.Lattice) bool {
	corner := func(i, j, k int) geom.Vec { // in the turned frame, mm
		return w.Origin.AddScaled(geom.Vec{X: float64(w.At(0, i)), Y: float64(w.At(1, j)), Z: float64(w.At(2, k))}, w.Q)
	}
	window := geom.Box{Min: corner(0, 0, 0), Max: corner(w.N[0]-1, w.N[1]-1, w.N[2]-1)}.Grow(w.Pitch())
	gap := column.LongestGap(m.Seal)
	reaches := func(ball geom.Box) bool {
		for _, d := range [3]geom.Vec{{X: gap}, {Y: gap}, {Z: gap}} {
			if (geom.Box{Min: window.Min.Sub(d), Max: window.Max.Add(d)}).Touches(ball) {
				return true
			}
		}
		return false
	}
	return slices.ContainsFunc(m.bores, func(b bore) bool {
		// Balls a radius apart of 1.2 times the radius hold the hole between them:
		// sqrt(1 + 1/4) = 1.12.
		r := b.spec.Diameter / 2
		for t := 0.0; t < b.length+r; t += r {
			c := w.Frame.Turn(b.start.AddScaled(b.axis, t))
			if reaches(geom.Box{Min: c, Max: c}.Grow(1.2 * r)) {
				return true
			}
		}
		return false
	})
}
