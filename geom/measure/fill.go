package measure

import (
	"slices"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// fill measures facets that have no thickness yet: from where the ball of a neighbour in
// front touches, wave by wave, in the order of the facets; those that no column met and
// no wave reached by rays.
func (t *Thickness) fill(s *samples, front []int32) {
	for slices.Sort(front); len(front) > 0; {
		front = t.wave(s, front)
	}
	if left := t.lost(s); len(left) > 0 {
		t.byRays(left)
	}
}

// wave tries the neighbours of some facets, and returns those that have a thickness
// now, in order.
func (t *Thickness) wave(s *samples, front []int32) []int32 {
	var next []int32
	for _, f := range front {
		for _, m := range t.Mates[3*f : 3*f+3] {
			if m >= 0 && t.Contact[m/3] < 0 && t.beside(m, t.Contact[f], s.faces[m/3].size) {
				next = append(next, m/3)
			}
		}
	}
	slices.Sort(next)
	return next
}

// edgeShare is how far from a facet's middle the second place lies on the way to the edge
// over which its neighbour has a thickness.
const edgeShare = 0.8

// beside measures the facet of a half-edge from where the ball of its neighbour over
// that edge touches, in its middle or, where nothing lies opposed there, near that edge
// of a large facet. The ball in a round post touches all around and stays where it begins:
// it begins anew from where the opposite surface lies opposed most.
func (t *Thickness) beside(m, contact int32, size float32) bool {
	f := m / 3
	if t.Normal[f] == (geom.Vec{}) {
		return false
	}
	tri, inward := t.Mesh.Triangle(int(f)), t.Normal[f].Neg()
	middle, c := tri.Centroid(), [3]geom.Vec{tri.A, tri.B, tri.C}
	b, ok := t.ball(middle, inward, contact)
	if ok && t.keep(f, middle, b) {
		return true
	}
	if float64(size) > t.Options.Pitch && t.put(f, middle.Lerp(c[m%3].Lerp(c[(m+1)%3], 0.5), edgeShare), contact) {
		return true
	}
	if v := b.at.Sub(middle); ok || !(b.d > 0 && b.d < t.Options.Most) || inward.Dot(v) < nearlyOpposed*v.Norm() {
		return false
	}
	g := t.mostOpposed(f, b.on)
	return g != b.on && t.put(f, middle, g)
}

// nearlyOpposed is the cosine of the angle, 30 deg, up to which a contact beside the
// inward normal may be one of a round post.
const nearlyOpposed = 0.866

// mostOpposed walks from facet g over the surface to the one whose normal is most opposed
// to that of facet f.
func (t *Thickness) mostOpposed(f, g int32) int32 {
	least := t.Normal[f].Dot(t.Normal[g])
	for range mostSteps {
		next := g
		for _, m := range t.Mates[3*g : 3*g+3] {
			if m < 0 {
				continue
			}
			if c := t.Normal[f].Dot(t.Normal[m/3]); c < least {
				least, next = c, m/3
			}
		}
		if next == g {
			break
		}
		g = next
	}
	return g
}

// lost returns the facets that no column met and that hang together with none that
// was: pieces smaller than the columns' distance.
func (t *Thickness) lost(s *samples) []int32 {
	if len(t.Parent) == 0 {
		return nil
	}
	met := make([]bool, t.Parent[len(t.Parent)-1]+1)
	for f := range s.faces {
		if s.faces[f].on != 0 {
			met[t.Parent[f]] = true
		}
	}
	for _, m := range met {
		if !m {
			t.Missed++
		}
	}
	if t.Missed == 0 {
		return nil
	}
	var left []int32
	seen := make([]bool, len(s.faces))
	for f := range seen {
		if seen[f] || met[t.Parent[f]] {
			continue
		}
		first, alone := len(left), true
		left, seen[f] = append(left, int32(f)), true
		for n := first; n < len(left); n++ {
			for _, m := range t.Mates[3*left[n] : 3*left[n]+3] {
				if m >= 0 && met[t.Parent[m/3]] {
					alone = false
				} else if m >= 0 && !seen[m/3] {
					left, seen[m/3] = append(left, m/3), true
				}
			}
		}
		if !alone {
			left = left[:first]
		}
	}
	left = slices.DeleteFunc(left, func(f int32) bool { return t.Normal[f] == geom.Vec{} })
	slices.Sort(left)
	return left
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
