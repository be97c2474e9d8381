package mold

import "sync/atomic"

// moldingFaces remembers which facets of the joined halves shape the part.
type moldingFaces []atomic.Int32 // 0 not asked yet

const (
	elsewhere  = 1
	shapesPart = 2
)

// molds tells whether a facet of the joined halves shapes the part: its middle
// lies within the skin of the fitted part. Answers are kept; goroutines may ask
// at the same time.
func (m *Mold) molds(facet int32) bool {
	known := &m.molding[facet]
	if known.Load() == 0 {
		is := int32(elsewhere)
		if m.fixed.partTree.Within(m.fixed.joined.Triangle(int(facet)).Centroid(), m.Skin) {
			is = shapesPart
		}
		known.Store(is)
	}
	return known.Load() == shapesPart
}
