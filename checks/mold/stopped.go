package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// StoppedBore is a bore that leads from the outside towards the cavity and ends in the
// rubber before it: as a rule a gate or a vent that was not carried through.
type StoppedBore struct {
	Half  string
	End   geom.Vec // the middle of its end face
	Ahead geom.Vec // the nearest place of the part
	Left  float64  // mm of rubber between them
	Width float64  // mm, the narrowest across just before the end
}

// What counts as a stopped bore. A hollow wider than widestBore is no channel, and as
// much rubber as stands around a cavity (common practice: 5 mm and more) is no slip.
const (
	widestBore  = 12.0
	mostStopped = 6.0
	boreAim     = 0.5 // least cosine between an end face's normal and the way from the part
	boreSpread  = 0.4 // and between two faces of one end: those of a drill's point of 118 deg are 62 deg apart
	boreStep    = 0.3 // mm before the end at which the bore is measured
	boreRays    = 8   // pairs of opposite rays across it
	boreDepth   = 1.0 // mm: a hollow less deep than it is no bore
)

// boreFloor is a facet that may belong to the end of a stopped bore.
type boreFloor struct {
	half   int
	middle geom.Vec
	normal geom.Vec
	area   float64
	left   float64 // mm from its middle or a corner to the part, the least
}

// stoppedBores finds the bores from outside that end shortly before the cavity: faces of
// the halves that look away from the part near it, in a hollow that is open along their
// mean normal and walled all around. Bores that a channel or the cavity opens into are
// channels; bent ones whose last leg is not open to the outside are not found. Cost: a
// lookup in the labels a facet, and two rays for those that look out of neither cavity
// nor channel.
func (m *Mold) stoppedBores() []StoppedBore {
	var floors []boreFloor
	for h, mesh := range m.fixed.halves {
		for f := range mesh.Facets {
			if b, ok := m.boreFloor(h, int32(f)); ok {
				floors = append(floors, b)
			}
		}
	}
	// The order is that of places, so that the order of facets does not matter.
	slices.SortFunc(floors, func(a, b boreFloor) int {
		return cmp.Or(cmp.Compare(a.half, b.half), compareVec(a.middle, b.middle), compareVec(a.normal, b.normal))
	})
	var out []StoppedBore
	taken := make([]bool, len(floors))
	for i := range floors {
		if !taken[i] {
			if b, ok := m.boreAt(floors, taken, i); ok {
				out = append(out, b)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b StoppedBore) int {
		return cmp.Or(cmp.Compare(a.Left, b.Left), compareVec(a.End, b.End))
	})
	return out
}

// boreFloor tells whether a facet looks away from the part close to it, out of neither
// cavity nor channel, between walls on two sides: the outer face of a thin mold has none.
func (m *Mold) boreFloor(half int, facet int32) (boreFloor, bool) {
	t := m.fixed.halves[half].Triangle(int(facet))
	b := boreFloor{half: half, middle: t.Centroid(), normal: t.Normal(), area: t.Area()}
	// The nearest node of the labels may lie a cell to the side, in the void all the same.
	if m.labels.at(b.middle.AddScaled(b.normal, max(boreStep, m.Cell))) != nothing {
		return b, false
	}
	u, _ := b.normal.Perpendicular()
	before := b.middle.AddScaled(b.normal, boreStep)
	for _, d := range [2]geom.Vec{u, u.Neg()} {
		if _, walled := m.fixed.tree.First(before, d, widestBore); !walled {
			return b, false
		}
	}
	near, ok := m.fixed.partTree.Nearest(b.middle, mostStopped)
	if !ok || b.middle.Sub(near.Point).Dot(b.normal) < boreAim*near.Dist {
		return b, false
	}
	b.left = near.Dist
	for _, v := range [3]geom.Vec{t.A, t.B, t.C} {
		if near, ok := m.fixed.partTree.Nearest(v, b.left); ok {
			b.left = near.Dist
		}
	}
	return b, true
}

// boreAt gathers the floors that share an end with one of them, and measures the bore.
func (m *Mold) boreAt(floors []boreFloor, taken []bool, first int) (StoppedBore, bool) {
	a := floors[first]
	var middle, normal geom.Vec
	var area float64
	left := math.Inf(1)
	for i := first; i < len(floors) && floors[i].half == a.half; i++ {
		b := &floors[i]
		if taken[i] || b.middle.Dist(a.middle) > widestBore || b.normal.Dot(a.normal) < boreSpread || m.parted(&a, b) {
			continue
		}
		taken[i] = true
		middle, normal = middle.AddScaled(b.middle, b.area), normal.AddScaled(b.normal, b.area)
		area += b.area
		left = min(left, b.left)
	}
	end, out := middle.Scale(1/area), normal.Unit()
	if _, hit := m.fixed.tree.First(end.AddScaled(out, boreStep), out, m.fixed.box.Diagonal()); hit {
		return StoppedBore{}, false
	}
	width, ok := m.across(end, out)
	if !ok {
		return StoppedBore{}, false
	}
	near, ok := m.fixed.partTree.Nearest(end, mostStopped+width)
	if !ok {
		return StoppedBore{}, false
	}
	return StoppedBore{Half: m.Halves[a.half].Name, End: end, Ahead: near.Point, Left: left, Width: width}, true
}

// parted tells whether rubber stands between two faces, seen just before them.
func (m *Mold) parted(a, b *boreFloor) bool {
	return a.middle != b.middle && m.fixed.tree.Blocked(a.middle.AddScaled(a.normal, boreStep), b.middle.AddScaled(b.normal, boreStep))
}

// across returns the narrowest width of a hollow just before a place on its end, and false
// where it is open to a side, wider than a bore, or a dimple.
func (m *Mold) across(end, out geom.Vec) (float64, bool) {
	p, deep := end.AddScaled(out, boreStep), end.AddScaled(out, boreDepth)
	u, v := out.Perpendicular()
	width := math.Inf(1)
	for k := range boreRays {
		s, c := math.Sincos(math.Pi * float64(k) / boreRays)
		d := u.Scale(roundAngle(c)).AddScaled(v, roundAngle(s))
		a, hitA := m.fixed.tree.First(p, d, widestBore)
		b, hitB := m.fixed.tree.First(p, d.Neg(), widestBore)
		if !hitA || !hitB || a.Sense < 0 || b.Sense < 0 || a.Dist+b.Dist > widestBore {
			return 0, false
		}
		width = min(width, a.Dist+b.Dist)
		if _, walled := m.fixed.tree.First(deep, d, widestBore); !walled {
			return 0, false
		}
	}
	return math.Round(width*1e4) / 1e4, true
}
