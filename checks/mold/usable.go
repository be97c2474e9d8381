package mold

import (
	"fmt"
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// mostOdd is the share of lines through a mesh that may enter it more often than
// they leave, seen along one axis: above it so much surface is missing that
// inside and outside are a guess.
const mostOdd = 0.05

// mostShells is in how many pieces a body may be: exports have some, scans hundreds.
const mostShells = 20_000

// mostLayers is how often a line through a mesh may meet its surface on average, along
// any axis: sheets of 0.2 mm every 0.4 mm over 100 mm do so 500 times. What is above it
// is no solid, and would take any amount of memory.
const mostLayers = 500

// intakeCrossings is how many crossings of lines with a mesh the intake looks at, at
// most: 16 bytes each, and as much again to sort them.
const intakeCrossings = 1 << 23

// pitchFor returns the least pitch, mm, at which lines along no axis meet facets of
// these shadows more than so many times.
func pitchFor(shadow geom.Vec, crossings float64) float64 {
	return math.Sqrt(max(shadow.X, shadow.Y, shadow.Z) / crossings)
}

// usable refuses a mesh that bounds no solid.
func usable(path string, r *geom.Mended, sums *amounts) error {
	if len(r.Mesh.Facets) == 0 {
		return fmt.Errorf("%s: has no facet with three different corners; export it again as STL, OBJ or 3MF", path)
	}
	solid := false
	for i := range r.Defects.Shells {
		solid = solid || !r.Defects.Shells[i].Flat() || !r.Defects.Shells[i].Closed
	}
	if !solid {
		return fmt.Errorf("%s: encloses no volume: it is a flat sheet; export the solid body", path)
	}
	if n := len(r.Defects.Shells); n > mostShells {
		return fmt.Errorf("%s: is in %d separate pieces, more than the %d that a body may have; export the solid body alone", path, n, mostShells)
	}
	size, shadow := r.Mesh.Box().Size(), sums.shadow.value()
	for _, a := range [3]struct {
		name         string
		shadow, face float64 // mm2
	}{{"x", shadow.X, size.Y * size.Z}, {"y", shadow.Y, size.Z * size.X}, {"z", shadow.Z, size.X * size.Y}} {
		if a.shadow > mostLayers*a.face {
			return fmt.Errorf("%s: is no solid: a line along %s meets its surface %.0f times on average; export the solid body alone", path, a.name, a.shadow/a.face)
		}
	}
	if r.Defects.Closed() {
		return nil
	}
	if share := oddShare(r.Mesh, sums); share > mostOdd {
		at := r.Mesh.Box().Center()
		if len(r.Defects.Open.At) > 0 {
			at = r.Defects.Open.At[0]
		}
		return fmt.Errorf("%s: is open: %.0f %% of the lines through it meet no second side (%d open edges, the first at %s); close the surface in CAD and export it again",
			path, 100*share, r.Defects.Open.Count, placeText(at))
	}
	return nil
}

// oddShare returns the largest share, over the three axes, of lines that meet a
// mesh an odd number of times.
func oddShare(m *geom.Mesh, sums *amounts) float64 {
	s := m.Box().Size()
	lat, err := column.NewLattice(geom.Identity(), m.Box(), max(max(s.X, s.Y, s.Z)/200, pitchFor(sums.shadow.value(), intakeCrossings)))
	if err != nil {
		return 1 // no extent at all
	}
	sol := column.Snap(lat, []*geom.Mesh{m}, nil)
	worst := 0.0
	for axis := 0; axis < 3; axis++ {
		l := sol.Cast(axis)
		met := l.Odd
		for line := 0; line+1 < len(l.Start); line++ {
			if l.Start[line+1] > l.Start[line] {
				met++
			}
		}
		if met > 0 {
			worst = max(worst, float64(l.Odd)/float64(met))
		}
	}
	return worst
}
