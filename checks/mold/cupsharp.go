package mold

import (
	"math"

	"pourproof/geom"
)

// Heights at which a level meets or leaves a surface of flat facets are heights of
// its corners: the lowest point of a hollow is a corner that lies below all its
// neighbours, the place where two hollows meet is a saddle, a corner around which
// the surface goes down, up, down, up (Banchoff, Amer. Math. Monthly 77, 1970).
// The columns find such a place within a pitch, the corner gives it exactly.

// lowPoint returns the lowest point of a hollow that begins lowest with a piece: the
// end of the way down over the surface from there, its corner nearest to the piece;
// the piece's own foot on a level floor.
func (w *printing) lowPoint(h *hollow, piece int32) geom.Vec {
	at := h.at(piece, h.lo[piece])
	f := h.floor[piece]
	if !w.ownFacet(f) {
		return at
	}
	best := at
	low := at.Dot(w.p.Build) - 2*w.lat.Q // a level floor is exact already
	for i, v := range w.solid.descend(f, w.p.Build) {
		q := w.mesh.Vertices[v]
		switch z := q.Dot(w.p.Build); {
		case i == 0 && (z >= low || h.plugged && z < low-2*w.lat.Pitch()):
			return at // and the way down through a passage that is plugged is none
		case i == 0 || w.aside(q, at) < w.aside(best, at):
			best = q
		}
	}
	return best
}

// cornerReach is how many pitches a saddle may lie aside of the columns that found
// it: along a round rim heights differ less than between columns on either side of it.
const cornerReach = 10

// onLevelEdge returns the point of a level edge nearest to p, a corner of any other
// edge. Level is what rises less than 1 in 50: over cornerReach that is within the
// error of a height.
func (w *printing) onLevelEdge(p, a, b geom.Vec) geom.Vec {
	d := b.Sub(a)
	if math.Abs(d.Dot(w.p.Build)) > 0.02*d.Norm() {
		return a
	}
	return geom.ClosestOnSegment(p, a, b)
}

// aside returns the distance of p from the upright line through q.
func (w *printing) aside(p, q geom.Vec) float64 {
	d := p.Sub(q)
	return d.AddScaled(w.p.Build, -d.Dot(w.p.Build)).Norm()
}

// lipPoint returns where a basin met what ended it: at a saddle near the columns
// that found it, or else on a level ridge.
func (w *printing) lipPoint(h *hollow, b *basin) geom.Vec {
	at := h.at(b.a, b.to).Lerp(h.at(b.b, b.to), 0.5)
	best, off := [2]geom.Vec{}, [2]float64{math.Inf(1), math.Inf(1)}
	try := func(kind int, p geom.Vec, is func() bool) {
		up, aside := math.Abs(p.Sub(at).Dot(w.p.Build)), w.aside(p, at)
		// A rim slopes by 45 deg at most where it is lowest: then the column beside it is
		// a pitch and a half away.
		if up > 1.5*w.lat.Pitch() || aside > cornerReach*w.lat.Pitch() {
			return
		}
		d := up + aside/8
		if (d < off[kind] || d == off[kind] && p.Less(best[kind])) && is() {
			best[kind], off[kind] = p, d
		}
	}
	w.tree.Overlapping(geom.Box{Min: at, Max: at}.Grow(cornerReach*w.lat.Pitch()), func(f int32) {
		for k, v := range w.mesh.Facets[f] {
			p, next := w.mesh.Vertices[v], w.mesh.Vertices[w.mesh.Facets[f][(k+1)%3]]
			try(0, p, func() bool { return w.saddle(v) })
			if q := w.onLevelEdge(at, p, next); q != p {
				try(1, q, func() bool { return w.ridge(3*f + int32(k)) })
			}
		}
	})
	for kind := range best {
		if !math.IsInf(off[kind], 1) {
			return best[kind]
		}
	}
	return at
}

// ridge tells whether both facets of an edge go down from it.
func (w *printing) ridge(half int32) bool {
	mate := w.solid.mates[half]
	if mate < 0 {
		return false
	}
	t, u := w.mesh.Facets[half/3], w.mesh.Facets[mate/3]
	z := func(v int32) float64 { return w.mesh.Vertices[v].Dot(w.p.Build) }
	low := min(z(t[half%3]), z(t[(half+1)%3]))
	return z(t[(half+2)%3]) < low && z(u[(mate+2)%3]) < low
}

// saddle tells whether a level passes corner v up one side and down another, corners
// of equal height taken for higher, or taken for lower.
func (w *printing) saddle(v int32) bool {
	at := w.mesh.Vertices[v]
	z := at.Dot(w.p.Build)
	strict, loose := 0, 0
	w.tree.Overlapping(geom.Box{Min: at, Max: at}, func(f int32) {
		t := w.mesh.Facets[f]
		for k := range t {
			if t[k] != v {
				continue
			}
			a, b := w.mesh.Vertices[t[(k+1)%3]].Dot(w.p.Build), w.mesh.Vertices[t[(k+2)%3]].Dot(w.p.Build)
			if a < z != (b < z) {
				strict++
			}
			if a > z != (b > z) {
				loose++
			}
		}
	})
	return strict >= 4 || loose >= 4
}

