package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// TiltPoint is what one way to stand the block traps, at the search's cell.
type TiltPoint struct {
	Tilt    Tilt
	Up      geom.Vec
	Trapped float64      // mm3; the level under each pocket is known to half a pitch
	Pockets int          // above TiltOptions.Allowed
	Level   float64      // mm2 of the largest roof within 2 deg of level: it holds a film of bubbles
	Air     []TiltPocket // the largest of Pockets, with their places
}

// TiltSearch is the answer to "which way up?". Trapped air of Points is that of
// the columns at the search's cell, not sharpened.
type TiltSearch struct {
	Rest       geom.Vec    // up before tilting
	Limit      float64     // largest angle proposed, radians
	Cell       float64     // mm
	LevelFrom  float64     // mm2 of level roof from which a tilt is a poor one
	Step       float64     // radians between neighbouring tilts of the first grid
	Points     []TiltPoint // grid first, ring by ring, then refinements, in the order tried
	Now        TiltPoint   // as the job says
	NowFill    *Fill       // the pour there, at the mold's cell
	NowMargin  TiltMargin
	Best       TiltPoint // least trapped air; of equals the one farthest from a worse one
	BestMargin TiltMargin
	BestFill   *Fill     // air and pockets alone of a pour at Best, at the mold's cell; the job's own where Best is Now
	Fewest     TiltPoint // fewest pockets, so fewest vents to add
	Rocking    *Rocking  // nil where a single tilt frees all, or it was not searched
	Worst5     float64   // mm3, most trapped within 5 deg of Now
	Canceled   bool
}

// TiltMargin is how far off a tilt the block may stand, to any side, before one
// more pocket or TiltOptions.Worse more air appears.
type TiltMargin struct {
	Angle   float64 // radians: the largest angle tried up to which nothing is added
	AtLeast bool    // nothing was added at any angle tried
	Fails   Tilt    // the worst tilt just beyond it
	Adds    float64 // mm3 more trapped there
}

// TiltOptions sets how far and how finely tilts are searched.
type TiltOptions struct {
	Limit     float64 // largest angle off the rest direction, radians; 0 = 60 deg
	Rings     int     // rings of the first grid: 1 + 3n(n+1) tilts; 0 = 4 (61)
	Cell      float64 // mm; 0 = twice the pour's
	Allowed   float64 // mm3 of air below which a pocket does not count; 0 = 1
	Worse     float64 // mm3 of air more that end a tilt's margin; 0 = 10
	Level     float64 // mm2 of level roof from which a tilt is a poor one; 0 = 25
	Sequences int     // of two tilts that may be poured for a rocking plan; 0 = 150, less = no plan
	Fill      *Fill   // the pour at the job's tilt; nil = it is poured
	Vents     bool    // suggest vents for what the best tilt leaves, if it is not the job's
	Progress  func(done, total int)
	Stop      func() bool // asked between tilts
}

// tiltCap is the default limit of the search: 60 deg (design).
const tiltCap = math.Pi / 3

// steady is the distance from a worse tilt beyond which a good one is not thought
// better still: more than anybody misses a tilt by.
const steady = 15 * math.Pi / 180

// SearchTilts pours at a disc of tilts, ring by ring around level, then around
// the best and around the chosen one. A tilt found best is poured again at the
// mold's cell. The cores share the tilts; the answer does not depend on how many
// there are. Cost: one cast and flood a tilt, about 10 ms for the example mold.
func (m *Mold) SearchTilts(o TiltOptions) (*TiltSearch, error) {
	o.Limit = cmp.Or(o.Limit, tiltCap)
	o.Cell = cmp.Or(o.Cell, 2*m.Cell)
	o.Rings = cmp.Or(o.Rings, 4)
	o.Allowed = cmp.Or(o.Allowed, reported)
	o.Worse = cmp.Or(o.Worse, 10)
	o.Sequences = cmp.Or(o.Sequences, 150)
	o.Level = cmp.Or(o.Level, 25)
	s := &TiltSearch{Rest: m.Rest, Limit: o.Limit, Cell: o.Cell, Step: o.Limit / float64(o.Rings), LevelFrom: o.Level}
	w := tilting{m: m, s: s, o: o, index: map[Tilt]int{}}
	now := TiltOf(m.Rest, m.Up)
	w.try(append(tiltDisc(o.Limit, o.Rings), now))
	for step := s.Step / 2; step > s.Step/5 && !w.halted(); step /= 2 {
		w.try(tiltsAround(s.best().Tilt, step, o.Limit))
	}
	w.try(tiltsAround(now, 5*math.Pi/180, math.Pi)) // nearer ones are tried for its margin
	if w.halted() {
		return s, w.err
	}
	s.Now = w.at(now)
	if err := w.confirm(); err != nil {
		return nil, err
	}
	s.NowMargin = w.margin(s.Now)
	s.BestMargin = s.NowMargin
	if s.keepsNow(sure) {
		s.Best, s.BestFill = s.Now, s.NowFill
	}
	if s.Best.Tilt != s.Now.Tilt {
		s.BestMargin = w.margin(s.Best)
		if s.keepsNow(s.BestMargin.Angle) {
			s.Best, s.BestMargin, s.BestFill = s.Now, s.NowMargin, s.NowFill
		}
	}
	s.Worst5 = s.worstWithin(m.Up, 5.01*math.Pi/180)
	s.Fewest = s.fewest()
	w.remedies()
	return s, w.err
}

