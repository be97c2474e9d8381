package column

import (
	"math"

	"pourproof/geom"
)

// Gap is one sealed stretch of a lattice line.
type Gap struct {
	Axis             int
	U, V             int32 // the line
	Lo, Hi           int32
	LoFacet, HiFacet int32 // the surface below (left) and above (entered)
	Width            float64
}

// column returns the number of the line among lines of n a row.
func (g *Gap) column(n int) int { return int(g.U)*n + int(g.V) }

// opposed is the least cosine between one facet's normal and the other's
// reversed for two surfaces to count as facing: 30 deg, far above the turn
// between facets of one curved gap within a pitch and far below a corner's.
const opposed = 0.8660254037844386

// gaps returns the narrow gaps between the stretches of every line, in order.
func (l *Lines) gaps(s *Solids, width float64) []Gap {
	if width <= 0 {
		return nil
	}
	var gaps []Gap
	lat := &s.Lattice
	recent := recentNormals{solids: s, axis: [3]geom.Vec{lat.Frame.X, lat.Frame.Y, lat.Frame.Z}[l.Axis]}
	for line := 0; line+1 < len(l.Start); line++ {
		for i := l.Start[line] + 1; i < l.Start[line+1]; i++ {
			if w, ok := recent.narrow(l.Hi[i-1], l.Lo[i], l.HiFacet[i-1], l.LoFacet[i], width); ok {
				gaps = append(gaps, Gap{l.Axis, int32(line / l.NV), int32(line % l.NV), l.Hi[i-1], l.Lo[i],
					l.HiFacet[i-1], l.LoFacet[i], w})
			}
		}
	}
	return gaps
}

// recentNormals keeps the normals of facets met a short while ago: lines beside each
// other meet the same ones. A facet has one place to be kept at.
type recentNormals struct {
	solids *Solids
	axis   geom.Vec   // of the lines
	facet  [256]int32 // one more than the facet's number
	normal [256]geom.Vec
	across [256]float64 // the cosine of the normal and the axis, without its sign
}

// of returns where a facet is kept now.
func (r *recentNormals) of(f int32) int32 {
	at := f & 255
	if r.facet[at] != f+1 {
		n := r.solids.Normal(f)
		r.facet[at], r.normal[at], r.across[at] = f+1, n, math.Abs(n.Dot(r.axis))
	}
	return at
}

// slanted is how many times longer than wide a gap may be along a line: beyond, it is
// slanted by more than 89 deg, and another axis sees it.
const slanted = 64

// LongestGap returns how long in mm the stretch of a line may be that crosses a gap closed
// for being narrower than seal mm.
func LongestGap(seal float64) float64 { return slanted * seal }

// narrow tells whether the stretch of a line from hi (leaving facet f) to lo
// (entering facet g) crosses a gap narrower than width between facing surfaces,
// and how wide it is. A line slanted to the gap sees it longer by the cosine.
func (r *recentNormals) narrow(hi, lo, f, g int32, width float64) (float64, bool) {
	length := float64(lo-hi) * r.solids.Lattice.Q
	if length > slanted*width {
		return 0, false
	}
	at := r.of(f)
	n, across := r.normal[at], r.across[at]
	if length*across/2 >= width { // wide enough by one surface alone, as most are
		return 0, false
	}
	at = r.of(g)
	if n.Dot(r.normal[at]) > -opposed {
		return 0, false
	}
	w := length * (across + r.across[at]) / 2
	return w, w < width
}
