package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// How fine votes are counted and how many places are tried, by design.
const (
	voteBins   = 48 // along the part's diagonal
	placesTry  = 8
	facingVote = -0.95 // cosine of the normals of a pair that votes
)

// place finds the shift that, after the turn and factor of first, puts half h where
// it shapes most of what is open of the part: every place of the part and every place of the half
// that looks at it the other way vote for the shift between them (generalised Hough
// transform, Ballard 1981); the shifts with most votes are refined by closest
// points and judged by how much of the part they cover.
func (s *fitting) place(h int, first similar, open []fitSample) (similar, float64) {
	bin := s.part.Mesh.Box().Diagonal() / voteBins
	marks := make([]fitSample, len(s.marks[h]))
	for i, q := range s.marks[h] {
		marks[i] = fitSample{first.apply(q.p), first.rigid.Turn(q.n)}
	}
	best, share := first, 0.0
	for _, shift := range s.vote(marks, bin) {
		c := first
		c.rigid.T = c.rigid.T.Add(shift)
		c = s.refine(h, c, 2*bin)
		if v := s.share(open, s.open(h, c, open)); v > share {
			best, share = c, v
		}
	}
	return best, share
}

type ballot struct {
	cell  [3]int32
	count int32
}

// vote returns the shifts with most votes, most first. A shift's votes are counted
// with those of the bins around it, so that one on the border of bins is not split.
func (s *fitting) vote(marks []fitSample, bin float64) []geom.Vec {
	votes := map[[3]int32]int32{} // counts; asked by bin, its order evened out below
	at := func(x float64) int32 { return int32(math.Floor(x / bin)) }
	for i := range s.few {
		p := &s.few[i]
		for j := range marks {
			if p.n.Dot(marks[j].n) < facingVote {
				d := p.p.Sub(marks[j].p)
				votes[[3]int32{at(d.X), at(d.Y), at(d.Z)}]++
			}
		}
	}
	list := make([]ballot, 0, len(votes))
	for c, n := range votes {
		list = append(list, ballot{c, n})
	}
	order := func(a, b ballot) int {
		return cmp.Or(cmp.Compare(b.count, a.count), cmp.Compare(a.cell[0], b.cell[0]), cmp.Compare(a.cell[1], b.cell[1]), cmp.Compare(a.cell[2], b.cell[2]))
	}
	slices.SortFunc(list, order)
	list = list[:min(len(list), 4000)]
	for i := range list {
		c, sum := list[i].cell, int32(0)
		for k := range 27 {
			sum += votes[[3]int32{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}]
		}
		list[i].count = sum
	}
	slices.SortFunc(list, order)
	var out []geom.Vec
	var taken [][3]int32
	for _, b := range list {
		if slices.ContainsFunc(taken, func(t [3]int32) bool {
			return abs32(t[0]-b.cell[0]) <= 1 && abs32(t[1]-b.cell[1]) <= 1 && abs32(t[2]-b.cell[2]) <= 1
		}) {
			continue
		}
		taken = append(taken, b.cell)
		mid := func(x int32) float64 { return (float64(x) + 0.5) * bin }
		out = append(out, geom.Vec{X: mid(b.cell[0]), Y: mid(b.cell[1]), Z: mid(b.cell[2])})
		if len(out) == placesTry {
			break
		}
	}
	return out
}

// refine brings half h, moved by c, onto the part by rounds of closest points
// (Chen and Medioni 1992), shifts only. The part is moved instead, the other way
// round.
func (s *fitting) refine(h int, c similar, reach float64) similar {
	for round := 0; round < 12; round++ {
		back := c.inverse()
		var fit offsetFit
		for i := range s.few {
			p := s.few[i]
			q := fitSample{back.apply(p.p), back.rigid.Turn(p.n)}
			hit, ok := facing(s.trees[h:h+1], &q, reach/c.factor)
			if !ok {
				continue
			}
			r := p.n.Dot(p.p.Sub(c.apply(hit.Point)))
			fit.add(p.n, r, 1)
		}
		x, _ := fit.solve()
		c.rigid.T = c.rigid.T.Add(x)
		if x.Norm() < 1e-4 {
			break
		}
		if round > 2 {
			reach = max(reach/2, 2*s.near)
		}
	}
	round := func(v float64) float64 { return math.Round(v*1e4) / 1e4 }
	c.rigid.T = geom.Vec{X: round(c.rigid.T.X), Y: round(c.rigid.T.Y), Z: round(c.rigid.T.Z)}
	return c
}
