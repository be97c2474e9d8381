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
// Mates plus one pass.
func (m *Mesh) ChordError() float64 {
	worst := 0.0
	for _, e := range m.ChordErrors() {
		worst = max(worst, e)
	}
	return worst
}

// ChordErrors returns the same estimate facet by facet: the largest sagitta over
// its smooth edges, 0 for a facet of a flat face.
func (m *Mesh) ChordErrors() []float64 {
	mates := m.Mates()
	normal := make([]Vec, len(m.Facets))
	for f := range normal {
		normal[f] = m.Triangle(f).Normal()
	}
	faces := newForest(len(m.Facets))
	var bends []bend
	for h, mate := range mates {
		if int32(h) > mate || m.sameWay(int32(h), mate) { // no single mate, seen before, or turned around
			continue
		}
		f, g := int32(h/3), mate/3
		switch a := m.bendAngle(normal[f], normal[g], int32(h)); {
		case math.Abs(a) <= flatAngle:
			faces.join(f, g)
		case math.Abs(a) < smoothAngle:
			bends = append(bends, bend{int32(h), mate, a})
		}
	}
	return m.sagittas(faces, bends)
}

// bend is a smooth edge: its two half-edges, and the angle between its facets,
// convex positive.
type bend struct {
	half, mate int32
	angle      float64
}

// kind is 0 for a convex bend, 1 for a concave one.
func (b *bend) kind() int {
	if b.angle < 0 {
		return 1
	}
	return 0
}

// bendAngle returns the angle between two facet normals at half-edge h of the
// first, positive where the surface is convex; pi where one has no area, so that
// it counts as neither smooth nor flat.
func (m *Mesh) bendAngle(n, k Vec, h int32) float64 {
	if n == (Vec{}) || k == (Vec{}) {
		return math.Pi
	}
	t := &m.Facets[h/3]
	along := m.Vertices[t[next3(int(h%3))]].Sub(m.Vertices[t[h%3]]).Unit()
	// rounded: the arc functions may differ in their last bits between CPUs
	return math.Round(math.Atan2(n.Cross(k).Dot(along), n.Dot(k))*1e9) / 1e9
}

// sagittas goes over the smooth edges of faces that bend the same way to two other
// faces or more.
func (m *Mesh) sagittas(faces forest, bends []bend) []float64 {
	seen := make([][2]int32, len(m.Facets)) // per face: a face it bends to, convex and concave, plus 1
	curved := make([][2]bool, len(m.Facets))
	note := func(f, g int32, k int) {
		if seen[f][k] == 0 {
			seen[f][k] = g + 1
		} else if seen[f][k] != g+1 {
			curved[f][k] = true
		}
	}
	for i := range bends {
		b := &bends[i]
		f, g := faces.root(b.half/3), faces.root(b.mate/3)
		note(f, g, b.kind())
		note(g, f, b.kind())
	}
	out := make([]float64, len(m.Facets))
	for i := range bends {
		b := &bends[i]
		f, g := faces.root(b.half/3), faces.root(b.mate/3)
		if !curved[f][b.kind()] || !curved[g][b.kind()] {
			continue // the end of an arc, which its inner edges speak for, or no arc
		}
		w := min(m.widthFrom(b.half), m.widthFrom(b.mate))
		e := math.Round(w/2*math.Tan(math.Abs(b.angle)/4)*1e6) / 1e6 // as above
		for _, h := range [2]int32{b.half, b.mate} {
			out[h/3] = max(out[h/3], e)
		}
	}
	return out
}

// widthFrom returns the distance of the facet's third corner from half-edge h.
func (m *Mesh) widthFrom(h int32) float64 {
	t := &m.Facets[h/3]
	a, b := m.Vertices[t[h%3]], m.Vertices[t[next3(int(h%3))]]
	return ratio(2*m.Triangle(int(h/3)).Area(), a.Dist(b))
}
