package mold

import (
	"math"
	"slices"
	"sync"

	"pourproof/geom"
)

// ways is a search for the ways from a cup to the outside below the layer that frees it.
type ways struct {
	*printing
	foundAt
	in     []bool  // per piece of the hollow: it is the cup's
	start  int32   // node of most room in the cup, -1 for none
	closed nodeSet // nodes through which ways do not count

	top  float64      // of the layer that frees the cup, along the build direction
	met  []uint8      // per node what holds for every way: its room, 0 where none may go, and the marks below
	back []uint8      // per node: the step by which it was reached, plus 1; 0 if it was not
	rows [][]int32    // nodes reached, by their room
	part [3][]wayPart // by axis and node along it

	origin geom.Vec // of the CAD frame, in quanta of the print's lattice
}

// wayPart is what a step along an axis of the nodes adds to a node's place.
type wayPart struct {
	height float64  // mm along the build direction
	place  geom.Vec // quanta of the print's lattice
}

// Marks of a node that was met, above its room.
const (
	wasMet    = 1 << 7
	isOpen    = 1 << 6 // it lies outside
	justRoom  = isOpen - 1
	firstNode = 255 // in ways.back: reached from no other
)

// searches holds those that ended: their memory is used again.
var searches = sync.Pool{New: func() any { return new(ways) }}

// waysFrom begins a search; end gives its memory back.
func (w *printing) waysFrom(f *foundAt) *ways {
	s := searches.Get().(*ways)
	s.printing, s.foundAt, s.top = w, *f, w.lat.Height(f.b.to)
	s.in = sized(s.in, len(f.h.lo))
	clear(s.in)
	f.h.rise.each(f.b, func(i int32) { s.in[i] = true })
	s.start = s.roomiest()
	n := 64 * len(s.room.solid)
	s.back, s.met = sized(s.back, n), sized(s.met, n)
	clear(s.met)
	s.closed = s.room.none()
	// More room than the passages looked for makes no difference.
	s.rows = sized(s.rows, int(f.room.most())+1)
	lat := &f.room.lat
	for a, axis := range [3]geom.Vec{{X: 1}, {Y: 1}, {Z: 1}} { // the nodes' axes are those of the CAD frame
		s.part[a] = make([]wayPart, lat.N[a])
		for i := range s.part[a] {
			x := lat.Point(lat.At(0, i), lat.At(1, i), lat.At(2, i)).Dot(axis)
			s.part[a][i] = wayPart{float64(x * w.p.Build.Dot(axis)), w.lat.Frame.Turn(axis.Scale(x)).Scale(1 / w.lat.Q)}
		}
	}
	s.origin = w.lat.Place(geom.Vec{})
	return s
}

func (s *ways) end() {
	s.printing, s.foundAt = nil, foundAt{}
	searches.Put(s)
}

// placeOf returns the height of node n along the build direction and its place in quanta
// of the print's lattice.
func (s *ways) placeOf(n int32) (height float64, place geom.Vec) {
	at := s.room.split(n)
	a, b, c := &s.part[0][at[0]], &s.part[1][at[1]], &s.part[2][at[2]]
	return a.height + b.height + c.height, s.origin.Add(a.place).Add(b.place).Add(c.place)
}

// close makes ways go around the nodes no farther than r from a place.
func (s *ways) close(p geom.Vec, r float64) {
	c := s.room
	lo, hi := c.around(p, r)
	for i := lo[0]; i <= hi[0]; i++ {
		for j := lo[1]; j <= hi[1]; j++ {
			for k := lo[2]; k <= hi[2]; k++ {
				if n := c.numberAt([3]int{i, j, k}); c.point(n).Dist(p) <= r {
					s.closed.add(n)
				}
			}
		}
	}
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
	s.back[s.start] = firstNode
	steps := s.room.steps()
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
		if s.meet(n)&isOpen != 0 {
			return s.traced(n)
		}
		for i := range steps {
			m := n + steps[i].by
			if s.back[m] != 0 {
				continue
			}
			if d := int(s.meet(m) & justRoom); d > 0 && !s.closed.has(m) {
				s.back[m] = uint8(i + 1)
				s.rows[d] = append(s.rows[d], m)
				r = max(r, d)
			}
		}
	}
}

// meet returns what is known of a node, worked out when it is first met.
func (s *ways) meet(n int32) uint8 {
	if s.met[n] != 0 {
		return s.met[n]
	}
	known, d := uint8(wasMet), s.room.roomAt(n)
	if d > 0 {
		z, q := s.placeOf(n)
		if d == s.room.most() && z <= s.top && s.isOutside(q) {
			known |= isOpen
		}
		if s.allowed(z, q) {
			known |= uint8(d)
		}
	}
	s.met[n] = known
	return known
}

// traced returns the way from the start to node n and the number of its narrowest
// node.
func (s *ways) traced(n int32) (way []int32, neck int) {
	steps := s.room.steps()
	way = append(way, n)
	for s.back[n] != firstNode {
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

// allowed tells whether a way may go through a place at a height.
func (s *ways) allowed(z float64, place geom.Vec) bool {
	if s.o.Flat && z < s.p.Base {
		return false
	}
	if z <= s.top {
		return true
	}
	if z > s.top+s.room.width {
		return false
	}
	piece := s.h.pieceOver(place) // over the cup itself, so that a shallow one counts as wide
	return piece >= 0 && s.in[piece]
}

// isOutside tells whether a place below the top lies in space that was open when the cup
// ended.
func (s *ways) isOutside(q geom.Vec) bool {
	k := s.h.pieceOver(q)
	if k >= 0 {
		return !s.in[k] && s.h.rise.openAt[k] <= s.b.to
	}
	for a, x := range [3]float64{q.X, q.Y, q.Z} {
		if x < float64(s.lat.At(a, 0)) || x > float64(s.lat.At(a, s.lat.N[a]-1)) {
			return true // beyond the columns: free space
		}
	}
	return false
}

// roomiest returns the node of most room in the cup's columns, up to its width above
// its end; of several the first; -1 for none.
func (s *ways) roomiest() int32 {
	c, best, most := s.room, int32(-1), 0
	pitch := c.lat.Pitch()
	step := int32(pitch / s.lat.Q)
	high := s.b.to + int32(c.width/s.lat.Q)
	var known [16][3]int // material met last: mostly it tells that there is less room
	met := 0
	s.h.rise.each(s.b, func(i int32) {
		for z := s.h.lo[i] + step/2; z < min(s.h.hi[i], high); z += step {
			at, ok := c.nodeAt(s.h.at(i, z))
			if !ok {
				continue
			}
			n := c.numberAt(at)
			if !c.wide.has(n) && !c.narrow.has(n) {
				continue
			}
			d := 1 << 30
			for _, foot := range known[:min(met, len(known))] {
				d = min(d, apart2(at, foot))
			}
			if d > most || d == most && n < best {
				var foot [3]int
				d, foot = c.nearestSolid(at)
				known[met%len(known)] = foot
				met++
				if d > most || d == most && n < best {
					best, most = n, d
				}
			}
			// A node t steps on has less room than d's root and t, and what two places are
			// rounded by to nodes.
			if t := math.Sqrt(float64(most)) - math.Sqrt(float64(d)) - math.Sqrt(3) - 0.01; t > 1 {
				z += int32(min(t, 1000)) * step
			}
		}
	})
	return best
}
