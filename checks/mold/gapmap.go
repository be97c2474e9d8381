package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// FaceKind says what a line across two halves meets between them.
type FaceKind uint8

// The kinds of a cell of a face map.
const (
	Away      FaceKind = iota // neither half
	FirstOnly                 // the first half only
	OtherOnly                 // the other half only
	Facing                    // the halves face each other: Gap is there
	Steep                     // they face each other across a wall too steep for this line
	Apart                     // both, with space between: a socket's rim, a slot
	OverPart                  // the part
	OverBore                  // a gate, a vent or a blind channel
	OverKey                   // a key in its socket
)

// FaceMap is the parting face of two halves seen along their axis: a grid of
// NU x NV cells, cell (u,v) at index u*NV+v. Both halves' faces lie on the same
// grid, so that they can be shown side by side from one camera.
type FaceMap struct {
	A, B   int // numbers of the halves; A lies below B along Axis
	Axis   geom.Vec
	Pitch  float64
	NU, NV int
	Kind   []FaceKind
	Gap    []float32 // mm, across the faces, negative where they overlap; 0 where Kind is not Facing
	LowA   []float32 // height of A's face along Axis, mm from the CAD origin, where there is one
	LowB   []float32 // of B's

	lat column.Lattice
}

// At returns the CAD point of cell (u,v) at a height along the axis.
func (f *FaceMap) At(u, v int, height float64) geom.Vec {
	p := f.lat.Point(f.lat.At(0, u), f.lat.At(1, v), 0)
	z := f.lat.Frame.Z
	return p.AddScaled(z, height-p.Dot(z))
}

// Spot returns where a CAD point lies on the map: cell (u,v) has its middle at the
// whole numbers u, v.
func (f *FaceMap) Spot(p geom.Vec) (u, v float64) {
	q := f.lat.Place(p)
	s := 1 / float64(int64(1)<<f.lat.Bits)
	return q.X*s - float64(f.lat.First[0]), q.Y*s - float64(f.lat.First[1])
}

// Axes returns the directions along which u and v count.
func (f *FaceMap) Axes() (u, v geom.Vec) { return f.lat.Frame.X, f.lat.Frame.Y }

// Cell returns the cell over a CAD point, -1 outside the map.
func (f *FaceMap) Cell(p geom.Vec) int {
	x, y := f.Spot(p)
	u, v := int(math.Floor(x+0.5)), int(math.Floor(y+0.5))
	if u < 0 || v < 0 || u >= f.NU || v >= f.NV {
		return -1
	}
	return u*f.NV + v
}

// faceMap casts two halves and the part along the halves' axis.
func (m *Mold) faceMap(pair halfPair) (*FaceMap, error) {
	axis := pair.axis
	if axis == (geom.Vec{}) {
		axis = m.Pulls[pair.a]
	}
	l, err := m.newLineup(axis, m.closingPitch())
	if err != nil {
		return nil, err
	}
	f := &FaceMap{A: pair.a, B: pair.b, Axis: l.lat.Frame.Z, Pitch: l.lat.Pitch(), NU: l.lat.N[0], NV: l.lat.N[1], lat: l.lat}
	if axis.Dot(f.Axis) < 0 { // the frame's third axis runs from b to a
		f.A, f.B = f.B, f.A
	}
	n := f.NU * f.NV
	f.Kind, f.Gap = make([]FaceKind, n), make([]float32, n)
	f.LowA, f.LowB = make([]float32, n), make([]float32, n)
	w := mapWalk{f: f, l: l, m: m, a: l.halves[f.A].Cast(2), b: l.halves[f.B].Cast(2), part: l.part.Cast(2)}
	for c := range f.Kind {
		f.Kind[c] = w.cell(c)
	}
	return f, nil
}

type mapWalk struct {
	f          *FaceMap
	l          *lineup
	m          *Mold
	a, b, part *column.Lines
}

// cell looks at one line. Of several places where B lies over A the one with the
// least gap counts: the others are holes.
func (w *mapWalk) cell(c int) FaceKind {
	a0, a1, b0, b1 := w.a.Start[c], w.a.Start[c+1], w.b.Start[c], w.b.Start[c+1]
	switch {
	case a0 == a1 && b0 == b1:
		return Away
	case b0 == b1:
		return w.alone(c, w.a, w.f.LowA, true, FirstOnly)
	case a0 == a1:
		return w.alone(c, w.b, w.f.LowB, false, OtherOnly)
	}
	best, gap := [2]int32{-1, -1}, int32(math.MaxInt32)
	for i := a0; i < a1; i++ {
		for j := b0; j < b1; j++ {
			g := w.b.Lo[j] - w.a.Hi[i]
			if w.b.Hi[j] <= w.a.Hi[i] || w.b.Lo[j] < w.a.Lo[i] { // not over it
				continue
			}
			if abs32(g) < abs32(gap) {
				best, gap = [2]int32{i, j}, g
			}
		}
	}
	if best[0] < 0 {
		return Apart
	}
	return w.between(c, best[0], best[1], gap)
}

func (w *mapWalk) between(c int, i, j, gap int32) FaceKind {
	lat := &w.l.lat
	hi, lo := w.a.Hi[i], w.b.Lo[j]
	w.f.LowA[c], w.f.LowB[c] = float32(lat.Height(hi)), float32(lat.Height(lo))
	mid := hi + gap/2
	for k := w.part.Start[c]; k < w.part.Start[c+1]; k++ {
		if w.part.Lo[k] < max(hi, lo) && min(hi, lo) < w.part.Hi[k] {
			return OverPart
		}
	}
	na := w.l.halves[w.f.A].Normal(w.a.HiFacet[i])
	nb := w.l.halves[w.f.B].Normal(w.b.LoFacet[j])
	lean := (math.Abs(na.Dot(w.f.Axis)) + math.Abs(nb.Dot(w.f.Axis))) / 2
	wide := float64(float64(gap)*lat.Q) * lean
	faces := na.Dot(nb) < -opposedFaces && math.Abs(wide) <= facingReach
	tol := fileRounding + w.l.chordAt(w.f.A, w.a.HiFacet[i]) + w.l.chordAt(w.f.B, w.b.LoFacet[j])
	u, v := c/w.f.NV, c%w.f.NV
	place := lat.Point(lat.At(0, u), lat.At(1, v), mid)
	switch {
	case wide > tol && w.m.inChannel(place):
		return OverBore
	case wide > tol && w.m.labels.at(place) == cavity: // the skin around the part
		return OverPart
	case faces && lean >= 0.5:
		w.f.Gap[c] = float32(math.Round(wide*1e4) / 1e4)
		return Facing
	case faces:
		return Steep
	}
	return Apart
}

// alone notes the face of a half that has no other over or under it.
func (w *mapWalk) alone(c int, l *column.Lines, face []float32, top bool, kind FaceKind) FaceKind {
	if w.part.Start[c+1] > w.part.Start[c] {
		return OverPart
	}
	z := l.Lo[l.Start[c]]
	if top {
		z = l.Hi[l.Start[c+1]-1]
	}
	face[c] = float32(w.l.lat.Height(z))
	return kind
}

func abs32(x int32) int32 { return max(x, -x) }
