package mold

import (
	"math"

	"pourproof/geom"
)

// surface fills in what follows from the half's facets alone.
func (w *posing) surface(p *PosePoint) {
	pr := w.o.Printer
	low, high := w.extent(p.Build)
	p.Height = high - low
	if !p.Flat {
		p.Height += pr.Raise
	}
	q := &Printed{Build: p.Build, Flat: p.Flat, Base: low, Printer: *pr}
	for f, need := range w.downward(q) {
		if need > 0 {
			p.ScarAll += w.solid.area[f]
		}
		if need == 2 {
			p.Scar += w.solid.area[f]
		}
	}
	p.Step = w.solid.steps(p.Build, pr.Layer, w.molding, nil).Mean
	if len(pr.Size) == 3 {
		fits := p.Height <= pr.Size[2] && w.footprintFits(p.Build, pr.Size[0], pr.Size[1])
		p.Fits = &fits
	}
}

// footprintFits tells whether the half, seen from above, fits in a rectangle at some
// turn about the build direction, in steps of 3 deg.
func (w *posing) footprintFits(build geom.Vec, x, y float64) bool {
	const turns = 60
	u, v := build.Perpendicular()
	var wide [turns]float64
	for k := range wide {
		s, c := math.Sincos(math.Pi * float64(k) / turns)
		d := u.Scale(roundAngle(c)).AddScaled(v, roundAngle(s))
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range w.hull {
			z := p.Dot(d)
			low, high = min(low, z), max(high, z)
		}
		wide[k] = high - low
	}
	for k := range wide {
		if wide[k] <= x && wide[(k+turns/2)%turns] <= y {
			return true
		}
	}
	return false
}

// columns fills in cups and free starts, from the half with narrow passages closed.
func (w *posing) columns(p *PosePoint) {
	o := PrintOptions{Flat: p.Flat, Printer: w.o.Printer, Cell: w.s.Cell}
	c, err := w.begin(p.Build, o, w.plugs.plugs)
	if err != nil {
		p.Assumed = true
		return
	}
	h := c.open
	basins := h.rise.run(c.least())
	area := newAreaSum(h)
	for i := range basins {
		b := &basins[i]
		if b.into >= 0 || !matters(h, b) || !h.holdsDisc(b, w.plugs.width/2) {
			continue
		}
		area.add(h, b)
		p.CupVolume += h.volume(b.length)
	}
	p.CupArea = area.most()
	p.Starts = len(c.starts())
}

// matters tells whether a cup is worth a thought in choosing a pose: more than a
// newton's bound, or more than the 50 mm3 that common practice drains.
func matters(h *hollow, b *basin) bool {
	return float64(b.most)*h.cell() >= 10 || h.volume(b.length) >= 50
}
