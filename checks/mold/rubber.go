package mold

import (
	"fmt"
	"math"
	"runtime"
	"sync"

	"pourproof/geom"
	"pourproof/geom/measure"
)

// HalfRubber says how thick a half is everywhere, which of its walls, fins and pins are
// thin, and where its edges are sharp. Lengths mm, areas mm2, points in the CAD
// frame.
type HalfRubber struct {
	Half int
	Name string

	// The half's mesh with large facets split, and by its facets: the thickness, +Inf
	// where nothing opposed lies within Most mm, and the number of the wall it is part
	// of, 0 for none.
	Mesh      *geom.Mesh
	Thickness []float64
	Wall      []int32
	Most      float64
	Error     float64 // mm by which a thickness may be off for the mesh as it is

	Walls   []Wall // thinnest first, those of each limit apart
	Knives  []Edge // sharpest first
	Corners []Edge // inner corners of the rubber on faces that shape the part, sharpest first
}

// RubberOptions says up to which thickness walls are listed, mm, and which edges.
// Zero fields stand for the defaults.
type RubberOptions struct {
	Around float64 // between the cavity and the outside; 5
	Thin   float64 // everywhere else; 1.5. Free-standing fins and pins are found up to twice that
	Knife  float64 // radians: angle below which an edge is a knife edge; 45 deg
}

// Side is what a face of the rubber borders.
type Side int8

// The sides.
const (
	NoSide    Side = iota
	AtCavity       // it shapes the part
	AtChannel      // the wall of a channel
	AtParting      // it meets another half
	AtOutside      // anything else: the block's outside, sockets, pockets
)

// String returns the word for sentences.
func (s Side) String() string {
	return [...]string{"", "cavity", "channel", "parting face", "outside"}[s]
}

// WallKind says what a thin place is.
type WallKind string

// The kinds of thin places.
const (
	ThinWall WallKind = "wall" // held all around
	Fin      WallKind = "fin"  // a sheet with a free end
	Pin      WallKind = "pin"  // a post with a free end
)

// Wall is a patch of rubber that is thin.
type Wall struct {
	ID       int
	Kind     WallKind
	Between  [2]Side // cavity first, outside last
	Least    float64
	Mean     float64
	Area     float64  // of the place thinner than its limit, one side; of a fin or pin found by its height alone all of it
	At       geom.Vec // in the middle of the rubber where it is thinnest
	Molding  bool     // a face of it shapes the part
	Height   float64  // from where it is held to its farthest point
	Slender  float64  // of a fin or pin: Height over Mean; else 0
	Facets   int
	Boundary [2]float64 // mm of its border that is held, and free
}

// Around tells whether the wall stands between the cavity and the outside.
func (w *Wall) Around() bool { return w.Between == [2]Side{AtCavity, AtOutside} }

// Edge is a line along which two faces of the rubber meet at a sharp angle.
type Edge struct {
	ID      int
	Angle   float64 // radians: of the rubber at a knife edge, of the space at an inner corner; the least along it
	Length  float64
	At      geom.Vec // on its sharpest stretch
	Molding bool
	Facets  []int32 // of the half's own mesh, beside it
}

// The defaults of RubberOptions: practice for soft printed molds.
const (
	defaultAround = 5.0
	defaultThin   = 1.5
)

// Rubber measures the halves, one after the other, each on all processors.
func (m *Mold) Rubber(o RubberOptions) ([]*HalfRubber, error) {
	o = o.filled()
	out := make([]*HalfRubber, len(m.Halves))
	for i := range m.Halves {
		r, err := m.rubberOf(i, o)
		if err != nil {
			return nil, fmt.Errorf("half %s: %w", m.Halves[i].Name, err)
		}
		out[i] = r
	}
	return out, nil
}

// filled returns the options with defaults.
func (o RubberOptions) filled() RubberOptions {
	if o.Around == 0 {
		o.Around = defaultAround
	}
	if o.Thin == 0 {
		o.Thin = defaultThin
	}
	if o.Knife == 0 {
		o.Knife = math.Pi / 4
	}
	return o
}

// shownBeyond is by how much the map goes on beyond the thickest limit.
const shownBeyond = 1.5

// most is how thick rubber may be to be told, mm.
func (o RubberOptions) most() float64 { return shownBeyond * max(o.Around, 2*o.Thin) }

