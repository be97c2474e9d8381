package geom

import "math"

// Vec is a point or a direction in space, in millimetres where it is a point.
type Vec struct{ X, Y, Z float64 }

// Add returns a + b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a - b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Scale returns a times the number f, each product rounded on its own.
func (a Vec) Scale(f float64) Vec {
	return Vec{float64(a.X * f), float64(a.Y * f), float64(a.Z * f)}
}

// Neg returns -a.
func (a Vec) Neg() Vec { return Vec{-a.X, -a.Y, -a.Z} }

// Dot returns the scalar product, each product rounded on its own.
func (a Vec) Dot(b Vec) float64 {
	return float64(a.X*b.X) + float64(a.Y*b.Y) + float64(a.Z*b.Z)
}

// Cross returns the vector product, each product rounded on its own.
func (a Vec) Cross(b Vec) Vec {
	return Vec{
		float64(a.Y*b.Z) - float64(a.Z*b.Y),
		float64(a.Z*b.X) - float64(a.X*b.Z),
		float64(a.X*b.Y) - float64(a.Y*b.X),
	}
}

// Norm2 returns the squared length.
func (a Vec) Norm2() float64 { return a.Dot(a) }

// Norm returns the length.
func (a Vec) Norm() float64 { return math.Sqrt(a.Norm2()) }

// Dist returns the distance between the points a and b.
func (a Vec) Dist(b Vec) float64 { return a.Sub(b).Norm() }

// Unit returns a scaled to length 1, and the zero vector for the zero vector.
func (a Vec) Unit() Vec {
	n := a.Norm()
	if n == 0 {
		return Vec{}
	}
	return Vec{a.X / n, a.Y / n, a.Z / n}
}

// AddScaled returns a + f*b.
func (a Vec) AddScaled(b Vec, f float64) Vec {
	return Vec{a.X + float64(f*b.X), a.Y + float64(f*b.Y), a.Z + float64(f*b.Z)}
}

// Lerp returns the point a fraction t of the way from a to b.
func (a Vec) Lerp(b Vec, t float64) Vec { return a.AddScaled(b.Sub(a), t) }

// Min returns the smaller of each coordinate.
func (a Vec) Min(b Vec) Vec { return Vec{min(a.X, b.X), min(a.Y, b.Y), min(a.Z, b.Z)} }

// Max returns the larger of each coordinate.
func (a Vec) Max(b Vec) Vec { return Vec{max(a.X, b.X), max(a.Y, b.Y), max(a.Z, b.Z)} }

// Less orders vectors by X, then Y, then Z: the tie rule wherever an order must
// not depend on how the input was sorted.
func (a Vec) Less(b Vec) bool {
	if a.X != b.X {
		return a.X < b.X
	}
	if a.Y != b.Y {
		return a.Y < b.Y
	}
	return a.Z < b.Z
}

// Finite reports whether no coordinate is NaN or infinite.
func (a Vec) Finite() bool {
	return !math.IsNaN(a.X-a.X) && !math.IsNaN(a.Y-a.Y) && !math.IsNaN(a.Z-a.Z)
}

// Perpendicular returns two unit vectors that with the unit vector a form a
// right-handed frame (u, v, a). The choice depends on a alone.
func (a Vec) Perpendicular() (u, v Vec) {
	axis := Vec{1, 0, 0}
	ax, ay, az := math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z)
	if ay <= ax && ay <= az {
		axis = Vec{0, 1, 0}
	} else if az <= ax && az <= ay {
		axis = Vec{0, 0, 1}
	}
	u = axis.Cross(a).Unit()
	return u, a.Cross(u)
}
