package mold

import (
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
	"pourproof/geom/distance"
)

// shadow is a half and the part on columns along the half's pull, the third axis of the
// lattice. Where the part stands in a column above rubber of the half, that rubber runs
// into it as the half is pulled.
type shadow struct {
	m    *Mold
	half int
	pull geom.Vec
	lat  column.Lattice
	nu   int
	nv   int

	bodies [3]*column.Solids // the half; all halves; the part
	rubber *column.Lines     // of the half
	top    []int32           // per column: where the part ends, quanta; uncovered without one
	bottom []int32           // where it begins
	stuck  []stuck           // in the order of columns, then upward
	first  []int32           // per column: first of stuck; and the count
}

// uncovered is the top of a column that the part does not stand in.
const uncovered = math.MinInt32

// stuck is a stretch of rubber with the part ahead of it.
type stuck struct {
	column int32
	lo, hi int32   // quanta along the pull
	facet  int32   // of the half, at hi
	depth  float32 // pitches
	du, dv float32 // unit, the way to the nearest place free of the part
}

// castShadow casts a half, its neighbours and the part along a pull.
func (m *Mold) castShadow(half int, pull geom.Vec) (*shadow, error) {
	frame := geom.FrameFor(pull)
	box := turnedBox(frame, m.fixed.box)
	size := box.Size()
	lat, err := column.NewLattice(frame, box, max(undercutPitch, max(size.X, size.Y)/mostLines, size.Z/8000))
	if err != nil {
		return nil, err
	}
	s := &shadow{m: m, half: half, pull: pull, lat: lat}
	s.bodies = [3]*column.Solids{
		column.Snap(lat, m.fixed.halves[half:half+1], m.cuts()),
		column.Snap(lat, m.fixed.halves, m.cuts()),
		column.Snap(lat, []*geom.Mesh{m.fixed.part}, nil),
	}
	s.cast(s.lat)
	return s, nil
}

// cast fills the columns of a lattice: its own, or that of a window.
func (s *shadow) cast(lat column.Lattice) {
	s.lat = lat
	s.rubber = s.bodies[0].In(lat).Cast(2)
	all, part := s.bodies[1].In(lat).Cast(2), s.bodies[2].In(lat).Cast(2)
	s.nu, s.nv = s.rubber.NU, s.rubber.NV
	s.cover(all, part)
	s.stuck, s.first = s.stuck[:0], make([]int32, s.nu*s.nv+1)
	for c := range s.nu * s.nv {
		s.first[c] = int32(len(s.stuck))
		for i := s.rubber.Start[c]; i < s.rubber.Start[c+1]; i++ {
			if s.rubber.Lo[i] < s.top[c] {
				s.stuck = append(s.stuck, stuck{column: int32(c), lo: s.rubber.Lo[i], hi: min(s.rubber.Hi[i], s.top[c]), facet: s.rubber.HiFacet[i]})
			}
		}
	}
	s.first[s.nu*s.nv] = int32(len(s.stuck))
}

// cover notes in every column where the cast begins and ends: the space between the
// halves that lies in the fitted part or, in the same column, within the skin of it.
// The cast fills that space whatever the part's file says, so that walls along the pull
// leave no sliver of part over rubber.
func (s *shadow) cover(all, part *column.Lines) {
	skin := int32(s.m.Skin / s.lat.Q)
	s.top, s.bottom = make([]int32, s.nu*s.nv), make([]int32, s.nu*s.nv)
	for c := range s.top {
		s.top[c], s.bottom[c] = uncovered, math.MaxInt32
		for i := part.Start[c]; i < part.Start[c+1]; i++ {
			lo, hi := part.Lo[i], part.Hi[i]
			from := int32(math.MinInt32) // where the space below the next rubber begins
			for r := all.Start[c]; r <= all.Start[c+1]; r++ {
				to := int32(math.MaxInt32)
				if r < all.Start[c+1] {
					to = all.Lo[r]
				}
				if a, b := max(from, lo), min(to, hi); a < b {
					s.top[c] = max(s.top[c], min(to, hi+skin))
					s.bottom[c] = min(s.bottom[c], max(from, lo-skin))
				}
				if r < all.Start[c+1] {
					from = all.Hi[r]
				}
			}
		}
	}
}

// measureDepths gives every stretch of stuck rubber its depth: in the slice at its lower
// end the distance to the nearest column in which no part stands ahead. Farther up less
// part is ahead, so the depth is greatest there. Slices are one pitch apart, at least
// a hundredth of the height; a stretch counts in the slice below its end.
func (s *shadow) measureDepths() {
	if len(s.stuck) == 0 {
		return
	}
	order := make([]int32, len(s.stuck))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return int(s.stuck[a].lo) - int(s.stuck[b].lo) })
	low, high := s.stuck[order[0]].lo, s.stuck[order[len(order)-1]].lo
	step := max(int32(1)<<s.lat.Bits, (high-low)/100)
	w := s.plane()
	for at := 0; at < len(order); {
		z := s.stuck[order[at]].lo
		end := at
		for end < len(order) && s.stuck[order[end]].lo-z < step {
			end++
		}
		w.slice(s, z, order[at:end])
		at = end
	}
}

// slicer measures slices of a shadow within the rectangle that the part covers.
type slicer struct {
	u0, v0, nu, nv int
	plane          distance.Plane
}

// plane frames the columns that the part stands in by one clear column on each side,
// as far as the lattice goes.
func (s *shadow) plane() *slicer {
	u0, u1, v0, v1 := s.nu, -1, s.nv, -1
	for c, t := range s.top {
		if t != uncovered {
			u, v := c/s.nv, c%s.nv
			u0, u1, v0, v1 = min(u0, u), max(u1, u), min(v0, v), max(v1, v)
		}
	}
	u0, v0 = max(u0-1, 0), max(v0-1, 0)
	return &slicer{u0: u0, v0: v0, nu: min(u1+1, s.nu-1) - u0 + 1, nv: min(v1+1, s.nv-1) - v0 + 1}
}

// slice measures the listed stretches in the slice at z.
func (w *slicer) slice(s *shadow, z int32, list []int32) {
	w.plane.Measure(w.nu, w.nv, func(i int) bool { return s.top[(w.u0+i/w.nv)*s.nv+w.v0+i%w.nv] <= z })
	for _, k := range list {
		t := &s.stuck[k]
		u, v := int(t.column)/s.nv-w.u0, int(t.column)%s.nv-w.v0
		i := u*w.nv + v
		near := int(w.plane.Nearest[i])
		if near < 0 { // the part covers the whole window
			continue
		}
		d := math.Sqrt(float64(w.plane.Square[i]))
		t.depth = float32(d)
		if d > 0 {
			t.du, t.dv = float32(float64(near/w.nv-u)/d), float32(float64(near%w.nv-v)/d)
		}
	}
}

// point returns the CAD point of a column at a height in quanta.
func (s *shadow) point(c int32, z int32) geom.Vec {
	return s.lat.Point(s.lat.At(0, int(c)/s.nv), s.lat.At(1, int(c)%s.nv), z)
}
