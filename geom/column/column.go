// Package column holds solids as columns: for every line of a square lattice
// the exact stretches in which it runs through material (dexels; van Hook 1986,
// Shade et al. 1998 as layered depth images).
//
// All arithmetic that decides is on integers. Vertices are snapped once to
// 1/65536 of the main pitch; whether a line meets a facet follows from integer edge
// functions with a half-open rule, so a line through an edge or a vertex of a
// closed mesh meets it exactly once and no line of a closed mesh has an odd
// number of crossings, welded or not.
package column

import (
	"errors"
	"fmt"
	"math"

	"pourproof/geom"
)

// The main lattice has 2^16 quanta a pitch and at most 2^13 lines a side: an
// edge function is then a sum of two products of differences up to 2^30, so
// below 2^61, and fits an int64.
const (
	mainBits = 16
	maxLines = 1 << 13
)

// shift is where the lattice's line 0 lies, in pitches, beside a round
// coordinate: three irrational numbers (the fractional parts of half the square
// roots of 2 and 3 and of the square root of 5, less one decimal), so that no
// plane of a CAD model ever falls on lattice lines.
var shift = geom.Vec{X: 0.20710678118654752, Y: 0.36602540378443865, Z: 0.11803398874989485}

// Lattice is a cubic lattice of N[0] x N[1] x N[2] nodes in a turned frame.
// Heights and places along its axes are counted in quanta of Q mm from Origin;
// node (i,j,k) lies at quanta (First[0]+i, First[1]+j, First[2]+k) << Bits.
type Lattice struct {
	Frame  geom.Rigid // CAD frame to lattice frame (a turn only)
	Origin geom.Vec   // quantum (0,0,0) in the turned frame, mm
	Q      float64    // mm a quantum
	Bits   int        // 2^Bits quanta a pitch
	First  [3]int32
	N      [3]int
}

// ErrTooFine says that a lattice would have more lines than integers hold.
var ErrTooFine = errors.New("column: pitch too fine for this size")

// NewLattice returns the lattice of pitch h mm that covers box (given in the
// turned frame of frame) with at least one free node on every side.
func NewLattice(frame geom.Rigid, box geom.Box, h float64) (Lattice, error) {
	l := Lattice{Frame: frame, Q: h / (1 << mainBits), Bits: mainBits}
	lo := func(x, s float64) float64 { return (math.Floor(x/h) - 1 - s) * h }
	l.Origin = geom.Vec{X: lo(box.Min.X, shift.X), Y: lo(box.Min.Y, shift.Y), Z: lo(box.Min.Z, shift.Z)}
	span := box.Max.Sub(l.Origin)
	for a, s := range [3]float64{span.X, span.Y, span.Z} {
		n := math.Ceil(s/h) + 2
		if !(h > 0) || !(n < maxLines) {
			return l, fmt.Errorf("%w: %.0f lines at %g mm, at most %d", ErrTooFine, n, h, maxLines)
		}
		l.N[a] = int(n)
	}
	return l, nil
}

// Window returns the lattice with 2^fine lines for every one of l, over l's nodes
// lo to hi (both included). The nodes of l inside are nodes of the window too. It
// ends early where it would have more than 65535 lines a side, as many as a cell counts.
func (l *Lattice) Window(lo, hi [3]int, fine int) Lattice {
	w := *l
	w.Bits = l.Bits - fine
	for a := range w.N {
		w.First[a] = (l.First[a] + int32(lo[a])) << fine
		w.N[a] = min((hi[a]-lo[a])<<fine+1, 1<<16-1)
	}
	return w
}

// Pitch returns the distance of neighbouring lines in mm.
func (l *Lattice) Pitch() float64 { return l.Q * float64(int64(1)<<l.Bits) }

// Nodes returns the number of lattice nodes.
func (l *Lattice) Nodes() int { return l.N[0] * l.N[1] * l.N[2] }

// At returns the quanta of node i along an axis.
func (l *Lattice) At(axis, i int) int32 { return (l.First[axis] + int32(i)) << l.Bits }

// NodeAbove returns the first node number along an axis at or above x quanta;
// it may lie outside the lattice.
func (l *Lattice) NodeAbove(axis int, x int32) int {
	return int((int64(x)+int64(1)<<l.Bits-1)>>l.Bits) - int(l.First[axis])
}

// NodeBelow returns the last node number along an axis at or below x quanta.
func (l *Lattice) NodeBelow(axis int, x int32) int { return int(x>>l.Bits) - int(l.First[axis]) }

// Point returns the CAD coordinates of a place given in quanta.
func (l *Lattice) Point(x, y, z int32) geom.Vec {
	d := geom.Vec{X: float64(x), Y: float64(y), Z: float64(z)}
	return l.Frame.TurnBack(l.Origin.AddScaled(d, l.Q))
}

// Place returns the quanta of a CAD point, not rounded.
func (l *Lattice) Place(p geom.Vec) geom.Vec {
	return l.Frame.Turn(p).Sub(l.Origin).Scale(1 / l.Q)
}

// Height turns quanta along the third axis into mm along that axis measured from
// the CAD origin.
func (l *Lattice) Height(q int32) float64 { return l.Origin.Z + float64(float64(q)*l.Q) }

// Quanta is the inverse of Height, rounded to the nearest quantum.
func (l *Lattice) Quanta(height float64) int32 {
	return int32(math.Round((height - l.Origin.Z) / l.Q))
}