// sharpArea returns the area of a basin's largest opening, which ends at height to
// mm, from the outline that the mesh has there; false where the columns cannot tell
// for every stretch of outline whether it is the basin's.
func (w *printing) sharpArea(h *hollow, b *basin, to float64) (float64, bool) {
	if b.most < 20 { // of so few columns the outline cannot be told
		return 0, false
	}
	// Four quanta off: corners at the height itself are off by one quantum.
	const off = 4
	best, ok := w.outlineArea(h, b, b.mostAt+off)
	if !ok {
		return 0, false
	}
	// Towards its end, which the columns find within a pitch, it may still widen.
	high, step := b.to-off, int32(1)<<(w.lat.Bits-1)
	if low := max(high-step, b.mostAt+off); high-low > off {
		a, fine := w.outlineArea(h, b, low)
		z, also := w.outlineArea(h, b, high)
		if fine && also && z > a {
			best = max(best, z, z+(z-a)*(to-w.height(high))/(w.height(high)-w.height(low)))
		}
	}
	columns := float64(b.most) * h.cell()
	if math.Abs(best-columns) > 0.1*columns+h.cell() {
		return 0, false
	}
	return best, true
}

// outlineArea returns the area that the outline of a basin encloses at a height
// (Gauss): the sum over the facets that cross it.
func (w *printing) outlineArea(h *hollow, b *basin, z int32) (float64, bool) {
	mask := make([]int8, w.lat.N[0]*w.lat.N[1]) // 1 void, 2 void of the basin
	for i := range h.lo {
		if h.lo[i] < z && z < h.hi[i] {
			mask[h.col[i]] = 1
		}
	}
	h.rise.each(b, func(i int32) {
		if h.lo[i] < z && z < h.hi[i] {
			mask[h.col[i]] = 2
		}
	})
	if w.corners == nil {
		w.corners = make([]float64, len(w.mesh.Vertices))
		for i, v := range w.mesh.Vertices {
			w.corners[i] = v.Dot(w.p.Build)
		}
	}
	height := w.lat.Height(z)
	var sum, around float64
	var gap geom.Vec
	var origin geom.Vec
	begun := false
	for f := range w.mesh.Facets {
		s, e, ok := w.crossing(f, height)
		if !ok || !w.basins(mask, s, e, w.solid.normal[f]) {
			continue
		}
		if !begun {
			origin, begun = s, true
		}
		d := e.Sub(s)
		gap = gap.Add(d)
		around += d.Norm()
		sum += s.Sub(origin).Cross(d).Dot(w.p.Build)
	}
	// An outline of closed loops has no gap but that of rounding.
	return sum / 2, begun && gap.Norm() <= 1e-7*around
}

// crossing returns the stretch in which a facet crosses a height, its void to the
// left seen from above.
func (w *printing) crossing(f int, height float64) (s, e geom.Vec, ok bool) {
	t := &w.mesh.Facets[f]
	below := [3]bool{w.corners[t[0]] < height, w.corners[t[1]] < height, w.corners[t[2]] < height}
	if below[0] == below[1] && below[1] == below[2] {
		return s, e, false
	}
	var p [2]geom.Vec
	n := 0
	for k := range t {
		i, j := t[k], t[(k+1)%3]
		if below[k] == below[(k+1)%3] {
			continue
		}
		if w.corners[j] < w.corners[i] { // from the same end for both facets of the edge
			i, j = j, i
		}
		za, zb := w.corners[i], w.corners[j]
		p[n] = w.mesh.Vertices[i].Lerp(w.mesh.Vertices[j], (height-za)/(zb-za))
		n++
	}
	if w.p.Build.Cross(p[1].Sub(p[0])).Dot(w.solid.normal[f]) < 0 {
		p[0], p[1] = p[1], p[0]
	}
	return p[0], p[1], true
}

// basins tells whether the void beside a stretch of outline is the basin's: the
// first column of void that is met on the way out from its middle decides, looked
// for on either side too, because in a corner the next column may lie in a wall.
func (w *printing) basins(mask []int8, s, e, normal geom.Vec) bool {
	n := normal.AddScaled(w.p.Build, -normal.Dot(w.p.Build)).Unit()
	along := w.p.Build.Cross(n)
	half := int32(1) << (w.lat.Bits - 1)
	for _, out := range [4]float64{0.3, 0.6, 0.9, 1.3} {
		for _, aside := range [3]float64{0, 0.6, -0.6} {
			p := s.Lerp(e, 0.5).AddScaled(n, out*w.lat.Pitch()).AddScaled(along, aside*w.lat.Pitch())
			q := w.lat.Place(p)
			i, j := w.lat.NodeBelow(0, int32(q.X)+half), w.lat.NodeBelow(1, int32(q.Y)+half)
			if i < 0 || j < 0 || i >= w.lat.N[0] || j >= w.lat.N[1] {
				continue
			}
			if m := mask[i*w.lat.N[1]+j]; m != 0 {
				return m == 2
			}
		}
	}
	return false
}
