package mold

import (
	"math"

	"pourproof/geom/bvh"
)

// coverage returns the share of samples that some tree's surface faces within
// near.
func (s *fitting) coverage(samples []fitSample, trees []*bvh.Tree, near float64) float64 {
	var hit []fitSample
	for i := range samples {
		if _, ok := facing(trees, &samples[i], near); ok {
			hit = append(hit, samples[i])
		}
	}
	if len(hit) == 0 {
		return 0
	}
	return s.weight(hit) / s.weight(samples)
}

// facing returns the nearest surface that faces a sample.
func facing(trees []*bvh.Tree, s *fitSample, near float64) (bvh.Hit, bool) {
	var best bvh.Hit
	found := false
	for _, t := range trees {
		mesh := t.Mesh()
		if h, ok := t.NearestWhere(s.p, near, func(f int32) bool { return mesh.Triangle(int(f)).Normal().Dot(s.n) < -0.7 }); ok {
			best, near, found = h, h.Dist, true
		}
	}
	return best, found
}

// swapped tells whether another body lies in the rest as a part does.
func (s *fitting) swapped() (string, bool) {
	partTree := s.part.tree()
	for h := range s.halves {
		rest := []*bvh.Tree{partTree}
		for o := range s.trees {
			if o != h {
				rest = append(rest, s.trees[o])
			}
		}
		if s.coverage(surfaceSamples(s.halves[h].Mesh, 32), rest, s.reach) >= covers {
			return s.halves[h].Name, true
		}
	}
	return "", false
}

// covered returns the share of the part's surface that the halves shape, each
// moved, those to be left out aside.
func (s *fitting) covered(moved []similar, leave []bool) float64 {
	open := s.samples
	for h := range moved {
		if leave == nil || !leave[h] {
			open = s.open(h, moved[h], open)
		}
	}
	return 1 - s.weight(open)/s.weight(s.samples)
}

// open returns the samples that half h, moved by c, does not shape.
func (s *fitting) open(h int, c similar, samples []fitSample) []fitSample {
	back := c.inverse()
	var out []fitSample
	for _, p := range samples {
		q := fitSample{back.apply(p.p), back.rigid.Turn(p.n)}
		if _, ok := facing(s.trees[h:h+1], &q, s.near/c.factor); !ok {
			out = append(out, p)
		}
	}
	return out
}

// weight is the surface that samples stand for, in samples of one axis.
func (s *fitting) weight(samples []fitSample) float64 {
	sum := 0.0
	for i := range samples {
		sum += 1 / (math.Abs(samples[i].n.X) + math.Abs(samples[i].n.Y) + math.Abs(samples[i].n.Z))
	}
	return sum
}

// share is how much of the part's whole surface lies in before and not in after.
func (s *fitting) share(before, after []fitSample) float64 {
	return (s.weight(before) - s.weight(after)) / s.weight(s.samples)
}
