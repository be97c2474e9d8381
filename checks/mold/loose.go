package mold

import (
	"cmp"
	"slices"

	"pourproof/geom"
)

// LoosePiece is solid of a half that is joined to nothing: what a cut at the parting
// plane leaves of a core, as a rule. Its half is the largest piece. Pieces whose
// distance is below a cell may be taken for joined.
type LoosePiece struct {
	ID      int
	At      geom.Vec // inside it
	Volume  float64  // mm3, to a cell all around
	Molding bool     // it shapes the part
}

// loose lists the basins of material that met nothing, but for the largest.
func (w *printing) loose(s *bulk) []LoosePiece {
	var pieces []LoosePiece
	for i := range s.basins {
		if b := &s.basins[i]; b.into < 0 {
			pieces = append(pieces, w.piece(s, b))
		}
	}
	slices.SortStableFunc(pieces, func(a, b LoosePiece) int {
		return cmp.Or(cmp.Compare(b.Volume, a.Volume), compareVec(a.At, b.At))
	})
	pieces = pieces[min(1, len(pieces)):]
	for i := range pieces {
		pieces[i].ID = i + 1
	}
	return pieces
}

// piece sums up a basin of material; its place is the middle of its longest stretch,
// of the one nearest to the piece's middle where several are as long.
func (w *printing) piece(s *bulk, b *basin) LoosePiece {
	var out LoosePiece
	ny := int32(w.open.sp.N[1])
	var sum, count, i, j int64
	s.each(b, func(k int32) {
		sum += int64(s.hi[k] - s.lo[k])
		count, i, j = count+1, i+int64(s.col[k]/ny), j+int64(s.col[k]%ny)
		f := s.facet[k]
		out.Molding = out.Molding || w.ownFacet(f) && w.molding(f)
	})
	off := func(k int32) int64 {
		di, dj := int64(s.col[k]/ny)-i/count, int64(s.col[k]%ny)-j/count
		return di*di + dj*dj
	}
	best := b.head
	s.each(b, func(k int32) {
		if c := cmp.Compare(s.hi[k]-s.lo[k], s.hi[best]-s.lo[best]); c > 0 || c == 0 && off(k) < off(best) {
			best = k
		}
	})
	out.Volume = float64(sum) * w.lat.Q * w.open.cell()
	out.At = w.lat.Point(w.lat.At(0, int(s.col[best]/ny)), w.lat.At(1, int(s.col[best]%ny)), s.lo[best]+(s.hi[best]-s.lo[best])/2)
	return out
}
