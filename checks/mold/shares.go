package mold

import (
	"math"
	"slices"

	"pourproof/geom"
)

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

// drawnFacet is a facet that stands for others, with what is asked about it direction
// after direction in one place.
type drawnFacet struct {
	facetShare
	face    int32
	molding bool
	normal  geom.Vec
	steep   float64 // |normal . d| up to which it surely spans a layer along d; negative for none
	at      geom.Triangle
}

// drawn lists most facets of a half that stand for its surface, see shares.
func (r *rubber) drawn(most int, layer float64) []drawnFacet {
	s := r.solid
	list := s.shares(most)
	out := make([]drawnFacet, len(list))
	for i, e := range list {
		t := s.mesh.Triangle(int(e.facet))
		out[i] = drawnFacet{e, s.flat[e.facet], r.molding(e.facet), s.normal[e.facet], steepness(t, layer), t}
	}
	return out
}

// steepness returns up to which |normal . d| the circle in a triangle alone spans a layer
// along d: its diameter times the sine of the angle between normal and d. Less a
// millionth, far above what these are rounded by.
func steepness(t geom.Triangle, layer float64) float64 {
	around := t.A.Dist(t.B) + t.B.Dist(t.C) + t.C.Dist(t.A)
	sine := layer / (4 * t.AreaVec().Norm() / around)
	if !(sine < 1) {
		return -1
	}
	return math.Sqrt(1-float64(sine*sine)) - 1e-6
}

// alongCurve returns the facets in the order of their middles along a Morton curve,
// those at one place of it in the order of their middles.
func (s *solid) alongCurve() []int32 {
	box := s.mesh.Box()
	size := box.Size()
	scale := (1<<20 - 1) / max(size.X, size.Y, size.Z, 1e-9)
	middle := func(f int32) geom.Vec { return s.mesh.Triangle(int(f)).Centroid() }
	place := make([]uint64, len(s.mesh.Facets))
	keys := make([]uint64, len(place))
	const half = 30 // of the 60 bits of a place
	for f := range place {
		d := middle(int32(f)).Sub(box.Min)
		place[f] = spread3(d.X*scale) | spread3(d.Y*scale)<<1 | spread3(d.Z*scale)<<2
		keys[f] = place[f]&(1<<half-1)<<32 | uint64(f)
	}
	keys = geom.RadixSort(keys, 32)
	for i, k := range keys {
		keys[i] = place[uint32(k)]>>half<<32 | k&(1<<32-1)
	}
	order := make([]int32, len(keys))
	for i, k := range geom.RadixSort(keys, 32) {
		order[i] = int32(uint32(k))
	}
	for a := 0; a < len(order); {
		b := a + 1
		for b < len(order) && place[order[b]] == place[order[a]] {
			b++
		}
		if b > a+1 {
			slices.SortStableFunc(order[a:b], func(f, g int32) int { return compareVec(middle(f), middle(g)) })
		}
		a = b
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
