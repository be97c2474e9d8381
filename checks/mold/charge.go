package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// Charge is what to mix for one cast, and what pushing it in asks for. Volumes in ml,
// masses in g, pressures in kPa, forces in N. Nil where a user's value is missing.
type Charge struct {
	Cavity, Gate, Vents float64 // blind channels count as vents
	Reserve             float64 // that a pressure cure draws in
	Spare               float64 // mixed beyond the need: a share of the rest, and what stays in cup and syringe
	Total               float64
	Density             float64 // g/ml of the mix
	Mass                float64
	Mix                 *Mix     // A and B; nil without a ratio
	Weigh               []Batch  // what to weigh: the mixes of one cast, then the smallest that mixes well where that is more
	Pigment             float64  // g, on top of the mass
	SmallestBatch       float64  // g
	Shots               int      // casts from the smallest batch within half the pot life, 1 where a cast needs more
	Batches             int      // mixes for one cast, each poured within half the pot life
	Syringes            *int     // fillings of the syringe
	FillTime            float64  // s at the rate of the syringe
	PotLife             *float64 // s
	Degas               float64  // ml of the vessel to degas in: froth rises to several times the volume

	Head          float64  // of the resin over the cavity's lowest point
	GateDrop      float64  // lost in the gate at that rate
	Plunger       *float64 // N on the plunger against head and gate
	VentDrop      *float64 // lost in the vents side by side once resin stands in them, at that rate; nil without a vent
	Projected     float64  // mm2 of the part, seen along the way the halves part
	Opening       *float64 // N that opens the halves, vents open and running over: head and VentDrop on the projected area; nil without a vent
	OpeningJammed *float64 // the same with vents blocked and a thumb on the plunger
}

// Batch is one mix.
type Batch struct {
	Count   int     // mixes like this for Casts
	Casts   int     // that Count of them are enough for
	Volume  float64 // ml of one mix
	Mass    float64 // g, Pigment on top
	Mix     *Mix    // nil without a ratio
	Pigment float64 // g
}

// Mix is what to weigh, or to measure, of the components.
type Mix struct {
	A, B     float64  // g
	VolumeA  *float64 // ml, nil without both densities
	VolumeB  *float64
	ByVolume bool     // the ratio was given by volume
	ToMass   float64  // parts of B to 100 of A by mass
	ToVolume *float64 // and by volume, which is another number; nil without both densities
}

// times returns the mix of another amount in the same ratio.
func (m *Mix) times(k float64) *Mix {
	if m == nil {
		return nil
	}
	out := *m
	out.A, out.B = m.A*k, m.B*k
	if m.VolumeA != nil {
		a, b := *m.VolumeA*k, *m.VolumeB*k
		out.VolumeA, out.VolumeB = &a, &b
	}
	return &out
}

// What the figures rest on.
const (
	gravity      = 9.80665 // m/s2, standard (ISO 80000-3)
	thumb        = 30.0    // N that a thumb pushes with; common practice, no source
	degasRoom    = 5.0     // times the volume; from memory, sources give 3 to 10
	projectedPer = 400     // columns along the longer side of the part's outline
)

// NewCharge works out the charge of a pour; reserve is what the pot needs, ml.
func NewCharge(m *Mold, f *Fill, reserve float64) (*Charge, error) {
	l := &m.Job.Liquid
	c := &Charge{Cavity: f.Cavity / 1000, Reserve: reserve, SmallestBatch: l.SmallestBatchG, Batches: 1}
	for i := range f.Ports {
		if p := &f.Ports[i]; p.Role == Gate {
			c.Gate += p.Volume / 1000
		} else {
			c.Vents += p.Volume / 1000
		}
	}
	need := c.Cavity + c.Gate + c.Vents + c.Reserve
	c.Spare = need*l.SparePercent/100 + l.Dead
	c.Total = need + c.Spare
	c.weigh(l)
	c.FillTime = (c.Cavity + c.Gate + c.Vents) / l.Rate
	if l.PotLife > 0 {
		life := l.PotLife
		c.PotLife = &life
		c.Batches = max(1, int(math.Ceil(c.FillTime/(life/2))))
		c.Shots = min(c.Shots, max(1, int(life/2/c.FillTime)))
	}
	c.batches(l)
	c.Degas = degasRoom * c.Total / float64(c.Batches)
	if l.SyringeMl > 0 {
		n := int(math.Ceil(c.Total/l.SyringeMl - 1e-9))
		c.Syringes = &n
	}
	return c, c.push(m, f)
}

// weigh splits the total by the ratio.
func (c *Charge) weigh(l *Liquid) {
	c.Density = l.Density
	a, b, byVolume := 0.0, 0.0, false // shares by mass
	switch {
	case len(l.RatioMass) == 2:
		a, b = l.RatioMass[0], l.RatioMass[1]
	case len(l.RatioVolume) == 2 && l.DensityA > 0 && l.DensityB > 0:
		a, b, byVolume = l.RatioVolume[0]*l.DensityA, l.RatioVolume[1]*l.DensityB, true
	}
	known := l.DensityA > 0 && l.DensityB > 0
	if a > 0 && known { // volumes add
		c.Density = (a + b) / (a/l.DensityA + b/l.DensityB)
	}
	c.Mass = c.Total * c.Density
	if a > 0 {
		c.Mix = &Mix{A: c.Mass * a / (a + b), B: c.Mass * b / (a + b), ByVolume: byVolume, ToMass: 100 * b / a}
		if known {
			va, vb := c.Mix.A/l.DensityA, c.Mix.B/l.DensityB
			ratio := 100 * vb / va
			c.Mix.VolumeA, c.Mix.VolumeB, c.Mix.ToVolume = &va, &vb, &ratio
		}
	}
	c.Pigment = c.Mass * l.PigmentPercent / 100
	c.Shots = max(1, int(l.SmallestBatchG/c.Mass))
}

