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

// Chords estimates how far a mesh lies from the smooth surface it stands
// for, in mm: the sagittas of the arcs that its facets cut off. Across an
// edge with the angle a between two facets of width w (the corner's distance from
// the edge) the arc has the sagitta w/2 tan(a/4); on a regular N-gon prism that
// is r (1 - cos(pi/N)) exactly.
//
// It is an estimate: only edges below 30 degrees count, and only where the flat
// faces on both sides bend on, the same way, at another edge too, as a curve does
// and the two sides of a slanted wall do not. Where the two widths differ the
// narrower facet is taken for the curve.
type Chords struct {
	// Largest is the largest sagitta, mm: 0 for a mesh without such edges.
	Largest float64

	mesh   *Mesh
	mates  []int32
	faces  []int32   // of each facet its flat face: the least facet of it
	curved [][2]bool // per face: it bends the same way to two others or more; convex, concave
}

// Chords are those of the mesh that was inspected, whose edges are known already. Two
// passes over the edges, some 40 ns a facet; 22 bytes a facet while at work, 6 kept.
func (d *Defects) Chords(m *Mesh) *Chords { return newChords(m, d.mates) }

// ChordError returns the largest sagitta, mm, as Chords gives it.
func (m *Mesh) ChordError() float64 { return m.Chords().Largest }

// Chords finds the edges first, and costs that of Mates more.
func (m *Mesh) Chords() *Chords { return newChords(m, m.Mates()) }

// Of returns the largest sagitta over a facet's smooth edges, mm: 0 for one of a flat
// face.
func (c *Chords) Of(facet int32) float64 {
	worst := 0.0
	for h := 3 * facet; h < 3*facet+3; h++ {
		mate := c.mates[h]
		if low := min(h, mate); mate >= 0 {
			if b := c.mesh.bend(low, c.mates[low]); b.smooth() && c.arc(low, b.kind) {
				worst = max(worst, c.mesh.sagitta(low, c.mates[low]))
			}
		}
	}
	return worst
}

// All returns Of of every facet.
func (c *Chords) All() []float64 {
	out := make([]float64, len(c.mesh.Facets))
	for f := range out {
		out[f] = c.Of(int32(f))
	}
	return out
}

// arc reports whether the faces on both sides of an edge are curved its way: else it is
// the end of an arc, which its inner edges speak for, or no arc.
func (c *Chords) arc(h int32, kind bendKind) bool {
	k := kind - convex
	return c.curved[c.faces[h/3]][k] && c.curved[c.faces[c.mates[h]/3]][k]
}

func newChords(m *Mesh, mates []int32) *Chords {
	c, faces := &Chords{mesh: m, mates: mates}, newForest(len(m.Facets))
	bounds := make([]float32, len(mates)) // of sagittas at edges that bend, negative where concave
	for h, mate := range mates {
		if int32(h) > mate { // no single mate, or seen before
			continue
		}
		switch b := m.bend(int32(h), mate); b.kind {
		case flat:
			faces.join(int32(h/3), mate/3)
		case convex:
			bounds[h] = b.bound
		case concave:
			bounds[h] = -b.bound
		}
	}
	for f, p := range faces { // those before have their root already
		faces[f] = faces[p]
	}
	c.faces = faces
	c.curve(bounds)
	c.largest(bounds)
	return c
}

// largest works out the sagittas whose bounds leave it open which of them is the
// largest, that of the highest bound first.
func (c *Chords) largest(bounds []float32) {
	high, at := float32(0), -1
	for h, e := range bounds {
		if max(e, -e) > high && c.arc(int32(h), kindOf(e)) {
			high, at = max(e, -e), h
		}
	}
	if at < 0 {
		return
	}
	c.Largest = c.mesh.sagitta(int32(at), c.mates[at])
	for h, e := range bounds {
		if float64(max(e, -e)) > c.Largest+0.499/sagittaSteps && c.arc(int32(h), kindOf(e)) {
			c.Largest = max(c.Largest, c.mesh.sagitta(int32(h), c.mates[h]))
		}
	}
}

// kindOf returns the kind of a bend by its bound, negative where it is concave.
func kindOf(bound float32) bendKind {
	if bound < 0 {
		return concave
	}
	return convex
}

// curve finds the flat faces that bend the same way to two other faces or more.
func (c *Chords) curve(bounds []float32) {
	seen := make([][2]int32, len(c.faces)) // per face: a face it bends to, convex and concave, plus 1
	c.curved = make([][2]bool, len(c.faces))
	note := func(f, g int32, k int) {
		if seen[f][k] == 0 {
			seen[f][k] = g + 1
		} else if seen[f][k] != g+1 {
			c.curved[f][k] = true
		}
	}
	for h, e := range bounds {
		if e != 0 {
			k := int(kindOf(e) - convex)
			f, g := c.faces[h/3], c.faces[c.mates[h]/3]
			note(f, g, k)
			note(g, f, k)
		}
	}
}

