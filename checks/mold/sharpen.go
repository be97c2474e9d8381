package mold

import (
	"math"

	"pourproof/geom/column"
	"pourproof/geom/flood"
)

// Sharpening: the heights at which gas or resin passes between two columns are
// read off the columns, so the true height of a narrow passage is missed by up
// to a pitch times its slope. For the few passages that decide a pocket, a
// window of the lattice around the passage is cast at a sixteenth of the pitch
// and the height is found again as the best way through the window between the
// columns on one side and those on the other.
const (
	fineBits   = 4 // 2^4 lines for one
	windowHalf = 4 // pitches on every side of the passage
)

// side tells on which side of a passage a piece of the window lies.
type side uint8

const (
	neither side = iota
	near
	far
)

// passage returns the height at which near and far pieces are joined in a fine
// window around piece a and height z: for gas (down = true) the highest height from
// which a way leads down and across, for resin the lowest over which it spills. A way
// found at the window's border may lead on along a rim that rises (falls) beyond it: the window
// follows it as long as that finds a better one. ok is false where the window joins
// them nowhere.
func (p *pour) passage(a int32, z int32, sideOf func(piece int32) side, down bool) (height int32, ok bool) {
	c := int(p.col[a])
	at := [3]int{c / p.lat.N[1], c % p.lat.N[1], p.lat.NodeBelow(2, z)}
	for range follow {
		lo, hi := p.around(at)
		z, found, near := p.meetIn(lo, hi, sideOf, down)
		if !found || ok && (z == height || z < height == down) {
			break
		}
		height, ok = z, true
		if near[0], near[1] = near[0]+lo[0], near[1]+lo[1]; inner(near, lo, hi) {
			break
		}
		at = [3]int{near[0], near[1], p.lat.NodeBelow(2, z)}
	}
	return height, ok
}

// follow is how many windows are laid one after the other along a rim, 3 pitches
// apart: the last link to close lies within a pitch times its slope of the
// rim's best height, and a round rim of radius r falls by so much over sqrt(2 r pitch),
// 12 pitches for r = 70 pitches.
const follow = 5

// around returns the first and last nodes of the window around a node.
func (p *pour) around(at [3]int) (lo, hi [3]int) {
	for i, n := range p.lat.N {
		lo[i], hi[i] = max(at[i]-windowHalf, 0), min(at[i]+windowHalf+1, n-1)
	}
	return lo, hi
}

// window casts a fine window.
func (p *pour) window(lat *column.Lattice) *fineWindow {
	return &fineWindow{p: p, sp: column.NewSpace(p.sp.Solids.In(*lat), p.m.Seal, p.m.openWay)}
}

// inner tells whether a column lies more than a pitch inside a window.
func inner(c [2]int, lo, hi [3]int) bool {
	return c[0] > lo[0]+1 && c[0]+1 < hi[0]-1 && c[1] > lo[1]+1 && c[1]+1 < hi[1]-1
}

// sealOf returns the sharpened level at which pocket k was cut off, and how far
// the coarse one was off; without a seal the pocket's own bottom.
func (p *pour) sealOf(k int32) (level int32, moved float64) {
	level = p.flow.SealLevel(k)
	s := p.flow.Seals[k]
	var a int32
	switch {
	case s.Link >= 0:
		l := p.graph.Links[s.Link]
		a = l.A
		if p.flow.Pocket[l.A] == k {
			a = l.B
		}
	case s.Exit >= 0:
		a = p.graph.Exits[s.Exit].Run
	default:
		return level, 0
	}
	later := func(i int32) bool { // gas that was open for longer
		r := p.run[i]
		return p.kind[i] == outsideAir || r >= 0 && p.hi[i] > level && p.flow.Cut[r] > s.When
	}
	sure := func(i int32) bool { // and that not only for a column beside the passage
		return later(i) && (p.kind[i] == outsideAir || p.hi[i] > level+strip<<p.lat.Bits)
	}
	between := func(open func(int32) bool) func(int32) side {
		return func(i int32) side {
			switch r := p.run[i]; {
			case open(i):
				return far
			case r >= 0 && p.hi[i] > level && p.flow.Pocket[r] == k:
				return near
			}
			return neither
		}
	}
	// The way out leads through both places: the lower of the two passages counts.
	z, ok := p.passage(p.piece[a], level, between(later), true)
	end := p.followGas(p.piece[a], level, k, sure)
	if y, found := p.passage(end, level, between(sure), true); found && (!ok || y < z) {
		z, ok = y, true
	}
	return p.accept(level, z, ok)
}

// lipOf returns the sharpened height of the saddle that a run's pool was
// spilling over when its gas was cut off.
func (p *pour) lipOf(node, pool, link, level int32) (int32, float64) {
	l := p.graph.Links[link]
	z, ok := p.passage(p.piece[l.A], level, func(i int32) side {
		r := p.run[i]
		if r < 0 {
			return neither
		}
		switch p.flow.Pool(r, node) {
		case -1:
			return neither
		case pool:
			return near
		}
		return far
	}, false)
	return p.accept(level, z, ok)
}

