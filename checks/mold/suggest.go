package mold

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"pourproof/geom"
)

// What a suggested vent is drawn with.
const (
	ventDiameter = 2.0                // mm; common practice, no source: soft prints close smaller bores
	ventRise     = 0.3420201433256687 // sine of 20 deg: the least rise at the pour (design)
	ventWall     = 1.0                // mm of rubber to leave around the bore; common practice, no source
	ventProbes   = 12                 // lines around the bore that are looked at, at four distances
	maxSuggested = 12                 // pockets that get a suggestion, the largest first
)

// SuggestVents gives every reported pocket, largest first, one straight bore
// that frees it, each proven by closing the mold with that bore alone and
// pouring again. The facts in f are completed in place. The proofs run side by
// side, as many as there are cores.
func (m *Mold) SuggestVents(f *Fill) error {
	n := min(len(f.Pockets), maxSuggested)
	proven := make([]*SuggestedVent, n)
	failed := make([]error, n)
	var wg sync.WaitGroup
	cores := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		wg.Go(func() {
			cores <- struct{}{}
			defer func() { <-cores }()
			proven[i], failed[i] = m.prove(f, &f.Pockets[i])
		})
	}
	wg.Wait()
	id := 0
	for i, v := range proven {
		if failed[i] != nil {
			return failed[i]
		}
		if v != nil {
			id++
			v.ID = id
			f.Pockets[i].Vent = v
		}
	}
	return nil
}

// prove looks for a bore for one pocket and pours with it; nil if there is none
// or it frees too little.
func (m *Mold) prove(f *Fill, pk *Pocket) (*SuggestedVent, error) {
	v, ok := m.suggest(f, pk)
	if !ok {
		return nil, nil
	}
	with, err := m.With([]BoreSpec{{At: v.Mouth, Diameter: v.Diameter, Direction: &v.Direction}})
	if err != nil {
		return nil, nil // the bore cannot be drawn: no suggestion rather than a wrong one
	}
	g, err := with.Pour(f.Up)
	if err != nil {
		return nil, err
	}
	v.Frees = f.Trapped - g.Trapped
	if v.Frees < min(reported, pk.Volume/2) {
		return nil, nil
	}
	return &v, nil
}

// With returns the closed mold with more bores tried out. The halves, the part's
// fit and the outside are shared.
func (m *Mold) With(specs []BoreSpec) (*Mold, error) {
	n := *m
	n.Job.Vents = append(slices.Clone(m.Job.Vents), specs...)
	n.bores = slices.Clone(m.bores)
	n.Channels, n.labels, n.before = nil, nil, m
	if err := n.addBores(specs); err != nil {
		return nil, err
	}
	if err := n.sort(m.Cell); err != nil {
		return nil, err
	}
	n.assignRoles()
	return &n, nil
}

// suggest looks for a bore from near the pocket's top: over a few directions and,
// for each, over the pocket's columns from the highest down, the first that
// stands clear of side walls and other openings.
func (m *Mold) suggest(f *Fill, pk *Pocket) (SuggestedVent, bool) {
	dirs := m.ventDirections(f.Up, pk.Top)
	tops := f.air.tops(pk.ID-1, pk.Top)
	for _, clearOfWalls := range [2]bool{true, false} {
		for _, d := range dirs {
			for _, q := range tops {
				if v, ok := m.tryVent(q, d, clearOfWalls); ok {
					return v, true
				}
			}
		}
	}
	return SuggestedVent{}, false
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
// the top where it rises enough, else the nearest direction that does, then up.
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
	return append(out, pull.Add(up).Unit(), up)
}

// tryVent tells whether a bore from q along d leaves rubber all around it up to
// the outside, and, if asked, whether its whole mouth opens into the cavity.
func (m *Mold) tryVent(q, d geom.Vec, clearOfWalls bool) (SuggestedVent, bool) {
	v := SuggestedVent{Mouth: q, Direction: d, Diameter: ventDiameter}
	u, w := d.Perpendicular()
	length, ok := m.throughRubber(q, d, ventDiameter)
	if !ok {
		return v, false
	}
	r := ventDiameter / 2
	for k := 0; k < ventProbes; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) / ventProbes)
		side := u.Scale(roundAngle(c)).AddScaled(w, roundAngle(s))
		for _, out := range [4]float64{r / 2, r, r + ventWall/2, r + ventWall} {
			if _, ok := m.throughRubber(q.AddScaled(side, out), d, 2*ventDiameter+ventWall); !ok {
				return v, false
			}
		}
		if clearOfWalls {
			in := q.AddScaled(side, 0.9*r).AddScaled(d, -0.5*r)
			if m.labels.at(in)&^material != cavity || m.fixed.inRubber(in) {
				return v, false
			}
		}
	}
	v.Length = length
	v.Exit = q.AddScaled(d, length)
	if h, ok := m.fixed.tree.First(q.AddScaled(d, -1e-3), d, m.fixed.box.Diagonal()); ok {
		v.Half = m.Halves[m.fixed.half(h.Facet)].Name
	}
	return v, true
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
// farther than slack on without a break to the outside; the distance to where it
// leaves is returned.
func (m *Mold) throughRubber(q, d geom.Vec, slack float64) (float64, bool) {
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
				return 0, false
			}
			if entered && h.Dist-out > m.Seal && h.Dist > slack {
				gaps++
			}
			entered = true
		case was > 0 && depth <= 0:
			out = h.Dist
		}
	}
	return out, entered && gaps == 0 && out > slack/2
}
