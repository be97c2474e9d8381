package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// pullFrom says how a pull was found: its source and, from a parting face, the share of
// that face that lies square to it (1 for a plane).
type pullFrom struct {
	source PullSource
	share  float64
}

// pulls returns, per half, the direction in which it leaves the part: against
// the mean outward normal of its parting face, the part of its surface that
// faces another half within the seal width, or near it if none does. Sides of keys cancel in the mean. A
// half without a parting face (or one all around it) pulls away from the middle
// of the others.
func (m *Mold) pulls() []geom.Vec {
	f := m.fixed
	out := make([]geom.Vec, len(f.halves))
	m.pullFrom = make([]pullFrom, len(f.halves))
	for h := range f.halves {
		if p := m.Halves[h].Pull; p != nil {
			out[h] = p.Unit()
			m.pullFrom[h].source = PullGiven
			continue
		}
		face, area := m.partingFace(h, m.Seal)
		if area == 0 { // the halves stand apart: where they would meet
			face, area = m.partingFace(h, facingReach)
		}
		// Below a tenth the normals cancel: the mean points nowhere in particular.
		if n := face.Norm(); area > 0 && n > 0.1*area {
			out[h] = squareUp(face.Scale(-1 / n))
			// The area is a sum over axes, and so is what the mean face has of it.
			share := (math.Abs(face.X) + math.Abs(face.Y) + math.Abs(face.Z)) / area
			m.pullFrom[h] = pullFrom{PullParting, share}
			continue
		}
		m.pullFrom[h].source = PullMiddle
		rest := geom.EmptyBox()
		for o := range f.halves {
			if o != h {
				rest = rest.Union(f.halves[o].Box())
			}
		}
		out[h] = f.halves[h].Box().Center().Sub(rest.Center()).Unit()
		if out[h] == (geom.Vec{}) {
			out[h] = geom.Vec{Z: 1}
		}
	}
	return out
}

// squareUp takes a direction that a sum over samples left within 0.5 deg of an
// axis of the CAD frame onto that axis: parting planes are drawn square.
func squareUp(d geom.Vec) geom.Vec {
	const near = 0.99996 // cos 0.5 deg
	for _, a := range [6]geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
		if d.Dot(a) > near {
			return a
		}
	}
	return d
}

// partingFace returns the vector area (mm2) of the part of half h's surface that
// faces another half within some mm, and its size summed by axis. It is
// sampled where lattice lines leave the half.
func (m *Mold) partingFace(h int, within float64) (face geom.Vec, area float64) {
	f := m.fixed
	box := f.halves[h].Box()
	s := box.Size()
	pitch := max(s.X, s.Y, s.Z) / 120
	lat, err := column.NewLattice(geom.Identity(), box, pitch)
	if err != nil {
		return face, 0
	}
	sol := column.Snap(lat, []*geom.Mesh{f.halves[h]}, nil)
	cell := pitch * pitch
	for axis := 0; axis < 3; axis++ {
		sol.Cast(axis).Each(&lat, func(p geom.Vec, facet int32, leaving bool) {
			if !f.meets(h, p, sol.Normal(facet), within) {
				return
			}
			w := cell // the sample stands for cell mm2 as seen along the axis
			if !leaving {
				w = -cell
			}
			switch axis {
			case 0:
				face.X += w
			case 1:
				face.Y += w
			default:
				face.Z += w
			}
			area += cell
		})
	}
	return face, area
}
