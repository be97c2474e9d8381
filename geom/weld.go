package geom

import (
	"math"
	"slices"
)

// batchFacets is how many facets a Welder gathers before it looks any of them
// up: the table slots and then the vertices of a whole batch are touched first,
// so that their cache misses overlap instead of queueing. Sixteen facets are 48
// independent loads, more than a core keeps in flight; 32 and 64 measured slower.
const batchFacets = 16

// Welder turns loose triangles into a Mesh by joining corners whose coordinates
// are bit-equal, with -0 taken as +0. Near pairs are kept apart: joining them by
// a distance can only be wrong somewhere, and Inspect reports what stays open.
//
// Facets and vertices keep the order in which they first appear. A corner that is
// not a number joins nothing; readers refuse it before. Linear in the facets;
// memory beyond the mesh about 16 bytes a facet.
type Welder struct{ w welder[float64] }

// NewWelder returns a Welder with room for about the given number of facets; a
// closed mesh has half as many vertices. More or fewer may follow.
func NewWelder(facets int) *Welder { return &Welder{newWelder(facets, hash64)} }

// Add takes the next facet.
func (w *Welder) Add(a, b, c Vec) {
	for _, v := range [3]Vec{a, b, c} {
		w.w.put(point[float64]{v.X + 0, v.Y + 0, v.Z + 0}) // -0 + 0 = +0
	}
	w.w.end()
}

// Mesh returns the facets added so far. The Welder must not be used afterwards.
func (w *Welder) Mesh() *Mesh { return w.w.mesh() }

// Vec32 is a point in single precision, as an STL holds it.
type Vec32 = point[float32]

// Welder32 is a Welder of float32 corners: half the memory to look through, and so
// twice the speed on large meshes.
type Welder32 struct{ w welder[float32] }

// NewWelder32 returns a Welder32 with room for about the given number of facets.
func NewWelder32(facets int) *Welder32 { return &Welder32{newWelder(facets, hash32)} }

// Add takes the next facets, three corners each. It turns a corner's -0 to +0.
func (w *Welder32) Add(corners []Vec32) {
	for len(corners) > 0 {
		n := min(len(corners), 3*batchFacets)
		batch := corners[:n]
		w.w.makeRoom(n)
		home, shift := w.w.home[:n], w.w.shift&63
		for i := range batch {
			p := &batch[i]
			p.X, p.Y, p.Z = p.X+0, p.Y+0, p.Z+0 // -0 + 0 = +0
			home[i] = uint32(hash32(*p) >> shift)
		}
		w.w.lookUp(batch)
		corners = corners[n:]
	}
}

// Mesh returns the facets added so far. The Welder must not be used afterwards.
func (w *Welder32) Mesh() *Mesh { return w.w.mesh() }

// point is a corner as the table compares it.
type point[T float32 | float64] struct{ X, Y, Z T }

// welder does the work of both forms.
type welder[T float32 | float64] struct {
	points []point[T]
	facets [][3]int32
	table  []int32 // vertex index + 1 by hash, open addressing; 0 = free
	shift  uint    // 64 - log2(len(table))
	hash   func(point[T]) uint64

	n       int // corners waiting
	corners [3 * batchFacets]point[T]
	home    [3 * batchFacets]uint32 // first slot to look at, for each corner of a batch
	touched T                       // keeps the touching loads from being optimised away
}

func newWelder[T float32 | float64](facets int, hash func(point[T]) uint64) welder[T] {
	w := welder[T]{
		hash:   hash,
		points: make([]point[T], 0, facets/2+64),
		facets: make([][3]int32, 0, facets+batchFacets),
	}
	w.resize(facets/2 + 64)
	return w
}

