package mold

import (
	"math"

	"pourproof/geom"
)

// nearMap tells quickly that a place lies farther than the skin from the fitted
// part: most places do, and asking the tree of facets costs a microsecond each.
type nearMap struct {
	box  geom.Box
	per  float64 // cells a mm
	n    [3]int
	cell []bool // a facet's box, grown by the skin, touches this cell
}

// nearCells is the number of cells along the part's longest side: a megabyte at
// most.
const nearCells = 96

// newNearMap marks the cells near a part's surface. Cost: O(facets + cells).
func newNearMap(part *geom.Mesh, skin float64) *nearMap {
	f := &nearMap{box: part.Box().Grow(2 * skin)}
	size := f.box.Size()
	f.per = nearCells / max(size.X, size.Y, size.Z)
	for a, s := range [3]float64{size.X, size.Y, size.Z} {
		f.n[a] = int(float64(s*f.per)) + 1
	}
	f.cell = make([]bool, f.n[0]*f.n[1]*f.n[2])
	for i := range part.Facets {
		b := part.Triangle(i).Box().Grow(float64(skin * (1 + 0x1p-40))) // rounding of distances
		x0, y0, z0 := f.place(b.Min)
		x1, y1, z1 := f.place(b.Max)
		for x := max(x0, 0); x <= min(x1, f.n[0]-1); x++ {
			for y := max(y0, 0); y <= min(y1, f.n[1]-1); y++ {
				for z := max(z0, 0); z <= min(z1, f.n[2]-1); z++ {
					f.cell[(x*f.n[1]+y)*f.n[2]+z] = true
				}
			}
		}
	}
	return f
}

// place returns the cell of p, which may lie outside the map.
func (f *nearMap) place(p geom.Vec) (x, y, z int) {
	d := p.Sub(f.box.Min).Scale(f.per)
	return int(math.Floor(d.X)), int(math.Floor(d.Y)), int(math.Floor(d.Z))
}

// may tells whether p may lie within the skin.
func (f *nearMap) may(p geom.Vec) bool {
	x, y, z := f.place(p)
	if uint(x) >= uint(f.n[0]) || uint(y) >= uint(f.n[1]) || uint(z) >= uint(f.n[2]) {
		return false
	}
	return f.cell[(x*f.n[1]+y)*f.n[2]+z]
}

// each calls visit for the rows of cells in which places within the skin may lie.
func (f *nearMap) each(visit func(row geom.Box)) {
	for first := 0; first < len(f.cell); first += f.n[2] {
		row, c := f.cell[first:first+f.n[2]], first/f.n[2]
		at := func(x, y, z int) geom.Vec {
			return geom.Vec{X: float64(x), Y: float64(y), Z: float64(z)}.Scale(1 / f.per).Add(f.box.Min)
		}
		for from := 0; from < len(row); from++ {
			to := from
			for to < len(row) && row[to] {
				to++
			}
			if to > from {
				visit(geom.Box{Min: at(c/f.n[1], c%f.n[1], from), Max: at(c/f.n[1]+1, c%f.n[1]+1, to)})
				from = to
			}
		}
	}
}

// nearPart tells whether q lies within the skin of the fitted part.
func (m *Mold) nearPart(q geom.Vec) bool {
	return m.fixed.near.may(q) && m.fixed.partTree.Within(q, m.Skin)
}
