package geom

import "math"

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
		p := point[float64]{v.X + 0, v.Y + 0, v.Z + 0} // -0 + 0 = +0
		w.w.put(p, hash64(p))
	}
	w.w.end()
}

// Mesh returns the facets added so far. The Welder must not be used afterwards.
func (w *Welder) Mesh() *Mesh { return w.w.mesh() }

// Welder32 is a Welder of float32 corners, as an STL holds them: half the memory
// to look through, and so twice the speed on large meshes.
type Welder32 struct{ w welder[float32] }

// NewWelder32 returns a Welder32 with room for about the given number of facets.
func NewWelder32(facets int) *Welder32 { return &Welder32{newWelder(facets, hash32)} }

// Add takes the next facet: x, y, z of its three corners.
func (w *Welder32) Add(corners *[9]float32) {
	for c := corners[:]; len(c) >= 3; c = c[3:] {
		p := point[float32]{c[0] + 0, c[1] + 0, c[2] + 0}
		w.w.put(p, hash32(p))
	}
	w.w.end()
}

// Mesh returns the facets added so far. The Welder must not be used afterwards.
func (w *Welder32) Mesh() *Mesh { return w.w.mesh() }

// point is a corner as the table compares it.
type point[T float32 | float64] struct{ x, y, z T }

// welder does the work of both forms.
type welder[T float32 | float64] struct {
	points []point[T]
	facets [][3]int32
	table  []int32 // vertex index + 1 by hash, open addressing; 0 = free
	shift  uint    // 64 - log2(len(table))
	hash   func(point[T]) uint64

	n       int // corners waiting
	corners [3 * batchFacets]point[T]
	home    [3 * batchFacets]uint32
	guess   [3 * batchFacets]int32
	touched T // keeps the touching loads from being optimised away
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
	h := math.Float64bits(p.x)*0x9E3779B97F4A7C15 ^ math.Float64bits(p.y)*0xC2B2AE3D27D4EB4F ^
		math.Float64bits(p.z)*0x165667B19E3779F9
	h ^= h >> 32
	return h * 0x9E3779B97F4A7C15
}

// hash32 does the same with two products, for three coordinates fit 96 bits.
func hash32(p point[float32]) uint64 {
	h := (uint64(math.Float32bits(p.x))<<32 | uint64(math.Float32bits(p.y))) * 0x9E3779B97F4A7C15
	h ^= h>>32 ^ uint64(math.Float32bits(p.z))
	return h * 0xC2B2AE3D27D4EB4F
}

// put takes the next corner and end ends its facet.
func (w *welder[T]) put(p point[T], hash uint64) {
	w.corners[w.n], w.home[w.n] = p, uint32(hash>>w.shift)
	w.n++
}

func (w *welder[T]) end() {
	if w.n == len(w.corners) {
		w.flush()
	}
}

// flush looks up the waiting corners, in order.
func (w *welder[T]) flush() {
	w.makeRoom()
	corners, home, guess := w.corners[:w.n], w.home[:w.n], w.guess[:w.n]
	for i, h := range home {
		guess[i] = w.table[h]
	}
	points, touched := w.points, T(0)
	for _, g := range guess {
		if g > 0 {
			touched += points[g-1].x
		}
	}
	w.touched = touched
	for i, p := range corners {
		g := guess[i]
		if g == 0 || points[g-1] != p {
			g = w.search(p, home[i])
		}
		guess[i] = g - 1
	}
	for ; len(guess) >= 3; guess = guess[3:] {
		w.facets = append(w.facets, [3]int32(guess))
	}
	w.n = 0
}

// makeRoom keeps the table at most half full.
func (w *welder[T]) makeRoom() {
	if 2*(len(w.points)+w.n) <= len(w.table) {
		return
	}
	w.resize(2 * (len(w.points) + w.n))
	for i, p := range w.corners[:w.n] {
		w.home[i] = uint32(w.hash(p) >> w.shift)
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
	m := &Mesh{Vertices: make([]Vec, len(w.points)), Facets: w.facets}
	for i, p := range w.points {
		m.Vertices[i] = Vec{float64(p.x), float64(p.y), float64(p.z)}
	}
	*w = welder[T]{}
	return m
}
