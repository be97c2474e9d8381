package geom

import "math"

// Limits of what ChordError takes for a curve cut into facets.
const (
	// smoothAngle: facets that meet at a larger angle are taken for a real edge.
	// 30 degrees is a circle of twelve sides; coarser circles are rare exports.
	smoothAngle = math.Pi / 6
	// flatAngle: facets that meet at a smaller angle are one flat face. The
	// sagitta it hides is below w/8 * 1e-3, 0.01 mm on a facet 80 mm wide.
	flatAngle = 1e-3
)

// ChordError estimates how far the mesh lies from the smooth surface it stands
// for, in mm: the largest sagitta of an arc that its facets cut off. Across an
// edge with the angle a between two facets of width w (the corner's distance from
// the edge) the arc has the sagitta w/2 tan(a/4); on a regular N-gon prism that
// is r (1 - cos(pi/N)) exactly.
//
// It is an estimate: only edges below 30 degrees count, and only where the flat
// faces on both sides bend on, the same way, at another edge too, as a curve does
// and the two sides of a slanted wall do not. Where the two widths differ the
// narrower facet is taken for the curve. 0 for a mesh without such edges. Cost of
// Mates plus two passes.
func (m *Mesh) ChordError() float64 {
	worst := 0.0
	m.eachSagitta(m.Mates(), func(_, _ int32, e float64) { worst = max(worst, e) })
	return worst
}

// ChordErrors returns the same estimate facet by facet: the largest sagitta over
// its smooth edges, 0 for a facet of a flat face.
func (m *Mesh) ChordErrors() []float64 { return m.chordErrors(m.Mates()) }

// ChordErrors are those of the mesh that was inspected, whose edges are known already.
func (d *Defects) ChordErrors(m *Mesh) []float64 { return m.chordErrors(d.mates) }

func (m *Mesh) chordErrors(mates []int32) []float64 {
	out := make([]float64, len(m.Facets))
	m.eachSagitta(mates, func(f, g int32, e float64) { out[f], out[g] = max(out[f], e), max(out[g], e) })
	return out
}

// angleSteps a radian is what angles are rounded to: the arc functions may differ in
// their last bits between CPUs.
const angleSteps = 1e9

// eachSagitta calls visit for every smooth edge that an arc runs over, with its two
// facets and its sagitta. 50 bytes a facet while at work; areas are worked out again
// for edges that bend, for they would be 8 more.
func (m *Mesh) eachSagitta(mates []int32, visit func(f, g int32, e float64)) {
	faces, bends := newForest(len(m.Facets)), make([]int32, len(mates))
	normals := make([]Vec, len(m.Facets))
	for f := range normals {
		normals[f] = m.Triangle(f).Normal()
	}
	for h, mate := range mates {
		if int32(h) > mate || m.sameWay(int32(h), mate) { // no single mate, seen before, or turned around
			continue
		}
		f, g := int32(h/3), mate/3
		switch a := m.bendAngle(normals[f], normals[g], int32(h)); {
		case math.Abs(a) <= flatAngle:
			faces.join(f, g)
		case math.Abs(a) < smoothAngle:
			bends[h] = int32(math.Round(a * angleSteps)) // below 2^30; never 0, which is no bend
		}
	}
	curved := m.curvedFaces(mates, faces, bends)
	for h, mate := range mates {
		a := bends[h]
		if a == 0 {
			continue
		}
		f, g := faces.root(int32(h/3)), faces.root(mate/3)
		if k := bendKind(a); !curved[f][k] || !curved[g][k] {
			continue // the end of an arc, which its inner edges speak for, or no arc
		}
		// Each facet's width is the distance of its third corner from the edge.
		long := m.Vertices[m.from(int32(h))].Dist(m.Vertices[m.to(int32(h))])
		w := min(ratio(2*m.Triangle(h/3).Area(), long), ratio(2*m.Triangle(int(mate/3)).Area(), long))
		angle := math.Abs(float64(a)) / angleSteps
		visit(int32(h/3), mate/3, math.Round(w/2*math.Tan(angle/4)*1e6)/1e6) // as above
	}
}

// bendKind is 0 for a convex bend, 1 for a concave one.
func bendKind(a int32) int {
	if a < 0 {
		return 1
	}
	return 0
}

// curvedFaces reports which flat faces, named by their root, bend the same way to two
// other faces or more; convex and concave.
func (m *Mesh) curvedFaces(mates []int32, faces forest, bends []int32) [][2]bool {
	seen := make([][2]int32, len(m.Facets)) // per face: a face it bends to, convex and concave, plus 1
	curved := make([][2]bool, len(m.Facets))
	note := func(f, g int32, k int) {
		if seen[f][k] == 0 {
			seen[f][k] = g + 1
		} else if seen[f][k] != g+1 {
			curved[f][k] = true
		}
	}
	for h, a := range bends {
		if a != 0 {
			f, g := faces.root(int32(h/3)), faces.root(mates[h]/3)
			note(f, g, bendKind(a))
			note(g, f, bendKind(a))
		}
	}
	return curved
}

// bendAngle returns the angle between two facets with the unit normals n and k at
// half-edge h of the first, positive where the surface is convex; pi where one has no
// area, so that it counts as neither smooth nor flat.
func (m *Mesh) bendAngle(n, k Vec, h int32) float64 {
	if n == (Vec{}) || k == (Vec{}) {
		return math.Pi
	}
	t := &m.Facets[h/3]
	along := m.Vertices[t[next3(int(h%3))]].Sub(m.Vertices[t[h%3]]).Unit()
	return math.Round(math.Atan2(n.Cross(k).Dot(along), n.Dot(k))*angleSteps) / angleSteps
}
