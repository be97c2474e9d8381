package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// Lock says how an undercut holds the part.
type Lock string

// The ways in which rubber holds the part.
const (
	LockSide    Lock = "side"    // rubber reaches under the part from one side
	LockRing    Lock = "ring"    // a lip around the part that must widen
	LockCore    Lock = "core"    // rubber inside the part, wider than the opening it leaves by
	LockThrough Lock = "through" // rubber that passes through the part, held at both ends
	LockFloor   Lock = "floor"   // the half's own floor: it lies ahead of the part
)

// Undercut is one piece of a half's rubber with the part ahead of it, as the half is
// pulled. Lengths mm, CAD frame.
type Undercut struct {
	ID     int
	Kind   Lock
	Depth  float64 // how far the rubber must move sideways to pass the part
	Error  float64 // of Depth
	Area   float64 // mm2 of the rubber's surface that meets the part ahead
	Volume float64 // mm3 of rubber with the part ahead
	At     geom.Vec
	Side   geom.Vec // unit, square to the pull: the way the rubber at At must move
	Mean   geom.Vec // mean of those ways over the whole undercut, length 0 (all ways) to 1 (one way)
	Radius float64  // ring and core: of the rim that widens or narrows, else 0
	Wall   float64  // side: rubber behind it that gives way, else 0
	// Stretch is length over length: 1 + depth/radius of a ring or core, 1 + depth over
	// the wall of one side; nil where the rubber has no way to give.
	Stretch *float64
	Facets  []int32 // of the half, that meet the part ahead
}

// leastUndercut is the depth in mm below which nothing is reported: rubber gives way to
// it, and files are rounded to a tenth of it.
const leastUndercut = 0.1

// The lattice of the undercuts. Its pitch is by rule undercutPitch, coarser for a block
// of more than mostLines pitches; the deepest place of each is measured again in a
// window of at most windowNodes a side and sharpPitch.
const (
	undercutPitch = 0.25
	mostLines     = 240
	sharpPitch    = 0.02
	windowNodes   = 500
	mostSharp     = 12 // undercuts of a half that are measured again; the rest keep the pitch as their error
)

// undercuts finds what stands in the way as a half is pulled, deepest first.
func (m *Mold) undercuts(half int, pull geom.Vec) ([]Undercut, *shadow, error) {
	s, err := m.castShadow(half, pull)
	if err != nil {
		return nil, nil, err
	}
	s.measureDepths()
	var out []Undercut
	groups := s.groups()
	for n := range groups {
		g := &groups[n]
		u := s.describe(g)
		if n < mostSharp {
			s.sharpen(&u, g)
		}
		if u.Depth < leastUndercut || n >= mostSharp && u.Depth-u.Error < leastUndercut {
			continue
		}
		m.strain(&u, s)
		out = append(out, u)
	}
	slices.SortStableFunc(out, func(a, b Undercut) int { return cmp.Compare(b.Depth, a.Depth) })
	for i := range out {
		out[i].ID = i + 1
	}
	return out, s, nil
}

// strain works out how far the rubber must stretch. A rim of radius r that moves
// outward by the depth d is stretched by 1 + d/r (hoop strain, elementary mechanics;
// for a rim of another shape r is that of the circle with the area inside it). Rubber
// on one side moves as a whole by d and the wall behind it, w thick, gives way: 1 + d/w.
func (m *Mold) strain(u *Undercut, s *shadow) {
	by := 0.0
	switch u.Kind {
	case LockRing, LockCore:
		by = u.Radius
	case LockSide:
		u.Wall = m.wallBehind(u, s.half)
		by = u.Wall
	}
	if by > 0 {
		stretch := 1 + u.Depth/by
		u.Stretch = &stretch
	}
}

// wallBehind returns how much rubber lies beyond the part on the way that an undercut
// must move: from where it is free to the half's next surface.
func (m *Mold) wallBehind(u *Undercut, half int) float64 {
	f := m.fixed
	hits := f.tree.All(u.At, u.Side, f.box.Diagonal(), nil)
	for _, h := range hits {
		if h.Sense < 0 && f.half(h.Facet) == half && h.Dist > u.Depth {
			return h.Dist - u.Depth
		}
	}
	return 0
}

// roundUnit takes the rounding of roots off a direction before it is compared or shown.
func roundUnit(d geom.Vec) geom.Vec {
	const q = 1 << 40
	r := func(x float64) float64 { return math.Round(x*q) / q }
	return geom.Vec{X: r(d.X), Y: r(d.Y), Z: r(d.Z)}
}
