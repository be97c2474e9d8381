package meshio

import (
	"fmt"
	"math"
	"slices"

	"pourproof/geom"
)

// unit is a length unit and its size.
type unit struct {
	name string
	mm   float64
}

// units holds every unit that Options and 3MF can state.
var units = []unit{{"mm", 1}, {"cm", 10}, {"m", 1000}, {"in", 25.4}, {"ft", 304.8}, {"um", 0.001}}

func unitNamed(name string) (unit, error) {
	if name == "" {
		return units[0], nil
	}
	for _, u := range units {
		if u.name == name {
			return u, nil
		}
	}
	return unit{}, fmt.Errorf("unknown unit %q", name)
}

// Bounds on what a part or a mold for hand casting measures, in mm. Outside them
// the file's unit is probably another one.
const (
	leastDiagonal    = 5
	greatestDiagonal = 2000
)

// Limits of the float32 step of the coordinates, in mm: how far apart two
// neighbouring float32 numbers are where the model lies.
const (
	coarseStep  = 0.01 // reported
	uselessStep = 0.25 // refused: details of the size of a vent are lost
)

// settle brings the bodies to millimetres and judges their size and place.
func (f *File) settle(u unit) error {
	box := geom.EmptyBox()
	for i := range f.Bodies {
		b := &f.Bodies[i]
		if !hasArea(b.Mesh) {
			return f.refuse(-1, "%s holds no facet of three different corners", remedyExport, b.title())
		}
		if u.mm != 1 {
			b.Mesh = b.Mesh.Map(func(v geom.Vec) geom.Vec { return v.Scale(u.mm) })
		}
		box = box.Union(b.Mesh.Box())
	}
	step := float32Step(box, u.mm)
	if step > uselessStep {
		return &ReadError{File: f.Name, Byte: -1,
			What:   fmt.Sprintf("the model lies so far from the origin that its coordinates are %.3g mm apart", step),
			Remedy: "move it near the origin and export it again"}
	}
	if step > coarseStep {
		f.warn("far-from-origin", "the model lies so far from the origin that its coordinates are %.2g mm apart: move it near the origin", step)
	}
	f.guessUnits(box.Diagonal(), u)
	return nil
}

// float32Step returns the distance of neighbouring float32 numbers at the
// largest coordinate, in mm: 2^(e-23) file units where that is in [2^e, 2^(e+1)).
func float32Step(b geom.Box, mm float64) float64 {
	far := max(-b.Min.X, -b.Min.Y, -b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z, 0) / mm
	if far == 0 {
		return 0
	}
	_, e := math.Frexp(far) // far in [2^(e-1), 2^e)
	return math.Ldexp(mm, e-24)
}

// guessUnits warns where the size speaks for another unit.
func (f *File) guessUnits(diagonal float64, u unit) {
	switch {
	case diagonal < leastDiagonal:
		f.warn("size-small", "the model measures only %.4g mm across (read as %s): if it was drawn in inches or metres, say --units in or --units m",
			diagonal, u.name)
	case diagonal > greatestDiagonal:
		f.warn("size-large", "the model measures %.5g mm across (read as %s): check the unit, --units says another one", diagonal, u.name)
	}
}

// hasArea reports whether any facet has three different vertices.
func hasArea(m *geom.Mesh) bool {
	return slices.ContainsFunc(m.Facets, func(t [3]int32) bool { return t[0] != t[1] && t[1] != t[2] && t[2] != t[0] })
}

func (b *Body) title() string {
	if b.Name == "" {
		return "the file"
	}
	return "body " + quote([]byte(b.Name))
}
