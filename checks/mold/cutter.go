package mold

import "pourproof/geom"

// Cylinder returns a bore as a closed mesh facing outward, ready to be cut from a
// half: a prism with 64 sides about the axis (a unit vector) from start on, its
// corners at radius r, length mm long.
func Cylinder(start, axis geom.Vec, r, length float64) *geom.Mesh {
	return cylinder(start, axis, r, length)
}
