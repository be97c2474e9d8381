package mold

import (
	"cmp"
	"iter"
	"math"
	"math/bits"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
)

// nodeRows numbers the nodes of a lattice so that a number is also a bit's: row (i,j)
// along the third axis begins at (i*N[1]+j)*stride, a whole 64-bit word. Between rows lie
// at least widestGap numbers of no node.
type nodeRows struct {
	lat    column.Lattice
	stride int
}

func newNodeRows(lat column.Lattice) nodeRows {
	return nodeRows{lat, (lat.N[2] + widestGap + 63) &^ 63}
}

// numberAt returns that of a node.
func (r *nodeRows) numberAt(at [3]int) int32 {
	return int32((at[0]*r.lat.N[1]+at[1])*r.stride + at[2])
}

// split returns the place of node n.
func (r *nodeRows) split(n int32) [3]int {
	row := int(n) / r.stride
	return [3]int{row / r.lat.N[1], row % r.lat.N[1], int(n) - row*r.stride}
}

// point returns the CAD coordinates of node n.
func (r *nodeRows) point(n int32) geom.Vec {
	at := r.split(n)
	return r.lat.Point(r.lat.At(0, at[0]), r.lat.At(1, at[1]), r.lat.At(2, at[2]))
}

// apart2 returns the squared distance of two nodes in pitches.
func apart2(a, b [3]int) int {
	x, y, z := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return x*x + y*y + z*z
}

// around returns the first and last nodes along the axes of a box that holds those no
// farther than d from a CAD point, on a lattice along the axes of the CAD frame.
func (r *nodeRows) around(p geom.Vec, d float64) (lo, hi [3]int) {
	q := r.lat.Place(p)
	pitch := float64(int64(1) << r.lat.Bits)
	for a, x := range [3]float64{q.X, q.Y, q.Z} {
		last := float64(r.lat.N[a] - 1)
		at, n := x/pitch-float64(r.lat.First[a]), d/r.lat.Pitch()
		lo[a] = int(min(max(math.Floor(at-n), 0), last))
		hi[a] = int(min(max(math.Ceil(at+n), 0), last))
	}
	return lo, hi
}

// nodeStep leads to a neighbour.
type nodeStep struct {
	by      int32
	x, y, z int16
}

// steps lists the ways to the six neighbours.
func (r *nodeRows) steps() [6]nodeStep {
	y, x := int32(r.stride), int32(r.stride*r.lat.N[1])
	return [6]nodeStep{{-x, -1, 0, 0}, {x, 1, 0, 0}, {-y, 0, -1, 0}, {y, 0, 1, 0}, {-1, 0, 0, -1}, {1, 0, 0, 1}}
}

// none returns an empty set. A word more than the nodes need is there, so that any bits
// can be read as parts of two words.
func (r *nodeRows) none() nodeSet { return make(nodeSet, r.lat.N[0]*r.lat.N[1]*r.stride/64+1) }

// nodeSet holds one bit a node.
type nodeSet []uint64

func (s nodeSet) has(n int32) bool { return s[n>>6]&(1<<(n&63)) != 0 }

func (s nodeSet) add(n int32) { s[n>>6] |= 1 << (n & 63) }

// fill puts in the nodes from a to b of one row.
func (s nodeSet) fill(a, b int) {
	for ; a <= b; a = a&^63 + 64 {
		bit := ^uint64(0) << (a & 63)
		if b>>6 == a>>6 {
			bit &= ^uint64(0) >> (63 - b&63)
		}
		s[a>>6] |= bit
	}
}

// all gives the nodes of the set in order.
func (s nodeSet) all() iter.Seq[int32] {
	return func(yield func(int32) bool) {
		for q, word := range s {
			for ; word != 0; word &= word - 1 {
				if !yield(int32(q<<6 + bits.TrailingZeros64(word))) {
					return
				}
			}
		}
	}
}

// ranks returns, per word and for the end, how many nodes of the set come before.
func (s nodeSet) ranks() []int32 {
	out := make([]int32, len(s)+1)
	for q, word := range s {
		out[q+1] = out[q] + int32(bits.OnesCount64(word))
	}
	return out
}

// rank returns how many nodes of the set come before node n, from what ranks returned.
func (s nodeSet) rank(n int32, ranks []int32) int32 {
	return ranks[n>>6] + int32(bits.OnesCount64(s[n>>6]&(1<<(n&63)-1)))
}

// widestGap is how many nodes along a row nearest looks aside.
const widestGap = 4

// chord is a row near another one, by nodes away, at a squared distance in pitches.
type chord struct {
	by     int
	x, y   int
	apart2 int
}

