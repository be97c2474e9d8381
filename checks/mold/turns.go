package mold

import (
	"math"
	"slices"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// Turn is a way in which two halves close although one is turned, or printed as its
// mirror image.
type Turn struct {
	Half    string // that is turned or mirrored
	Against string
	Mirror  bool     // in the plane through About square to Axis
	Angle   float64  // radians about Axis through About; 0 for a mirror image
	Axis    geom.Vec // unit
	About   geom.Vec
	// Harmless says that the cavity then shapes the same part.
	Harmless bool
}

// What a turned half may overlap and still be pushed home, by design: the rubber
// gives way to less.
const (
	turnDepth  = 0.3 // mm
	turnVolume = 2.0 // mm3
)

// turnsOf tries the half turn, and for a square outline the quarter turns, of one
// half about the axis: about the middle of the block, of the keys, and of the
// parting face. A turn counts if the halves then overlap by no more than they give.
func (m *Mold) turnsOf(f *FaceMap, keys []Key) []Turn {
	w := m.newTurning(f, keys)
	angles := []float64{math.Pi}
	if f.square() {
		angles = append(angles, math.Pi/2, -math.Pi/2)
	}
	var out []Turn
	for _, angle := range angles {
		for _, about := range w.centers {
			turn := geom.AxisTurn(f.Axis, angle)
			turn.T = about.Sub(turn.Turn(about))
			if w.blocked(turn) {
				continue
			}
			out = append(out, Turn{Half: m.Halves[f.B].Name, Against: m.Halves[f.A].Name, Angle: angle, Axis: f.Axis, About: about,
				Harmless: w.sameCavity(turn)})
			break
		}
	}
	return append(out, w.mirrors()...)
}

// turning tries ways to close half B of a face map wrongly.
type turning struct {
	m       *Mold
	f       *FaceMap
	centers []geom.Vec    // that a turn may be about
	others  *column.Lines // all but half B
	near    float64       // mm: a face of the half this near the part shapes it
	shaped  func() []fitSample
}

func (m *Mold) newTurning(f *FaceMap, keys []Key) *turning {
	w := &turning{m: m, f: f, centers: f.centers(m, keys), near: max(0.05, 2*m.chordError(), 1.5*m.Fit.Quantile90)}
	var others []*geom.Mesh
	for h, o := range m.fixed.halves {
		if h != f.B {
			others = append(others, o)
		}
	}
	w.others = column.Snap(f.lat, others, nil).Cast(2)
	w.shaped = sync.OnceValue(w.shapedPlaces)
	return w
}

// mirrors tries the mirror images of the same half, in the two upright planes along
// its side walls: exported or printed mirrored, would it close and nobody see it?
func (w *turning) mirrors() []Turn {
	m, f := w.m, w.f
	wall := m.sideWall(f)
	if wall == (geom.Vec{}) {
		return nil
	}
	planes := []geom.Vec{wall, unsigned(f.Axis.Cross(wall).Unit())}
	if planes[1].Less(wall) {
		slices.Reverse(planes)
	}
	var out []Turn
	for _, n := range planes {
		for _, about := range w.centers {
			image := geom.MirrorIn(n)
			image.T = n.Scale(2 * about.Dot(n))
			if w.blocked(image) {
				continue
			}
			out = append(out, Turn{Half: m.Halves[f.B].Name, Against: m.Halves[f.A].Name, Mirror: true, Axis: n, About: about, Harmless: w.sameCavity(image)})
			break
		}
	}
	return out
}

// sideWall returns the direction, of two opposite ones, that the largest facet of half
// B along the axis faces, square to the axis; zero without one.
func (m *Mold) sideWall(f *FaceMap) geom.Vec {
	half := m.fixed.halves[f.B]
	largest, wall := 0.0, geom.Vec{}
	for i := range half.Facets {
		t := half.Triangle(i)
		n := t.Normal()
		if math.Abs(n.Dot(f.Axis)) >= sideways {
			continue
		}
		n = unsigned(n.AddScaled(f.Axis, -n.Dot(f.Axis)).Unit())
		// Of facets as large as each other the first in order of directions.
		if a := math.Round(t.Area()*1e4) / 1e4; a > largest || a == largest && n.Less(wall) {
			largest, wall = a, n
		}
	}
	return wall
}

// unsigned returns d or its opposite, whichever points towards +X, then +Y, then +Z,
// entries below 1e-9 taken as none.
func unsigned(d geom.Vec) geom.Vec {
	for _, x := range [3]float64{d.X, d.Y, d.Z} {
		switch {
		case x > 1e-9:
			return d
		case x < -1e-9:
			return d.Neg()
		}
	}
	return d
}

// sideways is the sine of the draft up to which a wall stands along an axis: 5 deg.
const sideways = 0.0872

// square tells whether the two halves' outline is as wide as it is deep.
func (f *FaceMap) square() bool {
	u0, u1, v0, v1 := f.NU, -1, f.NV, -1
	for c, k := range f.Kind {
		if k != Away {
			u0, u1, v0, v1 = min(u0, c/f.NV), max(u1, c/f.NV), min(v0, c%f.NV), max(v1, c%f.NV)
		}
	}
	a, b := u1-u0+1, v1-v0+1
	return u1 >= 0 && max(a, b)-min(a, b) <= max(2, max(a, b)/100)
}

// centers returns the points that a turn may be about.
func (f *FaceMap) centers(m *Mold, keys []Key) []geom.Vec {
	out := []geom.Vec{m.fixed.halves[f.A].Box().Union(m.fixed.halves[f.B].Box()).Center()}
	if len(keys) > 0 {
		var sum geom.Vec
		for i := range keys {
			sum = sum.Add(keys[i].At)
		}
		out = append(out, sum.Scale(1/float64(len(keys))))
	}
	face := geom.EmptyBox()
	for c, k := range f.Kind {
		if k == Facing || k == OverKey {
			face = face.Include(f.At(c/f.NV, c%f.NV, float64(f.LowA[c])))
		}
	}
	if !face.Empty() {
		out = append(out, face.Center())
	}
	return out
}

// blocked tells whether half B, turned, would stand in the way of half A, or of another
// half, insert or core that is in place.
func (w *turning) blocked(turn geom.Rigid) bool {
	a, f := w.others, w.f
	mesh := w.m.fixed.halves[f.B].Map(turn.Apply)
	if turn.X.Cross(turn.Y).Dot(turn.Z) < 0 {
		mesh = mesh.Reversed() // a mirror image
	}
	b := column.Snap(f.lat, []*geom.Mesh{mesh}, nil).Cast(2)
	h := f.Pitch
	volume := 0.0
	for c := 0; c+1 < len(a.Start); c++ {
		for i, j := a.Start[c], b.Start[c]; i < a.Start[c+1] && j < b.Start[c+1]; {
			lo, hi := max(a.Lo[i], b.Lo[j]), min(a.Hi[i], b.Hi[j])
			if depth := float64(float64(hi-lo) * f.lat.Q); depth > turnDepth {
				volume += depth * h * h
			}
			if a.Hi[i] < b.Hi[j] {
				i++
			} else {
				j++
			}
		}
	}
	return volume > turnVolume
}

// sameCavity tells whether the half, turned, still shapes the part: nine tenths of
// the part's surface that it shapes lie as near to it as before.
func (w *turning) sameCavity(turn geom.Rigid) bool {
	half, tree := w.m.fixed.halves[w.f.B], w.m.fixed.trees[w.f.B]
	same := 0
	for _, s := range w.shaped() {
		// Where the turned half has this place, the half itself has it turned back.
		p, n := turn.Back(s.p), turn.TurnBack(s.n)
		if tree.WithinWhere(p, w.near, func(t int32) bool { return half.Triangle(int(t)).Normal().Dot(n) < -0.7 }) {
			same++
		}
	}
	return len(w.shaped()) > 0 && 10*same >= 9*len(w.shaped())
}

// shapedPlaces lists places of the part that the half shapes.
func (w *turning) shapedPlaces() []fitSample {
	f := w.m.fixed
	lo, hi := f.owner[w.f.B], f.owner[w.f.B+1]
	var out []fitSample
	samples := surfaceSamples(f.part, 32)
	for i, h := range f.facing(samples, inPlace, w.near, nil) {
		if h.Facet >= lo && h.Facet < hi {
			out = append(out, samples[i])
		}
	}
	return out
}
