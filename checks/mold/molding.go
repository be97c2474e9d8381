package mold

import (
	"sync/atomic"

	"pourproof/geom"
)

// moldingFaces remembers which facets of the joined halves shape the part.
type moldingFaces []atomic.Int32 // 0 not asked yet

const (
	elsewhere  = 1
	shapesPart = 2 // and above: 2 + a facet of the part so near
)

// molds tells whether a facet of the joined halves shapes the part: its middle
// lies within the skin of the fitted part. Answers are kept; goroutines may ask
// at the same time.
func (m *Mold) molds(facet int32) bool {
	known := m.molding[facet].Load()
	if known == 0 {
		known = m.meetsPart(facet)
		m.molding[facet].Store(known)
	}
	return known >= shapesPart
}

// meetsPart finds out what molds remembers. Most facets follow a neighbour in the file,
// and what that one met is near enough to this one too.
func (m *Mold) meetsPart(facet int32) int32 {
	f, p := m.fixed, m.fixed.joined.Triangle(int(facet)).Centroid()
	if facet > 0 {
		if last := m.molding[facet-1].Load(); last >= shapesPart && m.touches(f.part.Triangle(int(last-shapesPart)), p) {
			return last
		}
	}
	if h, near := f.partTree.Nearest(p, m.Skin); near {
		return shapesPart + h.Facet
	}
	return elsewhere
}

// touches tells whether a place lies within the skin of a facet of the part.
func (m *Mold) touches(t geom.Triangle, p geom.Vec) bool { return t.Closest(p).Dist(p) <= m.Skin }
