package measure

import (
	"math"
	"sync"
	"sync/atomic"

	"pourproof/geom"
)

// settleChunk is how many facets are settled one after the other, each from what its
// neighbours found. The answer depends on it, not on who takes which chunk.
const settleChunk = 1 << 14

// settle finds the ball of every facet that was sampled, or that has a neighbour with one
// before it.
func (t *Thickness) settle(s *samples) {
	n := len(t.Normal)
	t.Least, t.At, t.Contact, t.Touch = make([]float64, n), make([]geom.Vec, n), make([]int32, n), make([]geom.Vec, n)
	var next atomic.Int64
	var group sync.WaitGroup
	for range max(1, min(t.Options.Shares, n/settleChunk)) {
		group.Go(func() {
			for from := int(next.Add(settleChunk)) - settleChunk; from < n; from = int(next.Add(settleChunk)) - settleChunk {
				t.settleChunk(s, from, min(n, from+settleChunk))
			}
		})
	}
	group.Wait()
}

// settleChunk settles the facets from up to, not including, to. On the way up each begins
// where the balls of neighbours before it touch, which is near by, and where its
// best stretch ends; on the way down where those of neighbours after it touch.
func (t *Thickness) settleChunk(s *samples, from, to int) {
	for f := from; f < to; f++ {
		t.Least[f], t.Contact[f] = math.Inf(1), -1
	}
	for f := int32(from); f < int32(to); f++ {
		if c := &s.faces[f]; c.on > 0 {
			t.settleFacet(f, s.at(c), c.on-1, int32(from))
			if float64(c.size) > t.Options.Pitch {
				t.slide(f)
			}
			continue
		}
		for h := 3 * f; h < 3*f+3; h++ {
			if g := t.Mates[h] / 3; t.Mates[h] >= 0 && g < f && g >= int32(from) && t.Contact[f] < 0 && t.Contact[g] >= 0 {
				t.beside(h, t.Contact[g], s.faces[f].size)
			}
		}
	}
	for f := int32(to) - 1; f >= int32(from); f-- {
		if t.Contact[f] < 0 {
			continue
		}
		for _, m := range t.Mates[3*f : 3*f+3] {
			if g := m / 3; g > f && g < int32(to) && t.Contact[g] >= 0 {
				t.try(f, t.At[f], t.Contact[g])
			}
		}
	}
}

// settleFacet measures a facet at its point p from where neighbours numbered from up to f
// have their contacts, and from facet on.
func (t *Thickness) settleFacet(f int32, p geom.Vec, on, from int32) {
	for _, m := range t.Mates[3*f : 3*f+3] {
		if g := m / 3; m >= 0 && g < f && g >= from && t.Contact[g] >= 0 {
			t.try(f, p, t.Contact[g])
		}
	}
	t.try(f, p, on)
}

// gain is the part of a diameter below which a thinner ball is not looked for.
const gain = 1e-3

// try measures a facet at its point p from facet g on where that may give a smaller ball:
// where g reaches into the one that it has.
func (t *Thickness) try(f int32, p geom.Vec, g int32) {
	if c := t.Contact[f]; c == g {
		return
	} else if c >= 0 {
		r := t.Least[f] / 2
		center, inside := p.AddScaled(t.Normal[f], -r), r*(1-gain)
		if t.Normal[g].Dot(t.Mesh.Vertices[t.Mesh.Facets[g][0]].Sub(center)) > inside {
			return
		}
		tri := t.Mesh.Triangle(int(g))
		if tri.Closest(center).Sub(center).Norm2() > float64(inside*inside) {
			return
		}
	}
	t.put(f, p, g)
}

// Where a facet's least ball is looked for: cornerShare of the way from its middle to a
// corner, so that two faces that meet in a sharp edge keep some thickness, where the
// planes promise slideGain of the diameter.
const (
	cornerShare = 0.9
	slideGain   = 0.01
)

// slide moves a facet's place toward the corner where its ball is least. While the ball
// touches the plane of one facet its diameter is linear in its place, so that one is
// at a corner.
func (t *Thickness) slide(f int32) {
	g := t.Contact[f]
	if g < 0 {
		return
	}
	normal, a := t.Normal[g], t.Mesh.Vertices[t.Mesh.Facets[g][0]]
	least, at := math.Inf(1), geom.Vec{}
	tri := t.Mesh.Triangle(int(f))
	for _, v := range [3]geom.Vec{tri.A, tri.B, tri.C} {
		if h := normal.Dot(a.Sub(v)); h < least {
			least, at = h, v
		}
	}
	if 2*max(least, 0) < t.Least[f]*(1-slideGain)*(1-t.Normal[f].Dot(normal)) {
		t.put(f, tri.Centroid().Lerp(at, cornerShare), g)
	}
}

// put measures a facet at its point p, from facet g on; it tells whether something
// thinner than what is known so far, and within Most, lies opposed.
func (t *Thickness) put(f int32, p geom.Vec, g int32) bool {
	b, ok := t.ball(p, t.Normal[f].Neg(), g)
	return ok && t.keep(f, p, b)
}

// keep gives a facet the ball at its point p if that is thinner than what is known so far.
func (t *Thickness) keep(f int32, p geom.Vec, b touch) bool {
	if b.d >= t.Options.Most || b.d >= t.Least[f] {
		return false
	}
	t.Least[f], t.At[f], t.Contact[f], t.Touch[f] = b.d, p, b.on, b.at
	return true
}
