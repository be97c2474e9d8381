package mold

import (
	"math"

	"pourproof/geom"
)

// LayerStep is the height of the layer steps (cusps) on the faces that shape the
// part, in mm: t |n . build| for the layer t (Dolenc and Makela, Computer-Aided
// Design 26, 1994). Faces that lie within one layer have none.
type LayerStep struct {
	Mean    float64 // over the area of the faces that have steps
	Worst   float64
	WorstAt geom.Vec
	Area    float64 // mm2 of molding faces with steps
	Level   float64 // mm2 of molding faces within one layer: no steps

	// Of each facet of the half, mm: 0 for level and upright ones, negative for those
	// that shape no part. Filled by Print, not by a search.
	Facets []float32
}

// newSolid works out what does not depend on a direction. Facets whose normals
// differ by less than flatTurn across an edge make one flat face.
func newSolid(m *geom.Mesh) *solid {
	s := &solid{mesh: m, mates: m.Mates(), area: make([]float64, len(m.Facets)), normal: make([]geom.Vec, len(m.Facets))}
	for f := range m.Facets {
		a := m.Triangle(f).AreaVec()
		s.area[f], s.normal[f] = a.Norm(), a.Unit()
	}
	s.around = newStars(m)
	s.flat = make([]int32, len(m.Facets))
	for f := range s.flat {
		s.flat[f] = -1
	}
	for f := range s.flat {
		if s.flat[f] < 0 {
			s.faces = append(s.faces, s.flatFace(int32(f), int32(len(s.faces))))
		}
	}
	return s
}

// flatTurn: facets that meet at less than 1/1000 rad are one face, as for the
// chord error (package geom); flat faces do not bend away from their first facet
// by more.
const flatTurn = 1 - 1e-3*1e-3/2

func (s *solid) flatFace(f, number int32) []int32 {
	s.flat[f] = number
	face := []int32{f}
	for n := 0; n < len(face); n++ {
		for k := range int32(3) {
			m := s.mates[3*face[n]+k]
			if m >= 0 && s.flat[m/3] < 0 && s.normal[m/3].Dot(s.normal[f]) >= flatTurn {
				s.flat[m/3] = number
				face = append(face, m/3)
			}
		}
	}
	return face
}

// steps works out the layer steps for a direction. A face has steps if it, with
// the faces that go on from it and are turned no farther from it than it is from
// level, spans a layer: then a layer's edge runs across it. A level floor spans
// none whatever joins it at an edge.
//
// It fills facets, one number a facet, if that is not nil.
func (s *solid) steps(build geom.Vec, layer float64, molding func(int32) bool, facets []float32) LayerStep {
	out := LayerStep{Facets: facets}
	for f := range facets {
		facets[f] = -1
	}
	low, high := make([]float64, len(s.faces)), make([]float64, len(s.faces))
	for n, face := range s.faces {
		low[n], high[n] = math.Inf(1), math.Inf(-1)
		for _, f := range face {
			for _, v := range s.mesh.Facets[f] {
				z := s.mesh.Vertices[v].Dot(build)
				low[n], high[n] = min(low[n], z), max(high[n], z)
			}
		}
	}
	w := stepped{s, build, layer, low, high, make([]int32, len(s.faces)), 0, nil}
	sum := 0.0
	for n, face := range s.faces {
		has, asked := false, false
		for _, f := range face {
			if s.area[f] == 0 || !molding(f) {
				continue
			}
			if !asked {
				has, asked = w.has(int32(n)), true
			}
			c := float64(layer * math.Abs(s.normal[f].Dot(build)))
			if !has {
				out.Level += s.area[f]
				c = 0
			}
			if facets != nil {
				facets[f] = float32(c)
			}
			if !has {
				continue
			}
			out.Area += s.area[f]
			sum += float64(c * s.area[f])
			if at := s.mesh.Triangle(int(f)).Centroid(); c > out.Worst || c == out.Worst && at.Less(out.WorstAt) {
				out.Worst, out.WorstAt = c, at
			}
		}
	}
	if out.Area > 0 {
		out.Mean = sum / out.Area
	}
	return out
}

// stepped asks face by face for steps.
type stepped struct {
	*solid
	build     geom.Vec
	layer     float64
	low, high []float64 // per flat face
	seen      []int32   // the number of the question a face was met in
	question  int32
	queue     []int32
}

func (w *stepped) has(n int32) bool {
	low, high := w.low[n], w.high[n]
	if high-low >= w.layer {
		return true
	}
	first := w.normal[w.faces[n][0]]
	slope := math.Abs(first.Dot(w.build)) // cosine of its angle from level
	if slope > flatTurn {
		return false
	}
	w.question++
	w.seen[n] = w.question
	w.queue = append(w.queue[:0], n)
	for i := 0; i < len(w.queue) && i < 1000; i++ {
		for _, f := range w.faces[w.queue[i]] {
			for k := range int32(3) {
				m := w.mates[3*f+k]
				if m < 0 {
					continue
				}
				g := w.flat[m/3]
				if w.seen[g] == w.question || w.normal[m/3].Dot(first) < slope {
					continue
				}
				w.seen[g] = w.question
				low, high = min(low, w.low[g]), max(high, w.high[g])
				if high-low >= w.layer {
					return true
				}
				w.queue = append(w.queue, g)
			}
		}
	}
	return false
}
