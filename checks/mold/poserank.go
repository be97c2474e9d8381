package mold

import (
	"cmp"
	"math"
	"slices"
)

// Burden weighs a way to lay a half; less is better. Equal are 200 mm2 of sealed
// area (a bound of 20 N), 100 mm2 of scars on the part's faces, 2 free starts,
// 0.05 mm of mean layer step, 200 mm of height and 2000 mm2 of scars elsewhere:
// the project's own choice, no source. What does not fit the printer comes last.
func (p *PosePoint) Burden() float64 {
	b := p.CupArea/200 + p.Scar/100 + float64(p.Starts)/2 + p.Step/0.05 + p.Height/200 + p.ScarAll/2000
	if p.Fits != nil && !*p.Fits {
		b += 1000
	}
	return b
}

// grains rounds what is weighed to steps that matter, so that ways are told apart
// by more than noise: 20 mm2 sealed, 5 mm2 of scars, 1 start, 1 um, 1 mm, 50 mm2.
func (p *PosePoint) grains() [7]int {
	n := func(x, step float64) int { return int(math.Round(x / step)) }
	fits := 0
	if p.Fits != nil && !*p.Fits {
		fits = 1
	}
	return [7]int{n(p.CupArea, 20), n(p.Scar, 5), p.Starts, n(p.Step, 0.001), n(p.Height, 1), n(p.ScarAll, 50), fits}
}

// beats tells whether p is nowhere worse than q and somewhere better.
func (p *PosePoint) beats(q *PosePoint) bool {
	a, b := p.grains(), q.grains()
	return beats(&a, &b)
}

func beats(a, b *[7]int) bool {
	better := false
	for i := range a {
		if a[i] > b[i] {
			return false
		}
		better = better || a[i] < b[i]
	}
	return better
}

// unbeaten tells of every point whether it is known in full and none that is beats it.
func unbeaten(points []PosePoint) []bool {
	var known [][7]int
	for i := range points {
		if !points[i].Assumed {
			known = append(known, points[i].grains())
		}
	}
	out := make([]bool, len(points))
	n := 0
	for i := range points {
		if !points[i].Assumed {
			out[i] = !slices.ContainsFunc(known, func(q [7]int) bool { return beats(&q, &known[n]) })
			n++
		}
	}
	return out
}

// rank marks the points that nothing beats and puts them first.
func (s *PoseSearch) rank() {
	for i, best := range unbeaten(s.Points) {
		s.Points[i].Best = best
	}
	slices.SortStableFunc(s.Points, func(a, b PosePoint) int {
		return cmp.Or(boolOrder(!a.Best, !b.Best), boolOrder(a.Assumed, b.Assumed), cmp.Compare(a.Burden(), b.Burden()), compareVec(a.Build, b.Build))
	})
	for i := range s.Points {
		if s.Points[i].Build == s.Now.Build && s.Points[i].Flat == s.Now.Flat {
			s.Now = s.Points[i]
		}
	}
}

// Distinct returns up to n of the best ways to lay the half that lie at least 15 deg
// from each other, the one that weighs least first.
func (s *PoseSearch) Distinct(n int) []PosePoint {
	const apart = 0.9659258262890683 // cosine of 15 deg
	var out []PosePoint
	for _, p := range s.Points {
		if len(out) == n || !p.Best {
			break
		}
		if !slices.ContainsFunc(out, func(q PosePoint) bool { return q.Build.Dot(p.Build) > apart }) {
			out = append(out, p)
		}
	}
	return out
}
