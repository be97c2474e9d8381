package mold

import (
	"cmp"
	"slices"

	"pourproof/geom"
)

// TiltPocket is air of the part that stays at a tilt of the search, at its cell.
type TiltPocket struct {
	Top     geom.Vec // highest place, CAD frame
	Volume  float64  // mm3 inside the part
	Width   float64  // mm, edge of a column: the cell, or a multiple where there are many
	Columns []TiltColumn
}

// TiltColumn is the air of a square column, in mm along the axes of PourFrame for the
// tilt's up: the place of its middle and its two ends.
type TiltColumn struct{ X, Y, Lo, Hi float32 }

// What a tilt keeps of its pockets, for a view: the largest ones, each in so many
// columns at most (16 bytes each: 16 KB a tilt).
const (
	tiltPockets = 8
	tiltColumns = 128
)

// pocketsOf lists the largest pockets from allowed mm3 on, given the air of each in the
// part. Linear in the runs.
func (p *pour) pocketsOf(volumes []float64, allowed float64) []TiltPocket {
	var order []int32
	for k, v := range volumes {
		if v >= allowed {
			order = append(order, int32(k))
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(volumes[b], volumes[a]), cmp.Compare(a, b)) })
	order = order[:min(len(order), tiltPockets)]
	if len(order) == 0 {
		return nil
	}
	place := make(map[int32]int, len(order)) // only looked up
	for n, k := range order {
		place[k] = n
	}
	air := make([][]airColumn, len(order))
	for r, i := range p.piece {
		if k := p.flow.Pocket[r]; k >= 0 && p.flow.Reached[r] && volumes[k] >= allowed {
			n, listed := place[k]
			z := p.levelNow(int32(r))
			if a, _ := p.inLabel(i, z, p.hi[i]); listed && a > 0 {
				x, y := p.column(i)
				air[n] = append(air[n], airColumn{int32(x), int32(y), z, p.hi[i]})
			}
		}
	}
	out := make([]TiltPocket, len(order))
	for n, k := range order {
		out[n] = p.tiltPocket(air[n])
		out[n].Volume = volumes[k]
	}
	return out
}

// tiltPocket keeps every n-th column either way, with n as small as fits; of a pocket so
// thin that none of these is its own, the first ones.
func (p *pour) tiltPocket(air []airColumn) TiltPocket {
	top := air[0]
	for _, c := range air {
		if c.hi > top.hi {
			top = c
		}
	}
	by, kept := int32(1), air
	for len(kept) > tiltColumns {
		by++
		kept = nil
		for _, c := range air {
			if c.x%by == by/2 && c.y%by == by/2 {
				kept = append(kept, c)
			}
		}
	}
	if len(kept) == 0 {
		by, kept = 1, air[:tiltColumns]
	}
	k := TiltPocket{Top: p.lat.Point(p.lat.At(0, int(top.x)), p.lat.At(1, int(top.y)), top.hi), Width: p.lat.Pitch() * float64(by)}
	at := func(from, quanta float64) float32 { return float32(from + float64(quanta*p.lat.Q)) }
	for _, c := range kept {
		k.Columns = append(k.Columns, TiltColumn{at(p.lat.Origin.X, float64(p.lat.At(0, int(c.x)))), at(p.lat.Origin.Y, float64(p.lat.At(1, int(c.y)))),
			at(p.lat.Origin.Z, float64(c.lo)), at(p.lat.Origin.Z, float64(c.hi))})
	}
	return k
}
