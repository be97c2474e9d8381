// Package geomtest builds closed solids whose volume is known, for tests and for
// the generator of the example cases.
//
// Every mesh is welded, faces outward, has no degenerate facet and no corner of
// one facet inside another's edge. Where the volume of the faceted solid has a
// closed form a function gives it; the mesh then encloses that volume up to
// rounding. Points on circles are rounded to multiples of 2^-40 of the radius,
// so that the bytes do not depend on a processor's trigonometric functions.
//
// Impossible shapes (crossing loops, a profile left of the axis) are mistakes in
// the calling code and panic with the reason.
package geomtest

import (
	"fmt"
	"math"

	"pourproof/geom"
)

// Point is a point of a plane: x and y of a layer's outline, or radius and height
// of a profile to revolve, mm.
type Point struct{ X, Y float64 }

// Box returns an axis-aligned box of 12 facets.
func Box(lo, hi geom.Vec) *geom.Mesh { return Grid(Add(lo, hi)) }

// Cylinder returns the prism over a regular n-gon of the given circumradius about
// the z axis, from z = 0 to height. Its volume is CircleArea(radius, n)*height.
func Cylinder(radius, height float64, n int) *geom.Mesh {
	return Revolve([]Point{{0, 0}, {radius, 0}, {radius, height}, {0, height}}, n)
}

// Sphere returns a sphere about the origin with corners on n meridians and rings-1
// parallels; RevolveVolume(SphereProfile(radius, rings), n) is its volume.
func Sphere(radius float64, n, rings int) *geom.Mesh {
	return Revolve(SphereProfile(radius, rings), n)
}

// SphereProfile returns the half circle of Sphere, pole to pole.
func SphereProfile(radius float64, rings int) []Point {
	p := make([]Point, 0, rings+1)
	p = append(p, Point{0, -radius})
	for i := 1; i < rings; i++ {
		c, s := turn(i, 2*rings)
		p = append(p, Point{radius * s, -radius * c})
	}
	return append(p, Point{0, radius})
}

// Torus returns a ring about the z axis: a tube of the given radius, of tube
// corners, whose middle runs at the distance ring from the axis.
func Torus(ring, radius float64, n, tube int) *geom.Mesh {
	return Revolve(TorusProfile(ring, radius, tube), n)
}

// TorusProfile returns the circle that Torus revolves.
func TorusProfile(ring, radius float64, tube int) []Point {
	return Circle(Point{ring, 0}, radius, tube)
}

// Icosphere returns an icosahedron whose facets were split k times in four, all
// corners on the sphere of the given radius about the origin: 20*4^k facets of
// nearly one size.
func Icosphere(radius float64, k int) *geom.Mesh {
	g := (1 + math.Sqrt(5)) / 2
	m := &geom.Mesh{
		Vertices: []geom.Vec{
			{X: -1, Y: g}, {X: 1, Y: g}, {X: -1, Y: -g}, {X: 1, Y: -g},
			{Y: -1, Z: g}, {Y: 1, Z: g}, {Y: -1, Z: -g}, {Y: 1, Z: -g},
			{X: g, Z: -1}, {X: g, Z: 1}, {X: -g, Z: -1}, {X: -g, Z: 1},
		},
		Facets: [][3]int32{
			{0, 11, 5}, {0, 5, 1}, {0, 1, 7}, {0, 7, 10}, {0, 10, 11},
			{1, 5, 9}, {5, 11, 4}, {11, 10, 2}, {10, 7, 6}, {7, 1, 8},
			{3, 9, 4}, {3, 4, 2}, {3, 2, 6}, {3, 6, 8}, {3, 8, 9},
			{4, 9, 5}, {2, 4, 11}, {6, 2, 10}, {8, 6, 7}, {9, 8, 1},
		},
	}
	for range k {
		m = Subdivide(m, 1)
		m = m.Map(geom.Vec.Unit) // split chords, not arcs, would crowd the corners
	}
	return m.Map(func(v geom.Vec) geom.Vec { return v.Unit().Scale(radius) })
}

// Circle returns the regular n-gon with corners on the circle, counter-clockwise,
// the first in direction +X.
func Circle(center Point, radius float64, n int) []Point {
	p := make([]Point, n)
	for i := range p {
		c, s := turn(i, n)
		p[i] = Point{center.X + float64(radius*c), center.Y + float64(radius*s)}
	}
	return p
}

// CircleArea returns the area of Circle's polygon.
func CircleArea(radius float64, n int) float64 {
	return float64(n) / 2 * radius * radius * math.Sin(2*math.Pi/float64(n))
}

// Rect returns the rectangle between two corners, counter-clockwise.
func Rect(x0, y0, x1, y1 float64) []Point {
	return []Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
}

// turn returns cosine and sine of i/n of a full turn, rounded to 2^-40.
func turn(i, n int) (c, s float64) {
	const quantum = 1.0 / (1 << 40)
	s, c = math.Sincos(2 * math.Pi * float64(i) / float64(n))
	return math.Round(c/quantum) * quantum, math.Round(s/quantum) * quantum
}

func mistake(format string, args ...any) { panic("geomtest: " + fmt.Sprintf(format, args...)) }
