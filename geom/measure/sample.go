package measure

import (
	"math"
	"runtime"
	"sync"

	"pourproof/geom"
	"pourproof/geom/column"
)

// shares is how many goroutines take directions by default: more than four gain
// little and cost memory.
func shares() int { return min(runtime.GOMAXPROCS(0), 4) }

// sampled is what a stretch needs first of the facet at its end: 32 bytes, for
// stretches come to facets in no order that memory could follow.
type sampled struct {
	normal geom.Vec
	d      float64 // mm: diameter of the best ball so far; Most where there is none
}

// contact is where the best ball so far touches a facet, and the facet opposite.
type contact struct {
	p  geom.Vec
	on int32 // plus 1; 0 for none
}

// samples is the best of what was found at every facet.
type samples struct {
	facets   []sampled
	contacts []contact
	met      []bool // by facet of the given mesh: some column met it
}

// lines returns n lines spread evenly over the half sphere (the spiral of Swinbank
// and Purser, 2006: equal steps of height, the golden angle around).
func lines(n int) []geom.Vec {
	golden := math.Pi * (3 - math.Sqrt(5))
	out := make([]geom.Vec, n)
	for i := range out {
		z := (float64(i) + 0.5) / float64(n)
		r := math.Sqrt(1 - float64(z*z))
		sin, cos := math.Sincos(float64(golden * float64(i)))
		const q = 1 << 40
		round := func(x float64) float64 { return math.Round(x*q) / q }
		out[i] = geom.Vec{X: round(r * cos), Y: round(r * sin), Z: round(z)}.Unit()
	}
	return out
}

// sampler collects the samples of some of the directions.
type sampler struct {
	samples
	t     *Thickness
	in    *casting
	solid *column.Solids // of the given mesh
	lines column.Lines   // along the direction d
	d     geom.Vec
	count int
	near  []nearby
	err   error

	touched float64 // keeps loads that are done early from being optimised away
}

// casting is what all directions share.
type casting struct {
	given  *geom.Mesh
	normal []geom.Vec // of the given facets
	ridge  []bool     // a piece of theirs borders an inner edge
	pieces *pieces
}

func (t *Thickness) newCasting(given *geom.Mesh) *casting {
	c := &casting{given, t.normals(given), make([]bool, len(given.Facets)), newPieces(given, t.Mesh, t.Parent)}
	for f, r := range t.ridge {
		if r {
			c.ridge[t.Parent[f]] = true
		}
	}
	return c
}

// sample casts all directions, shared out to goroutines. Of all samples of a facet
// the one with the least ball wins, of equals the one at the least place: so the
// answer does not depend on who looked at which direction.
func (t *Thickness) sample(given *geom.Mesh) (*samples, error) {
	dirs := lines(t.Options.Directions)
	n := max(1, min(t.Options.Shares, len(dirs)))
	in := t.newCasting(given)
	list := make([]*sampler, n)
	var group sync.WaitGroup
	for k := range n {
		s := &sampler{t: t, in: in, samples: samples{make([]sampled, len(t.Normal)), make([]contact, len(t.Normal)), make([]bool, len(given.Facets))}}
		list[k] = s
		group.Go(func() {
			for f, n := range t.Normal {
				s.facets[f] = sampled{n, t.Options.Most}
			}
			for i := k; i < len(dirs) && s.err == nil; i += n {
				s.err = s.cast(dirs[i])
			}
		})
	}
	group.Wait()
	for _, s := range list {
		if s.err != nil {
			return nil, s.err
		}
		t.Samples += s.count
	}
	first := &list[0].samples
	for _, s := range list[1:] {
		t.each(len(first.facets), func(from, to int) {
			for f := from; f < to; f++ {
				if c := &s.contacts[f]; c.on > 0 {
					first.take(int32(f), s.facets[f].d, *c)
				}
			}
		})
		for f, met := range s.met {
			first.met[f] = first.met[f] || met
		}
	}
	return first, nil
}

// take replaces a facet's best ball by a better one.
func (s *samples) take(f int32, d float64, c contact) {
	best, at := &s.facets[f].d, &s.contacts[f]
	if d < *best || d == *best && (at.on == 0 || c.p.Less(at.p) || c.p == at.p && c.on < at.on) {
		*best, *at = d, c
	}
}

// ahead is how many stretches are looked at before the facets at the ends of those
// that may say something are, so that the waits for them overlap.
const ahead = 64

// cast samples along one direction.
func (s *sampler) cast(d geom.Vec) error {
	lat, err := s.t.lattice(d, s.in.given.Vertices)
	if err != nil {
		return err
	}
	s.d = lat.Frame.Z
	if s.solid == nil {
		s.solid = column.Snap(lat, []*geom.Mesh{s.in.given}, nil)
	} else {
		s.solid.Move(lat)
	}
	s.solid.CastInto(&s.lines, 2)
	line := 0
	for i := 0; i < len(s.lines.Lo); i += ahead {
		s.within(&lat, i)
		for k := range s.near {
			for s.lines.Start[line+1] <= s.near[k].i {
				line++
			}
			s.stretch(&lat, line, &s.near[k])
		}
	}
	return nil
}

