// Package geom holds the words every other room uses for shapes: vectors,
// boxes, triangles, rigid turns and triangle meshes.
//
// Lengths are millimetres, angles radians, frames right-handed. A facet's
// corners run counter-clockwise seen from outside the solid, so its normal
// points away from the material.
//
// Same bits everywhere: a product that feeds a sum is written float64(x*y), so
// that no compiler may fuse the two into one rounding (the Go specification
// allows fusing only where no explicit conversion stands between). The same
// inputs then give the same numbers on every CPU.
//
// Nothing in geom knows what a mold is.
package geom
