package proof

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// above is the exact volume of a closed mesh above the plane up . p = level: every
// facet, clipped to that side, carries the prism between it and the plane.
func above(m *geom.Mesh, up geom.Vec, level float64) float64 {
	sum := 0.0
	for f := range m.Facets {
		t := m.Triangle(f)
		poly := clipped([]geom.Vec{t.A, t.B, t.C}, up, level)
		for k := 1; k+1 < len(poly); k++ {
			a, b, c := poly[0], poly[k], poly[k+1]
			shadow := b.Sub(a).Cross(c.Sub(a)).Dot(up) / 2
			sum += shadow * ((a.Dot(up)+b.Dot(up)+c.Dot(up))/3 - level)
		}
	}
	return sum
}

// clipped is the part of a convex polygon above the plane (Sutherland and Hodgman
// 1974).
func clipped(poly []geom.Vec, up geom.Vec, level float64) (out []geom.Vec) {
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		ha, hb := a.Dot(up)-level, b.Dot(up)-level
		if ha >= 0 {
			out = append(out, a)
		}
		if (ha > 0 && hb < 0) || (ha < 0 && hb > 0) {
			out = append(out, a.Lerp(b, ha/(ha-hb)))
		}
	}
	return out
}

// highest is the greatest height of the points along up.
func highest(up geom.Vec, points ...geom.Vec) float64 {
	h := math.Inf(-1)
	for _, p := range points {
		h = max(h, p.Dot(up))
	}
	return h
}

// room is a pocket that a pour leaves in a made mold: what of a solid lies above the
// highest of some points, the mouth's.
type room struct {
	solid *geom.Mesh
	mouth []geom.Vec
}

// made is a mold with known pockets, tilted, then turned in the plane as a whole.
type made struct {
	name        string
	setup       setup
	rooms       []room
	gate        geom.Vec
	angle, side float64 // degrees
	turn        float64 // degrees about z
}

func (m *made) up() geom.Vec { return up(m.angle, m.side) }

// truth is the trapped air.
func (m *made) truth() float64 {
	sum := 0.0
	for _, r := range m.rooms {
		sum += above(r.solid, m.up(), highest(m.up(), r.mouth...))
	}
	return sum
}

// loop3 lifts a plane outline to a height.
func loop3(loop []geomtest.Point, z float64) (out []geom.Vec) {
	for _, p := range loop {
		out = append(out, vec(p.X, p.Y, z))
	}
	return out
}

func layer(h float64, loops ...[]geomtest.Point) geomtest.Layer {
	return geomtest.Layer{Height: h, Loops: loops}
}

// boxRoom is a box w x d x h with a square vent v wide whose middle stands at a share
// (x, y) of the ceiling.
func boxRoom(w, d, h, v, x, y float64) made {
	block, rest := geomtest.Rect(-5, -5, w+5, d+5), geomtest.Rect(0, 0, w, d)
	cx, cy := x*w, y*d
	vent, gate := geomtest.Rect(cx-v/2, cy-v/2, cx+v/2, cy+v/2), geomtest.Rect(1, 1, 4, 4)
	return made{
		setup: setup{part: body("part", geomtest.Prism(0, layer(h, rest))),
			halves: halves(geomtest.Prism(-5, layer(5, block, gate), layer(h/2, block, rest)), geomtest.Prism(h/2, layer(h/2, block, rest), layer(5, block, vent)))},
		rooms: []room{{geomtest.Prism(0, layer(h, rest)), loop3(vent, h)}},
		gate:  vec(2.5, 2.5, 0),
	}
}

// turned is a solid of revolution of n sides with a gate below and a vent above, both
// on its axis. The profile runs from the gate's rim to the vent's.
func turned(profile []geomtest.Point, n int) made {
	lo, hi := profile[0], profile[len(profile)-1]
	widest, at := 0.0, 0
	for i, p := range profile {
		if p.X > widest {
			widest, at = p.X, i
		}
	}
	out, split := widest+5, profile[at].Y
	around := func(points ...geomtest.Point) *geom.Mesh { return geomtest.Revolve(points, n) }
	part := around(append(append([]geomtest.Point{{X: 0, Y: lo.Y}}, profile...), geomtest.Point{X: 0, Y: hi.Y})...)
	bottom := append([]geomtest.Point{{X: out, Y: split}}, reversed(profile[:at+1])...)
	bottom = append(bottom, geomtest.Point{X: lo.X, Y: lo.Y - 5}, geomtest.Point{X: out, Y: lo.Y - 5})
	top := append([]geomtest.Point{{X: out, Y: hi.Y + 5}, {X: hi.X, Y: hi.Y + 5}}, reversed(profile[at:])...)
	top = append(top, geomtest.Point{X: out, Y: split})
	return made{
		setup: setup{part: body("part", part), halves: halves(around(bottom...), around(top...))},
		rooms: []room{{part, loop3(geomtest.Circle(geomtest.Point{}, hi.X, n), hi.Y)}},
		gate:  vec(0, 0, lo.Y),
	}
}

