package mold

import (
	"math"

	"pourproof/geom"
)

// surface fills in what follows from the half's facets alone.
func (w *posing) surface(p *PosePoint) {
	pr := w.o.Printer
	low, high := w.reach(p)
	p.Height = high - low
	if !p.Flat {
		p.Height += pr.Raise
	}
	q := &Printed{Build: p.Build, Flat: p.Flat, Base: low, Printer: *pr}
	limit := selfSupported(pr)
	m := w.stepping()
	m.begin(p.Build, pr.Layer)
	area, sum := 0.0, 0.0 // of the steps
	for i := range w.drawn {
		e := &w.drawn[i]
		along := e.normal.Dot(p.Build)
		if along < limit && w.needs(e.facet, q, limit) > 0 {
			p.ScarAll += e.area
			if e.molding {
				p.Scar += e.area
			}
		}
		if along = math.Abs(along); e.molding && e.area > 0 && m.hasOn(e, along) {
			area += e.area
			sum += float64(float64(pr.Layer*along) * e.area)
		}
	}
	if area > 0 {
		p.Step = sum / area
	}
	w.spare.Put(m)
	if len(pr.Size) == 3 {
		fits := p.Height <= pr.Size[2] && w.footprintFits(p.Build, pr.Size[0], pr.Size[1])
		p.Fits = &fits
	}
}

// reach returns how far the half reaches along the build direction: for a way to stand
// flat to the last digit, else by the points farthest out in many directions, short by
// less than a hundredth of its size.
func (w *posing) reach(p *PosePoint) (low, high float64) {
	if p.Flat || len(w.drawn) == len(w.mesh.Facets) {
		return w.extent(p.Build)
	}
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range w.hull {
		z := p.Build.Dot(v)
		low, high = min(low, z), max(high, z)
	}
	return low, high
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

// stepping returns memory for questions about steps.
func (w *posing) stepping() *stepped {
	if m, ok := w.spare.Get().(*stepped); ok {
		return m
	}
	return newStepped(w.solid)
}

// columns fills in cups and free starts, from the half with narrow passages closed.
// Starts are left out where the cups alone tell that the way is beaten; nil if they are
// wanted whatever the cups.
func (w *posing) columns(p *PosePoint, beaten func() bool) {
	o := PrintOptions{Flat: p.Flat, Printer: w.o.Printer, Cell: w.s.Cell, sums: true}
	c, err := w.coarse.begin(p.Build, o, w.plugs)
	if err != nil {
		p.Assumed = true
		return
	}
	defer c.releaseAll()
	h := c.open
	basins := h.rise.run(c.least())
	area := newAreaSum(h)
	p.CupVolume = 0
	for i := range basins {
		b := &basins[i]
		if b.into >= 0 || !matters(h, b) || !h.holdsDisc(b, w.plugs.width/2) {
			continue
		}
		area.add(h, b)
		p.CupVolume += h.volume(b.length)
	}
	p.CupArea = area.most()
	if beaten != nil && beaten() {
		p.Assumed, p.halfDone = true, true
		return
	}
	s := c.bulk()
	p.Starts = len(c.starts(s))
	bulks.Put(s)
}

// matters tells whether a cup is worth a thought in choosing a pose: more than a
// newton's bound, or more than the 50 mm3 that common practice drains.
func matters(h *hollow, b *basin) bool {
	return float64(b.most)*h.cell() >= 10 || h.volume(b.length) >= 50
}
