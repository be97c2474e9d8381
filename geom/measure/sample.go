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
	d  float64 // diameter, mm; Most where there is none
	p  geom.Vec
	on int32 // -1 for none
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
	best    []contact
	met     []bool
	along   []float64 // normal . direction, by facet
	samples int
	err     error
}

// found is what all samplers together came to.
type found struct {
	best []contact
	met  []bool
}

// sample casts all directions, shared out to goroutines. Of all samples of a facet
// the one with the least ball wins, of equals the one at the least place: so the
// answer does not depend on who looked at which direction.
func (t *Thickness) sample() (*found, error) {
	dirs := lines(t.Options.Directions)
	n := max(1, min(t.Options.Shares, len(dirs)))
	list := make([]*sampler, n)
	var group sync.WaitGroup
	for k := range n {
		s := &sampler{t: t, best: make([]contact, len(t.Normal)), met: make([]bool, len(t.Normal)), along: make([]float64, len(t.Normal))}
		for f := range s.best {
			s.best[f] = contact{d: t.Options.Most, on: -1}
		}
		list[k] = s
		group.Go(func() {
			for i := k; i < len(dirs) && s.err == nil; i += n {
				s.err = s.cast(dirs[i])
			}
		})
	}
	group.Wait()
	first := list[0]
	for _, s := range list {
		if s.err != nil {
			return nil, s.err
		}
		t.Samples += s.samples
		if s == first {
			continue
		}
		for f := range s.best {
			first.best[f].take(s.best[f])
			first.met[f] = first.met[f] || s.met[f]
		}
	}
	return &found{first.best, first.met}, nil
}

// take replaces a contact by a better one.
func (c *contact) take(o contact) {
	if o.on < 0 || o.d > c.d {
		return
	}
	if o.d < c.d || c.on < 0 || o.p.Less(c.p) || o.p == c.p && o.on < c.on {
		*c = o
	}
}

// cast samples along one direction.
func (s *sampler) cast(d geom.Vec) error {
	lat, err := s.t.lattice(d)
	if err != nil {
		return err
	}
	d = lat.Frame.Z
	for f, n := range s.t.Normal {
		s.along[f] = n.Dot(d)
	}
	l := column.Snap(lat, []*geom.Mesh{s.t.Mesh}, nil).Cast(2)
	for line := 0; line+1 < len(l.Start); line++ {
		for i := l.Start[line]; i < l.Start[line+1]; i++ {
			s.stretch(&lat, l, line, i)
		}
	}
	return nil
}

// slack keeps a sample whose bound is above the best by rounding only: the bound is
// a quotient of sums of a few products, each rounded by 2^-53.
const slack = 1 + 1e-9

// stretch takes one stretch of material for the facets at both ends. The ball that
// touches facet a at the stretch's end and the plane of facet b has the diameter
// 2 L (nb . d)/(1 - na . nb), where L is the stretch's length along d: no ball that
// touches b itself is smaller.
func (s *sampler) stretch(lat *column.Lattice, l *column.Lines, line int, i int32) {
	a, b := l.LoFacet[i], l.HiFacet[i]
	ca, cb := -s.along[a], s.along[b]
	if !(ca > 0 && cb > 0) {
		return
	}
	s.met[a], s.met[b] = true, true
	s.samples += 2
	n := s.t.Normal
	length := 2 * float64(float64(l.Hi[i]-l.Lo[i])*lat.Q)
	den := 1 - n[a].Dot(n[b])
	atA, atB := length*cb, length*ca
	if atA > s.best[a].d*den*slack && atB > s.best[b].d*den*slack {
		return
	}
	u, v := lat.At(0, line/l.NV), lat.At(1, line%l.NV)
	p, q := lat.Point(u, v, l.Lo[i]), lat.Point(u, v, l.Hi[i])
	if atA <= s.best[a].d*den*slack {
		s.consider(a, b, p, den)
	}
	if atB <= s.best[b].d*den*slack {
		s.consider(b, a, q, den)
	}
}

// consider takes the ball that touches facet f at p and facet g for f's, if the two
// lie opposed. Where the planes do, the ball is followed to its contact later, and
// only the least one; where only the way between the two facets does, as beside an
// inner edge that points to f, the contact decides at once.
func (s *sampler) consider(f, g int32, p geom.Vec, den float64) {
	t := s.t
	inward := t.Normal[f].Neg()
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
		s.best[f].take(contact{d2 / rise, p, g})
	case t.ridge[g] && t.opposed(rise, d2):
		// A contact below the bound lies on another facet. It is that one's sample to
		// find: counted here, it would depend on what was known before.
		if b, ok := t.ball(p, inward, g); ok && b.d*slack >= 2*r {
			s.best[f].take(contact{b.d, p, b.on})
		}
	}
}
