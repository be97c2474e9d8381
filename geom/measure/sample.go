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
	d      float64 // mm: diameter of the best ball so far; Most where there is none, +Inf while no column met the facet
}

// met tells whether a column met the facet.
func (f *sampled) met() bool { return !math.IsInf(f.d, 1) }

// contact is where the best ball so far touches a facet, and the facet opposite.
type contact struct {
	p  geom.Vec
	on int32 // plus 1; 0 for none
}

// samples is the best of what was found at every facet.
type samples struct {
	facets   []sampled
	contacts []contact
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
	t       *Thickness
	d       geom.Vec // the direction
	count   int
	touched float64 // keeps the touching loads from being optimised away
	err     error
}

// sample casts all directions, shared out to goroutines. Of all samples of a facet
// the one with the least ball wins, of equals the one at the least place: so the
// answer does not depend on who looked at which direction.
func (t *Thickness) sample() (*samples, error) {
	dirs := lines(t.Options.Directions)
	n := max(1, min(t.Options.Shares, len(dirs)))
	list := make([]*sampler, n)
	var group sync.WaitGroup
	for k := range n {
		s := &sampler{t: t, samples: samples{make([]sampled, len(t.Normal)), make([]contact, len(t.Normal))}}
		list[k] = s
		group.Go(func() {
			for f, n := range t.Normal {
				s.facets[f] = sampled{n, math.Inf(1)}
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
				if !s.facets[f].met() {
					continue
				}
				first.facets[f].d = min(first.facets[f].d, t.Options.Most)
				if c := &s.contacts[f]; c.on > 0 {
					first.take(int32(f), s.facets[f].d, *c)
				}
			}
		})
	}
	return first, nil
}

// take replaces a facet's best ball, one column having met it, by a better one.
func (s *samples) take(f int32, d float64, c contact) {
	best, at := &s.facets[f].d, &s.contacts[f]
	if d < *best || d == *best && (at.on == 0 || c.p.Less(at.p) || c.p == at.p && c.on < at.on) {
		*best, *at = d, c
	}
}

// ahead is how many stretches are touched before they are looked at, so that the
// waits for their facets overlap.
const ahead = 32

// cast samples along one direction.
func (s *sampler) cast(d geom.Vec) error {
	lat, err := s.t.lattice(d)
	if err != nil {
		return err
	}
	s.d = lat.Frame.Z
	l := column.Snap(lat, []*geom.Mesh{s.t.Mesh}, nil).Cast(2)
	for line := 0; line+1 < len(l.Start); line++ {
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			if i%ahead == 0 {
				s.touch(l, int(i))
			}
			s.stretch(&lat, l, line, i)
		}
	}
	return nil
}

// touch loads what the next stretches will look at.
func (s *sampler) touch(l *column.Lines, i int) {
	for k := i; k < min(i+ahead, len(l.Lo)); k++ {
		s.touched += s.facets[l.LoFacet[k]].d + s.facets[l.HiFacet[k]].d
	}
}

// slack keeps a sample whose bound is above the best by rounding only: the bound is
// a quotient of sums of a few products, each rounded by 2^-53.
const slack = 1 + 1e-9

// stretch takes one stretch of material for the facets at both ends. The ball that
// touches facet a at the stretch's end and the plane of facet b has the diameter
// 2 L (nb . d)/(1 - na . nb), where L is the stretch's length along d: no ball that
// touches b itself is smaller.
func (s *sampler) stretch(lat *column.Lattice, l *column.Lines, line int, i int32) {
	lo, hi := l.LoFacet[i], l.HiFacet[i]
	a, b := &s.facets[lo], &s.facets[hi]
	ca, cb := -a.normal.Dot(s.d), b.normal.Dot(s.d)
	if !(ca > 0 && cb > 0) {
		return
	}
	s.count += 2
	a.d, b.d = min(a.d, s.t.Options.Most), min(b.d, s.t.Options.Most)
	length := 2 * float64(float64(l.Hi[i]-l.Lo[i])*lat.Q)
	den := 1 - a.normal.Dot(b.normal)
	atA, atB := length*cb, length*ca
	if atA > a.d*den*slack && atB > b.d*den*slack {
		return
	}
	u, v := lat.At(0, line/l.NV), lat.At(1, line%l.NV)
	if atA <= a.d*den*slack {
		s.consider(lo, hi, lat.Point(u, v, l.Lo[i]), den)
	}
	if atB <= b.d*den*slack {
		s.consider(hi, lo, lat.Point(u, v, l.Hi[i]), den)
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
