package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
	"pourproof/geom/flood"
)

// fineWindow finds where two sides meet in a finely cast window.
type fineWindow struct {
	p    *pour
	sp   *column.Space
	flag []side // per fine run: near | far<<… as bits 1 and 2
}

// seed marks the fine runs that are a coarse piece of either side.
func (w *fineWindow) seed(lo, hi [3]int, sideOf func(piece int32) side) {
	p := w.p
	w.flag = make([]side, len(w.sp.Lo))
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			c := i*p.lat.N[1] + j
			fine := ((i-lo[0])<<fineBits)*w.sp.N[1] + (j-lo[1])<<fineBits
			for a := p.start[c]; a < p.start[c+1]; a++ {
				s := sideOf(a)
				if s == neither {
					continue
				}
				for r := w.sp.Start[fine]; r < w.sp.Start[fine+1]; r++ {
					if w.sp.Lo[r] < p.hi[a] && p.lo[a] < w.sp.Hi[r] {
						w.flag[r] |= s
					}
				}
			}
		}
	}
}

// edge returns the height of the edge between the two columns of a link, where
// the rubber comes down (rises) between them: where the planes of their roofs
// (floors) meet, or, if a wall stands between, where the plane of the limiting one
// reaches that wall.
func (w *fineWindow) edge(l *fineLink, down bool) int32 {
	sp := w.sp
	end, facet, z := sp.Hi, sp.HiFacet, l.Hi
	if !down {
		end, facet, z = sp.Lo, sp.LoFacet, l.Lo
	}
	a, b, c, d := l.A, l.B, l.column, l.beside
	if end[a] != z {
		a, b, c, d = b, a, d, c // a limits the link
	}
	if end[a] != z || end[b] == z || facet[a] < 0 {
		return z
	}
	from, to := w.place(c, z), w.place(d, z)
	apart := from.Dist(to)
	e := to.Sub(from).Unit()
	sa, okA := w.slope(facet[a], e)
	if !okA {
		return z
	}
	reach := w.reach()
	move := func(mm float64) int32 {
		dz := int32(math.Round(mm / sp.Q))
		if dz > reach || dz < -reach || (dz > 0) == down { // an edge only ever narrows the way
			return z
		}
		return z + dz
	}
	if facet[b] >= 0 {
		if sb, ok := w.slope(facet[b], e); ok && sa != sb {
			// Heights over the distance x from column a: sa x and hb + sb (x - apart).
			hb := float64(end[b]-z) * sp.Q
			if x := (hb - sb*apart) / (sa - sb); x >= 0 && x <= apart {
				return move(sa * x)
			}
		}
	}
	off := int32(thinStep)
	if !down {
		off = -off
	}
	hit, ok := w.p.m.fixed.tree.First(w.place(d, z+off), e.Neg(), apart)
	if !ok {
		return z
	}
	return move(sa * (apart - hit.Dist))
}

// reach is how many quanta an edge between two columns may lie off: four pitches, a
// slope of 76 deg.
func (w *fineWindow) reach() int32 { return 4 << w.sp.Bits }

// slope returns how a facet rises along the level direction e; ok is false where
// it is steeper than 89.4 deg.
func (w *fineWindow) slope(facet int32, e geom.Vec) (rise float64, ok bool) {
	n := w.sp.Solids.Normal(facet)
	up := n.Dot(w.sp.Frame.Z)
	if up*up < 1e-4 {
		return 0, false
	}
	return -n.Dot(e) / up, true
}

// thinStep is how many quanta beyond a surface a ray starts, to be off it.
const thinStep = 8

// place returns the CAD place of a fine column at height z.
func (w *fineWindow) place(column, z int32) geom.Vec {
	sp, c := w.sp, int(column)
	return sp.Point(sp.At(0, c/sp.N[1]), sp.At(1, c%sp.N[1]), z)
}

// links lists the openings between neighbouring fine columns.
func (w *fineWindow) links() []fineLink {
	sp := w.sp
	out := make([]fineLink, 0, 2*len(sp.Lo)+len(sp.Lo)/8)
	pair := func(c, d, axis int) {
		a, b := sp.Start[c], sp.Start[d]
		for a < sp.Start[c+1] && b < sp.Start[d+1] {
			lo, hi := max(sp.Lo[a], sp.Lo[b]), min(sp.Hi[a], sp.Hi[b])
			if lo < hi {
				if lo, hi, ok := sp.Open(c/sp.N[1], c%sp.N[1], axis, lo, hi); ok {
					out = append(out, fineLink{Link: flood.Link{A: a, B: b, Lo: lo, Hi: hi}, column: int32(c), beside: int32(d)})
				}
			}
			if sp.Hi[a] < sp.Hi[b] {
				a++
			} else {
				b++
			}
		}
	}
	for c := 0; c+1 < len(sp.Start); c++ {
		if c/sp.N[1]+1 < sp.N[0] {
			pair(c, c+sp.N[1], 0)
		}
		if c%sp.N[1]+1 < sp.N[1] {
			pair(c, c+1, 1)
		}
	}
	return out
}
