package mold

import (
	"pourproof/geom"
	"pourproof/geom/column"
)

// airColumn is the air of one lattice column, quanta.
type airColumn struct{ x, y, lo, hi int32 }

// airField keeps the columns of the reported pockets for pictures.
type airField struct {
	lat     column.Lattice
	columns [][]airColumn // per reported pocket
}

// keepAir stores the air of the reported pockets, channels included.
func (p *pour) keepAir(f *Fill, lv *levels) {
	f.air = &airField{lat: p.lat, columns: make([][]airColumn, len(f.Pockets))}
	for r, i := range p.piece {
		k := p.flow.Pocket[r]
		if k < 0 || !p.flow.Reached[r] || p.idOf[k] == 0 {
			continue
		}
		x, y := p.column(i)
		if z := lv.of(int32(r)); z < p.hi[i] {
			n := p.idOf[k] - 1
			f.air.columns[n] = append(f.air.columns[n], airColumn{int32(x), int32(y), z, p.hi[i]})
		}
	}
}

// AirMesh returns the air of a reported pocket as square columns one cell wide
// with exact tops and bottoms, in the CAD frame, outward; nil for a pocket that f
// does not have. Faces between columns that touch are left out.
func (m *Mold) AirMesh(f *Fill, pocket int) *geom.Mesh {
	if f.air == nil || pocket < 1 || pocket > len(f.air.columns) {
		return nil
	}
	return f.air.mesh(pocket - 1)
}

// mesh returns the surface of the n-th list of columns.
func (a *airField) mesh(n int) *geom.Mesh {
	b := blocks{lat: a.lat, at: map[[2]int32][]airColumn{}, mesh: &geom.Mesh{}}
	for _, c := range a.columns[n] {
		key := [2]int32{c.x, c.y}
		b.at[key] = append(b.at[key], c)
	}
	for _, c := range a.columns[n] {
		b.column(c)
	}
	return b.mesh
}

// blocks builds the surface of columns.
type blocks struct {
	lat  column.Lattice
	at   map[[2]int32][]airColumn
	mesh *geom.Mesh
}

func (b *blocks) column(c airColumn) {
	half := int32(1) << (b.lat.Bits - 1)
	x0, x1 := b.lat.At(0, int(c.x))-half, b.lat.At(0, int(c.x))+half
	y0, y1 := b.lat.At(1, int(c.y))-half, b.lat.At(1, int(c.y))+half
	b.quad(x0, y0, c.hi, x1, y0, c.hi, x1, y1, c.hi, x0, y1, c.hi)
	b.quad(x0, y0, c.lo, x0, y1, c.lo, x1, y1, c.lo, x1, y0, c.lo)
	b.side(c, -1, 0, x0, y1, x0, y0)
	b.side(c, 1, 0, x1, y0, x1, y1)
	b.side(c, 0, -1, x0, y0, x1, y0)
	b.side(c, 0, 1, x1, y1, x0, y1)
}

// side adds the parts of a column's side that the neighbour there leaves free;
// seen from outside the edge runs from (xa,ya) to (xb,yb).
func (b *blocks) side(c airColumn, dx, dy, xa, ya, xb, yb int32) {
	z := c.lo
	for _, n := range b.at[[2]int32{c.x + dx, c.y + dy}] { // ascending: columns are listed upward
		lo, hi := max(n.lo, c.lo), min(n.hi, c.hi)
		if lo >= hi {
			continue
		}
		if lo > z {
			b.quad(xa, ya, z, xb, yb, z, xb, yb, lo, xa, ya, lo)
		}
		z = max(z, hi)
	}
	if z < c.hi {
		b.quad(xa, ya, z, xb, yb, z, xb, yb, c.hi, xa, ya, c.hi)
	}
}

// quad adds a rectangle, counter-clockwise seen from outside.
func (b *blocks) quad(q ...int32) {
	n := int32(len(b.mesh.Vertices))
	for i := 0; i < len(q); i += 3 {
		b.mesh.Vertices = append(b.mesh.Vertices, b.lat.Point(q[i], q[i+1], q[i+2]))
	}
	b.mesh.Facets = append(b.mesh.Facets, [3]int32{n, n + 1, n + 2}, [3]int32{n, n + 2, n + 3})
}

// BoreMesh returns the cutter of a suggested vent: a closed 64-sided cylinder
// that begins a radius inside the cavity and ends beyond the outer face, ready
// for a boolean cut in CAD.
func (m *Mold) BoreMesh(v SuggestedVent) *geom.Mesh {
	r := v.Diameter / 2
	return cylinder(v.Mouth.AddScaled(v.Direction, -r), v.Direction, r, r+v.Length+v.Diameter+1)
}
