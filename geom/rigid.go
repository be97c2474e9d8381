package geom

import "math"

// Rigid is a turn followed by a shift: p -> R p + T. The rows of R are the axes
// of the new frame written in the old one.
type Rigid struct {
	X, Y, Z Vec // rows of the turn
	T       Vec // shift, mm
}

// MirrorIn returns the mirror image in the plane through the origin with unit normal n.
// It is no turn: what it takes to its image has its facets facing the other way.
func MirrorIn(n Vec) Rigid {
	row := func(e Vec) Vec { return e.AddScaled(n, -2*n.Dot(e)) }
	return Rigid{X: row(Vec{1, 0, 0}), Y: row(Vec{0, 1, 0}), Z: row(Vec{0, 0, 1})}
}

// Identity returns the Rigid that changes nothing.
func Identity() Rigid {
	return Rigid{X: Vec{1, 0, 0}, Y: Vec{0, 1, 0}, Z: Vec{0, 0, 1}}
}

// Apply returns the moved point.
func (r Rigid) Apply(p Vec) Vec {
	return Vec{r.X.Dot(p) + r.T.X, r.Y.Dot(p) + r.T.Y, r.Z.Dot(p) + r.T.Z}
}

// Turn returns the turned direction, without the shift.
func (r Rigid) Turn(d Vec) Vec { return Vec{r.X.Dot(d), r.Y.Dot(d), r.Z.Dot(d)} }

// TurnBack undoes Turn.
func (r Rigid) TurnBack(d Vec) Vec {
	return r.X.Scale(d.X).AddScaled(r.Y, d.Y).AddScaled(r.Z, d.Z)
}

// Back undoes Apply.
func (r Rigid) Back(p Vec) Vec { return r.TurnBack(p.Sub(r.T)) }

// turnQuantum is the step to which the entries of a frame are rounded, a power
// of two (2^-40, design: 1e-12): the trigonometric functions may differ in their
// last bits between CPUs, and a rounded entry no longer shows it. Over 1 m the
// rounding moves a point by less than 1e-9 mm.
const turnQuantum = 1.0 / (1 << 40)

func roundTurn(v Vec) Vec {
	q := func(x float64) float64 { return math.Round(x/turnQuantum) * turnQuantum }
	return Vec{q(v.X), q(v.Y), q(v.Z)}
}

// FrameFor returns the frame in which the unit vector up is +Z, with entries
// rounded to 2^-40. It is the shortest turn of up onto +Z, so an upright mold
// keeps its axes; for up = -Z it is the half turn about X.
func FrameFor(up Vec) Rigid {
	up = up.Unit()
	// The shortest turn takes up to z about up x z; its matrix (Rodrigues) needs
	// no trigonometry: with c = up.z, v = (up.y, -up.x, 0), R = c I + [v] + v v^T/(1+c).
	c := up.Z
	if c < -1+1e-12 { // half turn: 1+c has no digits left
		return Rigid{X: Vec{1, 0, 0}, Y: Vec{0, -1, 0}, Z: Vec{0, 0, -1}}
	}
	vx, vy := up.Y, -up.X
	k := 1 / (1 + c)
	return Rigid{
		X: roundTurn(Vec{c + float64(k*float64(vx*vx)), k * float64(vx*vy), vy}),
		Y: roundTurn(Vec{k * float64(vx*vy), c + float64(k*float64(vy*vy)), -vx}),
		Z: roundTurn(Vec{-vy, vx, c}),
	}
}

// AxisTurn returns the turn by angle radians about the unit axis through the
// origin (Rodrigues), entries rounded to 2^-40.
func AxisTurn(axis Vec, angle float64) Rigid {
	s, c := math.Sincos(angle)
	col := func(e Vec) Vec {
		return e.Scale(c).AddScaled(axis.Cross(e), s).AddScaled(axis, float64(axis.Dot(e)*(1-c)))
	}
	x, y, z := col(Vec{1, 0, 0}), col(Vec{0, 1, 0}), col(Vec{0, 0, 1})
	return Rigid{
		X: roundTurn(Vec{x.X, y.X, z.X}),
		Y: roundTurn(Vec{x.Y, y.Y, z.Y}),
		Z: roundTurn(Vec{x.Z, y.Z, z.Z}),
	}
}
