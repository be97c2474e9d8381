package mold

import (
	"slices"

	"pourproof/geom"
)

// stars lists the facets around each corner: those of corner v are facets[start[v]]
// up to facets[start[v+1]].
type stars struct{ start, facets []int32 }

func newStars(m *geom.Mesh) stars {
	s := stars{make([]int32, len(m.Vertices)+1), make([]int32, 3*len(m.Facets))}
	for _, t := range m.Facets {
		for _, v := range t {
			s.start[v+1]++
		}
	}
	for v := range m.Vertices {
		s.start[v+1] += s.start[v]
	}
	next := slices.Clone(s.start)
	for f, t := range m.Facets {
		for _, v := range t {
			s.facets[next[v]] = int32(f)
			next[v]++
		}
	}
	return s
}

// levelCorners is the height in mm by which corners of one level face may differ: what
// is left of a plane that was turned and stored in single precision, near the origin.
const levelCorners = 1e-5

// descend goes down over the surface from a facet, corner by corner, and returns the
// corners of the lowest level place that it comes to, the least first: below it the
// surface does not go on down. Where material begins and where a hollow has its
// floor are such places (Banchoff, Amer. Math. Monthly 77, 1970).
func (s *solid) descend(facet int32, build geom.Vec) []int32 {
	z := func(v int32) float64 { return s.mesh.Vertices[v].Dot(build) }
	at := s.mesh.Facets[facet][0]
	for _, v := range s.mesh.Facets[facet] {
		if z(v) < z(at) {
			at = v
		}
	}
	for {
		level := []int32{at}
		known := map[int32]bool{at: true}
		lower := int32(-1)
		for n := 0; n < len(level) && lower < 0; n++ {
			v := level[n]
			for _, f := range s.around.facets[s.around.start[v]:s.around.start[v+1]] {
				for _, u := range s.mesh.Facets[f] {
					switch d := z(u) - z(at); {
					case d < -levelCorners:
						if lower < 0 || z(u) < z(lower) || z(u) == z(lower) && u < lower {
							lower = u
						}
					case d <= levelCorners && !known[u]:
						known[u] = true
						level = append(level, u)
					}
				}
			}
		}
		if lower < 0 {
			slices.SortFunc(level, func(a, b int32) int { return compareVec(s.mesh.Vertices[a], s.mesh.Vertices[b]) })
			return level
		}
		at = lower
	}
}
