package mold

import (
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/column"
)

// hollow is the void in and around a half in its print frame: pieces of columns
// above the platform, links between them, and what rises in it.
type hollow struct {
	lat    column.Lattice
	sp     *column.Space
	start  []int32 // per column: its first piece, and the total
	lo, hi []int32
	col    []int32
	floor  []int32 // facet under the piece, or a negative mark
	rise   riser

	room    *clearance // whose plugs close passages; nil for none
	plugged bool       // it has plugs

	slopes []int32 // pieces from which openSlopes goes on
	closed []int32 // per column: how many of its pieces are not open from the start
}

// hollows holds those that are needed no more: their memory is used again.
var hollows = sync.Pool{New: func() any { return new(hollow) }}

// release gives back a hollow that the print made.
func (w *printing) release(h *hollow) {
	w.made = slices.DeleteFunc(w.made, func(o *hollow) bool { return o == h })
	h.sp.Free()
	h.sp, h.room = nil, nil
	hollows.Put(h)
}

// releaseAll gives back all that are left.
func (w *printing) releaseAll() {
	for len(w.made) > 0 {
		w.release(w.made[0])
	}
}

// platform marks a piece that begins at the platform.
const platform = -4

// hollow casts the half with the plugs of room added and holes cut; room may be nil.
// With holes, as where nothing but sums is asked for, see openSlopes. Of a hollow without
// holes but with the same room, known, only what the holes change is cast; nil for none.
func (w *printing) hollow(room *clearance, holes []bore, known *hollow) *hollow {
	tree := w.tree
	var bodies []*geom.Mesh
	var plugTree *bvh.Tree
	if room != nil && room.plugs != nil {
		bodies, plugTree = append(bodies, room.plugs), room.tree
	}
	var cuts []*geom.Mesh
	for i := range holes {
		cuts = append(cuts, holes[i].mesh)
	}
	free := func(a, b geom.Vec) bool {
		if plugTree != nil && plugTree.Blocked(a, b) {
			return false
		}
		return !tree.Blocked(a, b) || clearThroughHoles(tree, holes, a, b)
	}
	s := hollows.Get().(*hollow)
	w.made = append(w.made, s)
	s.lat, s.room, s.plugged = w.lat, room, plugTree != nil
	if known != nil && known.room == room {
		s.sp, _, _ = known.sp.Cut(cuts, 0, free)
	} else {
		s.sp = column.NewSpace(w.alone.With(bodies, cuts), 0, free)
	}
	floor := w.lat.At(2, 0)
	if w.o.Flat {
		floor = w.base
	}
	s.cut(floor)
	if w.o.sums || len(holes) > 0 {
		s.openSlopes()
	}
	s.link()
	return s
}

// clearThroughHoles tells whether a way crosses the half's surface only inside
// holes.
func clearThroughHoles(tree *bvh.Tree, holes []bore, a, b geom.Vec) bool {
	d := b.Sub(a)
	n := d.Norm()
	if len(holes) == 0 || n == 0 {
		return false
	}
	for _, h := range tree.All(a, d.Scale(1/n), n, nil) {
		in := false
		for i := range holes {
			in = in || holes[i].holds(h.Point)
		}
		if !in {
			return false
		}
	}
	return true
}

// cut takes the runs of void above floor quanta for pieces; those of border
// columns are outside.
func (s *hollow) cut(floor int32) {
	n := len(s.sp.Lo)
	s.start = sized(s.start, len(s.sp.Start))
	s.lo, s.hi = sized(s.lo, n)[:0], sized(s.hi, n)[:0]
	s.col, s.floor = sized(s.col, n)[:0], sized(s.floor, n)[:0]
	outside := sized(s.rise.outside, n)[:0]
	s.closed = sized(s.closed, len(s.start)-1)
	nx, ny := s.lat.N[0], s.lat.N[1]
	s.start[0] = 0
	for c := 0; c+1 < len(s.sp.Start); c++ {
		i, j := c/ny, c%ny
		border := i == 0 || j == 0 || i == nx-1 || j == ny-1
		for r := s.sp.Start[c]; r < s.sp.Start[c+1]; r++ {
			lo, facet := s.sp.Lo[r], s.sp.LoFacet[r]
			if lo < floor {
				lo, facet = floor, platform
			}
			if s.sp.Hi[r]-lo < 2 { // thinner is rounding (package column)
				continue
			}
			s.lo, s.hi = append(s.lo, lo), append(s.hi, s.sp.Hi[r])
			s.col, s.floor = append(s.col, int32(c)), append(s.floor, facet)
			outside = append(outside, border)
		}
		s.start[c+1] = int32(len(s.lo))
		if s.closed[c] = 0; !border {
			s.closed[c] = s.start[c+1] - s.start[c]
		}
	}
	s.rise.lo, s.rise.hi, s.rise.outside = s.lo, s.hi, outside
}

