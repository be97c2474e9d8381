package mold

import (
	"math"

	"pourproof/geom"
)

// farthest returns the half's points that lie farthest out in some direction, each once.
// Cost: the points once, and for every direction the cubes that hold them.
func (r *rubber) farthest(dirs []geom.Vec) []geom.Vec {
	g := newPointGrid(r.mesh.Vertices, r.span/cubesAcross)
	var cubes [][]int32
	var boxes []geom.Box
	for c := 0; c+1 < len(g.start); c++ {
		if list := g.order[g.start[c]:g.start[c+1]]; len(list) > 0 {
			box := geom.EmptyBox()
			for _, i := range list {
				box = box.Include(g.points[i])
			}
			cubes, boxes = append(cubes, list), append(boxes, box)
		}
	}
	seen := map[int32]bool{}
	var out []geom.Vec
	start := 0 // the last one's cube: as a rule near the next one's
	for _, d := range dirs {
		best, far := int32(-1), math.Inf(-1)
		look := func(c int) {
			for _, i := range cubes[c] {
				if z := d.Dot(g.points[i]); z > far || z == far && i < best {
					best, far, start = i, z, c
				}
			}
		}
		if len(cubes) > 0 {
			look(start)
		}
		for c := range cubes {
			if reach(boxes[c], d)+farSlack >= far {
				look(c)
			}
		}
		if best >= 0 && !seen[best] {
			seen[best] = true
			out = append(out, g.points[best])
		}
	}
	return out
}

// cubesAcross is the number of cubes along a half's diagonal: some thousand hold points.
const cubesAcross = 48

// farSlack in mm is far above what a product with a unit vector is rounded by at a
// kilometre, 2^-52 of it.
const farSlack = 1e-6

// reach returns the greatest p . d over a box's points p.
func reach(b geom.Box, d geom.Vec) float64 {
	pick := func(x, low, high float64) float64 {
		if x > 0 {
			return float64(x * high)
		}
		return float64(x * low)
	}
	return pick(d.X, b.Min.X, b.Max.X) + pick(d.Y, b.Min.Y, b.Max.Y) + pick(d.Z, b.Min.Z, b.Max.Z)
}