// batches lists what to weigh.
func (c *Charge) batches(l *Liquid) {
	row := func(count, casts int, k float64) {
		c.Weigh = append(c.Weigh, Batch{Count: count, Casts: casts, Volume: c.Total * k, Mass: c.Mass * k, Mix: c.Mix.times(k), Pigment: c.Pigment * k})
	}
	row(c.Batches, 1, 1/float64(c.Batches))
	if each := c.Mass / float64(c.Batches); each > 0 && each < l.SmallestBatchG {
		row(c.Batches, c.Shots, l.SmallestBatchG/c.Mass)
	}
}

// RatiosDiffer returns by how much, as a share, the ratio by mass that follows from the
// ratio by volume and the densities is off the stated one; 0 unless all are given.
func (l *Liquid) RatiosDiffer() float64 {
	if len(l.RatioMass) != 2 || len(l.RatioVolume) != 2 || !(l.DensityA > 0) || !(l.DensityB > 0) {
		return 0
	}
	stated := l.RatioMass[1] / l.RatioMass[0]
	follows := l.RatioVolume[1] * l.DensityB / (l.RatioVolume[0] * l.DensityA)
	return follows/stated - 1
}

// push works out pressures and forces.
func (c *Charge) push(m *Mold, f *Fill) error {
	l := &m.Job.Liquid
	low := f.LowestCavityPoint.Dot(f.Up)
	top := f.HighestPoint
	for i := range f.Ports {
		p := &f.Ports[i]
		if p.Exit != nil && (p.Role == Vent || m.Job.GateOpen) {
			top = max(top, p.Exit.Dot(f.Up))
		}
		if p.Role == Gate {
			c.GateDrop = max(c.GateDrop, PoiseuilleDrop(p, l.Viscosity, l.Rate))
		}
	}
	c.Head = Head(c.Density, top-low)
	var err error
	if c.Projected, err = projectedArea(m); err != nil {
		return err
	}
	if drop, ok := ventDrop(f, l); ok {
		open := (c.Head + drop) * c.Projected / 1000
		c.VentDrop, c.Opening = &drop, &open
	}
	if l.PlungerMM > 0 {
		bore := float64(math.Pi / 4 * float64(l.PlungerMM*l.PlungerMM))
		force, jammed := (c.Head+c.GateDrop)*bore/1000, thumb/bore*c.Projected
		c.Plunger, c.OpeningJammed = &force, &jammed
	}
	return nil
}

// ventDrop returns the pressure in kPa that resin at the syringe's rate loses in all vents
// side by side, as it does once it runs over at each: their flows add, so 1/dp of them
// do at one rate. Air before it loses less by the ratio of viscosities, some thousand times.
func ventDrop(f *Fill, l *Liquid) (float64, bool) {
	flow := 0.0 // ml/s a kPa
	for i := range f.Ports {
		if p := &f.Ports[i]; p.Role == Vent && p.Exit != nil && p.Joins == 0 { // arms share the exit of another
			if one := PoiseuilleDrop(p, l.Viscosity, 1); one > 0 {
				flow += 1 / one
			}
		}
	}
	if flow == 0 {
		return 0, false
	}
	return l.Rate / flow, true
}

// Head returns the pressure in kPa under so many mm of a liquid of density g/ml.
func Head(density, mm float64) float64 { return density * gravity * mm / 1000 }

// PoiseuilleDrop returns the pressure in kPa that a liquid of viscosity mPa s loses in a
// channel at rate ml/s, dp = 128 mu L Q/(pi d^4) summed along its centre line
// (Hagen 1839, Poiseuille 1840). Laminar flow; entrance and bends are left out.
func PoiseuilleDrop(c *Channel, viscosity, rate float64) float64 {
	if len(c.Path) < 2 {
		return TubeDrop(viscosity, rate, c.Diameter, c.Length)
	}
	sum := 0.0
	for k := 1; k < len(c.Path); k++ {
		d := max(c.Radius[k]+c.Radius[k-1], c.Diameter)
		sum += TubeDrop(viscosity, rate, d, c.Path[k].Dist(c.Path[k-1]))
	}
	return sum
}

// TubeDrop is PoiseuilleDrop for a round tube of diameter and length in mm.
func TubeDrop(viscosity, rate, diameter, length float64) float64 {
	if !(diameter > 0) {
		return 0
	}
	d2 := float64(diameter*diameter) * 1e-6
	// mPa s, mm and ml/s in SI units, and Pa in kPa.
	return 128 * (viscosity * 1e-3) * (length * 1e-3) * (rate * 1e-6) / (math.Pi * d2 * d2) / 1000
}

// projectedArea returns the part's area seen along the first half's pull, mm2; off by
// half a column around its outline at most.
func projectedArea(m *Mold) (float64, error) {
	frame := PourFrame(m.Pulls[0])
	box := geom.EmptyBox()
	for _, v := range m.Part.Mesh.Vertices {
		box = box.Include(frame.Turn(v))
	}
	s := box.Size()
	lat, err := column.NewLattice(frame, box, max(s.X, s.Y, s.Z/20)/projectedPer)
	if err != nil {
		return 0, err
	}
	lines := column.Snap(lat, []*geom.Mesh{m.Part.Mesh}, nil).Cast(2)
	n := 0
	for c := 0; c+1 < len(lines.Start); c++ {
		if lines.Start[c] < lines.Start[c+1] {
			n++
		}
	}
	return float64(n) * lat.Pitch() * lat.Pitch(), nil
}
