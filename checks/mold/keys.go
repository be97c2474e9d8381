package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// Key is a protrusion of one half in a recess of the other that sets the halves
// against each other.
type Key struct {
	ID        int
	Half      string   // that the protrusion belongs to
	Socket    string   // that the recess belongs to
	At        geom.Vec // middle of the key at the parting face
	Width     float64  // of a circle as large as the key at the parting face
	Depth     float64  // how far it reaches beyond the parting face
	Clearance float64  // per side: median gap of its side walls, negative where they overlap
	Least     float64  // smallest gap of its side walls
	ToCavity  float64  // nearest distance to the part

	half  int
	cells []int
}

// Limits of what counts as a key, by design: deeper than a witness or a step
// that registers nothing; smaller than a share of the face, or it is a step of
// the parting face itself.
const (
	leastKeyDepth = 0.5  // mm
	largestKey    = 0.15 // of the face
	// flowOn is the rise over run up to which neighbouring cells are one face: 20
	// deg, below the side of any key, above the slope of most parting faces. A
	// steeper parting face falls apart into pieces that meet the part or the
	// outside, and so are no keys.
	flowOn = 0.36
)

// blob is a patch of cells of one kind of connection.
type blob struct {
	cells []int
	part  bool // meets the part or a bore
}

// keysOf finds the keys of a face map: patches enclosed by the parting face that
// stand off it by a step. It marks their cells and the meetings in them.
func (m *Mold) keysOf(f *FaceMap, pair halfPair) []Key {
	face := f.face()
	var keys []Key
	for _, b := range f.islands(face) {
		if k, ok := m.keyOf(f, face, &b); ok {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b Key) int {
		return cmp.Or(cmp.Compare(a.At.X, b.At.X), cmp.Compare(a.At.Y, b.At.Y), cmp.Compare(a.At.Z, b.At.Z))
	})
	for i := range keys {
		keys[i].ID = i + 1
		for _, c := range keys[i].cells {
			f.Kind[c] = OverKey
		}
	}
	m.measureKeys(f, pair, keys)
	return keys
}

// face returns which cells belong to the parting face itself: of the pieces of
// facing cells, joined where heights flow on, the largest and those that meet the
// part or a bore.
func (f *FaceMap) face() []bool {
	on := make([]bool, len(f.Kind))
	step := flowOn * f.Pitch
	pieces := f.pieces(func(c int) bool { return f.Kind[c] == Facing },
		func(c, d int) bool { return math.Abs(float64(f.LowA[c]-f.LowA[d])) <= step })
	largest := 0
	for i := range pieces {
		if len(pieces[i].cells) > len(pieces[largest].cells) {
			largest = i
		}
	}
	for i, p := range pieces {
		if i == largest || p.part {
			for _, c := range p.cells {
				on[c] = true
			}
		}
	}
	return on
}

// islands returns the patches of cells off the face that neither the part nor a
// bore breaks into.
func (f *FaceMap) islands(face []bool) []blob {
	off := func(c int) bool {
		k := f.Kind[c]
		return !face[c] && (k == Facing || k == Steep || k == Apart)
	}
	var out []blob
	for _, b := range f.pieces(off, func(int, int) bool { return true }) {
		if !b.part {
			out = append(out, b)
		}
	}
	return out
}

// pieces joins neighbouring cells that in accepts where joined allows it.
func (f *FaceMap) pieces(in func(c int) bool, joined func(c, d int) bool) []blob {
	seen := make([]bool, len(f.Kind))
	var out []blob
	for start := range f.Kind {
		if seen[start] || !in(start) {
			continue
		}
		b := blob{cells: []int{start}}
		seen[start] = true
		for head := 0; head < len(b.cells); head++ {
			c := b.cells[head]
			f.around(c, func(d int) {
				if d < 0 {
					return
				}
				b.part = b.part || f.Kind[d] == OverPart || f.Kind[d] == OverBore
				if !seen[d] && in(d) && joined(c, d) {
					seen[d] = true
					b.cells = append(b.cells, d)
				}
			})
		}
		out = append(out, b)
	}
	return out
}

// around calls visit for the four neighbours of a cell, -1 beyond the map.
func (f *FaceMap) around(c int, visit func(d int)) {
	u, v := c/f.NV, c%f.NV
	at := func(u, v int) int {
		if u < 0 || v < 0 || u >= f.NU || v >= f.NV {
			return -1
		}
		return u*f.NV + v
	}
	visit(at(u-1, v))
	visit(at(u+1, v))
	visit(at(u, v-1))
	visit(at(u, v+1))
}