// remedies looks for a rocking plan where no tilt frees all, and beside that for the vents
// of the best tilt.
func (w *tilting) remedies() {
	s, o := w.s, &w.o
	if w.halted() {
		return
	}
	var fault error
	sideBySide(2, func(i int) {
		switch {
		case i == 0 && len(s.Free()) == 0 && o.Sequences > 0:
			s.Rocking = w.rock()
		case i == 1 && o.Vents && s.Best.Tilt != s.Now.Tilt:
			fault = w.m.SuggestVents(s.BestFill)
		}
	})
	w.err = fault
	s.Canceled = o.Stop != nil && o.Stop()
}

// confirm pours at the best tilt with the mold's own cell; where that traps no
// less than the chosen tilt does, the chosen one is the best.
func (w *tilting) confirm() error {
	s := w.s
	var err error
	if w.o.Fill == nil {
		if w.o.Fill, err = w.m.Pour(w.m.Up); err != nil {
			return err
		}
	}
	now := w.o.Fill
	s.NowFill = now
	s.Best, s.BestFill = s.best(), now
	if s.Best.Tilt == s.Now.Tilt {
		return nil
	}
	_, f, _, err := w.m.poured(s.Best.Up)
	if err != nil {
		return err
	}
	if f.Trapped+s.film(s.Best) >= now.Trapped+s.film(s.Now) && s.Now.Tilt.Angle <= s.Limit+1e-9 {
		s.Best = s.Now
		return nil
	}
	s.BestFill = f
	return nil
}

// sure is a margin that the chosen tilt is kept for without asking whether another
// one's is wider: a block on a wedge stands better than that.
const sure = 5 * math.Pi / 180

// keepsNow tells whether the chosen tilt traps no more than the best and holds at
// least as far as margin.
func (s *TiltSearch) keepsNow(margin float64) bool {
	return s.Now.Pockets == s.Best.Pockets && s.air(s.Now) <= s.air(s.Best)+reported &&
		s.Now.Tilt.Angle <= s.Limit+1e-9 && s.NowMargin.Angle >= margin
}

// poor tells whether a tilt leaves a roof level.
func (s *TiltSearch) poor(p TiltPoint) bool { return p.Level >= s.LevelFrom }

// filmDepth is the depth in mm of the bubbles that stay under a level roof, spread
// over it; assumed, no source. It decides only between a level roof and air
// elsewhere.
const filmDepth = 0.05

// film returns the air in mm3 that a level roof holds as bubbles.
func (s *TiltSearch) film(p TiltPoint) float64 {
	if !s.poor(p) {
		return 0
	}
	return float64(filmDepth * p.Level)
}

// air is what tilts are ranked by.
func (s *TiltSearch) air(p TiltPoint) float64 { return p.Trapped + s.film(p) }

// Free returns the tilts within the limit that trap nothing as the mold is drawn,
// nearest to level first.
func (s *TiltSearch) Free() []TiltPoint {
	var out []TiltPoint
	for _, p := range s.Points {
		if s.IsFree(p) && p.Tilt.Angle <= s.Limit+1e-9 {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b TiltPoint) int {
		return cmp.Or(cmp.Compare(a.Tilt.Angle, b.Tilt.Angle), cmp.Compare(a.Tilt.Side, b.Tilt.Side))
	})
	return out
}

// IsFree tells whether a tilt leaves neither a pocket nor a level roof.
func (s *TiltSearch) IsFree(p TiltPoint) bool { return p.Pockets == 0 && !s.poor(p) }

// best returns the tilt with least air; of those within a cubic millimetre of it
// the one farthest from a worse one, up to steady, then nearest to level.
func (s *TiltSearch) best() TiltPoint {
	least := math.Inf(1)
	for _, p := range s.Points {
		if p.Tilt.Angle <= s.Limit+1e-9 {
			least = min(least, s.air(p))
		}
	}
	var good, bad []TiltPoint
	for _, p := range s.Points {
		switch {
		case s.air(p) > least+reported:
			bad = append(bad, p)
		case p.Tilt.Angle <= s.Limit+1e-9:
			good = append(good, p)
		}
	}
	var best TiltPoint
	depth := -1.0
	for _, p := range good {
		d := steady
		for _, q := range bad {
			d = min(d, angleBetween(p.Up, q.Up))
		}
		// Depths closer than 0.1 deg are equal: they come from a grid.
		if d > depth+0.1*math.Pi/180 || d > depth-0.1*math.Pi/180 && lower(p, best) {
			best, depth = p, d
		}
	}
	return best
}

// lower orders tilts by their angle, then air, then side.
func lower(p, q TiltPoint) bool {
	return cmp.Or(cmp.Compare(p.Tilt.Angle, q.Tilt.Angle), cmp.Compare(p.Trapped, q.Trapped), cmp.Compare(p.Tilt.Side, q.Tilt.Side)) < 0
}

// fewest returns the tilt within the limit with the fewest pockets; of equals the
// one with least trapped air.
func (s *TiltSearch) fewest() TiltPoint {
	if s.IsFree(s.Best) {
		return s.Best
	}
	best := s.Best
	for _, p := range s.Points {
		if p.Tilt.Angle > s.Limit+1e-9 || s.poor(p) && !s.poor(best) {
			continue
		}
		if cmp.Or(cmp.Compare(p.Pockets, best.Pockets), cmp.Compare(p.Trapped, best.Trapped), cmp.Compare(p.Tilt.Angle, best.Tilt.Angle)) < 0 {
			best = p
		}
	}
	return best
}

// worstWithin returns the most trapped air of the tilts tried within an angle of
// up.
func (s *TiltSearch) worstWithin(up geom.Vec, angle float64) float64 {
	worst := 0.0
	least := roundAngle(math.Cos(angle))
	for _, p := range s.Points {
		if p.Up.Dot(up) >= least {
			worst = max(worst, p.Trapped)
		}
	}
	return worst
}

// boolOrder puts false before true.
func boolOrder(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}