func reversed(p []geomtest.Point) (out []geomtest.Point) {
	for i := len(p) - 1; i >= 0; i-- {
		out = append(out, p[i])
	}
	return out
}

// arc is the profile of an ellipsoid from a rim of radius gate below to one of radius
// vent above.
func arc(r, h, gate, vent float64, steps int) (out []geomtest.Point) {
	from, to := -math.Acos(gate/r), math.Acos(vent/r)
	for k := 0; k <= steps; k++ {
		a := from + (to-from)*float64(k)/float64(steps)
		out = append(out, geomtest.Point{X: r * math.Cos(a), Y: h * math.Sin(a)})
	}
	return out
}

// teeth are closed bosses on a slab that is vented along its raised edge x = w.
func teeth(w, d, slab, tall float64, bosses ...[]geomtest.Point) made {
	block, floor := geomtest.Rect(-5, -5, w+5, d+5), geomtest.Rect(0, 0, w, d)
	slot, gate := geomtest.Rect(w-3, 0.5, w-0.5, d-0.5), geomtest.Rect(0.5, d/2-1.5, 3.5, d/2+1.5)
	loops := append([][]geomtest.Point{block, slot}, bosses...)
	m := made{
		setup: setup{part: body("part", geomtest.Prism(0, layer(slab, floor), layer(tall, bosses...))),
			halves: halves(geomtest.Prism(-5, layer(5, block, gate), layer(slab/2, block, floor)),
				geomtest.Prism(slab/2, layer(slab/2, block, floor), layer(tall, loops...), layer(5, block, slot)))},
		gate: vec(2, d/2, 0),
	}
	for _, b := range bosses {
		m.rooms = append(m.rooms, room{geomtest.Prism(slab, layer(tall, b)), loop3(b, slab)})
	}
	// Between the slot and the raised wall a strip of the slab's ceiling keeps air.
	m.rooms = append(m.rooms, room{geomtest.Prism(0, layer(slab, geomtest.Rect(w-3, 0, w, d))), loop3(slot, slab)})
	return m
}

// tube is two upright shafts a x a of heights left and right, joined at the foot; the
// left one is vented.
func tube(a, gap, foot, left, right float64) made {
	vent := geomtest.Rect(a/2-1, a/2-1, a/2+1, a/2+1)
	w := 2*a + gap
	op := func(x0, z0, x1, z1 float64) (geom.Vec, geom.Vec) { return vec(x0, 0, z0), vec(x1, a, z1) }
	part := []geomtest.Op{geomtest.Add(op(0, 0, w, foot)), geomtest.Add(op(0, 0, a, left)), geomtest.Add(op(w-a, 0, w, right))}
	hollow := []geomtest.Op{geomtest.Cut(op(0, 0, w, foot)), geomtest.Cut(op(0, 0, a, left)), geomtest.Cut(op(w-a, 0, w, right)),
		geomtest.Cut(vec(a, a/2-1.5, -9), vec(a+3, a/2+1.5, foot/2)), geomtest.Cut(vec(vent[0].X, vent[0].Y, left-1), vec(vent[2].X, vent[2].Y, 99))}
	half := func(z0, z1 float64) *geom.Mesh {
		block := geomtest.Add(vec(-5, -5, z0), vec(w+5, a+5, z1))
		ops := []geomtest.Op{block}
		for _, c := range hollow {
			c.Min.Z, c.Max.Z = max(c.Min.Z, z0), min(c.Max.Z, z1)
			if c.Min.Z < c.Max.Z {
				ops = append(ops, c)
			}
		}
		return geomtest.Grid(ops...)
	}
	shaft, other := geomtest.Rect(w-a, 0, w, a), geomtest.Rect(0, 0, a, a)
	return made{
		setup: setup{part: body("part", geomtest.Grid(part...)), halves: halves(half(-5, foot), half(foot, max(left, right)+5))},
		rooms: []room{{geomtest.Prism(foot, layer(right-foot, shaft)), []geom.Vec{vec(w-a, 0, foot), vec(w-a, a, foot)}},
			{geomtest.Prism(foot, layer(left-foot, other)), loop3(vent, left)}},
		gate: vec(a+1.5, a/2, 0),
	}
}
