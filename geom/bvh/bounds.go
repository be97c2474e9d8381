package bvh

import (
	"math"

	"pourproof/geom"
)

// bounds is a box in single precision, low and high end of each axis, rounded
// outward: half the memory of geom.Box, and never smaller than what it holds.
type bounds struct{ x, y, z [2]float32 }

// emptyBounds touches and holds nothing.
func emptyBounds() bounds {
	i := float32(math.Inf(1))
	return bounds{[2]float32{i, -i}, [2]float32{i, -i}, [2]float32{i, -i}}
}

func (b *bounds) holds(c bounds) bool {
	return b.x[0] <= c.x[0] && b.y[0] <= c.y[0] && b.z[0] <= c.z[0] && b.x[1] >= c.x[1] && b.y[1] >= c.y[1] && b.z[1] >= c.z[1]
}

func (b *bounds) touches(c *bounds) bool {
	return b.x[0] <= c.x[1] && c.x[0] <= b.x[1] && b.y[0] <= c.y[1] && c.y[0] <= b.y[1] && b.z[0] <= c.z[1] && c.z[0] <= b.z[1]
}

// outward returns the smallest single-precision box that holds b grown by slack.
func outward(b geom.Box, slack float64) bounds {
	return bounds{
		x: [2]float32{roundDown(b.Min.X - slack), roundUp(b.Max.X + slack)},
		y: [2]float32{roundDown(b.Min.Y - slack), roundUp(b.Max.Y + slack)},
		z: [2]float32{roundDown(b.Min.Z - slack), roundUp(b.Max.Z + slack)},
	}
}

// roundDown returns the largest float32 not above x.
func roundDown(x float64) float32 {
	f := float32(x)
	if float64(f) > x {
		return float32Below(f)
	}
	return f
}

// roundUp returns the smallest float32 not below x.
func roundUp(x float64) float32 {
	f := float32(x)
	if float64(f) < x {
		return -float32Below(-f)
	}
	return f
}

// float32Below returns the next number below one that is not the least: as math.Nextafter32,
// but short enough to be put in place.
func float32Below(f float32) float32 {
	switch b := math.Float32bits(f); {
	case f > 0:
		return math.Float32frombits(b - 1)
	case f < 0:
		return math.Float32frombits(b + 1)
	}
	return -math.SmallestNonzeroFloat32
}
