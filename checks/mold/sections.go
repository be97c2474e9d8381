package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
)

// Section is a thin place of the part: it may not fill, or break.
type Section struct {
	At    geom.Vec // in the middle, where it is thinnest
	Width float64  // mm
	Area  float64  // mm2 of the place that is as thin as thinSection
}

// thinSection is the width up to which places are listed, mm; the limits of
// package checks lie within it.
const thinSection = 1.0

// thinSections finds where the part is thinner than thinSection. Lines run along
// the axes and along the axes turned by the diagonal; where a line leaves through
// a face that looks back at the one it came in by (within 30 deg), the width is
// the way between them times the cosine. A wedge's edge is no section, unless it
// is sharper than 30 deg.
func thinSections(mesh *geom.Mesh) ([]Section, error) {
	var points []geom.Vec
	var widths, areas []float64
	s := mesh.Box().Size()
	pitch := max(0.15, max(s.X, s.Y, s.Z)/200)
	for _, up := range [2]geom.Vec{{Z: 1}, geom.Vec{X: 1, Y: 1, Z: 1}.Unit()} {
		frame := geom.FrameFor(up)
		lat, err := column.NewLattice(frame, turnedBox(frame, mesh.Box()), pitch)
		if err != nil {
			return nil, err
		}
		sol := column.Snap(lat, []*geom.Mesh{mesh}, nil)
		for axis := 0; axis < 3; axis++ {
			l := sol.Cast(axis)
			d := [3]geom.Vec{frame.X, frame.Y, frame.Z}[axis]
			eachStretch(l, &lat, func(p geom.Vec, length float64, in, out int32) {
				if length > 2*thinSection {
					return
				}
				n, m := sol.Normal(in), sol.Normal(out)
				lean := (math.Abs(n.Dot(d)) + math.Abs(m.Dot(d))) / 2
				if n.Dot(m) > -opposedFaces || lean < 0.5 || length*lean >= thinSection {
					return
				}
				points = append(points, p)
				widths = append(widths, math.Round(length*lean*1e4)/1e4)
				areas = append(areas, sampleArea(frame, pitch, n.Sub(m).Unit(), d)/2) // two frames see it
			})
		}
	}
	return groupSections(points, widths, areas, 3*pitch), nil
}

// eachStretch calls visit for every stretch of material: its middle, its length in
// mm, and the facets it comes in and leaves by.
func eachStretch(l *column.Lines, lat *column.Lattice, visit func(p geom.Vec, length float64, in, out int32)) {
	u, v := (l.Axis+1)%3, (l.Axis+2)%3
	var q [3]int32
	for line := 0; line+1 < len(l.Start); line++ {
		q[u], q[v] = lat.At(u, line/l.NV), lat.At(v, line%l.NV)
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			q[l.Axis] = l.Lo[i] + (l.Hi[i]-l.Lo[i])/2
			visit(lat.Point(q[0], q[1], q[2]), float64(float64(l.Hi[i]-l.Lo[i])*lat.Q), l.LoFacet[i], l.HiFacet[i])
		}
	}
}

// sampleArea returns the area that a sample stands for which a line along d took
// of a face with normal n, where the lines of all three axes that lean to it by at
// most 60 deg take samples: the face is met by |n.a|/pitch2 lines a mm2 along each.
func sampleArea(frame geom.Rigid, pitch float64, n, d geom.Vec) float64 {
	sum := 0.0
	for _, a := range [3]geom.Vec{frame.X, frame.Y, frame.Z} {
		if c := math.Abs(n.Dot(a)); c >= 0.5 {
			sum += float64(c * c)
		}
	}
	if sum == 0 {
		return 0
	}
	return pitch * pitch * math.Abs(n.Dot(d)) / sum
}

func groupSections(points []geom.Vec, widths, areas []float64, r float64) []Section {
	var out []Section
	for _, group := range patches(points, r) {
		s := Section{Width: math.Inf(1)}
		for _, i := range group {
			s.Area += areas[i]
			if widths[i] < s.Width || widths[i] == s.Width && points[i].Less(s.At) {
				s.Width, s.At = widths[i], points[i]
			}
		}
		if len(group) < 4 { // a few lines that clip an edge
			continue
		}
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b Section) int {
		return cmp.Or(cmp.Compare(a.Width, b.Width), cmp.Compare(a.At.X, b.At.X), cmp.Compare(a.At.Y, b.At.Y), cmp.Compare(a.At.Z, b.At.Z))
	})
	return out
}
