package mold

import (
	"cmp"
	"math"
	"slices"
)

// mostDepths bounds how many places of one overlap are measured for its depth.
const mostDepths = 20000

// overlaps sums the stretches that lie in two halves, pair by pair. Volume comes
// from the axis whose lines meet the overlap most often, the one that sees its
// faces most squarely. Depth at a place is the sum of its distances to both
// halves' surfaces: what one half must give way there, exact between parallel
// faces.
func (m *Mold) overlaps(c *Closing, over []overlapStretch) {
	h := m.closingPitch()
	for a := range m.Halves {
		for b := a + 1; b < len(m.Halves); b++ {
			var count [3]int
			var volume [3]float64
			var list []*overlapStretch
			for i := range over {
				s := &over[i]
				if min(s.a, s.b) != int32(a) || max(s.a, s.b) != int32(b) {
					continue
				}
				count[s.axis]++
				volume[s.axis] += s.length
				list = append(list, s)
			}
			if len(list) == 0 {
				continue
			}
			best := 0
			for axis := range count {
				if count[axis] > count[best] {
					best = axis
				}
			}
			o := Overlap{A: m.Halves[a].Name, B: m.Halves[b].Name, Volume: volume[best] * h * h}
			m.deepest(&o, a, b, list)
			if o.Depth > 0 {
				c.Overlaps = append(c.Overlaps, o)
				c.OverlapVolume += o.Volume
			}
		}
	}
	slices.SortStableFunc(c.Overlaps, func(a, b Overlap) int { return cmp.Compare(b.Depth, a.Depth) })
	if len(c.Overlaps) > 0 {
		c.OverlapDepth = c.Overlaps[0].Depth
	}
}

// deepest finds where two halves overlap deepest; 0 where no place is deeper than
// its tolerance.
func (m *Mold) deepest(o *Overlap, a, b int, list []*overlapStretch) {
	f := m.fixed
	step := (len(list) + mostDepths - 1) / mostDepths
	for i := 0; i < len(list); i += step {
		s := list[i]
		of := func(h int) func(int32) bool {
			return func(t int32) bool { return t >= f.owner[h] && t < f.owner[h+1] }
		}
		da, _ := f.tree.NearestWhere(s.mid, math.Inf(1), of(a))
		db, _ := f.tree.NearestWhere(s.mid, math.Inf(1), of(b))
		depth := math.Round((da.Dist+db.Dist)*1000) / 1000
		if depth <= s.tol {
			continue
		}
		if depth > o.Depth || depth == o.Depth && s.mid.Less(o.At) {
			o.Depth, o.At = depth, s.mid
		}
	}
}
