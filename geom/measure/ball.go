package measure

import (
	"math"

	"pourproof/geom"
)

// mostSteps bounds the walk over the opposite surface, in facets.
const mostSteps = 64

// leastTurn is 1 less the cosine of the angle between two facets' normals, 60 deg, below
// which the walk has come to a side that looks the same way: nothing opposed lies there.
const leastTurn = 0.5

// touch is where a ball touches the opposite surface.
type touch struct {
	d  float64
	at geom.Vec
	on int32
}

// Ball returns the ball inside the material that touches the surface at p, a point of
// facet f, and the surface opposite, found by walking downhill from facet from: its
// diameter and place of contact. It is false where the way ends at no opposed face.
func (t *Thickness) Ball(p geom.Vec, f, from int32) (d float64, at geom.Vec, on int32, ok bool) {
	b, ok := t.ball(p, t.Normal[f].Neg(), from)
	return b.d, b.at, b.on, ok
}

// ball walks over the opposite surface. On the plane of a facet the ball's contact
// has a closed form; while it lies beyond an edge of the facet the walk goes on over
// that edge. Where two facets send it to and fro the contact is on their edge.
func (t *Thickness) ball(p, inward geom.Vec, g int32) (touch, bool) {
	before := int32(-1)
	for range mostSteps {
		f, n := &t.Mesh.Facets[g], t.Normal[g]
		a, b, c := t.Mesh.Vertices[f[0]], t.Mesh.Vertices[f[1]], t.Mesh.Vertices[f[2]]
		h, den := n.Dot(a.Sub(p)), 1+inward.Dot(n)
		if !(h > 0) || den < leastTurn {
			return touch{}, false
		}
		r := h / den
		x := p.AddScaled(inward.Add(n), r)
		k := beyond(n, a.Sub(x), b.Sub(x), c.Sub(x))
		if k < 0 {
			return t.judge(p, inward, touch{2 * r, x, g})
		}
		m := t.Mates[3*g+int32(k)]
		if m < 0 {
			return touch{}, false
		}
		if m/3 == before {
			return t.onEdge(p, inward, g, k)
		}
		before, g = g, m/3
	}
	return touch{}, false
}

// judge accepts a contact that lies opposed.
func (t *Thickness) judge(p, inward geom.Vec, c touch) (touch, bool) {
	v := c.at.Sub(p)
	return c, t.opposed(inward.Dot(v), v.Norm2())
}

// beyond returns the edge of a triangle, with the normal n, that the origin of its plane
// lies farthest outside of, -1 where it lies inside.
func beyond(n, a, b, c geom.Vec) int {
	// Twice the areas of the triangles that the edges make with the origin.
	ab, bc, ca := n.Dot(a.Cross(b)), n.Dot(b.Cross(c)), n.Dot(c.Cross(a))
	switch {
	case ab < 0:
		if bc < 0 && farther(bc, b.Sub(c), ab, a.Sub(b)) {
			return 1 // no point lies outside of all three
		} else if ca < 0 && farther(ca, c.Sub(a), ab, a.Sub(b)) {
			return 2
		}
		return 0
	case bc < 0:
		if ca < 0 && farther(ca, c.Sub(a), bc, b.Sub(c)) {
			return 2
		}
		return 1
	case ca < 0:
		return 2
	}
	return -1
}

// farther tells whether an edge lies farther off than another one, by the areas that they
// make with a point.
func farther(area float64, edge geom.Vec, other float64, otherEdge geom.Vec) bool {
	return float64(area*area)*otherEdge.Norm2() > float64(other*other)*edge.Norm2()
}

// onEdge returns the least ball that touches an edge of a facet. With a + s b the
// edge seen from p, its diameter |a + s b|2/(inward . (a + s b)) is least where the
// derivative, a quadratic in s, is zero.
func (t *Thickness) onEdge(p, inward geom.Vec, g int32, k int) (touch, bool) {
	f := t.Mesh.Facets[g]
	v0, v1 := t.Mesh.Vertices[f[k]], t.Mesh.Vertices[f[(k+1)%3]]
	a, b := v0.Sub(p), v1.Sub(v0)
	a0, a1, a2 := a.Norm2(), a.Dot(b), b.Norm2()
	h0, h1 := inward.Dot(a), inward.Dot(b)
	best := touch{d: math.Inf(1), on: g}
	try := func(s float64) {
		s = min(max(s, 0), 1)
		x := v0.AddScaled(b, s)
		v := x.Sub(p)
		if rise := inward.Dot(v); rise > 0 {
			if d := v.Norm2() / rise; d < best.d {
				best.d, best.at = d, x
			}
		}
	}
	if a2 > 0 {
		qa, qb, qc := float64(a2*h1), float64(2*float64(a2*h0)), float64(2*float64(a1*h0))-float64(h1*a0)
		if math.Abs(qa) <= 1e-12*math.Abs(qb) {
			if qb != 0 {
				try(-qc / qb)
			}
		} else if disc := float64(qb*qb) - float64(4*float64(qa*qc)); disc >= 0 {
			// The root that loses no digits, and the other one from it.
			q := -0.5 * (qb + math.Copysign(math.Sqrt(disc), qb))
			try(q / qa)
			if q != 0 {
				try(qc / q)
			}
		}
	}
	try(0)
	try(1)
	if math.IsInf(best.d, 1) {
		return best, false
	}
	return t.judge(p, inward, best)
}
