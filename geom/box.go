package geom

import "math"

// Box is an axis-aligned box. The zero Box is the point at the origin; start a
// union from EmptyBox.
type Box struct{ Min, Max Vec }

// EmptyBox returns the box that holds nothing: every union with it returns the
// other box.
func EmptyBox() Box {
	i := math.Inf(1)
	return Box{Vec{i, i, i}, Vec{-i, -i, -i}}
}

// Empty reports whether the box holds no point.
func (b Box) Empty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y || b.Min.Z > b.Max.Z }

// Include returns the smallest box that holds b and the point p.
func (b Box) Include(p Vec) Box { return Box{b.Min.Min(p), b.Max.Max(p)} }

// Union returns the smallest box that holds both.
func (b Box) Union(c Box) Box { return Box{b.Min.Min(c.Min), b.Max.Max(c.Max)} }

// Grow returns the box with every side moved outward by d mm.
func (b Box) Grow(d float64) Box {
	v := Vec{d, d, d}
	return Box{b.Min.Sub(v), b.Max.Add(v)}
}

// Size returns the side lengths.
func (b Box) Size() Vec { return b.Max.Sub(b.Min) }

// Center returns the middle of the box.
func (b Box) Center() Vec { return b.Min.Lerp(b.Max, 0.5) }

// Diagonal returns the length of the space diagonal, 0 for an empty box.
func (b Box) Diagonal() float64 {
	if b.Empty() {
		return 0
	}
	return b.Size().Norm()
}

// Contains reports whether p lies in the closed box.
func (b Box) Contains(p Vec) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y && p.Z >= b.Min.Z && p.Z <= b.Max.Z
}

// Touches reports whether the closed boxes share a point.
func (b Box) Touches(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y &&
		b.Min.Z <= c.Max.Z && c.Min.Z <= b.Max.Z
}

// Corners returns the eight corners; bit 0 of the index picks Max.X, bit 1
// Max.Y, bit 2 Max.Z.
func (b Box) Corners() [8]Vec {
	var c [8]Vec
	for i := range c {
		c[i] = b.Min
		if i&1 != 0 {
			c[i].X = b.Max.X
		}
		if i&2 != 0 {
			c[i].Y = b.Max.Y
		}
		if i&4 != 0 {
			c[i].Z = b.Max.Z
		}
	}
	return c
}
