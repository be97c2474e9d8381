package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
)

// facingReach is how far two opposed faces of different halves may be apart, mm,
// and still be parting faces that should meet: above every clearance and gap that
// a mold that closes has, below the thickness of a pry slot.
const facingReach = 1.0

// meeting is where a lattice line passes from one half into another that faces
// it: one sample of the parting face.
type meeting struct {
	p, n  geom.Vec // middle of the gap; unit, from half a to half b
	gap   float64  // across the faces, negative where they overlap
	tol   float64  // faces this near touch
	area  float64  // mm2 of parting face that the sample stands for
	a, b  int32
	inKey bool
}

// overlapStretch is a stretch of a line that lies in two halves.
type overlapStretch struct {
	mid    geom.Vec
	length float64 // along the line
	axis   int
	a, b   int32
	tol    float64
}

// meetingList is all meetings of a mold, in the order of axes and lines.
type meetingList struct {
	list      []meeting
	tolerance float64 // largest that was used
}

// lineup is every half, and the fitted part, on one lattice.
type lineup struct {
	lat    column.Lattice
	halves []*column.Solids
	part   *column.Solids
	chord  [][]float64 // per half and facet of it; nil for a half without curved faces
}

// axisFrame returns the frame whose third axis is the line along d, either way
// round, so that a mold drawn along the axes keeps them.
func axisFrame(d geom.Vec) geom.Rigid {
	if d.Z < 0 || d.Z == 0 && (d.X < 0 || d.X == 0 && d.Y < 0) {
		d = d.Neg()
	}
	return geom.FrameFor(d)
}

// turnedBox returns the box of a box seen in a turned frame.
func turnedBox(f geom.Rigid, b geom.Box) geom.Box {
	out := geom.EmptyBox()
	for _, c := range b.Corners() {
		out = out.Include(f.Turn(c))
	}
	return out
}

func (m *Mold) newLineup(axis geom.Vec, pitch float64) (*lineup, error) {
	frame := axisFrame(axis)
	lat, err := column.NewLattice(frame, turnedBox(frame, m.fixed.box), pitch)
	if err != nil {
		return nil, err
	}
	l := &lineup{lat: lat, part: column.Snap(lat, []*geom.Mesh{m.fixed.part}, nil)}
	for h, mesh := range m.fixed.halves {
		l.halves = append(l.halves, column.Snap(lat, []*geom.Mesh{mesh}, m.cuts()))
		var chord []float64
		if m.Halves[h].ChordError > 0 {
			chord = m.Halves[h].chords().All()
		}
		l.chord = append(l.chord, chord)
	}
	return l, nil
}

// chordAt returns the chord error of a facet as half h's solids number it.
func (l *lineup) chordAt(h int, facet int32) float64 {
	if int(facet) < len(l.chord[h]) { // beyond: a bore that is tried out
		return l.chord[h][facet]
	}
	return 0
}

// piece is one half's stretch of a line.
type piece struct {
	lo, hi           int32
	loFacet, hiFacet int32
	half             int
}

// meetings casts all halves along the three axes and collects where they face
// each other and where they overlap.
func (l *lineup) meetings(m *Mold) (*meetingList, []overlapStretch) {
	out := &meetingList{}
	w := meetingWalk{l: l, m: m, out: out}
	for axis := 0; axis < 3; axis++ {
		w.axis = axis
		w.d = [3]geom.Vec{l.lat.Frame.X, l.lat.Frame.Y, l.lat.Frame.Z}[axis]
		halves := make([]*column.Lines, len(l.halves))
		for h := range halves {
			halves[h] = l.halves[h].Cast(axis)
		}
		w.part = l.part.Cast(axis)
		var pieces []piece
		for line := 0; line+1 < len(w.part.Start); line++ {
			pieces = gather(pieces[:0], halves, line)
			if len(pieces) > 1 {
				w.walk(line, pieces)
			}
		}
	}
	return out, w.over
}

// gather lists the stretches of all halves on one line from below.
func gather(out []piece, halves []*column.Lines, line int) []piece {
	for h, l := range halves {
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			out = append(out, piece{l.Lo[i], l.Hi[i], l.LoFacet[i], l.HiFacet[i], h})
		}
	}
	slices.SortFunc(out, func(p, q piece) int { return cmp.Or(cmp.Compare(p.lo, q.lo), cmp.Compare(p.half, q.half)) })
	return out
}

type meetingWalk struct {
	l    *lineup
	m    *Mold
	out  *meetingList
	over []overlapStretch
	part *column.Lines
	axis int
	d    geom.Vec
}

