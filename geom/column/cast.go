package column

import (
	"runtime"
	"slices"
	"sync"

	"pourproof/geom"
)

// Lines is the material along every lattice line of one direction. Line (u,v)
// holds the stretches Start[u*NV+v] up to Start[u*NV+v+1] of Lo and Hi, sorted,
// disjoint, in quanta along the line. The direction axis is Axis; u and v count
// along the next two axes in cyclic order (for Axis 2: u = x, v = y).
type Lines struct {
	Axis   int
	NU, NV int
	Start  []int32
	Lo, Hi []int32
	// The facet at which the line enters the material (Lo) and leaves it (Hi).
	LoFacet, HiFacet []int32
	Odd              int // lines that met an open body an odd number of times
}

// Cast returns the material along the lattice lines of one axis by scan
// conversion of the facets: cost grows with facets + rows they touch +
// crossings. Exact for the snapped vertices, up to rounding of a crossing's
// height to one quantum. Tie rule: a line on an edge counts as lying right of it
// and above it, for both facets of the edge. Facets are shared out to all
// processors; the result is the same for any number of them.
func (s *Solids) Cast(axis int) *Lines {
	l := &Lines{}
	s.CastInto(l, axis)
	return l
}

// CastInto is Cast into lines whose memory is used again.
func (s *Solids) CastInto(l *Lines, axis int) {
	u, v := (axis+1)%3, (axis+2)%3
	l.Axis, l.NU, l.NV = axis, s.Lattice.N[u], s.Lattice.N[v]
	w := workspaces.take()
	w.scan(s, axis)
	w.sort(l.NU * l.NV)
	s.spans(l, w.sorted, w.start)
	workspaces.giveBack(w)
}

// Each calls visit for both ends of every stretch of material, line by line: the
// CAD point, the facet, and whether the line leaves the material there.
func (l *Lines) Each(lat *Lattice, visit func(p geom.Vec, facet int32, leaving bool)) {
	l.EachOver(lat, nil, visit)
}

// EachOver is Each for the ends that lie over marked columns: node (i,j) of the first
// two axes is number i*N[1]+j, an end between nodes counts to the lower one. nil = all.
func (l *Lines) EachOver(lat *Lattice, columns []bool, visit func(p geom.Vec, facet int32, leaving bool)) {
	u, v := (l.Axis+1)%3, (l.Axis+2)%3
	var q [3]int32
	end := func(z, facet int32, leaving bool) {
		q[l.Axis] = z
		if columns != nil {
			i, j := lat.NodeBelow(0, q[0]), lat.NodeBelow(1, q[1])
			if i < 0 || j < 0 || i >= lat.N[0] || j >= lat.N[1] || !columns[i*lat.N[1]+j] {
				return
			}
		}
		visit(lat.Point(q[0], q[1], q[2]), facet, leaving)
	}
	for line := 0; line+1 < len(l.Start); line++ {
		q[u], q[v] = lat.At(u, line/l.NV), lat.At(v, line%l.NV)
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			end(l.Lo[i], l.LoFacet[i], false)
			end(l.Hi[i], l.HiFacet[i], true)
		}
	}
}

// crossing is one meeting of a line with a facet. Crossings of a line are in order
// when their keys are: by height, then entering before leaving, then facet.
type crossing struct {
	key  uint64
	line int32
}

const leaving = 1 << 31 // in a key; below it the facet

func keyOf(z int32, tag uint32) uint64 { return uint64(uint32(z)^1<<31)<<32 | uint64(tag) }

func height(key uint64) int32 { return int32(uint32(key>>32) ^ 1<<31) }

// workspace is the memory of one Cast.
type workspace struct {
	cells  [][]cell     // of the vertices of each body
	hits   [][]crossing // by share of the facets
	sorted []uint64
	start  []int32
}

// spares keeps what is only needed for a while for the next one who needs it: fresh
// memory costs more than the work done in it. Unlike a sync.Pool it outlives garbage
// collections, of which a check has many; as many are kept as can be at work at once.
type spares[T any] struct {
	mutex sync.Mutex
	kept  []*T
}

func (s *spares[T]) take() *T {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	n := len(s.kept) - 1
	if n < 0 {
		return new(T)
	}
	spare := s.kept[n]
	s.kept = s.kept[:n]
	return spare
}

func (s *spares[T]) giveBack(spare *T) {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if len(s.kept) < 3*runtime.GOMAXPROCS(0) { // a Space casts along three axes at once
		s.kept = append(s.kept, spare)
	}
}

var workspaces spares[workspace]

// sized returns s with length n, its contents undefined.
func sized[T any](s []T, n int) []T { return slices.Grow(s[:0], n)[:n] }

// sort puts the keys in order of their lines (counting sort).
func (w *workspace) sort(lines int) {
	w.start = sized(w.start, lines+1)
	start := w.start
	clear(start)
	for _, hits := range w.hits {
		for i := range hits {
			start[hits[i].line+1]++
		}
	}
	for i := 1; i < len(start); i++ {
		start[i] += start[i-1]
	}
	w.sorted = sized(w.sorted, int(start[lines]))
	// Each line's crossings are put in from its end backward, which leaves its end's
	// mark at its beginning.
	for _, hits := range w.hits {
		for i := range hits {
			p := &start[hits[i].line+1]
			*p--
			w.sorted[*p] = hits[i].key
		}
	}
	copy(start, start[1:])
	start[lines] = int32(len(w.sorted))
}

// order sorts the keys of one line: mostly a few.
func order(c []uint64) {
	switch {
	case len(c) == 4: // by a network, without branches
		a, b, d, e := min(c[0], c[1]), max(c[0], c[1]), min(c[2], c[3]), max(c[2], c[3])
		b, d, c[0], c[3] = max(a, d), min(b, e), min(a, d), max(b, e)
		c[1], c[2] = min(b, d), max(b, d)
		return
	case len(c) > 64:
		slices.Sort(c)
		return
	}
	for i := 1; i < len(c); i++ {
		x, j := c[i], i
		for ; j > 0 && c[j-1] > x; j-- {
			c[j] = c[j-1]
		}
		c[j] = x
	}
}
