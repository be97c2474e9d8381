package mold

import (
	"slices"

	"pourproof/geom"
)

// ways is a search for the ways from a cup to the outside below the layer that frees it.
type ways struct {
	*printing
	foundAt
	in     []bool    // per piece of the hollow: it is the cup's
	start  int32     // node of most room in the cup, -1 for none
	closed []plugged // places through which ways do not count

	top  float64      // of the layer that frees the cup, along the build direction
	back []uint8      // per node: the step by which it was reached, plus 1; 0 if it was not
	rows [][]int32    // nodes reached, by their room
	part [3][]float64 // by axis and node along it: what it adds to the height
}

// plugged is a place that is closed to the search for ways.
type plugged struct {
	at     geom.Vec
	radius float64
}

func (w *printing) waysFrom(f *foundAt) *ways {
	s := &ways{printing: w, foundAt: *f, in: make([]bool, len(f.h.lo)), top: w.lat.Height(f.b.to)}
	f.h.rise.each(f.b, func(i int32) { s.in[i] = true })
	s.start = s.roomiest()
	s.back = make([]uint8, 64*len(s.room.solid))
	// More room than the passages looked for makes no difference.
	s.rows = make([][]int32, f.room.most()+1)
	lat := &f.room.lat
	for a, b := range [3]float64{w.p.Build.X, w.p.Build.Y, w.p.Build.Z} {
		s.part[a] = make([]float64, lat.N[a])
		for i := range s.part[a] {
			q := lat.Point(lat.At(0, i), lat.At(1, i), lat.At(2, i)) // the axes are those of the CAD frame
			s.part[a][i] = float64([3]float64{q.X, q.Y, q.Z}[a] * b)
		}
	}
	return s
}

// heightOf returns that of node n along the build direction.
func (s *ways) heightOf(n int32) float64 {
	at := s.room.split(n)
	return s.part[0][at[0]] + s.part[1][at[1]] + s.part[2][at[2]]
}

// widest returns the nodes from the cup to the outside, and the number among them of
// the one with least room; nil for none. It goes on where there is most room.
func (s *ways) widest() (way []int32, neck int) {
	if s.start < 0 {
		return nil, 0
	}
	clear(s.back)
	for r := range s.rows {
		s.rows[r] = s.rows[r][:0]
	}
	const first = 255
	s.back[s.start] = first
	steps := s.room.steps()
	most := len(s.rows) - 1
	r := int(s.room.roomAt(s.start))
	s.rows[r] = append(s.rows[r], s.start)
	for {
		for r >= 0 && len(s.rows[r]) == 0 {
			r--
		}
		if r < 0 {
			return nil, 0
		}
		row := s.rows[r]
		n := row[len(row)-1]
		s.rows[r] = row[:len(row)-1]
		if r == most && s.isOutside(n) {
			return s.traced(n, first)
		}
		for i := range steps {
			m := n + steps[i].by
			if s.back[m] != 0 {
				continue
			}
			if d := int(s.room.roomAt(m)); d > 0 && s.allowed(m) {
				s.back[m] = uint8(i + 1)
				s.rows[d] = append(s.rows[d], m)
				r = max(r, d)
			}
		}
	}
}

// traced returns the way from the start to node n and the number of its narrowest
// node.
func (s *ways) traced(n int32, first uint8) (way []int32, neck int) {
	steps := s.room.steps()
	way = append(way, n)
	for s.back[n] != first {
		n -= steps[s.back[n]-1].by
		way = append(way, n)
	}
	slices.Reverse(way)
	least := s.room.roomAt(way[0])
	for i, m := range way {
		if d := s.room.roomAt(m); d < least {
			neck, least = i, d
		}
	}
	if least == s.room.most() { // more all along than was looked for
		far := 1 << 30
		for i, m := range way {
			if d, _ := s.room.nearestSolid(s.room.split(m)); d < far {
				neck, far = i, d
			}
		}
	}
	return way, neck
}

// allowed tells whether a way may go through node n.
func (s *ways) allowed(n int32) bool {
	z := s.heightOf(n)
	if s.o.Flat && z < s.p.Base || z > s.top+s.room.width {
		return false
	}
	if len(s.closed) == 0 && z <= s.top {
		return true
	}
	p := s.room.point(n)
	for _, q := range s.closed {
		if p.Dist(q.at) <= q.radius {
			return false
		}
	}
	if z <= s.top {
		return true
	}
	piece := s.h.pieceAt(p) // over the cup itself, so that a shallow one counts as wide
	return piece >= 0 && s.in[piece]
}

// isOutside tells whether a node lies in space that was open when the cup ended.
func (s *ways) isOutside(n int32) bool {
	if s.heightOf(n) > s.top {
		return false
	}
	h, p := s.h, s.room.point(n)
	k := h.pieceAt(p)
	if k < 0 {
		q := h.lat.Place(p)
		for a, x := range [3]float64{q.X, q.Y, q.Z} {
			if x < float64(h.lat.At(a, 0)) || x > float64(h.lat.At(a, h.lat.N[a]-1)) {
				return true // beyond the columns: free space
			}
		}
		return false
	}
	return !s.in[k] && h.rise.openAt[k] <= s.b.to
}

// roomiest returns the node of most room in the cup's columns, up to its width above
// its end; of several the first; -1 for none.
func (s *ways) roomiest() int32 {
	c, best, most := s.room, int32(-1), 0
	step := int32(c.lat.Pitch() / s.lat.Q)
	high := s.b.to + int32(c.width/s.lat.Q)
	var known [16][3]int // material met last: mostly it tells that there is less room
	met := 0
	s.h.rise.each(s.b, func(i int32) {
	nodes:
		for z := s.h.lo[i] + step/2; z < min(s.h.hi[i], high); z += step {
			at, ok := c.nodeAt(s.h.at(i, z))
			if !ok {
				continue
			}
			n := c.numberAt(at)
			if !c.wide.has(n) && !c.narrow.has(n) {
				continue
			}
			for _, foot := range known[:min(met, len(known))] {
				if d := apart2(at, foot); d < most || d == most && n >= best {
					continue nodes
				}
			}
			d, foot := c.nearestSolid(at)
			known[met%len(known)] = foot
			met++
			if d > most || d == most && n < best {
				best, most = n, d
			}
		}
	})
	return best
}