// A bendKind says how two facets meet at an edge.
type bendKind int8

const (
	sharp bendKind = iota // a real edge, or one facet is turned around or has no area
	flat
	convex
	concave
)

// bend is how two facets meet, and where that is smooth a bound of the sagitta, mm, above
// 0.
type bend struct {
	kind  bendKind
	bound float32
}

func (b bend) smooth() bool { return b.kind >= convex }

// Squared tangents of the limits.
const (
	flatTan2   = flatAngle * flatAngle * (1 + 2*flatAngle*flatAngle/3) // tan x = x + x^3/3 + ...
	smoothTan2 = 1.0 / 3
	// bendMargin is the share by which a squared tangent must differ from a limit's to be
	// told from it without the angle: that is rounded by 1e-9/2, half a millionth of the
	// lesser limit, the squares and products here by some 2^-50 over that limit.
	bendMargin = 1e-5
	// leastBend is the size below which products may have lost digits.
	leastBend = 1e-250
)

// bend tells how the facets of half-edge h and its mate meet. The angle itself is worked
// out only within roundings of a limit.
func (m *Mesh) bend(h, mate int32) bend {
	t := &m.Facets[h/3]
	from, to := t[h%3], t[next3(int(h%3))]
	if m.from(mate) == from { // runs the same way
		return bend{}
	}
	n, k := m.Triangle(int(h/3)).AreaVec(), m.Triangle(int(mate/3)).AreaVec()
	along := m.Vertices[to].Sub(m.Vertices[from])
	sine, cosine, long2 := n.Cross(k).Dot(along), n.Dot(k), along.Norm2() // of the angle, times lengths
	p, q := float64(sine*sine), float64(cosine*cosine)*long2              // their ratio is the squared tangent
	if !(cosine > 0 && p > leastBend && q > leastBend && p < 1/leastBend && q < 1/leastBend) ||
		math.Abs(p-float64(q*flatTan2)) < float64(q*(flatTan2*bendMargin)) || math.Abs(p-float64(q*smoothTan2)) < float64(q*(smoothTan2*bendMargin)) {
		return m.bendByAngle(h, mate)
	}
	if p < q*flatTan2 {
		return bend{kind: flat}
	}
	if p > q*smoothTan2 {
		return bend{}
	}
	// w/2 tan(a/4) is at most w/8 tan(a), for the tangent is convex.
	e := math.Sqrt(min(n.Norm2(), k.Norm2())*p/q) / math.Sqrt(long2) / 4
	b := bend{convex, sagittaBound(e)}
	if sine < 0 {
		b.kind = concave
	}
	return b
}

// sagittaBound returns a bound of a sagitta of e mm at most before it is rounded to
// sagittaSteps, with room for roundings of single precision.
func sagittaBound(e float64) float32 { return float32(e*(1+1e-6) + 1e-30) }

// bendByAngle is bend by the angle, rounded to angleSteps.
func (m *Mesh) bendByAngle(h, mate int32) bend {
	switch a := m.bendAngle(m.Triangle(int(h/3)).Normal(), m.Triangle(int(mate/3)).Normal(), h); {
	case math.Abs(a) <= flatAngle:
		return bend{kind: flat}
	case !(math.Abs(a) < smoothAngle):
		return bend{}
	case a > 0:
		return bend{convex, sagittaBound(m.sagitta(h, mate) + 1/sagittaSteps)}
	default:
		return bend{concave, sagittaBound(m.sagitta(h, mate) + 1/sagittaSteps)}
	}
}

// angleSteps a radian is what angles are rounded to, sagittaSteps a millimetre what
// sagittas are: the functions of angles may differ in their last bits between CPUs.
const (
	angleSteps   = 1e9
	sagittaSteps = 1e6
)

// sagitta returns that of the arc over an edge that bends, mm. Each facet's width is the
// distance of its third corner from the edge.
func (m *Mesh) sagitta(h, mate int32) float64 {
	long := m.Vertices[m.from(h)].Dist(m.Vertices[m.to(h)])
	w := min(ratio(2*m.Triangle(int(h/3)).Area(), long), ratio(2*m.Triangle(int(mate/3)).Area(), long))
	angle := math.Abs(m.bendAngle(m.Triangle(int(h/3)).Normal(), m.Triangle(int(mate/3)).Normal(), h))
	return math.Round(w/2*math.Tan(angle/4)*sagittaSteps) / sagittaSteps
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