func (m *Mold) rubberOf(half int, o RubberOptions) (*HalfRubber, error) {
	most := o.most()
	t, err := m.Halves[half].walls(most)
	if err != nil {
		return nil, err
	}
	w := &rubberWork{m: m, half: half, o: o, t: t}
	r := &HalfRubber{Half: half, Name: m.Halves[half].Name, Mesh: t.Mesh, Thickness: t.Least, Most: most, Error: t.Error()}
	w.look()
	r.Walls, r.Wall = w.walls()
	r.Knives, r.Corners = w.edges()
	return r, nil
}

// rubberWork is one half being measured.
type rubberWork struct {
	m    *Mold
	half int
	o    RubberOptions
	t    *measure.Thickness
	side []Side // per facet of t.Mesh, NoSide where nobody asks
	kind []thin
}

// thin says by which limit a facet is thin.
type thin int8

const (
	thick     thin = iota
	thinOuter      // between cavity and outside, below Around
	thinInner      // else, below twice Thin
)

// look finds out what the thin facets and those opposite border, and which limit
// each is held against.
func (w *rubberWork) look() {
	t := w.t
	n := len(t.Least)
	asked := make([]bool, n)
	limit := max(w.o.Around, 2*w.o.Thin)
	for f, d := range t.Least {
		if d < limit {
			asked[f], asked[t.Contact[f]] = true, true
		}
	}
	w.side, w.kind = make([]Side, n), make([]thin, n)
	spread(n, func(from, to int) {
		for f := from; f < to; f++ {
			if asked[f] {
				w.side[f] = w.sideOf(int32(f))
			}
		}
	})
	for f, d := range t.Least {
		if math.IsInf(d, 1) {
			continue
		}
		if w.between(int32(f)) == [2]Side{AtCavity, AtOutside} {
			if d < w.o.Around {
				w.kind[f] = thinOuter
			}
		} else if d < 2*w.o.Thin {
			w.kind[f] = thinInner
		}
	}
}

// between returns what the rubber under a facet borders on both sides.
func (w *rubberWork) between(f int32) [2]Side {
	a, b := w.side[f], w.side[w.t.Contact[f]]
	return [2]Side{min(a, b), max(a, b)}
}

// sideOf tells what a facet borders, by its middle. The part, the channel or the
// other half must lie on the side to which the facet looks: a sheet thinner than the
// skin has two sides.
func (w *rubberWork) sideOf(f int32) Side {
	m, p, n := w.m, w.t.Mesh.Triangle(int(f)).Centroid(), w.t.Normal[f]
	near := func(o int32) bool { return m.fixed.part.Triangle(int(o)).Normal().Dot(n) < -facesPart }
	if m.fixed.partTree.WithinWhere(p, m.Skin, near) {
		return AtCavity
	}
	if m.inBore(p, n) {
		return AtChannel
	}
	if m.fixed.meets(w.half, p, n, m.Seal) {
		return AtParting
	}
	return AtOutside
}

// facesPart is the cosine of 60 deg: where facets of cavity and part lie differently
// on a curve, their normals differ by less.
const facesPart = 0.5

// boreMargin is how far beyond a channel's clear radius its own wall may lie: the
// corners of a square bore lie at 1.41 of it.
const boreMargin = 1.45

// boreEnd in mm is by how much a centre line may end short of a blind bore's last
// face, or beyond it.
const boreEnd = 0.05

// inBore tells whether a point lies on the wall of a channel, with the normal n into
// it, bores that are only tried out left out.
func (m *Mold) inBore(p, n geom.Vec) bool {
	for i := range m.Channels {
		c := &m.Channels[i]
		if c.Tried || c.Slit {
			continue
		}
		for k := 1; k < len(c.Path) && k < len(c.Radius); k++ {
			d := geom.ClosestOnSegment(p, c.Path[k-1], c.Path[k]).Sub(p)
			if d.Norm() <= float64(boreMargin*max(c.Radius[k-1], c.Radius[k])) && d.Dot(n) > -boreEnd {
				return true
			}
		}
	}
	return false
}

// spread runs work over n items on all processors.
func spread(n int, work func(from, to int)) {
	k := max(1, min(runtime.GOMAXPROCS(0), n/1024))
	var group sync.WaitGroup
	for s := range k {
		group.Go(func() { work(n*s/k, n*(s+1)/k) })
	}
	group.Wait()
}