// Solids is a set of bodies prepared for one lattice: every vertex snapped.
// Material is where the winding count of at least one body is 1 or more and no
// cutting body's is; so overlapping shells of one body stay solid (the positive
// fill rule of 3MF core 1.4.0, section 4.1.1) and an inward shell is a void.
type Solids struct {
	Lattice Lattice
	bodies  []*geom.Mesh
	cuts    int          // the last cuts bodies remove material
	base    []int32      // first facet number of each body, and the total
	coord   [][][3]int32 // per body, per vertex: quanta
	cells   [][]cell     // their next lines of axis 2; nil in a window
}

// Snap prepares bodies, and cuts that remove material from them, for l. The
// facet numbers of all later answers count through bodies, then cuts, in order.
func Snap(l Lattice, bodies, cuts []*geom.Mesh) *Solids {
	s := &Solids{Lattice: l, cuts: len(cuts)}
	s.bodies = append(append(s.bodies, bodies...), cuts...)
	n := int32(0)
	for _, m := range s.bodies {
		s.base = append(s.base, n)
		n += int32(len(m.Facets))
	}
	s.base = append(s.base, n)
	s.coord, s.cells = make([][][3]int32, len(s.bodies)), make([][]cell, len(s.bodies))
	s.Move(l)
	return s
}

// Move snaps the same bodies to another lattice, in the memory that they take already.
func (s *Solids) Move(l Lattice) {
	s.Lattice = l
	for b, m := range s.bodies {
		n := len(m.Vertices)
		s.coord[b], s.cells[b] = sized(s.coord[b], n), sized(s.cells[b], n)
		side(n, func(from, to int) { l.snap(m.Vertices[from:to], s.coord[b][from:to], s.cells[b][from:to]) })
	}
}

// snap puts vertices on whole quanta and finds their next lines of axis 2, some at a
// time while they are at hand.
func (l *Lattice) snap(p []geom.Vec, coord [][3]int32, cells []cell) {
	const some = 256
	lines := l.scanner(2)
	turned := l.Frame.X != geom.Vec{X: 1} || l.Frame.Y != geom.Vec{Y: 1} || l.Frame.Z != geom.Vec{Z: 1}
	var turns [some]geom.Vec
	for len(p) > 0 {
		n := min(some, len(p))
		q := p[:n]
		if turned { // else the turn leaves every bit as it is
			q = turns[:n]
			for i := range q {
				q[i] = l.Frame.Turn(p[i])
			}
		}
		snapVertices(coord[:n], q, l.Origin, 1/l.Q)
		lines.cellsOf(coord[:n], cells[:n])
		p, coord, cells = p[n:], coord[n:], cells[n:]
	}
}

// What is added to a number below 2^51 in size leaves the even nearest whole number in
// the low bits of the sum: its difference to the bits of what was added.
const (
	whole     = 0x1.8p52
	wholeBits = 0x4338000000000000
)

// snapVertices puts turned vertices on whole quanta.
func snapVertices(c [][3]int32, p []geom.Vec, origin geom.Vec, f float64) {
	c = c[:len(p)]
	for i := range p {
		v := p[i].Sub(origin)
		v.X, v.Y, v.Z = v.X*f, v.Y*f, v.Z*f
		x := int64(math.Float64bits(v.X+whole)) - wholeBits
		y := int64(math.Float64bits(v.Y+whole)) - wholeBits
		z := int64(math.Float64bits(v.Z+whole)) - wholeBits
		to := &c[i]
		if uint64((x+edge)|(y+edge)|(z+edge)) < 2*edge { // as good as always
			to[0], to[1], to[2] = int32(x), int32(y), int32(z)
		} else {
			to[0], to[1], to[2] = snap(v.X), snap(v.Y), snap(v.Z)
		}
	}
}

// edge is where snapped places end: beyond every lattice line the place no longer
// matters, and differences stay below 2^31.
const edge = 1 << 29

// snap rounds to whole quanta from -edge to edge.
func snap(x float64) int32 {
	if !(x > -edge) {
		return -edge
	}
	return int32(math.Float64bits(min(x, edge) + whole))
}

// Body returns the number of the body that owns facet f.
func (s *Solids) Body(f int32) int {
	b := 0
	for f >= s.base[b+1] {
		b++
	}
	return b
}

// Facet returns the body and that body's own facet number of facet f.
func (s *Solids) Facet(f int32) (body int, own int32) {
	body = s.Body(f)
	return body, f - s.base[body]
}

// Normal returns the outward unit normal of facet f in the CAD frame; for a
// facet of a cut it points into the material that is left.
func (s *Solids) Normal(f int32) geom.Vec {
	b, own := s.Facet(f)
	n := s.bodies[b].Triangle(int(own)).Normal()
	if b >= len(s.bodies)-s.cuts {
		return n.Neg()
	}
	return n
}

// Triangle returns the corners of facet f in the CAD frame.
func (s *Solids) Triangle(f int32) geom.Triangle {
	b, own := s.Facet(f)
	return s.bodies[b].Triangle(int(own))
}

// In returns the same solids on a lattice of the same quanta, such as a window.
func (s *Solids) In(l Lattice) *Solids {
	w := *s
	w.Lattice, w.cells = l, nil
	return &w
}
