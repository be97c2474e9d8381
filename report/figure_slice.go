package report

import (
	"math"

	"pourproof/geom"
	"pourproof/report/render"
)

// spot is a place on a section plane: X to the right on paper, Y upright, mm.
type spot struct{ X, Y float64 }

// sheet is a section plane with axes, for reckoning on it: Y is the pour's up.
type sheet struct {
	plane     *render.Plane
	origin    geom.Vec
	right, up geom.Vec
}

// newSheet lays axes on the plane through at with the given normal, square to up.
func newSheet(at, normal, up geom.Vec) sheet {
	return sheet{render.PlaneThrough(at, normal), at, up.Cross(normal).Unit(), up}
}

func (s sheet) spot(p geom.Vec) spot {
	d := p.Sub(s.origin)
	return spot{s.right.Dot(d), s.up.Dot(d)}
}

func (s sheet) point(q spot) geom.Vec {
	return s.origin.AddScaled(s.right, q.X).AddScaled(s.up, q.Y)
}

// off returns how far p lies from the plane, mm.
func (s sheet) off(p geom.Vec) float64 {
	return math.Abs(s.plane.Normal.Dot(p) - s.plane.Offset)
}

// outline is the section of a closed mesh: segments in no order.
type outline [][2]spot

// slice cuts a mesh with the plane. Linear in the facets. A facet with a corner
// on the plane counts it as lying above, so that a closed mesh gives closed lines.
func (s sheet) slice(m *geom.Mesh) outline {
	if m == nil {
		return nil
	}
	side := make([]float64, len(m.Vertices))
	for i, v := range m.Vertices {
		side[i] = s.plane.Normal.Dot(v) - s.plane.Offset
	}
	var out outline
	for _, f := range m.Facets {
		var on [2]spot
		n := 0
		for k := range f {
			a, b := f[k], f[(k+1)%3]
			if side[a] >= 0 != (side[b] >= 0) {
				t := side[a] / (side[a] - side[b])
				on[n] = s.spot(m.Vertices[a].Lerp(m.Vertices[b], t))
				n++
			}
		}
		if n == 2 {
			out = append(out, on)
		}
	}
	return out
}

// frame is a rectangle on a section plane, upright.
type frame struct{ lo, hi spot }

func newFrame() frame {
	i := math.Inf(1)
	return frame{spot{i, i}, spot{-i, -i}}
}

func (r frame) empty() bool { return r.lo.X > r.hi.X }

func (r frame) include(p spot) frame {
	return frame{spot{min(r.lo.X, p.X), min(r.lo.Y, p.Y)}, spot{max(r.hi.X, p.X), max(r.hi.Y, p.Y)}}
}

func (r frame) union(q frame) frame { return r.include(q.lo).include(q.hi) }

// grown adds surroundings that tell where the rectangle lies: at least 4 mm, and
// 0.4 of its size.
func (r frame) grown() frame {
	d := max(4, 0.4*max(r.hi.X-r.lo.X, r.hi.Y-r.lo.Y))
	return frame{spot{r.lo.X - d, r.lo.Y - d}, spot{r.hi.X + d, r.hi.Y + d}}
}

// holds tells whether q lies within r.
func (r frame) holds(q frame) bool {
	return q.lo.X >= r.lo.X && q.lo.Y >= r.lo.Y && q.hi.X <= r.hi.X && q.hi.Y <= r.hi.Y
}

// bounds returns the smallest rectangle around the outline.
func (o outline) bounds() frame {
	r := newFrame()
	for _, e := range o {
		r = r.include(e[0]).include(e[1])
	}
	return r
}

// width returns the extent of the outline across gravity, mm.
func (o outline) width() float64 { r := o.bounds(); return max(0, r.hi.X-r.lo.X) }

// holds tells whether p lies inside, by the number of lines to its right.
func (o outline) holds(p spot) bool {
	in := false
	for _, e := range o {
		a, b := e[0], e[1]
		if a.Y > p.Y != (b.Y > p.Y) && p.X < a.X+float64((b.X-a.X)*((p.Y-a.Y)/(b.Y-a.Y))) {
			in = !in
		}
	}
	return in
}

// clearance returns the distance from p to the nearest line, mm; where that is no more
// than enough, to any line so near.
func (o outline) clearance(p spot, enough float64) float64 {
	best, near := math.Inf(1), float64(enough*enough)*(1-1e-9) // squared; 1e-9 is beyond all rounding
	for _, e := range o {
		if best < near {
			break
		}
		dx, dy := e[1].X-e[0].X, e[1].Y-e[0].Y
		px, py := p.X-e[0].X, p.Y-e[0].Y
		t := 0.0
		if l := float64(dx*dx) + float64(dy*dy); l > 0 {
			t = min(max((float64(px*dx)+float64(py*dy))/l, 0), 1)
		}
		ex, ey := px-float64(t*dx), py-float64(t*dy)
		best = min(best, float64(ex*ex)+float64(ey*ey))
	}
	return math.Sqrt(best)
}

// roomiest returns the place inside all of the outlines in, and outside all of
// those in out, that lies farthest from their lines, on a lattice of n steps a
// side over the first, and that distance: where a word or a mark fits best.
func roomiest(n int, in, out []outline) (spot, float64) {
	r := in[0].bounds()
	if r.empty() {
		return spot{}, 0
	}
	best, most := spot{}, 0.0
	for j := range n {
		for i := range n {
			p := spot{r.lo.X + (r.hi.X-r.lo.X)*(float64(i)+0.5)/float64(n), r.lo.Y + (r.hi.Y-r.lo.Y)*(float64(j)+0.5)/float64(n)}
			if room := roomAt(p, in, out, most); room > most {
				best, most = p, room
			}
		}
	}
	return best, most
}

// roomAt returns the distance from p to the nearest line; 0 if p lies on the
// wrong side of one, or no farther than enough.
func roomAt(p spot, in, out []outline, enough float64) float64 {
	room := math.Inf(1)
	for _, o := range in {
		if room = min(room, o.clearance(p, enough)); room <= enough || !o.holds(p) {
			return 0
		}
	}
	for _, o := range out {
		if room = min(room, o.clearance(p, enough)); room <= enough || o.holds(p) {
			return 0
		}
	}
	return room
}
