package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

// What a suggested vent is drawn with.
const (
	ventRise     = 0.3420201433256687 // sine of 20 deg: the least rise at the pour (design)
	ventWall     = 1.0                // mm of rubber to leave around the bore; common practice, no source
	ventProbes   = 12                 // lines around the bore that are looked at, at four distances
	ventSlender  = 10                 // length over diameter that still washes out; common practice, no source
	ventDiameter = 2.0                // mm; common practice, no source: soft prints close smaller bores
)

// ventSizes are the diameters in mm that a longer bore may take: the R10 series of
// preferred numbers (ISO 3:1973) from ventDiameter on.
var ventSizes = [4]float64{ventDiameter, 2.5, 3.15, 4}

// Faults of a bore, the worst first; one without any is taken as soon as it is
// found.
const (
	twoHalves = 4 // it crosses the parting face, a key or a step of it
	onShow    = 2 // its stub stands on a face that is looked at
	atWall    = 1 // part of its mouth is cut into a side wall
	noBore    = 8 // there is no rubber around it: it is none
)

// suggest looks for a bore for a pocket, 2 mm wide; where that is too long to wash
// out, for the next size that is not and has no more faults.
func (m *Mold) suggest(f *Fill, pk *Pocket) (SuggestedVent, bool) {
	tops := f.air.tops(pk.ID-1, pk.Top)
	dirs := m.ventDirections(f.Up, pk.Top)
	best, least := m.boreFrom(tops, dirs, ventDiameter, noBore)
	if least == noBore {
		return best, false
	}
	for _, size := range ventSizes[1:] {
		if best.Length <= ventSlender*best.Diameter {
			break
		}
		if v, faults := m.boreFrom(tops, dirs, size, least+1); faults <= least && v.Length <= ventSlender*size {
			best = v
		}
	}
	return best, true
}

// boreFrom looks over a few directions and, for each, over the pocket's columns from
// the highest down, for the first bore of the fewest faults, fewer than bar.
func (m *Mold) boreFrom(tops, dirs []geom.Vec, diameter float64, bar int) (SuggestedVent, int) {
	best, least := SuggestedVent{}, bar
	for _, d := range dirs {
		for _, q := range tops {
			if v, faults := m.tryVent(q, d, diameter, least); faults < least {
				best, least = v, faults
				if faults == 0 {
					return best, 0
				}
			}
		}
	}
	return best, least
}

// tops returns candidate mouths: the top itself and the tops of the pocket's
// columns, highest first, no farther than two diameters from the top.
func (a *airField) tops(n int, top geom.Vec) []geom.Vec {
	cols := slices.Clone(a.columns[n])
	slices.SortStableFunc(cols, func(p, q airColumn) int { return int(q.hi) - int(p.hi) })
	out := []geom.Vec{top}
	for _, c := range cols {
		q := a.lat.Point(a.lat.At(0, int(c.x)), a.lat.At(1, int(c.y)), c.hi)
		if q.Dist(top) <= 2*ventDiameter {
			out = append(out, q)
		}
		if len(out) == 200 {
			break
		}
	}
	return out
}

// ventDirections lists directions to try, best first: the pull of the half over
// the top where it rises enough, else the nearest direction that does, then up,
// then eight that lean 40 deg from up, clear of what stands over the top.
func (m *Mold) ventDirections(up, top geom.Vec) []geom.Vec {
	pull := up
	if h, ok := m.fixed.tree.First(top.AddScaled(up, -1e-3), up, m.fixed.box.Diagonal()); ok {
		pull = m.Pulls[m.fixed.half(h.Facet)]
	}
	var out []geom.Vec
	if pull.Dot(up) >= ventRise {
		out = append(out, pull)
	} else if level := pull.AddScaled(up, -pull.Dot(up)); level.Norm() > 1e-6 {
		c := math.Sqrt(1 - ventRise*ventRise)
		out = append(out, level.Unit().Scale(c).AddScaled(up, ventRise).Unit())
	}
	out = append(out, pull.Add(up).Unit(), up)
	return append(out, upsAround(up, 40*math.Pi/180, 8)...)
}

