package mold

import (
	"math"

	"pourproof/geom"
)

// nearMap tells quickly that a place lies farther than the skin from the fitted
// part: most places do, and asking the tree of facets costs a microsecond each.
type nearMap struct {
	box   geom.Box
	pitch float64
	n     [3]int
	cell  []bool // a facet's box, grown by the skin, touches this cell
}

// nearCells is the number of cells along the part's longest side: a megabyte at
// most.
const nearCells = 96

// newNearMap marks the cells near a part's surface. Cost: O(facets + cells).
func newNearMap(part *geom.Mesh, skin float64) *nearMap {
	f := &nearMap{box: part.Box().Grow(2 * skin)}
	size := f.box.Size()
	f.pitch = max(size.X, size.Y, size.Z) / nearCells
	for a, s := range [3]float64{size.X, size.Y, size.Z} {
		f.n[a] = int(s/f.pitch) + 1
	}
	f.cell = make([]bool, f.n[0]*f.n[1]*f.n[2])
	for i := range part.Facets {
		b := part.Triangle(i).Box().Grow(float64(skin * (1 + 0x1p-40))) // rounding of distances
		lo, hi := f.place(b.Min), f.place(b.Max)
		for x := max(lo[0], 0); x <= min(hi[0], f.n[0]-1); x++ {
			for y := max(lo[1], 0); y <= min(hi[1], f.n[1]-1); y++ {
				for z := max(lo[2], 0); z <= min(hi[2], f.n[2]-1); z++ {
					f.cell[(x*f.n[1]+y)*f.n[2]+z] = true
				}
			}
		}
	}
	return f
}

// place returns the cell of p, which may lie outside the map.
func (f *nearMap) place(p geom.Vec) [3]int {
	d := p.Sub(f.box.Min)
	return [3]int{int(math.Floor(d.X / f.pitch)), int(math.Floor(d.Y / f.pitch)), int(math.Floor(d.Z / f.pitch))}
}

// may tells whether p may lie within the skin.
func (f *nearMap) may(p geom.Vec) bool {
	c := f.place(p)
	for a := range c {
		if c[a] < 0 || c[a] >= f.n[a] {
			return false
		}
	}
	return f.cell[(c[0]*f.n[1]+c[1])*f.n[2]+c[2]]
}

// nearPart tells whether q lies within the skin of the fitted part.
func (m *Mold) nearPart(q geom.Vec) bool {
	if !m.fixed.near.may(q) {
		return false
	}
	_, near := m.fixed.partTree.Nearest(q, m.Skin)
	return near
}