// strip is the height in pitches above a sealing level within which a run may be
// counted to the open gas only because a column beside the passage stands for
// it: a roof sloping by up to 60 deg rises 1.7 pitches from one column to the
// next.
const strip = 2

// followGas walks from piece a over pieces whose gas was cut off no sooner than
// pocket k to the first one that is open beyond doubt. Under a roof that rises sideways the
// last link to close may lie anywhere along a line of equal height; the passage
// itself lies where that line meets the open.
func (p *pour) followGas(a, level, k int32, open func(piece int32) bool) int32 {
	when := p.flow.Seals[k].When
	seen := map[int32]bool{a: true}
	queue := []int32{a}
	for head := 0; head < len(queue); head++ {
		i := queue[head]
		if open(i) {
			return i
		}
		p.beside(i, func(j, _, hi int32) {
			r := p.run[j]
			if seen[j] || hi < level || p.kind[j] == gateFull || r >= 0 && (p.flow.Cut[r] < when || p.flow.Pocket[r] == k) {
				return
			}
			seen[j] = true
			queue = append(queue, j)
		})
	}
	return a
}

// beside calls visit for every piece that piece i opens to sideways, with the
// heights of the opening.
func (p *pour) beside(i int32, visit func(j, lo, hi int32)) {
	c, ny := int(p.col[i]), p.lat.N[1]
	x, y := c/ny, c%ny
	try := func(d, fromX, fromY, axis int) {
		for j := p.start[d]; j < p.start[d+1]; j++ {
			lo, hi := max(p.lo[i], p.lo[j]), min(p.hi[i], p.hi[j])
			if lo >= hi {
				continue
			}
			if lo, hi, ok := p.sp.Open(fromX, fromY, axis, lo, hi); ok {
				visit(j, lo, hi)
			}
		}
	}
	if x > 0 {
		try(c-ny, x-1, y, 0)
	}
	if x+1 < p.lat.N[0] {
		try(c+ny, x, y, 0)
	}
	if y > 0 {
		try(c-1, x, y-1, 1)
	}
	if y+1 < ny {
		try(c+1, x, y, 1)
	}
}

// unsharp stands for how far a level is moved, in pitches, that no window has
// confirmed: with the eighth that pocketError takes of it, a quarter of a pitch,
// which is half a pitch on a slope of 1:2.
const unsharp = 2

// accept takes the window's height unless it lies farther off than the window
// reaches: then it is another passage's, and the level stays as coarse as it was.
func (p *pour) accept(level, z int32, ok bool) (int32, float64) {
	d := max(z-level, level-z)
	if !ok || d > windowHalf<<p.lat.Bits {
		return level, unsharp * p.lat.Pitch()
	}
	return z, float64(d) * p.lat.Q
}

// levels holds the sharpened levels of one pour.
type levels struct {
	p     *pour
	seal  map[int32]int32 // pocket to level
	lip   map[int32]int32 // pool (flood node) to level
	moved map[int32]float64
}

// sharpen works out the levels of every pocket that holds at least least mm3.
func (p *pour) sharpen(volume []float64, least float64) *levels {
	l := &levels{p, map[int32]int32{}, map[int32]int32{}, map[int32]float64{}}
	for k := range p.flow.Seals {
		if volume[k] >= least {
			z, d := p.sealOf(int32(k))
			l.seal[int32(k)], l.moved[int32(k)] = z, d
		}
	}
	for r := range p.piece {
		k := p.flow.Pocket[r]
		if _, ok := l.seal[k]; !ok {
			continue
		}
		node, pool, link, ok := p.flow.Saddle(int32(r))
		if !ok {
			continue
		}
		if _, done := l.lip[pool]; !done {
			z, d := p.lipOf(node, pool, link, p.flow.Level(int32(r), flood.Never))
			l.lip[pool] = z
			l.moved[k] = math.Max(l.moved[k], d)
		}
	}
	return l
}

// off returns how far pocket k's level was moved, or stands for it where it was
// not looked at: too small a pocket.
func (l *levels) off(k int32) float64 {
	d, ok := l.moved[k]
	if !ok && l.p.flow.Seals[k].When != flood.Start {
		return unsharp * l.p.lat.Pitch()
	}
	return d
}

// of returns the level of a trapped run.
func (l *levels) of(run int32) int32 {
	p := l.p
	z := p.flow.Level(run, flood.Never)
	k := p.flow.Pocket[run]
	seal, ok := l.seal[k]
	if !ok {
		return z
	}
	lo, hi := p.graph.Lo[run], p.graph.Hi[run]
	if _, pool, _, spilling := p.flow.Saddle(run); spilling {
		return min(max(l.lip[pool], lo), hi)
	}
	if p.flow.Seals[k].When == flood.Start {
		return z
	}
	if p.flow.Rising(run) {
		return min(max(seal, lo), hi)
	}
	return z
}
