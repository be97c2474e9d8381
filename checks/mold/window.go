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

// coarseRuns are the runs of those columns of a window that are the pour's own.
type coarseRuns struct {
	start  []int32 // per column: its first run, and the number of all
	lo, hi []int32
}

// coarseRuns lists them.
func (w *fineWindow) coarseRuns() coarseRuns {
	var c coarseRuns
	w.eachCoarse(func(column int) {
		c.start = append(c.start, int32(len(c.lo)))
		from, to := w.sp.Start[column], w.sp.Start[column+1]
		c.lo, c.hi = append(c.lo, w.sp.Lo[from:to]...), append(c.hi, w.sp.Hi[from:to]...)
	})
	c.start = append(c.start, int32(len(c.lo)))
	return c
}

// eachCoarse visits the columns of the window that are the pour's own, in order.
func (w *fineWindow) eachCoarse(visit func(column int)) {
	for i := 0; i < w.sp.N[0]; i += 1 << fineBits {
		for j := 0; j < w.sp.N[1]; j += 1 << fineBits {
			visit(i*w.sp.N[1] + j)
		}
	}
}

// sides tells which of the coarse runs of a window from column lo to hi are pieces of
// either side.
func (p *pour) sides(lo, hi [3]int, c *coarseRuns, sideOf func(piece int32) side) []side {
	out := make([]side, len(c.lo))
	at := 0
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			column := i*p.lat.N[1] + j
			for a := p.start[column]; a < p.start[column+1]; a++ {
				s := sideOf(a)
				if s == neither {
					continue
				}
				for r := c.start[at]; r < c.start[at+1]; r++ {
					if c.lo[r] < p.hi[a] && p.lo[a] < c.hi[r] {
						out[r] |= s
					}
				}
			}
			at++
		}
	}
	return out
}

// seed marks the fine runs by the sides of the coarse ones.
func (w *fineWindow) seed(c *coarseRuns, sides []side) {
	w.flag = make([]side, len(w.sp.Lo))
	at := 0
	w.eachCoarse(func(column int) {
		copy(w.flag[w.sp.Start[column]:], sides[c.start[at]:c.start[at+1]])
		at++
	})
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