// resize makes a table at least three times as long as the vertices to come.
// Twice as long measured 1.2 times as slow: each second look is another cache
// miss.
func (w *welder[T]) resize(vertices int) {
	bits := uint(10)
	for 1<<bits < 3*vertices {
		bits++
	}
	w.table, w.shift = make([]int32, 1<<bits), 64-bits
	mask := uint32(len(w.table) - 1)
	for i, v := range w.points {
		h := uint32(w.hash(v) >> w.shift)
		for w.table[h] != 0 {
			h = (h + 1) & mask
		}
		w.table[h] = int32(i + 1)
	}
}

// hash64 spreads the coordinate bits over 64: an odd multiplier for each
// coordinate, then a last product whose high bits are used (Fibonacci hashing,
// Knuth, The Art of Computer Programming, 6.4). Coordinates that were float32 have
// 29 zero bits at the low end; the fold brings the others down before the last
// product.
func hash64(p point[float64]) uint64 {
	h := math.Float64bits(p.X)*0x9E3779B97F4A7C15 ^ math.Float64bits(p.Y)*0xC2B2AE3D27D4EB4F ^
		math.Float64bits(p.Z)*0x165667B19E3779F9
	h ^= h >> 32
	return h * 0x9E3779B97F4A7C15
}

// hash32 does the same with two products, for three coordinates fit 96 bits.
func hash32(p point[float32]) uint64 {
	h := (uint64(math.Float32bits(p.X))<<32 | uint64(math.Float32bits(p.Y))) * 0x9E3779B97F4A7C15
	h ^= h>>32 ^ uint64(math.Float32bits(p.Z))
	return h * 0xC2B2AE3D27D4EB4F
}

// put takes the next corner and end ends its facet.
func (w *welder[T]) put(p point[T]) {
	w.corners[w.n] = p
	w.n++
}

func (w *welder[T]) end() {
	if w.n == len(w.corners) {
		w.flush()
	}
}

// flush looks up the waiting corners.
func (w *welder[T]) flush() {
	w.makeRoom(w.n)
	for i, p := range w.corners[:w.n] {
		w.home[i] = uint32(w.hash(p) >> w.shift)
	}
	w.lookUp(w.corners[:w.n])
	w.n = 0
}

// lookUp finds or makes the vertices of a batch of corners, in order; home holds their
// slots.
func (w *welder[T]) lookUp(corners []point[T]) {
	var known [3 * batchFacets]int32
	guess, home, table := known[:len(corners)], w.home[:len(corners)], w.table
	for i, h := range home {
		guess[i] = table[h]
	}
	points, touched := w.points, T(0)
	for _, g := range guess {
		if g > 0 {
			touched += points[g-1].X
		}
	}
	w.touched = touched
	for i := range corners {
		p, g := &corners[i], guess[i]
		if g == 0 || points[g-1] != *p {
			g = w.search(*p, home[i])
		}
		guess[i] = g - 1
	}
	n := len(w.facets)
	w.facets = slices.Grow(w.facets, len(corners)/3)[:n+len(corners)/3]
	for i := range w.facets[n:] {
		w.facets[n+i] = [3]int32(guess[3*i:])
	}
}

// makeRoom keeps the table at most half full with so many more vertices.
func (w *welder[T]) makeRoom(more int) {
	if 2*(len(w.points)+more) > len(w.table) {
		w.resize(2 * (len(w.points) + more))
	}
}

// search returns 1 + the vertex at p, new where none is bit-equal, looking from
// slot h on.
func (w *welder[T]) search(p point[T], h uint32) int32 {
	table, mask := w.table, uint32(len(w.table)-1)
	for {
		g := table[h]
		if g == 0 {
			break
		}
		if w.points[g-1] == p {
			return g
		}
		h = (h + 1) & mask
	}
	w.points = append(w.points, p)
	table[h] = int32(len(w.points))
	return table[h]
}

func (w *welder[T]) mesh() *Mesh {
	w.flush()
	w.table = nil // its room may be needed
	m := &Mesh{Vertices: make([]Vec, len(w.points)), Facets: w.facets}
	for i, p := range w.points {
		m.Vertices[i] = Vec{float64(p.X), float64(p.Y), float64(p.Z)}
	}
	*w = welder[T]{}
	return m
}
