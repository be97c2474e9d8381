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
	s.byFace = make([]int32, 0, len(m.Facets))
	for f := range s.flat {
		if s.flat[f] < 0 {
			s.firstOf = append(s.firstOf, int32(len(s.byFace)))
			s.flatFace(int32(f))
		}
	}
	s.firstOf = append(s.firstOf, int32(len(s.byFace)))
	return s
}

// face returns the facets of flat face n, faces the number of such faces.
func (s *solid) face(n int32) []int32 { return s.byFace[s.firstOf[n]:s.firstOf[n+1]] }

func (s *solid) faces() int { return len(s.firstOf) - 1 }

// flatTurn: facets that meet at less than 1/1000 rad are one face, as for the
// chord error (package geom); flat faces do not bend away from their first facet
// by more.
const flatTurn = 1 - 1e-3*1e-3/2

// flatFace adds the last face begun: facet f and those that hang together with it.
func (s *solid) flatFace(f int32) {
	number := int32(len(s.firstOf)) - 1
	add := func(f int32) {
		s.flat[f] = number
		s.byFace = append(s.byFace, f)
	}
	n := len(s.byFace)
	for add(f); n < len(s.byFace); n++ {
		for k := range int32(3) {
			m := s.mates[3*s.byFace[n]+k]
			if m >= 0 && s.flat[m/3] < 0 && s.normal[m/3].Dot(s.normal[f]) >= flatTurn {
				add(m / 3)
			}
		}
	}
}

// steps works out the layer steps for a direction. A face has steps if it, with
// the faces that go on from it and are turned no farther from it than it is from
// level, spans a layer: then a layer's edge runs across it. A level floor spans
// none whatever joins it at an edge.
//
// It looks at those facets of list that shape the part, and fills each, one number a
// facet, if that is not nil.
func (w *stepped) steps(build geom.Vec, layer float64, list []facetShare, molding func(int32) bool, each []float32) LayerStep {
	w.begin(build, layer)
	out := LayerStep{Facets: each}
	for f := range each {
		each[f] = -1
	}
	sum := 0.0
	for _, e := range list {
		if e.area == 0 || !molding(e.facet) {
			continue
		}
		c := float64(layer * math.Abs(w.normal[e.facet].Dot(build)))
		has := w.has(w.flat[e.facet])
		if !has {
			out.Level += e.area
			c = 0
		}
		if each != nil {
			each[e.facet] = float32(c)
		}
		if !has {
			continue
		}
		out.Area += e.area
		sum += float64(c * e.area)
		if c < out.Worst {
			continue
		}
		if at := w.mesh.Triangle(int(e.facet)).Centroid(); c > out.Worst || at.Less(out.WorstAt) {
			out.Worst, out.WorstAt = c, at
		}
	}
	if out.Area > 0 {
		out.Mean = sum / out.Area
	}
	return out
}

// hasOn is has for a drawn facet whose normal has so large a share along the direction.
func (w *stepped) hasOn(e *drawnFacet, along float64) bool {
	if along <= e.steep {
		return true
	}
	a, b, c := e.at.A.Dot(w.build), e.at.B.Dot(w.build), e.at.C.Dot(w.build)
	return max(a, b, c)-min(a, b, c) >= w.layer || w.has(e.face)
}

// stepped asks face by face for steps, direction after direction.
type stepped struct {
	*solid
	build     geom.Vec
	layer     float64
	low, high []float64 // per flat face, as far as looked at: at least a layer apart, or all of it
	known     []int32   // the direction they are of
	direction int32
	answer    []int8  // for that direction: 0 not asked, 1 no, 2 yes
	seen      []int32 // the number of the question a face was met in
	question  int32
	queue     []int32
}

func newStepped(s *solid) *stepped {
	n := s.faces()
	return &stepped{solid: s, low: make([]float64, n), high: make([]float64, n), known: make([]int32, n), answer: make([]int8, n), seen: make([]int32, n)}
}

func (w *stepped) begin(build geom.Vec, layer float64) {
	w.build, w.layer = build, layer
	w.direction++
}

// extent looks at face n until it spans a layer.
func (w *stepped) extent(n int32) (low, high float64) {
	if w.known[n] == w.direction {
		return w.low[n], w.high[n]
	}
	low, high = math.Inf(1), math.Inf(-1)
	for _, f := range w.face(n) {
		for _, v := range w.mesh.Facets[f] {
			z := w.mesh.Vertices[v].Dot(w.build)
			low, high = min(low, z), max(high, z)
		}
		if high-low >= w.layer {
			break
		}
	}
	w.known[n], w.low[n], w.high[n], w.answer[n] = w.direction, low, high, 0
	return low, high
}

func (w *stepped) has(n int32) bool {
	low, high := w.extent(n)
	if high-low >= w.layer {
		return true
	}
	if w.answer[n] == 0 {
		w.answer[n] = 1
		if w.joins(n, low, high) {
			w.answer[n] = 2
		}
	}
	return w.answer[n] == 2
}

// joins tells whether a face, from low to high, spans a layer with those that go on
// from it.
func (w *stepped) joins(n int32, low, high float64) bool {
	first := w.normal[w.face(n)[0]]
	slope := math.Abs(first.Dot(w.build)) // cosine of its angle from level
	if slope > flatTurn {
		return false
	}
	w.question++
	w.seen[n] = w.question
	w.queue = append(w.queue[:0], n)
	for i := 0; i < len(w.queue) && i < 1000; i++ {
		for _, f := range w.face(w.queue[i]) {
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
				l, h := w.extent(g)
				low, high = min(low, l), max(high, h)
				if high-low >= w.layer {
					return true
				}
				w.queue = append(w.queue, g)
			}
		}
	}
	return false
}
