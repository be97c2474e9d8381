package mold

import (
	"math"

	"pourproof/geom"
)

// PotCure is what a pressure pot does to the air that stays. Pressure shrinks air and
// never fills a pocket.
type PotCure struct {
	Gauge, Absolute float64 // kPa
	Volume          float64 // what is left of a volume of air, as a share: Boyle, and Gay-Lussac for the warmer pot
	Diameter        float64 // of a bubble: the cube root
	Trapped         float64 // mm3 of air before: in the part and in channels beyond it
	Needed          float64 // ml of resin that it draws in
	Present         float64 // ml that stand where the pot's pressure reaches them, above the air's way in

	// The mold as it stands in the pot, if that was said.
	Up       *geom.Vec
	Standing *Fill   // the pour computed with that up, for the high points; nil if not said
	Left     float64 // mm3 that would be trapped in that attitude
}

// Share returns what is left of a volume of air in the pot, as a share: p0/(p0+p)
// (Boyle), times T2/T1 where it cures warmer than it was poured.
func (p *Pot) Share() float64 {
	const zero = 273.15
	return p.Shrink() * ((p.CureC + zero) / (p.PourC + zero))
}

// NewPotCure works out the pot for a pour.
func NewPotCure(m *Mold, f *Fill) (*PotCure, error) {
	pot := &m.Job.Pot
	c := &PotCure{Gauge: pot.Gauge, Absolute: pot.Air() + pot.Gauge, Volume: pot.Share(), Trapped: f.Trapped}
	c.Diameter = math.Round(math.Cbrt(c.Volume)*1e9) / 1e9
	for i := range f.Pockets {
		c.Trapped += f.Pockets[i].ChannelVolume
	}
	c.Needed = c.Trapped * max(0, 1-c.Volume) / 1000
	c.Present = reserve(m, f) / 1000
	if pot.Up != nil {
		up := pot.Up.Unit()
		standing, err := m.Pour(up)
		if err != nil {
			return nil, err
		}
		c.Up, c.Standing, c.Left = &up, standing, standing.Trapped
	}
	return c, nil
}

// reserve returns the resin, mm3, that the pot's pressure can push into the pockets: in
// vents that ran over, as far as they stand above the highest pocket's way in; in an
// open gate likewise; in a syringe left in with a free plunger. A plugged gate has no
// free surface and counts nothing, nor does a channel whose exit lies below the cavity's
// top: it is plugged, or it runs out.
func reserve(m *Mold, f *Fill) float64 {
	level := math.Inf(-1)
	for i := range f.Pockets {
		level = max(level, f.Pockets[i].SealedAt)
	}
	sum := 0.0
	for i := range f.Ports {
		c := &f.Ports[i]
		switch {
		case c.Exit == nil, c.Exit.Dot(f.Up) < f.HighestPoint:
		case c.Role == Vent && c.WeepsAt != nil, c.Role == Gate && m.Job.GateOpen:
			sum += float64(c.Volume * c.shareAbove(f.Up, level))
		}
	}
	if m.Job.Liquid.SyringeStaysFull && !m.Job.GateOpen {
		sum += float64(1000 * m.Job.Liquid.SyringeMl)
	}
	return sum
}

// shareAbove returns the share of a channel's volume that stands above a level along
// up, by the length and width of its centre line.
func (c *Channel) shareAbove(up geom.Vec, level float64) float64 {
	above, all := 0.0, 0.0
	for k := 1; k < len(c.Path); k++ {
		a, b := c.Path[k-1].Dot(up), c.Path[k].Dot(up)
		r := (c.Radius[k-1] + c.Radius[k]) / 2
		v := float64(c.Path[k].Dist(c.Path[k-1]) * r * r)
		all += v
		switch lo, hi := min(a, b), max(a, b); {
		case lo >= level:
			above += v
		case hi > level:
			above += float64(v * (hi - level) / (hi - lo))
		}
	}
	if all == 0 {
		return 0
	}
	return above / all
}
