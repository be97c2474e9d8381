package mold

import (
	"math"
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// prints keeps what a half's prints share, worked out when first asked for. A mold
// with vents tried out (With) shares it: such a bore is no part of the half yet.
type prints struct {
	halves []halfPrint
}

type halfPrint struct {
	once   sync.Once
	rubber *rubber
}

// rubber returns a half as the printer sees it.
func (m *Mold) rubber(half int) *rubber {
	p := &m.prints.halves[half]
	p.once.Do(func() {
		f := m.fixed
		first := f.owner[half]
		r := newRubberOf(f.halves[half], f.trees[half], m.Job.Printer.Relief, m.Job.Cell)
		r.molding = func(facet int32) bool { return m.molds(first + facet) }
		r.parting = func(facet int32) bool { return m.meets(half, facet) }
		p.rubber = r
	})
	return p.rubber
}

// newRubber prepares a half on its own: nothing shapes a part, nothing meets
// another half. Passages are looked for by pitches from finest mm up.
func newRubber(mesh *geom.Mesh, relief, finest float64) *rubber {
	return newRubberOf(mesh, bvh.Build(mesh), relief, finest)
}

// newRubberOf is newRubber for a mesh with its tree.
func newRubberOf(mesh *geom.Mesh, tree *bvh.Tree, relief, finest float64) *rubber {
	r := &rubber{mesh: mesh, span: mesh.Box().Diagonal(), finest: finest, solid: newSolid(mesh), tree: tree}
	never := func(int32) bool { return false }
	r.molding, r.parting = never, never
	for i, x := range passageWidths {
		r.rooms[i] = sync.OnceValues(func() (*clearance, error) { return newClearance(mesh, x*relief, finest) })
	}
	return r
}

// meets tells whether the middle of a half's facet lies within the seal width of
// another half that faces it.
func (m *Mold) meets(half int, facet int32) bool {
	t := m.fixed.halves[half].Triangle(int(facet))
	return m.fixed.meets(half, t.Centroid(), t.Normal(), m.Seal)
}

// meets tells whether another half than the one given comes within a distance of p with a
// face that looks against n.
func (f *fixed) meets(half int, p, n geom.Vec, within float64) bool {
	for o, tree := range f.trees {
		if o != half && tree.WithinWhere(p, within, func(t int32) bool {
			return f.halves[o].Triangle(int(t)).Normal().Dot(n) < -facingAway
		}) {
			return true
		}
	}
	return false
}

// facingAway is the cosine of 30 deg: faces turned less from each other meet.
const facingAway = 0.866

// namePassages gives the passages that are channels of the mold their number: the
// channel in whose bore the neck lies, the half's own or one at the parting face.
func (m *Mold) namePassages(p *Printed) {
	for i := range p.Cups {
		w := p.Cups[i].Passage
		if w == nil {
			continue
		}
		best := math.Inf(1)
		for n := range m.Channels {
			c := &m.Channels[n]
			if c.Half != p.Name && c.Half != "parting" {
				continue
			}
			for k := range c.Path {
				a, b := c.Path[max(k-1, 0)], c.Path[k]
				d := geom.ClosestOnSegment(w.At, a, b).Dist(w.At)
				if d <= max(c.Radius[k], w.Width/2) && d < best {
					best, w.Channel = d, c.ID
				}
			}
		}
	}
}

// PrintedBore is a channel in one half as it is printed and washed.
type PrintedBore struct {
	Channel  int     // ID
	Ratio    float64 // length over width
	OpenEnds int     // of the half by itself: 2, or 1 for a blind channel
	Washable bool
	Slope    float64 // radians from level, of its flattest stretch
	Level    bool    // flatter than the self-support angle: its crown closes a little
	Through  float64 // mm that light goes on into the crown of its flattest stretch
	Height   float64 // mm of its narrowest place expected to stay open
}

// What can be washed out, as length over width; common practice, from memory.
const (
	washOpen  = 10.0
	washBlind = 4.0
)

// printedBores lists the channels that one half holds alone. Those at the parting
// face are open grooves until the mold is closed.
func (m *Mold) printedBores(half int, build geom.Vec, pr *Printer) []PrintedBore {
	var out []PrintedBore
	for i := range m.Channels {
		c := &m.Channels[i]
		if c.Half != m.Halves[half].Name || c.Tried || c.Slit || !(c.Diameter > 0) {
			continue
		}
		b := PrintedBore{Channel: c.ID, Ratio: c.Length / c.Diameter, OpenEnds: 2, Slope: flattest(c, build)}
		limit := washOpen
		if c.Role == Blind {
			b.OpenEnds, limit = 1, washBlind
		}
		b.Washable = b.Ratio <= limit
		b.Level = b.Slope < pr.SelfSupport
		b.Through = roundMM(float64(pr.PrintThrough() * math.Cos(b.Slope)))
		b.Height = c.Diameter
		if b.Level { // what bores lose anyway, or more
			b.Height = max(c.Diameter-max(pr.BoreLoss, b.Through), 0)
		}
		out = append(out, b)
	}
	return out
}

// CureDepth returns how deep one layer's light cures, mm: C_d = D_p ln(E/E_c) for a
// penetration depth D_p and an exposure of E/E_c times the least that gels (Jacobs,
// Rapid Prototyping and Manufacturing, 1992). Rounded to 1e-6 mm.
func (p *Printer) CureDepth() float64 {
	if p.Exposure <= 1 {
		return 0
	}
	return math.Round(float64(p.Penetration*math.Log(p.Exposure))*1e6) / 1e6
}

// PrintThrough returns how far, in mm, the light that cures a roof goes on into the
// resin below it: a level channel loses as much of its height.
func (p *Printer) PrintThrough() float64 { return max(p.CureDepth()-p.Layer, 0) }

// flattest returns the least angle from level of a channel's centre line, over
// stretches at least as long as it is wide.
func flattest(c *Channel, build geom.Vec) float64 {
	slope := func(d geom.Vec) float64 {
		return math.Atan2(math.Abs(d.Dot(build)), d.AddScaled(build, -d.Dot(build)).Norm())
	}
	least := slope(c.Axis)
	for i, k := 0, 0; k < len(c.Path); k++ {
		if d := c.Path[k].Sub(c.Path[i]); d.Norm() >= c.Diameter {
			least = min(least, slope(d))
			i = k
		}
	}
	return math.Round(least*1e9) / 1e9 // the arc tangent's last bits differ between CPUs
}
