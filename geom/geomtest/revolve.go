package geomtest

import (
	"math"

	"pourproof/geom"
)

// Revolve turns the closed profile (X the radius, Y the height, no crossings, no
// point left of the axis) about the z axis in n equal steps. The faceted solid's
// level sections are regular n-gons; points on the axis become single corners.
func Revolve(profile []Point, n int) *geom.Mesh {
	p := counterClockwise(profile)
	m := &geom.Mesh{}
	first := make([]int32, len(p)) // vertex of each profile point at step 0
	for i, q := range p {
		if q.X < 0 {
			mistake("profile point %d lies left of the axis: %v", i, q)
		}
		first[i] = int32(len(m.Vertices))
		steps := n
		if q.X == 0 {
			steps = 1
		}
		for k := range steps {
			c, s := turn(k, n)
			m.Vertices = append(m.Vertices, geom.Vec{X: q.X * c, Y: q.X * s, Z: q.Y})
		}
	}
	for i := range p {
		j := (i + 1) % len(p)
		for k := range int32(n) {
			next := (k + 1) % int32(n)
			switch {
			case p[i].X > 0 && p[j].X > 0:
				a, b, c, d := first[i]+k, first[i]+next, first[j]+next, first[j]+k
				m.Facets = append(m.Facets, [3]int32{a, b, c}, [3]int32{a, c, d})
			case p[i].X > 0:
				m.Facets = append(m.Facets, [3]int32{first[i] + k, first[i] + next, first[j]})
			case p[j].X > 0:
				m.Facets = append(m.Facets, [3]int32{first[i], first[j] + next, first[j] + k})
			}
		}
	}
	return m
}

// RevolveVolume returns the volume of Revolve's faceted solid: a sum of frustums
// of pyramids over regular n-gons.
func RevolveVolume(profile []Point, n int) float64 {
	sum := 0.0
	for i, a := range profile {
		b := profile[(i+1)%len(profile)]
		sum += float64((b.Y-a.Y)*(float64(a.X*a.X)+float64(a.X*b.X)+float64(b.X*b.X))) / 3
	}
	return math.Abs(sum) * CircleArea(1, n)
}

// PolygonArea returns the area of the polygon, positive when it runs
// counter-clockwise.
func PolygonArea(p []Point) float64 {
	sum := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += orient(p[0], a, b)
	}
	return sum / 2
}

// counterClockwise returns a copy that runs counter-clockwise.
func counterClockwise(p []Point) []Point {
	if len(p) < 3 {
		mistake("polygon of %d points", len(p))
	}
	q := make([]Point, len(p))
	forward := PolygonArea(p) > 0
	for i := range p {
		if forward {
			q[i] = p[i]
		} else {
			q[i] = p[len(p)-1-i]
		}
	}
	return q
}
