package geomtest

import (
	"math"
	"slices"

	"pourproof/geom"
)

// Layer is a slab of a Prism: between its loops and their copies Height above.
// Loops may run either way. What lies inside an odd number of loops is solid, so
// an outline with loops inside it is a plate with holes.
type Layer struct {
	Height float64
	Loops  [][]Point
}

// Prism returns the layers stacked upward from z = bottom as one solid: a block
// with round bores, blind holes and cavities needs no boolean operation. Any two
// loops of one layer or of neighboring layers must be the same polygon or keep
// clear of each other. Round walls are two consecutive facets a side.
func Prism(bottom float64, layers ...Layer) *geom.Mesh {
	s := &stack{known: map[corner]int32{}, mesh: &geom.Mesh{}, level: []float64{bottom}}
	for _, l := range layers {
		if !(l.Height > 0) {
			mistake("layer of height %v", l.Height)
		}
		s.level = append(s.level, s.level[len(s.level)-1]+l.Height)
		s.plan = append(s.plan, s.number(l.Loops))
	}
	for i, plan := range s.plan {
		s.walls(i, plan)
	}
	for i := range s.level {
		var below, above []int
		if i > 0 {
			below = s.plan[i-1]
		}
		if i < len(s.plan) {
			above = s.plan[i]
		}
		s.floor(i, below, above)
	}
	return s.mesh
}

// PrismVolume returns the volume of Prism's solid.
func PrismVolume(layers ...Layer) float64 {
	sum := 0.0
	for _, l := range layers {
		for i, a := range l.Loops {
			area := math.Abs(PolygonArea(a))
			for j, b := range l.Loops {
				if i != j && insidePolygon(a[0], b) {
					area = -area
				}
			}
			sum += area * l.Height
		}
	}
	return sum
}

// stack is a Prism under construction.
type stack struct {
	loops [][]Point // distinct, counter-clockwise from their least point
	plan  [][]int   // loops of each layer
	level []float64
	known map[corner]int32
	mesh  *geom.Mesh
}

// corner names a vertex: a point of a loop at a level.
type corner struct{ loop, point, level int }

// number returns the numbers of the loops, the same for the same polygon.
func (s *stack) number(loops [][]Point) []int {
	var plan []int
	for _, l := range loops {
		l = counterClockwise(l)
		least := 0
		for i, p := range l {
			if p.X < l[least].X || (p.X == l[least].X && p.Y < l[least].Y) {
				least = i
			}
		}
		l = append(l[least:len(l):len(l)], l[:least]...)
		i := slices.IndexFunc(s.loops, func(k []Point) bool { return slices.Equal(k, l) })
		if i < 0 {
			i = len(s.loops)
			s.loops = append(s.loops, l)
		}
		if slices.Contains(plan, i) {
			mistake("a layer has the same loop twice")
		}
		plan = append(plan, i)
	}
	return plan
}

func (s *stack) vertex(loop, point, level int) int32 {
	point %= len(s.loops[loop])
	key := corner{loop, point, level}
	i, ok := s.known[key]
	if !ok {
		i = int32(len(s.mesh.Vertices))
		s.known[key] = i
		p := s.loops[loop][point]
		s.mesh.Vertices = append(s.mesh.Vertices, geom.Vec{X: p.X, Y: p.Y, Z: s.level[level]})
	}
	return i
}

// around returns the members of plan that hold the loop, without itself.
func (s *stack) around(loop int, plan []int) []int {
	var out []int
	for _, l := range plan {
		if l != loop && insidePolygon(s.loops[loop][0], s.loops[l]) {
			out = append(out, l)
		}
	}
	return out
}

// walls draws the upright faces of layer i.
func (s *stack) walls(i int, plan []int) {
	for _, l := range plan {
		hole := len(s.around(l, plan))%2 == 1
		for k := range s.loops[l] {
			a, b := s.vertex(l, k, i), s.vertex(l, k+1, i)
			c, d := s.vertex(l, k+1, i+1), s.vertex(l, k, i+1)
			if hole {
				a, b, c, d = b, a, d, c
			}
			s.mesh.Facets = append(s.mesh.Facets, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
}

// floor draws the level faces between two layers: every region between the loops
// of both that is solid on one side only.
func (s *stack) floor(level int, below, above []int) {
	all := slices.Clone(below)
	for _, l := range above {
		if !slices.Contains(all, l) {
			all = append(all, l)
		}
	}
	s.checkApart(all)
	for _, l := range all {
		outer := s.around(l, all)
		solid := func(plan []int) bool {
			n := 0
			for _, o := range append(outer[:len(outer):len(outer)], l) {
				if slices.Contains(plan, o) {
					n++
				}
			}
			return n%2 == 1
		}
		down, up := solid(below), solid(above)
		if down == up {
			continue
		}
		region := []int{l}
		for _, h := range all {
			if len(s.around(h, all)) == len(outer)+1 && slices.Contains(s.around(h, all), l) {
				region = append(region, h)
			}
		}
		s.region(level, region, down)
	}
}

// region draws a level face within the first loop and outside the others.
func (s *stack) region(level int, loops []int, facingUp bool) {
	polygons := make([][]Point, len(loops))
	var ids []int32
	for i, l := range loops {
		polygons[i] = s.loops[l]
		for k := range s.loops[l] {
			ids = append(ids, s.vertex(l, k, level))
		}
	}
	for _, t := range triangulate(polygons) {
		f := [3]int32{ids[t[0]], ids[t[1]], ids[t[2]]}
		if !facingUp {
			f[1], f[2] = f[2], f[1]
		}
		s.mesh.Facets = append(s.mesh.Facets, f)
	}
}

func (s *stack) checkApart(loops []int) {
	for i, a := range loops {
		for _, b := range loops[:i] {
			p, q := s.loops[a], s.loops[b]
			for j := range p {
				for k := range q {
					if segmentsMeet(p[j], p[(j+1)%len(p)], q[k], q[(k+1)%len(q)]) {
						mistake("loops meet at the segment from %v to %v", p[j], p[(j+1)%len(p)])
					}
				}
			}
		}
	}
}