// keyOf measures one island. A key is where both halves leave the face the same
// way: one stands up, the other gives way.
func (m *Mold) keyOf(f *FaceMap, face []bool, b *blob) (Key, bool) {
	total := 0
	for c := range face {
		if face[c] {
			total++
		}
	}
	if float64(len(b.cells)) > largestKey*float64(total) {
		return Key{}, false
	}
	var ring []float64
	var su, sv float64
	for _, c := range b.cells {
		su += float64(c / f.NV)
		sv += float64(c % f.NV)
		f.around(c, func(d int) {
			if d >= 0 && face[d] {
				ring = append(ring, float64(f.LowA[d]))
			}
		})
	}
	if len(ring) == 0 {
		return Key{}, false
	}
	slices.Sort(ring)
	base := ring[len(ring)/2]
	rise, fall := 0.0, 0.0 // of both halves together
	for _, c := range b.cells {
		if k := f.Kind[c]; k != Facing && k != Steep {
			continue
		}
		a, o := float64(f.LowA[c])-base, float64(f.LowB[c])-base
		rise, fall = max(rise, min(a, o)), min(fall, max(a, o))
	}
	depth, half, socket := rise, f.A, f.B
	if -fall > rise {
		depth, half, socket = -fall, f.B, f.A
	}
	if depth < leastKeyDepth {
		return Key{}, false
	}
	n := float64(len(b.cells))
	k := Key{Half: m.Halves[half].Name, Socket: m.Halves[socket].Name, half: half, Depth: depth, cells: b.cells,
		Width: 2 * math.Sqrt(n*f.Pitch*f.Pitch/math.Pi)}
	k.At = f.middle(su/n, sv/n, base)
	return k, true
}

// middle returns the CAD point of a place between cells.
func (f *FaceMap) middle(u, v, height float64) geom.Vec {
	at := func(axis int, x float64) int32 {
		return f.lat.At(axis, 0) + int32(math.Round(x*float64(int64(1)<<f.lat.Bits)))
	}
	p := f.lat.Point(at(0, u), at(1, v), 0)
	return p.AddScaled(f.lat.Frame.Z, height-p.Dot(f.lat.Frame.Z))
}

// steepest is the most that a side wall's normal may lean to the axis: a wall at
// 45 deg and steeper sets the halves sideways.
const steepest = 0.7

// measureKeys takes the clearances from the meetings on side walls, and the
// distance to the cavity from the same. A side wall may stand one cell outside
// the cells whose middles lie in the key.
func (m *Mold) measureKeys(f *FaceMap, pair halfPair, keys []Key) {
	owner := make([]int32, len(f.Kind)) // key number from 1; negative: beside that key
	for i := range keys {
		for _, c := range keys[i].cells {
			owner[c] = int32(i + 1)
		}
	}
	for i := range keys {
		for _, c := range keys[i].cells {
			f.around8(c, func(d int) {
				if owner[d] == 0 {
					owner[d] = -int32(i + 1)
				}
			})
		}
	}
	sides := make([][]float64, len(keys))
	near := make([]float64, len(keys))
	for i := range near {
		near[i] = math.Inf(1)
	}
	for _, s := range pair.list {
		c := f.Cell(s.p)
		if c < 0 || owner[c] == 0 {
			continue
		}
		side := math.Abs(s.n.Dot(f.Axis)) < steepest
		if owner[c] < 0 && !side {
			continue
		}
		s.inKey = true
		i := max(owner[c], -owner[c]) - 1
		if side {
			sides[i] = append(sides[i], s.gap)
			if h, ok := m.fixed.partTree.Nearest(s.p, near[i]); ok {
				near[i] = h.Dist
			}
		}
	}
	for i := range keys {
		keys[i].ToCavity = near[i]
		if len(sides[i]) == 0 {
			continue
		}
		slices.Sort(sides[i])
		keys[i].Clearance = math.Round(sides[i][len(sides[i])/2]*1e4) / 1e4
		keys[i].Least = math.Round(sides[i][0]*1e4) / 1e4
	}
}

// around8 calls visit for the eight neighbours of a cell that the map holds.
func (f *FaceMap) around8(c int, visit func(d int)) {
	u, v := c/f.NV, c%f.NV
	for x := max(u-1, 0); x <= min(u+1, f.NU-1); x++ {
		for y := max(v-1, 0); y <= min(v+1, f.NV-1); y++ {
			if d := x*f.NV + y; d != c {
				visit(d)
			}
		}
	}
}
