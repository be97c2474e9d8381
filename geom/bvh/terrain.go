package bvh

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// A terrain is a piece of surface that nowhere lies over itself along an axis (de
// Berg et al., Computational Geometry, 2008, chapter 5): its facets cannot cross each other.
// Connected facets that all face one way along an axis cover a place, seen along it,
// as often as their outline winds around it, so the outline alone shows whether they
// are a terrain.

const (
	noTerrain = int32(-1)
	// leastTerrain is the number of facets from which a terrain is worth its outline.
	leastTerrain = 16
	// frontShare bounds the work of a sweep: how many edges it moves for each end of an
	// edge, on average, 4 bytes each.
	frontShare = 1 << 10
)

// terrains returns, for each facet, the number of a terrain that it belongs to, or
// noTerrain. mates are the mesh's, sides those of its facets. Linear in the facets, and
// sorts the outlines.
func terrains(m *geom.Mesh, mates []int32, sides []side) []int32 {
	piece, sizes := connected(m, mates, sides)
	var rims []int32 // of all outlines
	first := make([]int32, len(sizes)+1)
	for f, p := range piece {
		if p == noTerrain || sizes[p] < leastTerrain {
			continue
		}
		for h := int32(3 * f); h < int32(3*f+3); h++ {
			if g := mates[h]; g < 0 || piece[g/3] != p || start(m, g) == start(m, h) {
				rims = append(rims, h)
				first[p+1]++
			}
		}
	}
	for p := range sizes {
		first[p+1] += first[p]
	}
	edges, next := make([]int32, len(rims)), slices.Clone(first)
	for _, h := range rims {
		p := piece[h/3]
		edges[next[p]] = h
		next[p]++
	}
	for p, size := range sizes {
		if size < leastTerrain || !coversOnce(m, edges[first[p]:first[p+1]], sides) {
			sizes[p] = 0
		}
	}
	for f, p := range piece {
		if p != noTerrain && sizes[p] == 0 {
			piece[f] = noTerrain
		}
	}
	return piece
}

// start returns the vertex at which a half-edge begins, end the one at which it ends.
func start(m *geom.Mesh, h int32) int32 { return m.Facets[h/3][h%3] }
func end(m *geom.Mesh, h int32) int32   { return m.Facets[h/3][(h+1)%3] }

// connected numbers the pieces of facets with one side that hang together over edges,
// and returns their sizes. Slanted facets are of none.
func connected(m *geom.Mesh, mates []int32, sides []side) (piece, sizes []int32) {
	piece = make([]int32, len(sides))
	for f := range piece {
		piece[f] = noTerrain
	}
	var stack []int32
	for f := range piece {
		if piece[f] != noTerrain || sides[f] == slanted {
			continue
		}
		p, size := int32(len(sizes)), int32(0)
		piece[f], stack = p, append(stack, int32(f))
		for len(stack) > 0 {
			g := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			size++
			for _, h := range mates[3*g : 3*g+3] {
				if h >= 0 && piece[h/3] == noTerrain && sides[h/3] == sides[g] {
					piece[h/3], stack = p, append(stack, h/3)
				}
			}
		}
		sizes = append(sizes, size)
	}
	return piece, sizes
}

// A side is the axis that a facet faces most, twice, and one more where it faces the
// axis's negative end.
type side uint8

// slanted is the side of a facet that faces no axis for certain.
const slanted side = 6

func sideOf(t *geom.Triangle) side {
	n := t.B.Sub(t.A).Cross(t.C.Sub(t.A))
	s, most := side(0), n.X
	if math.Abs(n.Y) > math.Abs(most) {
		s, most = 2, n.Y
	}
	if math.Abs(n.Z) > math.Abs(most) {
		s, most = 4, n.Z
	}
	if most < 0 {
		s++
	}
	if s.seen(t.A).turn(s.seen(t.B), s.seen(t.C)) <= 0 {
		return slanted
	}
	return s
}

// seen returns a point as it is seen from outside along the side's axis: exactly, for
// one coordinate is left out.
func (s side) seen(p geom.Vec) seen {
	q := seen{p.X, p.Y}
	switch s / 2 {
	case 0:
		q = seen{p.Y, p.Z}
	case 1:
		q = seen{p.Z, p.X}
	}
	if s&1 != 0 {
		q.x, q.y = q.y, q.x
	}
	return q
}

// seen is a point in a view.
type seen struct{ x, y float64 }

// below orders points from the bottom up, level ones from left to right.
func (a seen) below(b seen) int { return cmp.Or(cmp.Compare(a.y, b.y), cmp.Compare(a.x, b.x)) }

// turn is positive where the way from a over b to c turns left, negative where it turns
// right, and 0 where rounding leaves that open: the two products and their difference
// are each off by 2^-53 of themselves at most, as are their factors (Shewchuk 1997, 4.1).
func (a seen) turn(b, c seen) float64 {
	p, q := float64((b.x-a.x)*(c.y-a.y)), float64((b.y-a.y)*(c.x-a.x))
	if d := p - q; math.Abs(d) > (math.Abs(p)+math.Abs(q))*0x1p-50 {
		return d
	}
	return 0
}