// nearby is a stretch that may be no thicker than Most, and the pieces at its ends where
// their facets are in one piece, else -1.
type nearby struct{ i, lo, hi int32 }

// slack keeps a sample whose bound is above the best by rounding only: the bound is
// a quotient of sums of a few products, each rounded by 2^-53. Normals of pieces differ
// from their facet's by some roundings over their height, which pieceSlack allows for.
const (
	slack      = 1 + 1e-9
	pieceSlack = 1e-6
)

// within lists the stretches from i on, ahead of them, that may be no thicker than
// Most between opposed facets, and notes which facets they meet. The ball that touches
// facet a at a stretch's end and the plane of facet b has the diameter
// 2 L (nb . d)/(1 - na . nb), where L is the stretch's length along d: no ball that
// touches b itself is smaller.
func (s *sampler) within(lat *column.Lattice, i int) {
	most, denFlat := s.t.Options.Most*(1+pieceSlack), s.t.denFlat-pieceSlack
	in, met, l := s.in, s.met, &s.lines
	s.near = s.near[:0]
	for k := i; k < min(i+ahead, len(l.Lo)); k++ {
		lo, hi := l.LoFacet[k], l.HiFacet[k]
		a, b := in.normal[lo], in.normal[hi]
		ca, cb := -a.Dot(s.d), b.Dot(s.d)
		if !(ca > 0 && cb > 0) {
			continue
		}
		met[lo], met[hi] = true, true
		s.count += 2
		den, length := 1-a.Dot(b), 2*float64(float64(l.Hi[k]-l.Lo[k])*lat.Q)
		if length*min(ca, cb) <= most*den && (den >= denFlat || in.ridge[lo] || in.ridge[hi]) {
			s.near = append(s.near, nearby{int32(k), in.pieces.whole[lo], in.pieces.whole[hi]})
		}
	}
	for _, w := range s.near {
		if w.lo >= 0 && w.hi >= 0 {
			v := s.t.Mesh.Vertices
			s.touched += s.facets[w.lo].d + s.facets[w.hi].d + v[s.t.Mesh.Facets[w.lo][0]].X + v[s.t.Mesh.Facets[w.hi][0]].X
		}
	}
}

// stretch takes one stretch of material for the facets at both ends.
func (s *sampler) stretch(lat *column.Lattice, line int, w *nearby) {
	l, i := &s.lines, w.i
	u, v := lat.At(0, line/l.NV), lat.At(1, line%l.NV)
	p, q := lat.Point(u, v, l.Lo[i]), lat.Point(u, v, l.Hi[i])
	lo, hi := w.lo, w.hi
	if lo < 0 {
		lo = s.in.pieces.at(l.LoFacet[i], p)
	}
	if hi < 0 {
		hi = s.in.pieces.at(l.HiFacet[i], q)
	}
	a, b := &s.facets[lo], &s.facets[hi]
	length := 2 * float64(float64(l.Hi[i]-l.Lo[i])*lat.Q)
	den := 1 - a.normal.Dot(b.normal)
	if length*b.normal.Dot(s.d) <= a.d*den*slack {
		s.consider(lo, hi, p, den)
	}
	if length*-a.normal.Dot(s.d) <= b.d*den*slack {
		s.consider(hi, lo, q, den)
	}
}

// consider takes the ball that touches facet f at p and facet g for f's, if the two
// lie opposed. Where the planes do, the ball is followed to its contact later, and
// only the least one; where only the way between the two facets does, as beside an
// inner edge that points to f, the contact decides at once.
func (s *sampler) consider(f, g int32, p geom.Vec, den float64) {
	t := s.t
	inward, normal := s.facets[f].normal.Neg(), s.facets[g].normal
	tri := t.Mesh.Triangle(int(g))
	h := normal.Dot(tri.A.Sub(p))
	if !(h > 0) {
		return
	}
	r := h / den
	x := tri.Closest(p.AddScaled(inward, r).AddScaled(normal, r))
	v := x.Sub(p)
	rise, d2 := inward.Dot(v), v.Norm2()
	switch {
	case !(rise > 0):
	case den >= t.denFlat:
		s.take(f, d2/rise, contact{p, g + 1})
	case t.ridge[g] && t.opposed(rise, d2):
		// A contact below the bound lies on another facet. It is that one's sample to
		// find: counted here, it would depend on what was known before.
		if b, ok := t.ball(p, inward, g); ok && b.d*slack >= 2*r {
			s.take(f, b.d, contact{p, b.on + 1})
		}
	}
}
