package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// Assembly says whether the files lie as they belong together, and what would put
// them there. Nothing is moved.
type Assembly struct {
	Together bool    // the halves shape the part where everything lies
	Covered  float64 // share of the part's surface that the halves shape as given
	Moves    []Move  // that would make the mold close, in the order part, halves
	PartIs   string  // the body that lies in the others as a part does, where that is not the one given as the part
	Foreign  []string
	Bare     *Bare // part of the part that nothing shapes although every half fits
	Mirrored bool  // the mold fits a mirrored copy of the part
}

// Move puts one body where it belongs: scaled by Factor about its file's origin,
// turned about X, Y and Z in this order, then shifted, as a job file's scale, turn
// and move do.
type Move struct {
	Body   string
	Part   bool
	Factor float64
	Turn   geom.Vec // radians
	Shift  geom.Vec // mm
}

// Bare is the share of the part's surface that no half shapes, and where it faces.
type Bare struct {
	Share     float64
	Direction geom.Vec
	At        geom.Vec
}

// Limits of the search, by design.
const (
	covers   = 0.80 // of the part's surface, channels' mouths aside: the mold closes around it
	leastFit = 0.15 // of the part's surface: a half shapes this much of it
	firmGain = 0.10 // more than where it lies: it belongs there
)

// unitFactors are what a mistaken unit multiplies by.
var unitFactors = [...]float64{25.4, 1 / 25.4, 10, 0.1, 1000, 0.001, 304.8, 1 / 304.8}

// Placement looks whether part and halves lie together, and if not which body
// would have to be moved, turned or scaled. It works where the mold does not
// close. Where all is in place it costs a few thousand closest-point queries; the
// search takes up to a second for each half.
func Placement(part Body, halves []Body) *Assembly {
	s := newFitting(part, halves)
	a := &Assembly{Covered: s.coverage(s.samples, s.trees, s.reach)}
	if a.Covered >= covers {
		a.Together = true
		return a
	}
	if name, ok := s.swapped(); ok {
		a.PartIs = name
		return a
	}
	if m, ok := s.otherUnit(); ok {
		a.Moves = []Move{m}
		return a
	}
	found, foreign := s.searchAll()
	for h, f := range foreign {
		if f {
			a.Foreign = append(a.Foreign, halves[h].Name)
		}
	}
	switch {
	case len(a.Foreign) == len(halves):
		a.Mirrored = s.mirrored()
	case s.moved(found):
		// Only what makes the mold close around the part is worth saying.
		if s.together(found, foreign) {
			a.Moves = s.moves(found, foreign)
		}
	case len(a.Foreign) == 0:
		a.Bare = s.bare()
	}
	return a
}

// fitting is part and halves prepared for the search.
type fitting struct {
	part    Body
	halves  []Body
	samples []fitSample // of the part
	few     []fitSample // some of them, for voting
	trees   []*bvh.Tree
	marks   [][]fitSample // of each half
	reach   float64       // the part's surface and the cavity's pair within this
	near    float64       // and lie on each other within this
}

func newFitting(part Body, halves []Body) *fitting {
	s := &fitting{part: part, halves: halves, samples: surfaceSamples(part.Mesh, 32)}
	diagonal := part.Mesh.Box().Diagonal()
	s.reach = max(1.5, 0.02*diagonal)
	s.near = max(0.1, 0.005*diagonal)
	s.few = strewn(part.Mesh, 500)
	for _, h := range halves {
		s.trees = append(s.trees, h.tree())
		s.marks = append(s.marks, strewn(h.Mesh, 4000))
	}
	return s
}

// strewn returns n places spread over a mesh evenly by area and without any
// lattice, so that differences of two such sets show no pattern: facets in steps of
// equal area, places in them by the additive recurrence of the plastic number
// (Roberts 2018).
func strewn(mesh *geom.Mesh, n int) []fitSample {
	whole := mesh.Area()
	if !(whole > 0) {
		return nil
	}
	const g = 1.32471795724474602596
	step, sum, next := whole/float64(n), 0.0, 0
	out := make([]fitSample, 0, n)
	for f := range mesh.Facets {
		t := mesh.Triangle(f)
		sum += t.Area()
		for ; next < n && float64((float64(next)+0.5)*step) < sum; next++ {
			_, u := math.Modf(0.5 + float64(float64(next+1)/g))
			_, v := math.Modf(0.5 + float64(float64(next+1)/(g*g)))
			r := math.Sqrt(u)
			p := t.A.Lerp(t.B, r).AddScaled(t.C.Sub(t.B), float64(r*v))
			out = append(out, fitSample{p, t.Normal()})
		}
	}
	return out
}

// otherUnit tells whether one file read in another unit puts all in place: a unit
// scales about the file's origin.
func (s *fitting) otherUnit() (Move, bool) {
	for _, f := range unitFactors {
		scaled := similar{f, geom.Identity()}
		// The part scaled by f meets halves as the part itself meets them scaled back.
		all := make([]similar, len(s.halves))
		for h := range all {
			all[h] = scaled.inverse()
		}
		if s.covered(all, nil) >= covers {
			return scaled.move(s.part.Name, true), true
		}
		for h := range s.halves {
			one := s.asGiven()
			one[h] = scaled
			if s.covered(one, nil) >= covers {
				return scaled.move(s.halves[h].Name, false), true
			}
		}
	}
	return Move{}, false
}

