package measure

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"pourproof/geom"
)

// settleChunk is how many facets are settled one after the other, each from what its
// neighbours found. The answer depends on it, not on who takes which chunk.
const settleChunk = 1 << 14

// settle finds the ball of every facet that was sampled, or that has a neighbour with one.
// It returns the facets from which one in another chunk may find its own.
func (t *Thickness) settle(s *samples) []int32 {
	n := len(t.Normal)
	t.Least, t.At, t.Contact, t.Touch = make([]float64, n), make([]geom.Vec, n), make([]int32, n), make([]geom.Vec, n)
	fronts := make([][]int32, (n+settleChunk-1)/settleChunk)
	var next atomic.Int64
	var group sync.WaitGroup
	for range max(1, min(t.Options.Shares, len(fronts))) {
		group.Go(func() {
			for k := int(next.Add(1)) - 1; k < len(fronts); k = int(next.Add(1)) - 1 {
				c := chunk{t, s, int32(k * settleChunk), int32(min(n, (k+1)*settleChunk)), nil}
				c.up()
				c.down()
				fronts[k] = c.front
			}
		})
	}
	group.Wait()
	return slices.Concat(fronts...)
}

// chunk is the facets from up to, not including, to.
type chunk struct {
	*Thickness
	s        *samples
	from, to int32
	front    []int32
}

// up settles each facet from where the balls of neighbours before it touch, which is near
// by, and where its best stretch ends.
func (c *chunk) up() {
	for f := c.from; f < c.to; f++ {
		c.Least[f], c.Contact[f] = math.Inf(1), -1
	}
	for f := c.from; f < c.to; f++ {
		a := &c.s.faces[f]
		if a.on > 0 {
			c.settle(f, c.s.at(a), a.on-1)
			if float64(a.size) > c.Options.Pitch {
				c.slide(f)
			}
		}
		for h := 3 * f; h < 3*f+3 && c.Contact[f] < 0; h++ {
			if g := c.Mates[h] / 3; c.Mates[h] >= 0 && g < f && g >= c.from && c.Contact[g] >= 0 {
				c.beside(h, c.Contact[g], a.size)
			}
		}
	}
}

// settle measures a facet at its point p from where neighbours before it have their
// contacts, and from facet on.
func (c *chunk) settle(f int32, p geom.Vec, on int32) {
	for _, m := range c.Mates[3*f : 3*f+3] {
		if g := m / 3; m >= 0 && g < f && g >= c.from && c.Contact[g] >= 0 {
			c.try(f, p, c.Contact[g])
		}
	}
	c.try(f, p, on)
}

// down settles each facet from where the balls of neighbours after it touch. Its neighbours
// before it, and those in other chunks, have not tried what it finds.
func (c *chunk) down() {
	for f := c.to - 1; f >= c.from; f-- {
		before, border := c.Contact[f], false
		for h := 3 * f; h < 3*f+3; h++ {
			g := c.Mates[h] / 3
			switch {
			case c.Mates[h] < 0:
			case g >= c.to || g < c.from:
				border = true
			case g < f || c.Contact[g] < 0:
			case c.Contact[f] >= 0:
				c.try(f, c.At[f], c.Contact[g])
			default:
				c.beside(h, c.Contact[g], c.s.faces[f].size)
			}
		}
		if c.Contact[f] >= 0 && (border || before < 0) {
			c.front = append(c.front, f)
		}
	}
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
