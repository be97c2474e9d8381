package render

import (
	"math"

	"pourproof/geom"
)

// Ghost lines: weight in line-weight units, and how much of the picture they
// replace by ink, in 1/256.
const (
	ghostWeight = 1.1
	ghostDark   = 150
)

// ghostLines draws the sharp edges and the contours of ghost bodies, those on
// their far side too, wherever no solid body hides them.
func (r *Renderer) ghostLines(s *Scene) {
	f := &r.frame
	if !f.ghosts {
		return
	}
	r.mask = resize(r.mask, f.w*f.h)
	clear(r.mask)
	slack := float32(0)
	if f.v.scale > 0 {
		slack = float32(1.5 / f.v.scale)
	}
	for i := range f.bodies {
		b := &f.bodies[i]
		if !b.ghost {
			continue
		}
		m := s.Bodies[b.sourceNumber].Mesh
		b.facts.findEdges(m)
		for k := range b.facts.edges {
			e := &b.facts.edges[k]
			if e.sharp || f.front(b, e.f) != f.front(b, e.g) {
				f.ghostEdge(b, m.Vertices[e.a], m.Vertices[e.b], r.mask, slack)
			}
		}
		if b.cut {
			f.ghostSection(b, m, r.mask, slack)
		}
	}
	for i, a := range r.mask {
		if a != 0 {
			f.rgb[i] = f.rgb[i].mix(ink, uint32(a)*ghostDark/255)
		}
	}
}

// front reports whether a facet is turned to the viewer.
func (f *frame) front(b *body, facet int32) bool {
	c := b.facets[facet]
	s := f.snaps[b.vertex:]
	return area2(s[c[0]], s[c[1]], s[c[2]]) < 0
}

// ghostEdge draws one edge into the mask, cut at the section plane.
func (f *frame) ghostEdge(b *body, p, q geom.Vec, mask []uint8, slack float32) {
	if b.cut {
		n, off := f.cut.plane.Normal, f.cut.plane.Offset
		dp, dq := n.Dot(p)-off, n.Dot(q)-off
		switch {
		case dp > 0 && dq > 0:
			return
		case dp > 0:
			p = p.Lerp(q, dp/(dp-dq))
		case dq > 0:
			q = q.Lerp(p, dq/(dq-dp))
		}
	}
	f.ghostStroke(p, q, mask, slack)
}

// ghostSection draws the line along which the section plane cuts a ghost.
func (f *frame) ghostSection(b *body, m *geom.Mesh, mask []uint8, slack float32) {
	normal, off := f.cut.plane.Normal, f.cut.plane.Offset
	for i := range m.Facets {
		t := m.Triangle(i)
		c := [3]geom.Vec{t.A, t.B, t.C}
		var d [3]float64
		for k := range c {
			d[k] = normal.Dot(c[k]) - off
		}
		var on [2]geom.Vec // a plane crosses none or two of the edges
		n := 0
		for k := range c {
			if l := (k + 1) % 3; d[k] > 0 != (d[l] > 0) {
				on[n] = c[k].Lerp(c[l], d[k]/(d[k]-d[l]))
				n++
			}
		}
		if n == 2 {
			f.ghostStroke(on[0], on[1], mask, slack)
		}
	}
}

// ghostStroke adds a segment to the mask where no solid body hides it.
func (f *frame) ghostStroke(p, q geom.Vec, mask []uint8, slack float32) {
	x0, y0, z0 := f.v.project(p)
	x1, y1, z1 := f.v.project(q)
	st := newStroke(x0, y0, x1, y1, max(1, ghostWeight*f.v.unit))
	st.each(f.w, f.h, func(x, y int, cover, along float64) {
		i := y*f.w + x
		z := float32(z0 + float64(along*(z1-z0)))
		if z <= f.depth[i]+slack {
			mask[i] = max(mask[i], uint8(float64(cover*255)+0.5))
		}
	})
}

// stroke is a straight line with round ends, ready to be painted.
type stroke struct {
	x0, y0, dx, dy float64
	len2, reach    float64 // reach: half the width and half a pixel
}

func newStroke(x0, y0, x1, y1, width float64) stroke {
	dx, dy := x1-x0, y1-y0
	return stroke{x0, y0, dx, dy, float64(dx*dx) + float64(dy*dy), width/2 + 0.5}
}

// each calls paint for the pixels the stroke touches, with their coverage (0..1,
// from the distance of the pixel's middle, exact for straight edges along an
// axis) and the place along the line (0..1) nearest to them.
func (s *stroke) each(w, h int, paint func(x, y int, cover, along float64)) {
	top, bottom := min(s.y0, s.y0+s.dy)-s.reach, max(s.y0, s.y0+s.dy)+s.reach
	if !(bottom >= 0 && top <= float64(h)) || math.IsInf(s.len2, 0) {
		return
	}
	for y := max(0, int(top-0.5)); y <= min(h-1, int(bottom)); y++ {
		x0, x1, ok := s.rowRange(float64(y)+0.5, float64(w))
		if !ok {
			continue
		}
		for x := x0; x <= x1; x++ {
			px, py := float64(x)+0.5-s.x0, float64(y)+0.5-s.y0
			t := 0.0
			if s.len2 > 0 {
				t = clamp((float64(px*s.dx)+float64(py*s.dy))/s.len2, 0, 1)
			}
			ex, ey := px-float64(t*s.dx), py-float64(t*s.dy)
			d := math.Sqrt(float64(ex*ex) + float64(ey*ey))
			if c := min(s.reach-d, 1, 2*s.reach-1); c > 0 {
				paint(x, y, c, t)
			}
		}
	}
}

// rowRange bounds the pixels of the row with middle y that the stroke may touch.
func (s *stroke) rowRange(y, w float64) (first, last int, ok bool) {
	lo, hi := 0.0, 1.0
	if s.dy != 0 {
		a, b := (y-s.reach-s.y0)/s.dy, (y+s.reach-s.y0)/s.dy
		lo, hi = max(lo, min(a, b)), min(hi, max(a, b))
		if lo > hi {
			return 0, 0, false
		}
	}
	xa, xb := s.x0+float64(lo*s.dx), s.x0+float64(hi*s.dx)
	x0, x1 := min(xa, xb)-s.reach, max(xa, xb)+s.reach
	if !(x1 >= 0 && x0 < w) {
		return 0, 0, false
	}
	return int(max(x0-0.5, 0)), int(min(x1, w-1)), true
}