// nearestBit returns the bit set nearest to bit k of a row, false if none is set.
func nearestBit(row []uint64, k int) (at int, ok bool) {
	q := k >> 6
	for a, word := q, row[q]>>(k&63)<<(k&63); ; word = row[a] {
		if word != 0 {
			at, ok = a<<6+bits.TrailingZeros64(word), true
			break
		}
		if a++; a == len(row) {
			break
		}
	}
	for a, word := q, row[q]<<(63-k&63)>>(63-k&63); ; word = row[a] {
		if word != 0 {
			if b := a<<6 + 63 - bits.LeadingZeros64(word); !ok || k-b < at-k {
				return b, true
			}
			break
		}
		if a--; a < 0 {
			break
		}
	}
	return at, ok
}

// disc lists the rows nearer than a squared distance to a row, the nearest first.
func (r *nodeRows) disc(d2 int) []chord {
	var out []chord
	n := root(d2)
	for x := -n; x <= n; x++ {
		for y := -n; y <= n; y++ {
			if a := x*x + y*y; a < d2 {
				out = append(out, chord{(x*r.lat.N[1] + y) * r.stride, x, y, a})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b chord) int { return cmp.Compare(a.apart2, b.apart2) })
	return out
}

// root returns the largest number whose square is less than n >= 1.
func root(n int) int {
	r := 0
	for (r+1)*(r+1) < n {
		r++
	}
	return r
}

// nearest returns the squared distance from node n to the nearest one of the set in the
// rows of a disc, no more than most, which is at most (widestGap+1)^2.
func (s nodeSet) nearest(n int32, disc []chord, most int) int {
	for i := range disc {
		d := &disc[i]
		if d.apart2 >= most {
			break
		}
		from := int(n) + d.by - widestGap
		q := from >> 6
		if q < 0 || q+1 >= len(s) {
			continue
		}
		around := s[q]>>(from&63) | s[q+1]<<(64-from&63)
		most = min(most, d.apart2+int(gapTo[around&(1<<(2*widestGap+1)-1)]))
	}
	return most
}

// gapTo holds, for bits around a node, the squared distance to the nearest one set.
var gapTo = func() (out [1 << (2*widestGap + 1)]uint8) {
	for b := range out {
		out[b] = 255
		for k := range 2*widestGap + 1 {
			if b>>k&1 != 0 {
				out[b] = min(out[b], uint8((k-widestGap)*(k-widestGap)))
			}
		}
	}
	return out
}()

// near returns the nodes less than sqrt(d2) pitches from one of the set: the set dilated
// by a ball, plane by plane. What a plane of nodes gives to the one x pitches away are its
// rows, moved aside by y and longer at both ends by what the ball is long there.
func (r *nodeRows) near(s nodeSet, d2 int) nodeSet {
	out := r.none()
	words := r.stride / 64
	plane := r.lat.N[1] * words
	longer := make([][]uint64, root(d2)+1)
	for k := 1; k < len(longer); k++ {
		longer[k] = make([]uint64, plane)
	}
	disc := make([]uint64, plane)
	for i := range r.lat.N[0] {
		longer[0] = s[i*plane : (i+1)*plane]
		if empty(longer[0]) {
			continue
		}
		for k := 1; k < len(longer); k++ {
			lengthen(longer[k], longer[k-1], words)
		}
		for x := 0; x*x < d2; x++ {
			clear(disc)
			for y := 0; x*x+y*y < d2; y++ {
				row := longer[root(d2-x*x-y*y)]
				join(disc[:plane-min(y*words, plane)], row[min(y*words, plane):])
				join(disc[min(y*words, plane):], row)
			}
			if i >= x {
				join(out[(i-x)*plane:(i-x+1)*plane], disc)
			}
			if i+x < r.lat.N[0] {
				join(out[(i+x)*plane:(i+x+1)*plane], disc)
			}
		}
	}
	return out
}

func empty(s []uint64) bool {
	any := uint64(0)
	for _, w := range s {
		any |= w
	}
	return any == 0
}

// join adds the bits of b to as long a.
func join(a, b []uint64) {
	for i := range a {
		a[i] |= b[i]
	}
}

// lengthen writes rows of words with every run of bits longer by one at both ends.
func lengthen(to, rows []uint64, words int) {
	for r := 0; r < len(rows); r += words {
		row, out := rows[r:r+words], to[r:r+words]
		before := uint64(0)
		for i, w := range row {
			out[i] = w | w<<1 | w>>1 | before>>63
			if i > 0 {
				out[i-1] |= w << 63
			}
			before = w
		}
	}
}