func (s *fitting) asGiven() []similar {
	out := make([]similar, len(s.halves))
	for h := range out {
		out[h] = unmoved()
	}
	return out
}

func (s *fitting) together(moved []similar, leave []bool) bool {
	for _, l := range leave {
		if l {
			return true // what is left out would shape the rest
		}
	}
	return s.covered(moved, leave) >= covers
}

// searchAll finds a place for every half: first for those that shape the part where
// they lie, then for the others, each by what is not shaped yet, so that a half of
// a part that looks alike from both sides does not end on the wrong one.
func (s *fitting) searchAll() (found []similar, foreign []bool) {
	found, foreign = s.asGiven(), make([]bool, len(s.halves))
	open := s.samples
	var rest []int
	for h := range s.halves {
		left := s.open(h, unmoved(), open)
		if s.share(open, left) < leastFit {
			rest = append(rest, h)
			continue
		}
		if c, v := s.place(h, unmoved(), open); v > s.share(open, left)+firmGain {
			found[h], left = c, s.open(h, c, open)
		}
		open = left
	}
	for _, h := range rest {
		c, ok := s.search(h, open)
		if foreign[h] = !ok; ok {
			found[h] = c
			open = s.open(h, c, open)
		}
	}
	return found, foreign
}

func (s *fitting) moved(found []similar) bool {
	for _, f := range found {
		if !f.still(s.near) {
			return true
		}
	}
	return false
}

// search finds where half h would have to lie to shape what is open of the part:
// shifted, else turned by quarter turns, else read in another unit.
func (s *fitting) search(h int, open []fitSample) (similar, bool) {
	enough := max(leastFit, 0.6*s.weight(open)/s.weight(s.samples)/float64(len(s.halves)))
	best, share := s.place(h, unmoved(), open)
	if share < enough || share < 0.8*s.weight(open)/s.weight(s.samples) {
		for _, r := range quarterTurns() {
			if c, v := s.place(h, similar{1, r}, open); v > share+firmGain {
				best, share = c, v
			}
		}
	}
	if share < enough {
		for _, f := range unitFactors {
			if !s.plausible(h, f) {
				continue
			}
			if c, v := s.place(h, similar{f, geom.Identity()}, open); v > share+firmGain {
				best, share = c, v
			}
		}
	}
	return best, share >= leastFit
}

// plausible tells whether a half read in another unit could hold the part: at
// least as large in two directions, and no larger than thirty times in any.
func (s *fitting) plausible(h int, f float64) bool {
	a, b := s.halves[h].Mesh.Box().Size().Scale(f), s.part.Mesh.Box().Size()
	large := 0
	for _, d := range [3][2]float64{{a.X, b.X}, {a.Y, b.Y}, {a.Z, b.Z}} {
		if d[0] > 0.9*d[1] {
			large++
		}
	}
	return large >= 2 && a.Norm() < 30*b.Norm()
}

// moves names what to move so that everything lies together: the largest group of
// bodies that do already stays, of equals the one with the part, then the one with
// the first half.
func (s *fitting) moves(found []similar, foreign []bool) []Move {
	base, most := unmoved(), 1 // the part and the halves that fit it where they lie
	for h := range found {
		if !foreign[h] && found[h].still(s.near) {
			most++
		}
	}
	for h := range found {
		n := 0
		for o := range found {
			if !foreign[h] && !foreign[o] && found[o].then(found[h].inverse()).still(s.near) {
				n++
			}
		}
		if n > most || n == most && most == 1 { // the part alone is no group
			base, most = found[h], max(n, 2)
		}
	}
	back := base.inverse()
	var out []Move
	if !back.still(s.near) {
		out = append(out, back.move(s.part.Name, true))
	}
	for h := range found {
		if m := found[h].then(back); !foreign[h] && !m.still(s.near) {
			out = append(out, m.move(s.halves[h].Name, false))
		}
	}
	return out
}

// bare sums what no half shapes.
func (s *fitting) bare() *Bare {
	b := &Bare{}
	total := 0.0
	var at geom.Vec
	for i := range s.samples {
		n := s.samples[i].n
		w := 1 / (math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z))
		total += w
		if _, ok := facing(s.trees, &s.samples[i], s.near); ok {
			continue
		}
		b.Share += w
		b.Direction = b.Direction.AddScaled(n, w)
		at = at.AddScaled(s.samples[i].p, w)
	}
	if b.Share == 0 {
		return nil
	}
	b.At = at.Scale(1 / b.Share)
	b.Share /= total
	b.Direction = squareUp(b.Direction.Unit())
	return b
}

// mirrored tells whether the halves, none of which fits the part, fit a mirrored
// copy of it.
func (s *fitting) mirrored() bool {
	mirror := func(v geom.Vec) geom.Vec { return geom.Vec{X: -v.X, Y: v.Y, Z: v.Z} }
	other := *s
	other.part.Mesh = s.part.Mesh.Map(mirror).Reversed()
	other.samples = surfaceSamples(other.part.Mesh, 32)
	other.few = strewn(other.part.Mesh, 500)
	for h := range s.halves {
		if _, ok := other.search(h, other.samples); !ok {
			return false
		}
	}
	return true
}
