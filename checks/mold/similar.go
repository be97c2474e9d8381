package mold

import (
	"math"

	"pourproof/geom"
)

// similar is a similarity: p -> factor times the turn of p, plus the shift.
type similar struct {
	factor float64
	rigid  geom.Rigid // turn and shift
}

func unmoved() similar { return similar{1, geom.Identity()} }

func (s similar) apply(p geom.Vec) geom.Vec {
	return s.rigid.Turn(p).Scale(s.factor).Add(s.rigid.T)
}

// then returns s followed by t.
func (s similar) then(t similar) similar {
	col := func(e geom.Vec) geom.Vec { return t.rigid.Turn(s.rigid.Turn(e)) }
	x, y, z := col(geom.Vec{X: 1}), col(geom.Vec{Y: 1}), col(geom.Vec{Z: 1})
	return similar{s.factor * t.factor, geom.Rigid{
		X: geom.Vec{X: x.X, Y: y.X, Z: z.X}, Y: geom.Vec{X: x.Y, Y: y.Y, Z: z.Y}, Z: geom.Vec{X: x.Z, Y: y.Z, Z: z.Z},
		T: t.apply(s.rigid.T)}}
}

// inverse undoes s.
func (s similar) inverse() similar {
	r := s.rigid
	back := geom.Rigid{X: geom.Vec{X: r.X.X, Y: r.Y.X, Z: r.Z.X}, Y: geom.Vec{X: r.X.Y, Y: r.Y.Y, Z: r.Z.Y}, Z: geom.Vec{X: r.X.Z, Y: r.Y.Z, Z: r.Z.Z}}
	back.T = back.Turn(r.T).Scale(-1 / s.factor)
	return similar{1 / s.factor, back}
}

// still tells whether s moves nothing by more than about the given length: turns
// that occur here are quarter turns.
func (s similar) still(within float64) bool {
	return math.Abs(s.factor-1) < 1e-3 && s.rigid.X.X > 0.999 && s.rigid.Y.Y > 0.999 && s.rigid.T.Norm() < within
}

// move writes s as a job file does. Angles are rounded to 1e-6 deg, shifts to
// 0.001 mm, factors to six digits.
func (s similar) move(body string, part bool) Move {
	r := s.rigid
	// R = Rz Ry Rx (as BodySpec.place): row Z is (-sin y, cos y sin x, cos y cos x).
	y := math.Asin(min(max(-r.Z.X, -1), 1))
	x, z := math.Atan2(r.Z.Y, r.Z.Z), math.Atan2(r.Y.X, r.X.X)
	if math.Abs(r.Z.X) > 1-1e-9 { // x and z turn about one axis: all to x
		x, z = math.Atan2(-r.Y.Z, r.Y.Y), 0
	}
	round := func(a float64) float64 {
		deg := math.Round(a*180/math.Pi*1e6)/1e6 + 0
		return deg * math.Pi / 180
	}
	mm := func(v float64) float64 { return math.Round(v*1000)/1000 + 0 }
	return Move{Body: body, Part: part, Factor: math.Round(s.factor*1e6) / 1e6, Turn: geom.Vec{X: round(x), Y: round(y), Z: round(z)},
		Shift: geom.Vec{X: mm(r.T.X), Y: mm(r.T.Y), Z: mm(r.T.Z)}}
}

// quarterTurns returns the 23 turns that take axes to axes, without the one that
// moves nothing.
func quarterTurns() []geom.Rigid {
	axes := [6]geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}}
	var out []geom.Rigid
	for _, x := range axes {
		for _, y := range axes {
			if x.Dot(y) != 0 || x == axes[0] && y == axes[2] {
				continue
			}
			out = append(out, geom.Rigid{X: x, Y: y, Z: x.Cross(y)})
		}
	}
	return out
}
