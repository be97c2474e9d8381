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

// contact is the best sample of a facet so far: the ball that touches it at p and
// the facet on.
type contact struct {
	d   float64 // diameter, mm; Most where there is none
	p   geom.Vec
	on  int32 // -1 for none
	met bool  // some column met the facet
}

// sampled is what a stretch needs of the facets at its ends, 64 bytes that lie in one
// line of cache: stretches come to facets in no order that memory could follow.
type sampled struct {
	normal geom.Vec
	contact
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
	t       *Thickness
	facets  []sampled
	d       geom.Vec // the direction
	samples int
	touched float64 // keeps the touching loads from being optimised away
	err     error
}

// sample casts all directions, shared out to goroutines. Of all samples of a facet
// the one with the least ball wins, of equals the one at the least place: so the
// answer does not depend on who looked at which direction.
func (t *Thickness) sample() ([]sampled, error) {
	dirs := lines(t.Options.Directions)
	n := max(1, min(t.Options.Shares, len(dirs)))
	list := make([]*sampler, n)
	var group sync.WaitGroup
	for k := range n {
		s := &sampler{t: t, facets: make([]sampled, len(t.Normal))}
		list[k] = s
		group.Go(func() {
			for f, n := range t.Normal {
				s.facets[f] = sampled{n, contact{d: t.Options.Most, on: -1}}
			}
			for i := k; i < len(dirs) && s.err == nil; i += n {
				s.err = s.cast(dirs[i])
			}
		})
	}
	group.Wait()
	first := list[0].facets
	for _, s := range list {
		if s.err != nil {
			return nil, s.err
		}
		t.Samples += s.samples
		if s == list[0] {
			continue
		}
		t.each(len(first), func(from, to int) {
			for f := from; f < to; f++ {
				first[f].take(s.facets[f].contact)
				first[f].met = first[f].met || s.facets[f].met
			}
		})
	}
	return first, nil
}

// take replaces a contact by a better one.
func (c *contact) take(o contact) {
	if o.on < 0 || o.d > c.d {
		return
	}
	if o.d < c.d || c.on < 0 || o.p.Less(c.p) || o.p == c.p && o.on < c.on {
		c.d, c.p, c.on = o.d, o.p, o.on
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
	a, b := &s.facets[l.LoFacet[i]], &s.facets[l.HiFacet[i]]
	ca, cb := -a.normal.Dot(s.d), b.normal.Dot(s.d)
	if !(ca > 0 && cb > 0) {
		return
	}
	a.met, b.met = true, true
	s.samples += 2
	length := 2 * float64(float64(l.Hi[i]-l.Lo[i])*lat.Q)
	den := 1 - a.normal.Dot(b.normal)
	atA, atB := length*cb, length*ca
	if atA > a.d*den*slack && atB > b.d*den*slack {
		return
	}
	u, v := lat.At(0, line/l.NV), lat.At(1, line%l.NV)
	p, q := lat.Point(u, v, l.Lo[i]), lat.Point(u, v, l.Hi[i])
	if atA <= a.d*den*slack {
		s.consider(a, l.HiFacet[i], p, den)
	}
	if atB <= b.d*den*slack {
		s.consider(b, l.LoFacet[i], q, den)
	}
}

// consider takes the ball that touches facet f at p and facet g for f's, if the two
// lie opposed. Where the planes do, the ball is followed to its contact later, and
// only the least one; where only the way between the two facets does, as beside an
// inner edge that points to f, the contact decides at once.
func (s *sampler) consider(f *sampled, g int32, p geom.Vec, den float64) {
	t := s.t
	inward := f.normal.Neg()
	tri := t.Mesh.Triangle(int(g))
	h := t.Normal[g].Dot(tri.A.Sub(p))
	if !(h > 0) {
		return
	}
	r := h / den
	x := tri.Closest(p.AddScaled(inward, r).AddScaled(t.Normal[g], r))
	v := x.Sub(p)
	rise, d2 := inward.Dot(v), v.Norm2()
	switch {
	case !(rise > 0):
	case den >= t.denFlat:
		f.take(contact{d: d2 / rise, p: p, on: g})
	case t.ridge[g] && t.opposed(rise, d2):
		// A contact below the bound lies on another facet. It is that one's sample to
		// find: counted here, it would depend on what was known before.
		if b, ok := t.ball(p, inward, g); ok && b.d*slack >= 2*r {
			f.take(contact{d: b.d, p: p, on: b.on})
		}
	}
}
