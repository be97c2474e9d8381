package mold

import (
	"math"

	"pourproof/geom"
)

// spoiled estimates, per pocket, the part's surface that its air touches: every
// crossing of a lattice line with the part's surface stands for pitch squared
// times the normal's share along that line, which sums over the three axes to
// the area. The second answer is the volume in mm3 that the facets' chords cut
// off there: a flat arc's mean height is two thirds of its sagitta. The third is a
// show face that one of these crossings lies on, in the order of the job.
func (p *pour) spoiled(lv *levels) (out, chord []float64, shown []string) {
	columns, any := p.airy()
	if !any {
		n := len(p.flow.Seals)
		return make([]float64, n), make([]float64, n), make([]string, n)
	}
	return p.spoiledOver(columns, lv)
}

// spoiledOver is spoiled by the crossings over marked columns; nil = all.
func (p *pour) spoiledOver(columns []bool, lv *levels) (out, chord []float64, shown []string) {
	n := len(p.flow.Seals)
	out, chord, shown = make([]float64, n), make([]float64, n), make([]string, n)
	face := make([]int, n) // its place in the job, from 1; 0 = none
	chords := p.m.fixed.chords()
	sol := p.partSolids()
	axes := [3]geom.Vec{p.lat.Frame.X, p.lat.Frame.Y, p.lat.Frame.Z}
	for axis := 0; axis < 3; axis++ {
		sol.Cast(axis).EachOver(&p.lat, columns, func(q geom.Vec, facet int32, _ bool) {
			n := sol.Normal(facet)
			if k := p.pocketAt(q.AddScaled(n, -p.lat.Pitch()/2), lv); k >= 0 {
				a := p.area() * math.Abs(n.Dot(axes[axis]))
				out[k] += a
				chord[k] += float64(a*chords.Of(facet)) * 2 / 3
				if i := p.m.showFaceAt(q, n); i > 0 && (face[k] == 0 || i < face[k]) {
					face[k], shown[k] = i, p.m.showName(i)
				}
			}
		})
	}
	return out, chord, shown
}

// airy marks the columns with trapped air and those next to one, and tells whether
// there is any: a place half a pitch off a marked column's neighbour has none.
func (p *pour) airy() (columns []bool, any bool) {
	nx, ny := p.lat.N[0], p.lat.N[1]
	columns = make([]bool, nx*ny)
	for r, i := range p.piece {
		if p.flow.Pocket[r] < 0 || !p.flow.Reached[r] {
			continue
		}
		any = true
		x, y := p.column(i)
		for a := max(x-1, 0); a <= min(x+1, nx-1); a++ {
			for b := max(y-1, 0); b <= min(y+1, ny-1); b++ {
				columns[a*ny+b] = true
			}
		}
	}
	return columns, any
}

// pocketAt returns the pocket whose air is at a place, -1 for none.
func (p *pour) pocketAt(q geom.Vec, lv *levels) int32 {
	u := p.lat.Place(q)
	s := 1 / float64(int64(1)<<p.lat.Bits)
	x, y := int(math.Floor(u.X*s+0.5)), int(math.Floor(u.Y*s+0.5))
	if x < 0 || y < 0 || x >= p.lat.N[0] || y >= p.lat.N[1] {
		return -1
	}
	z := int32(u.Z)
	c := x*p.lat.N[1] + y
	for i := p.start[c]; i < p.start[c+1]; i++ {
		if z < p.lo[i] || z > p.hi[i] {
			continue
		}
		r := p.run[i]
		if r >= 0 && p.flow.Reached[r] && p.flow.Pocket[r] >= 0 && z >= lv.of(r) {
			return p.flow.Pocket[r]
		}
		return -1
	}
	return -1
}