// tryVent looks at a bore of a diameter from q along d. There must be rubber all
// around it up to the outside. The second answer is its faults; at or above bar
// the bore is not looked at to the end.
func (m *Mold) tryVent(q, d geom.Vec, diameter float64, bar int) (SuggestedVent, int) {
	v := SuggestedVent{Mouth: q, Direction: d, Diameter: diameter}
	u, w := d.Perpendicular()
	length, halves := m.throughRubber(q, d, diameter)
	if halves == 0 {
		return v, noBore
	}
	v.Length, v.Exit = length, q.AddScaled(d, length)
	faults := 0
	if h, ok := m.fixed.tree.First(q.AddScaled(d, -1e-3), d, m.fixed.box.Diagonal()); ok {
		v.Half = m.Halves[m.fixed.half(h.Facet)].Name
	}
	r := diameter / 2
	for k := 0; k < ventProbes; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) / ventProbes)
		side := u.Scale(roundAngle(c)).AddScaled(w, roundAngle(s))
		for _, out := range [4]float64{r / 2, r, r + ventWall/2, r + ventWall} {
			_, beside := m.throughRubber(q.AddScaled(side, out), d, 2*diameter+ventWall)
			if beside == 0 {
				return v, noBore
			}
			halves |= beside
		}
		in := q.AddScaled(side, 0.9*r).AddScaled(d, -0.5*r)
		if m.labels.at(in)&^material != cavity || m.fixed.inRubber(in) {
			faults |= atWall
		}
		if v.Show == "" {
			if v.Show = m.shownAt(in, d, 2*diameter); v.Show != "" {
				faults |= onShow
			}
		}
		if halves&(halves-1) != 0 {
			faults |= twoHalves
		}
		if faults >= bar {
			return v, faults
		}
	}
	return v, faults
}

// shownAt returns the show face that the part's surface is where a line from q along
// d leaves it, empty for none.
func (m *Mold) shownAt(q, d geom.Vec, within float64) string {
	if len(m.Job.Show) == 0 {
		return ""
	}
	h, ok := m.fixed.partTree.First(q, d, within)
	if !ok || h.Sense >= 0 {
		return ""
	}
	return m.showFace(h.Point, m.fixed.part.Triangle(int(h.Facet)).Normal())
}

// shownBy returns the show face that the part's surface nearest to q lies on, empty
// where that is none or farther off than a cell and the skin.
func (m *Mold) shownBy(q geom.Vec) string {
	if len(m.Job.Show) == 0 {
		return ""
	}
	h, ok := m.fixed.partTree.Nearest(q, 2*m.Cell+m.Skin)
	if !ok {
		return ""
	}
	return m.showFace(h.Point, m.fixed.part.Triangle(int(h.Facet)).Normal())
}

// inRubber tells whether p lies in a half.
func (f *fixed) inRubber(p geom.Vec) bool {
	sum := 0
	for _, h := range f.tree.All(p, geom.Vec{Z: 1}, 4*f.box.Diagonal(), nil) {
		sum -= int(h.Sense)
	}
	return sum > 0
}

// throughRubber follows a line from q along d: it must be in rubber from no
// farther than slack on without a break to the outside. It returns the distance to
// where it leaves, and a bit for each half that it passes, none where there is a
// break.
func (m *Mold) throughRubber(q, d geom.Vec, slack float64) (length float64, halves uint) {
	f := m.fixed
	depth, gaps, out := 0, 0, 0.0
	if f.inRubber(q) {
		depth = 1
	}
	entered := depth > 0
	for _, h := range f.tree.All(q, d, 4*f.box.Diagonal(), nil) {
		was := depth
		depth += int(h.Sense)
		switch {
		case was <= 0 && depth > 0:
			if !entered && h.Dist > slack {
				return 0, 0
			}
			if entered && h.Dist-out > m.Seal && h.Dist > slack {
				gaps++
			}
			entered = true
		case was > 0 && depth <= 0:
			out = h.Dist
			halves |= 1 << (f.half(h.Facet) & 63)
		}
	}
	if !entered || gaps > 0 || out <= slack/2 {
		return 0, 0
	}
	return out, halves
}