// openSlopes marks as outside the pieces that the level opens as it reaches them: those
// to which a way leads from outside that never goes down. What is left are the hollows,
// and the sweep that tells them apart has little to do. Their areas and volumes stay the
// same; a piece on the rim of one may no longer be the one through which it opens.
func (s *hollow) openSlopes() {
	nx, ny := s.lat.N[0], s.lat.N[1]
	for i, out := range s.rise.outside {
		if out {
			s.slopes = append(s.slopes, int32(i))
		}
	}
	for len(s.slopes) > 0 {
		p := s.slopes[len(s.slopes)-1]
		s.slopes = s.slopes[:len(s.slopes)-1]
		c := int(s.col[p])
		if i := c / ny; i > 0 {
			s.openBeside(p, c-ny, c-ny, 0)
		}
		if i := c / ny; i+1 < nx {
			s.openBeside(p, c+ny, c, 0)
		}
		if j := c % ny; j > 0 {
			s.openBeside(p, c-1, c-1, 1)
		}
		if j := c % ny; j+1 < ny {
			s.openBeside(p, c+1, c, 1)
		}
	}
}

// openBeside marks the pieces of column d, beside that of piece p, that a level opens
// from p as it reaches them; of the two columns the first is c.
func (s *hollow) openBeside(p int32, d, c, axis int) {
	if s.closed[d] == 0 {
		return
	}
	for q := s.start[d]; q < s.start[d+1] && s.lo[q] < s.hi[p]; q++ {
		if s.rise.outside[q] || s.lo[q] < s.lo[p] || s.hi[q] <= s.lo[p] {
			continue
		}
		z, _, ok := s.sp.Open(c/s.lat.N[1], c%s.lat.N[1], axis, s.lo[q], min(s.hi[p], s.hi[q]))
		if ok && z <= s.lo[q] {
			s.rise.outside[q] = true
			s.closed[d]--
			s.slopes = append(s.slopes, q)
		}
	}
}

// link joins pieces of neighbouring columns at the lowest height at which the way
// between them is free, but for two that are open from the start.
func (s *hollow) link() {
	ny := s.lat.N[1]
	s.rise.links = slices.Grow(s.rise.links[:0], 2*len(s.lo)) // two a piece is what most have
	for c := range s.closed {
		if d := c + ny; d < len(s.closed) && s.closed[c]+s.closed[d] > 0 {
			s.linkColumns(c, d, 0)
		}
		if d := c + 1; c%ny+1 < ny && s.closed[c]+s.closed[d] > 0 {
			s.linkColumns(c, d, 1)
		}
	}
}

func (s *hollow) linkColumns(c, d, axis int) {
	a, b := s.start[c], s.start[d]
	for a < s.start[c+1] && b < s.start[d+1] {
		if lo, hi := max(s.lo[a], s.lo[b]), min(s.hi[a], s.hi[b]); lo < hi && !(s.rise.outside[a] && s.rise.outside[b]) {
			if z, _, ok := s.sp.Open(c/s.lat.N[1], c%s.lat.N[1], axis, lo, hi); ok {
				s.rise.links = append(s.rise.links, rising{a, b, max(z, lo)})
			}
		}
		if s.hi[a] < s.hi[b] {
			a++
		} else {
			b++
		}
	}
}

// at returns the CAD point at a height in a piece's column.
func (s *hollow) at(piece, z int32) geom.Vec {
	ny := int32(s.lat.N[1])
	return s.lat.Point(s.lat.At(0, int(s.col[piece]/ny)), s.lat.At(1, int(s.col[piece]%ny)), z)
}

// pieceAt returns the piece that holds a CAD point, -1 for none.
func (s *hollow) pieceAt(p geom.Vec) int32 { return s.pieceOver(s.lat.Place(p)) }

// pieceOver is pieceAt for a place in quanta.
func (s *hollow) pieceOver(q geom.Vec) int32 {
	half := int32(1) << (s.lat.Bits - 1)
	i, j := s.lat.NodeBelow(0, int32(q.X)+half), s.lat.NodeBelow(1, int32(q.Y)+half)
	if i < 0 || j < 0 || i >= s.lat.N[0] || j >= s.lat.N[1] {
		return -1
	}
	c := i*s.lat.N[1] + j
	for k := s.start[c]; k < s.start[c+1]; k++ {
		if float64(s.lo[k]) <= q.Z && q.Z <= float64(s.hi[k]) {
			return k
		}
	}
	return -1
}

// volume turns a sum of lengths of pieces, in quanta, into mm3.
func (s *hollow) volume(length int64) float64 { return float64(length) * s.lat.Q * s.cell() }

// cell returns the area in mm2 that one column stands for.
func (s *hollow) cell() float64 { return float64(s.lat.Pitch() * s.lat.Pitch()) }
