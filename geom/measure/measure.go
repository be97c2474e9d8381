// Package measure takes numbers from closed meshes: how thick the material is
// under every facet, and how sharp its edges are.
//
// The thickness at a point p of the surface is the diameter of the ball that
// touches the surface at p from inside and a facing surface on the other side (the
// shrinking ball of Ma, Bae and Choi, The Visual Computer 28, 2012). It counts
// where the two places of contact lie opposed: the chord between them makes at
// most half of the widest wedge with the inward normal, as in the medial axis
// simplified by the angle of separation (Foskey, Lin and Manocha, 2003). Between
// two planes that meet at the angle a, at the distance u from their edge, it is
// 2 u tan(a/2); between parallel ones their distance. So an edge of 90 deg is no
// thin wall, however near to it one looks.
package measure

import (
	"fmt"
	"math"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// Options sets what Walls looks for. Zero fields stand for the defaults.
type Options struct {
	Most       float64 // mm: what is thicker is not told apart; 8
	Wedge      float64 // radians: widest angle between opposed faces; 30 deg
	Directions int     // in which columns are cast; 30
	Pitch      float64 // mm between columns; by rule 0.25, coarser for large surfaces
	Edge       float64 // mm: facets with longer edges are split; by rule 2, longer for large surfaces; small facets stay
	Shares     int     // goroutines; by default one a processor. The answer does not depend on it
}

// Thickness is the thickness at every facet of a mesh. Slices run over the facets
// of Mesh, the given mesh with large facets split.
type Thickness struct {
	Mesh   *geom.Mesh
	Parent []int32 // facet of the given mesh
	Mates  []int32 // of Mesh, as geom.Mesh.Mates
	Normal []geom.Vec

	// Least is the least thickness found on the facet, at the place At; +Inf where
	// nothing within Most lies opposed. The ball touches the facet Contact at Touch;
	// Contact is -1 without one.
	Least   []float64
	At      []geom.Vec
	Contact []int32
	Touch   []geom.Vec

	Options Options // as used
	Samples int     // ends of stretches of material that were looked at
	Missed  int     // given facets that no column met: their values come from their neighbours or from a ray

	ridge   []bool  // by facet: it borders an inner edge
	cos2    float64 // squared cosine of half the widest wedge, less 1e-12 for roundings
	denFlat float64 // 1 - na . nb of facets whose planes meet at the widest wedge
}

// The defaults, and the bounds on work: mostSamples ends of columns cost about a
// sixth of a second on one core, mostFacets facets about 100 MB.
const (
	defaultMost       = 8.0
	defaultWedge      = math.Pi / 6
	defaultDirections = 20
	finestPitch       = 0.3
	shortestEdge      = 2.0
	mostSamples       = 3_000_000
	mostFacets        = 600_000
)

// Walls measures the material of a closed mesh.
//
// Columns along Directions lines cross the mesh as it is given; every stretch of
// material is a sample for the facet, or the piece of a split one, at either end. The
// ball that touches one facet and the plane of the other bounds what the sample can
// say, so most need no more than that. The best one of a facet is then followed over
// the opposite surface to the place where the ball really touches, first from where
// the neighbours' balls touch; and where the planes promise a thinner place at a corner
// of the facet, there. A facet without a sample begins where a neighbour's ball touches,
// and one that no column met, nor any near it, with a ray.
//
// A value belongs to the point At of the facet and is that of a ball that does
// touch the surface, so it is never too small for the mesh: exact where the
// opposite face is flat or the way to the contact is downhill, to rounding of the
// columns (Pitch/65536). The facet's own least may be lower: by gain and slideGain, and in
// the tenth of it next to a corner; and where the opposite face is not flat, by at most
// 2 tan(Wedge/2) times the distance of the samples, in a facet met by n about
// sqrt(area/n). What is narrower than the columns' pitch in every direction may be
// missed. Of two faces about as near as each other, the farther one may count. Held
// against rays in a cone from four places of each facet, of 3500 facets of 22 solids, most
// of them rough, 4 % are told over 2 % too thick, 2 % more over a tenth, and 3 % to have
// nothing opposed.
//
// Cost: linear in facets, and in Directions times area over Pitch squared. Memory:
// 120 bytes a facet and 32 more for each goroutine.
func Walls(mesh *geom.Mesh, o Options) (*Thickness, error) {
	o = o.filled(mesh)
	c := cosine(o.Wedge / 2)
	t := &Thickness{Options: o, cos2: float64(c*c) - 1e-12, denFlat: 1 + cosine(o.Wedge) - 1e-9}
	t.Mesh, t.Parent = refine(mesh, o.Edge)
	t.Mates = t.Mesh.Mates()
	t.Normal = t.normals(t.Mesh)
	t.markRidges()
	best, err := t.sample(mesh)
	if err != nil {
		return nil, err
	}
	t.fill(best, t.settle(best))
	return t, nil
}

// Error returns by how much a thickness may be too large for the mesh as it is, mm:
// the columns' rounding of either end.
func (t *Thickness) Error() float64 { return t.Options.Pitch / (1 << 15) }

// filled returns the options with defaults for a mesh.
func (o Options) filled(mesh *geom.Mesh) Options {
	set := func(x *float64, to float64) {
		if *x == 0 {
			*x = to
		}
	}
	set(&o.Most, defaultMost)
	set(&o.Wedge, defaultWedge)
	if o.Directions == 0 {
		o.Directions = defaultDirections
	}
	if o.Shares == 0 {
		o.Shares = shares()
	}
	area := mesh.Area()
	// A line meets an area A of surface A |cos|/pitch2 times, half of that on average.
	set(&o.Pitch, max(finestPitch, math.Sqrt(area*float64(o.Directions)/(2*mostSamples))))
	// Facets of half a square millimetre or so to every square of Edge.
	set(&o.Edge, max(shortestEdge, math.Sqrt(3*area/mostFacets)))
	return o
}

// ridgeTurn is the sine of the least turn of an inner edge that a ball may rest on
// while neither of its facets is opposed: below it one of them is, or nearly.
const (
	ridgeTurn = 0.1
	ridgeCos  = 1 - ridgeTurn*ridgeTurn/2 // a little above the cosine
)

// markRidges finds the facets beside inner edges, where the surface bends toward its
// outer side.
func (t *Thickness) markRidges() {
	t.ridge = make([]bool, len(t.Normal))
	t.each(len(t.Normal), func(from, to int) {
		for f := from; f < to; f++ {
			for k := range 3 {
				m := t.Mates[3*f+k]
				if m < 0 || t.Normal[f].Dot(t.Normal[m/3]) > ridgeCos {
					continue
				}
				a, b := t.Mesh.Vertices[t.Mesh.Facets[f][k]], t.Mesh.Vertices[t.Mesh.Facets[f][(k+1)%3]]
				edge := b.Sub(a)
				turn := t.Normal[f].Cross(t.Normal[m/3]).Dot(edge)
				t.ridge[f] = t.ridge[f] || turn < 0 && float64(turn*turn) > float64(ridgeTurn*ridgeTurn)*edge.Norm2()
			}
		}
	})
}

// cosine is rounded to 2^-40, so that it is the same on every CPU.
func cosine(a float64) float64 {
	const q = 1 << 40
	return math.Round(math.Cos(a)*q) / q
}

// opposed tells whether a chord from a facet's point lies within half the widest
// wedge of the inward normal: rise is the chord's part along it, d2 its square.
func (t *Thickness) opposed(rise, d2 float64) bool {
	return rise > 0 && float64(rise*rise) >= float64(t.cos2*d2)
}

// normals returns the unit normals of a mesh's facets.
func (t *Thickness) normals(mesh *geom.Mesh) []geom.Vec {
	out := make([]geom.Vec, len(mesh.Facets))
	t.each(len(out), func(from, to int) {
		for f := from; f < to; f++ {
			out[f] = mesh.Triangle(f).Normal()
		}
	})
	return out
}

// lattice returns the columns along a direction that cover a box and, where it is
// smaller, the ball of a radius about its middle. Their frame has the direction as its
// third axis.
func (t *Thickness) lattice(d geom.Vec, box geom.Box, radius float64) (column.Lattice, error) {
	frame := geom.FrameFor(d)
	middle, half := box.Min.Lerp(box.Max, 0.5), box.Max.Sub(box.Min).Scale(0.5)
	reach := func(axis geom.Vec) float64 {
		return min(radius, float64(math.Abs(axis.X)*half.X)+float64(math.Abs(axis.Y)*half.Y)+float64(math.Abs(axis.Z)*half.Z))
	}
	c, r := frame.Turn(middle), geom.Vec{X: reach(frame.X), Y: reach(frame.Y), Z: reach(frame.Z)}
	turned := geom.Box{Min: c.Sub(r), Max: c.Add(r)}
	for h := t.Options.Pitch; ; h *= 1.1 {
		lat, err := column.NewLattice(frame, turned, h)
		if err == nil || h > 1e6 {
			if err != nil {
				return lat, fmt.Errorf("thickness: %w", err)
			}
			return lat, nil
		}
	}
}

// radiusOf returns the radius of the ball about the middle of a mesh's box that holds it.
func radiusOf(mesh *geom.Mesh, box geom.Box) float64 {
	middle, most := box.Min.Lerp(box.Max, 0.5), 0.0
	for _, v := range mesh.Vertices {
		most = max(most, v.Sub(middle).Norm2())
	}
	return math.Sqrt(most)
}

// each runs work over n items in shares of whole ranges.
func (t *Thickness) each(n int, work func(from, to int)) {
	k := max(1, min(t.Options.Shares, n/4096))
	var group sync.WaitGroup
	for s := range k {
		group.Go(func() { work(n*s/k, n*(s+1)/k) })
	}
	group.Wait()
}
