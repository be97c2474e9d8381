package mold

import (
	"cmp"
	"math"
	"slices"

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
	n := len(s.faces)
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
	for _, f := range w.faces[n] {
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

// facetShare is a facet and the area that it stands for, mm2.
type facetShare struct {
	facet int32
	area  float64
}

// shares lists every facet with its own area if there are no more than most of them.
// Of more it draws about most that stand for the others too, in steps of equal area
// along a curve through the body (Morton 1966): large facets are all there. A mean
// over them is off by what the surface changes between neighbours on the curve,
// about 1/sqrt(most) of its spread at worst. The order of facets does not matter.
func (s *solid) shares(most int) []facetShare {
	out := make([]facetShare, 0, min(len(s.area), 2*most))
	if len(s.area) <= most {
		for f, a := range s.area {
			out = append(out, facetShare{int32(f), a})
		}
		return out
	}
	order := s.alongCurve()
	total := 0.0
	for _, f := range order {
		total += s.area[f]
	}
	step, sum, drawn := total/float64(most), 0.0, 0.0
	for _, f := range order {
		sum += s.area[f]
		if n := math.Floor(sum/step+0.5) - drawn; n > 0 {
			out = append(out, facetShare{f, n * step})
			drawn += n
		}
	}
	return out
}

// alongCurve returns the facets in the order of their middles along a Morton curve.
func (s *solid) alongCurve() []int32 {
	box := s.mesh.Box()
	size := box.Size()
	scale := (1<<20 - 1) / max(size.X, size.Y, size.Z, 1e-9)
	type place struct {
		key uint64
		at  geom.Vec
		f   int32
	}
	list := make([]place, len(s.mesh.Facets))
	for f := range list {
		c := s.mesh.Triangle(f).Centroid()
		d := c.Sub(box.Min)
		list[f] = place{spread3(d.X*scale) | spread3(d.Y*scale)<<1 | spread3(d.Z*scale)<<2, c, int32(f)}
	}
	slices.SortFunc(list, func(a, b place) int { return cmp.Or(cmp.Compare(a.key, b.key), compareVec(a.at, b.at)) })
	order := make([]int32, len(list))
	for i := range list {
		order[i] = list[i].f
	}
	return order
}

// spread3 puts two zero bits between the bits of x, 0 <= x < 2^20.
func spread3(x float64) uint64 {
	v := uint64(x)
	v = (v | v<<32) & 0x1f00000000ffff
	v = (v | v<<16) & 0x1f0000ff0000ff
	v = (v | v<<8) & 0x100f00f00f00f00f
	v = (v | v<<4) & 0x10c30c30c30c30c3
	return (v | v<<2) & 0x1249249249249249
}
