package measure

import (
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// settle follows the best sample of every facet to where its ball really touches.
func (t *Thickness) settle(s *samples) {
	n := len(t.Normal)
	t.Least, t.At, t.Contact, t.Touch = make([]float64, n), make([]geom.Vec, n), make([]int32, n), make([]geom.Vec, n)
	t.each(n, func(from, to int) {
		for f := from; f < to; f++ {
			t.Least[f], t.Contact[f] = math.Inf(1), -1
			if c := &s.contacts[f]; c.on > 0 {
				t.put(int32(f), c.p, c.on-1)
			}
		}
	})
}

// put measures a facet at its point p, from facet g on; it tells whether something
// within Most lies opposed.
func (t *Thickness) put(f int32, p geom.Vec, g int32) bool {
	b, ok := t.ball(p, t.Normal[f].Neg(), g)
	if !ok || b.d >= t.Options.Most {
		return false
	}
	t.Least[f], t.At[f], t.Contact[f], t.Touch[f] = b.d, p, b.on, b.at
	return true
}

// fill measures facets that have no thickness yet at their middle: from where a
// neighbour's ball touches, wave by wave, in the order of the facets; those that no
// column met and no wave reached by rays.
func (t *Thickness) fill(s *samples) {
	var front []int32
	for f, g := range t.Contact {
		if g >= 0 {
			front = append(front, int32(f))
		}
	}
	for len(front) > 0 {
		front = t.wave(front)
	}
	if left := t.lost(s); len(left) > 0 {
		t.byRays(left)
	}
}

// lost returns the facets that no column met and that hang together with none that
// was: pieces smaller than the columns' distance.
func (t *Thickness) lost(s *samples) []int32 {
	for _, met := range s.met {
		if !met {
			t.Missed++
		}
	}
	if t.Missed == 0 {
		return nil
	}
	var front []int32
	known := make([]bool, len(s.facets))
	for f := range known {
		if known[f] = s.met[t.Parent[f]]; known[f] {
			front = append(front, int32(f))
		}
	}
	for n := 0; n < len(front); n++ {
		for k := range int32(3) {
			if m := t.Mates[3*front[n]+k]; m >= 0 && !known[m/3] {
				known[m/3] = true
				front = append(front, m/3)
			}
		}
	}
	var left []int32
	for f := range known {
		if !known[f] && t.Normal[f] != (geom.Vec{}) {
			left = append(left, int32(f))
		}
	}
	return left
}

// wave tries the neighbours of some facets, and returns those that have a thickness
// now, in order.
func (t *Thickness) wave(front []int32) []int32 {
	var next []int32
	for _, f := range front {
		for k := range int32(3) {
			m := t.Mates[3*f+k]
			if m < 0 || t.Contact[m/3] >= 0 || t.Normal[m/3] == (geom.Vec{}) {
				continue
			}
			if g := m / 3; t.put(g, t.Mesh.Triangle(int(g)).Centroid(), t.Contact[f]) {
				next = append(next, g)
			}
		}
	}
	slices.Sort(next)
	return next
}

// byRays measures facets by a ray from their middle straight in.
func (t *Thickness) byRays(facets []int32) {
	tree := bvh.Build(t.Mesh)
	t.each(len(facets), func(from, to int) {
		var hits []bvh.Hit
		for _, f := range facets[from:to] {
			p := t.Mesh.Triangle(int(f)).Centroid()
			hits = tree.All(p, t.Normal[f].Neg(), t.Options.Most, hits)
			for i := range hits {
				if h := &hits[i]; h.Facet != f && h.Sense < 0 {
					t.put(f, p, h.Facet)
					break
				}
			}
		}
	})
}
