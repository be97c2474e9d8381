package mold

import (
	"math"

	"pourproof/geom"
)

// rimLines is the number of places around a mouth. Between two of them the rim of a
// mouth of radius r lies off by no more than 2r tan^2(0.5 deg) where it is round, and by r
// tan(0.5 deg) at a corner: 0.05 mm for r 5.7.
const rimLines = 360

// rimOf returns the line on which a channel's wall meets the fitted part, as places
// around its mouth: heights of the mouth are those of the rim, whatever is up. Two
// sections of the channel, parallel to the part's surface there and clear of the skin,
// give the wall's own lines; each runs on until it meets the part. Nil where the mouth
// cannot be told that way: a slit, an open side, a bore that grazes the part.
func (m *Mold) rimOf(c *Channel) []geom.Vec {
	near, ok := m.fixed.partTree.Nearest(c.Mouth, m.Skin+m.Cell0())
	if !ok || c.Slit || c.Axis == (geom.Vec{}) {
		return nil
	}
	n := m.fixed.part.Triangle(int(near.Facet)).Normal()
	steep := c.Axis.Dot(n)
	if steep < 0.25 { // below 15 deg off the surface the mouth is many diameters long
		return nil
	}
	lift := 2 * m.Skin
	near1, near2 := c.Mouth.AddScaled(c.Axis, lift/steep), c.Mouth.AddScaled(c.Axis, 2*lift/steep)
	far := 8 * max(c.MouthDiameter, c.Diameter) / steep
	u, v := n.Perpendicular()
	var rim []geom.Vec
	for k := range rimLines {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / rimLines)
		d := u.Scale(roundAngle(cos)).AddScaled(v, roundAngle(sin)).Unit()
		a, ok := m.wallFrom(c, near1, d, far)
		b, found := m.wallFrom(c, near2, d, far)
		if !ok || !found {
			return nil
		}
		q := a.AddScaled(a.Sub(b), 1) // on the tangent plane, if the part is not met
		if h, ok := m.fixed.partTree.First(a, a.Sub(b).Unit(), 4*a.Dist(b)); ok {
			q = h.Point
		}
		rim = append(rim, roundPlace(q))
	}
	return rim
}

// wallFrom returns where a line from p in a channel along d meets the channel's wall,
// a little on this side of it.
func (m *Mold) wallFrom(c *Channel, p, d geom.Vec, far float64) (geom.Vec, bool) {
	const inside = 1e-4 // mm; keeps lines along the wall off its facets
	if c.Tried {
		// A round bore: |p + t d - axis| = r.
		across := d.AddScaled(c.Axis, -d.Dot(c.Axis))
		return p.AddScaled(d, c.Diameter/2/across.Norm()-inside), across.Norm() > 1e-6
	}
	h, ok := m.fixed.tree.First(p, d, far)
	return p.AddScaled(d, h.Dist-inside), ok
}

// rimHeights returns the lowest and the highest place of a rim along up.
func rimHeights(rim []geom.Vec, up geom.Vec) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, p := range rim {
		h := p.Dot(up)
		low, high = min(low, h), max(high, h)
	}
	return low, high
}