// walk goes up one line. below is the piece that reaches highest so far.
func (w *meetingWalk) walk(line int, pieces []piece) {
	below := pieces[0]
	for _, p := range pieces[1:] {
		if p.half != below.half {
			w.pair(line, &below, &p)
		}
		if p.hi > below.hi {
			below = p
		}
	}
}

func (w *meetingWalk) pair(line int, a, b *piece) {
	l := w.l
	tol := fileRounding + l.chordAt(a.half, a.hiFacet) + l.chordAt(b.half, b.loFacet)
	na, nb := l.halves[a.half].Normal(a.hiFacet), l.halves[b.half].Normal(b.loFacet)
	lean := (math.Abs(na.Dot(w.d)) + math.Abs(nb.Dot(w.d))) / 2
	faces := na.Dot(nb) < -opposedFaces
	length := float64(float64(b.lo-a.hi) * l.lat.Q)
	if length < 0 {
		in := float64(float64(min(a.hi, b.hi)-b.lo) * l.lat.Q)
		if wide := in * lean; !faces || wide > tol {
			w.over = append(w.over, overlapStretch{w.point(line, b.lo, min(a.hi, b.hi)), in, w.axis, int32(a.half), int32(b.half), tol})
		}
	}
	// Every face has an axis it leans to by less than 55 deg; the others see it too
	// slanted to measure well.
	if !faces || lean < 0.5 || b.hi < a.hi {
		return
	}
	gap := length * lean
	if math.Abs(gap) > facingReach || w.inPart(line, a.hi, b.lo) {
		return
	}
	s := meeting{p: w.point(line, a.hi, b.lo), n: na.Sub(nb).Unit(), gap: gap, tol: tol, a: int32(a.half), b: int32(b.half)}
	if gap > tol && (w.m.inChannel(s.p) || w.m.labels.at(s.p) == cavity) { // a bore, or the skin around the part
		return
	}
	s.area = sampleArea(l.lat.Frame, l.lat.Pitch(), s.n, w.d)
	w.out.list = append(w.out.list, s)
	w.out.tolerance = max(w.out.tolerance, tol)
}

// opposedFaces is the least cosine between one facet's normal and the other's
// reversed for two surfaces to count as facing: 30 deg, as for the seal.
const opposedFaces = 0.8660254037844386

// point returns the middle of two places of a line.
func (w *meetingWalk) point(line int, lo, hi int32) geom.Vec {
	l := w.part
	u, v := (l.Axis+1)%3, (l.Axis+2)%3
	var q [3]int32
	q[u], q[v] = w.l.lat.At(u, line/l.NV), w.l.lat.At(v, line%l.NV)
	q[l.Axis] = lo + (hi-lo)/2
	return w.l.lat.Point(q[0], q[1], q[2])
}

// inPart tells whether the middle of two places of a line lies in the fitted part.
func (w *meetingWalk) inPart(line int, lo, hi int32) bool {
	mid := lo + (hi-lo)/2
	for i := w.part.Start[line]; i < w.part.Start[line+1]; i++ {
		if w.part.Lo[i] < mid && mid < w.part.Hi[i] {
			return true
		}
	}
	return false
}

// inChannel tells whether a place lies in a gate, vent or blind channel. A slit
// is no channel here: a gap of the parting face that reaches the cavity is one.
func (m *Mold) inChannel(p geom.Vec) bool {
	l := m.labels.at(p)
	if l&material != 0 || l < firstChannel {
		return false
	}
	c := int(l - firstChannel)
	return c < len(m.Channels) && !m.Channels[c].Slit
}

// halfPair is two halves that meet, and their meetings.
type halfPair struct {
	a, b int // a < b
	axis geom.Vec
	area float64
	list []*meeting
}

// leastFace is the area from which two halves are said to meet, mm2.
const leastFace = 1.0

// pairs sorts the meetings by halves. The axis of two halves is the mean normal
// of their faces, in which the sides of keys cancel.
func (l *meetingList) pairs(halves int) []halfPair {
	var out []halfPair
	for a := 0; a < halves; a++ {
		for b := a + 1; b < halves; b++ {
			p := halfPair{a: a, b: b}
			var mean geom.Vec
			for i := range l.list {
				s := &l.list[i]
				if min(s.a, s.b) != int32(a) || max(s.a, s.b) != int32(b) {
					continue
				}
				n := s.n
				if s.a > s.b {
					n = n.Neg()
				}
				mean = mean.AddScaled(n, s.area)
				p.area += s.area
				p.list = append(p.list, s)
			}
			if p.area < leastFace {
				continue
			}
			// Below a tenth the normals cancel, as around a pin: its face then has no
			// direction of its own.
			if mean.Norm() < 0.1*p.area {
				mean = geom.Vec{}
			}
			p.axis = squareUp(mean.Unit())
			out = append(out, p)
		}
	}
	return out
}
