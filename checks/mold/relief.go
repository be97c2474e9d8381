package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// What a suggested relief hole is drawn with.
const (
	mostHoles  = 6    // cups that get a suggestion, the largest first
	holeStep   = 0.5  // mm: drill sizes that a model maker has
	holeWall   = 1.0  // mm of rubber to leave around it; common practice, no source
	holeBound  = 10.0 // N: a cup bound to less needs no hole (design)
	holeVolume = 500  // mm3, and smaller than this
	mostTries  = 5    // holes that are proven a cup
)

// reliefHoles suggests a hole for the largest cups that nothing relieves.
func (w *printing) reliefHoles() error {
	n := 0
	for i := range w.p.Cups {
		c := &w.p.Cups[i]
		if c.Relieved || c.Bound < holeBound && c.Volume < holeVolume || n == mostHoles {
			continue
		}
		n++
		for _, share := range [2]float64{0.2, 1} { // of the cup's depth, from its floor up
			if c.Hole = w.firstHole(c, &w.found[i], share); c.Hole != nil {
				break
			}
		}
	}
	return nil
}

// firstHole returns the first hole that is proven, nil if none of a few is.
func (w *printing) firstHole(c *Cup, f *foundAt, share float64) *ReliefHole {
	holes := w.holesFor(c, f, share)
	for i := range holes[:min(len(holes), mostTries)] {
		if w.proveHole(&holes[i], c, f) {
			return &holes[i]
		}
	}
	return nil
}

// holesFor lists holes from the end of a cup that is printed first to the outside:
// those that open on no face that shapes the part first, then the lowest and
// shortest.
func (w *printing) holesFor(c *Cup, f *foundAt, share float64) []ReliefHole {
	d := w.holeDiameter(c)
	var out []ReliefHole
	for _, mouth := range w.mouths(f, d, share) {
		for _, dir := range w.holeDirections() {
			if o, ok := w.bore(mouth.at, dir, d); ok {
				o.Molding = mouth.molding
				out = append(out, o)
			}
		}
	}
	cost := func(o *ReliefHole) float64 {
		// A mouth higher up drains less: it counts as much as five times the length.
		x := o.Length + 5*(o.At.Dot(w.p.Build)-c.Deepest.Dot(w.p.Build))
		if o.Molding {
			x += 20 // rather 20 mm longer than plugged before casting
		}
		return math.Round(x * 100)
	}
	slices.SortStableFunc(out, func(a, b ReliefHole) int { return cmp.Compare(cost(&a), cost(&b)) })
	return out
}

// holeDiameter returns the drawn diameter that, printed narrower by the bore loss,
// still has the relief width and loses half of the allowed pressure at most.
func (w *printing) holeDiameter(c *Cup) float64 {
	pr := &w.p.Printer
	flow := float64(c.Area * pr.Lift)
	for n := 1.0; ; n++ {
		d := holeStep * n
		left := d - pr.BoreLoss
		if left >= pr.Relief && PassageDrop(flow, pr.Viscosity, left, left) <= pr.ReliefDrop/2 || d >= 20 {
			return d
		}
	}
}

// mouth is a place where a hole may begin.
type mouth struct {
	at      geom.Vec
	height  float64
	molding bool

	step  float64 // height in tenths of a millimetre
	wall  int     // 1 with a wall beside it
	aside float64 // from the middle of all
}

// mouths lists places on a share of the cup's floor, from the lowest up, at most two
// dozen, not nearer to each other than a diameter; apart for faces that shape the
// part and others.
func (w *printing) mouths(f *foundAt, d, share float64) []mouth {
	var all []mouth
	h := f.h
	low := math.Inf(1)
	h.rise.each(f.b, func(i int32) {
		if fl := h.floor[i]; w.ownFacet(fl) && h.lo[i] < f.b.to {
			m := mouth{at: h.at(i, h.lo[i]), height: w.height(h.lo[i]), molding: w.molding(fl)}
			low = min(low, m.height)
			all = append(all, m)
		}
	})
	reach := low + max(d, share*(w.height(f.b.to)-low))
	all = slices.DeleteFunc(all, func(m mouth) bool { return m.height > reach })
	middle := geom.Vec{}
	for i := range all {
		middle = middle.Add(all[i].at)
	}
	middle = middle.Scale(1 / float64(max(len(all), 1)))
	for i := range all {
		m := &all[i]
		m.step, m.wall, m.aside = math.Round(m.height*10), w.wallNear(m.at, d), w.aside(m.at, middle)
	}
	slices.SortFunc(all, func(a, b mouth) int {
		return cmp.Or(cmp.Compare(a.step, b.step), cmp.Compare(a.wall, b.wall), cmp.Compare(a.aside, b.aside), compareVec(a.at, b.at))
	})
	var out []mouth
	count := map[bool]int{}
	for _, m := range all {
		near := slices.ContainsFunc(out, func(o mouth) bool { return o.at.Dist(m.at) < d && o.molding == m.molding })
		if !near && count[m.molding] < 12 {
			count[m.molding]++
			out = append(out, m)
		}
	}
	return out
}

// wallNear is 1 for a place on a floor with a wall nearer than a hole of diameter d
// needs, else 0.
func (w *printing) wallNear(p geom.Vec, d float64) int {
	q := p.AddScaled(w.p.Build, d/2)
	if hit, ok := w.tree.Nearest(q, d); ok && hit.Dist < 0.49*d {
		return 1
	}
	return 0
}

// holeDirections lists ways to the outside: towards the platform where the half
// stands on supports, level, and half-way between.
func (w *printing) holeDirections() []geom.Vec {
	down := w.p.Build.Neg()
	u, v := w.p.Build.Perpendicular() // along the axes of the CAD frame where the build is
	var out []geom.Vec
	if !w.o.Flat {
		out = append(out, down)
	}
	for k := range 8 {
		s, c := octant(k)
		level := u.Scale(c).AddScaled(v, s)
		out = append(out, level.Unit())
		if !w.o.Flat {
			out = append(out, level.Add(down).Unit())
		}
	}
	return out
}

// bore runs a hole of diameter d from a mouth along a direction to the outside; it
// reports false where there is no rubber, where another opening or the parting
// face is in the way, or where it leaves too little rubber around it.
func (w *printing) bore(at, dir geom.Vec, d float64) (ReliefHole, bool) {
	o := ReliefHole{At: at, Direction: dir, Diameter: d}
	// A level hole lies on the floor: its axis half a diameter above it.
	if math.Abs(dir.Dot(w.p.Build)) < 0.5 {
		o.At = at.AddScaled(w.p.Build, d/2)
	}
	hits := w.tree.All(o.At.AddScaled(dir, 1e-6), dir, w.span, nil)
	if len(hits) == 0 {
		return o, false
	}
	in, out := 0.0, hits[len(hits)-1]
	if hits[0].Sense > 0 { // begins in the void: the mouth is where it enters the rubber
		in = hits[0].Dist
		hits = hits[1:]
	}
	// One stretch of rubber: what lies between would be another opening.
	if len(hits) != 1 || w.parting(out.Facet) {
		return o, false
	}
	o.At, o.Exit = o.At.AddScaled(dir, in), out.Point
	o.Length = o.At.Dist(o.Exit)
	n := w.solid.normal[out.Facet]
	if n.Dot(dir) < 0.5 || o.Length < 0.2 {
		return o, false
	}
	// Beside a mouth on a slanted face the face itself is near.
	for s := 1.5 * (d/2 + holeWall); s < o.Length-1.5*(d/2+holeWall); s += 0.5 {
		if hit, ok := w.tree.Nearest(o.At.AddScaled(dir, s), d/2+holeWall); ok && hit.Dist < d/2+holeWall {
			return o, false
		}
	}
	return o, true
}

// proveHole prints again with the hole and tells whether it relieves the cup.
func (w *printing) proveHole(o *ReliefHole, c *Cup, f *foundAt) bool {
	pr := &w.p.Printer
	o.Drop = PassageDrop(float64(c.Area*pr.Lift), pr.Viscosity, o.Diameter-pr.BoreLoss, o.Length)
	if o.Drop > pr.ReliefDrop {
		return false
	}
	back := o.Diameter / 2
	start := o.At.AddScaled(o.Direction, -back)
	b := bore{spec: BoreSpec{At: o.At, Diameter: o.Diameter}, start: start, mouth: o.At, exit: o.Exit, axis: o.Direction}
	b.mesh = cylinder(start, o.Direction, o.Diameter/2, back+o.Length+o.Diameter+1)
	h := w.hollow(f.room, []bore{b}, f.h)
	defer w.release(h)
	in := make([]bool, len(f.h.lo))
	f.h.rise.each(f.b, func(i int32) { in[i] = true })
	basins := h.rise.run(w.least())
	done := o.At.Dot(w.p.Build) - w.p.Base + o.Diameter/2
	for i := range basins {
		g := &basins[i]
		if w.height(g.to) < done {
			continue // until the hole itself is printed
		}
		if k := f.h.pieceAt(h.at(g.low, g.from+2)); k >= 0 && in[k] {
			o.Left = max(o.Left, float64(g.most)*h.cell())
		}
	}
	return standardAir*o.Left < holeBound || o.Left < c.Area/10
}

// HoleMesh returns the cutter of a relief hole: a closed 64-sided cylinder that
// begins a radius inside the cup and ends beyond the outer face, ready for a
// boolean cut in CAD.
func (o *ReliefHole) HoleMesh() *geom.Mesh {
	r := o.Diameter / 2
	return cylinder(o.At.AddScaled(o.Direction, -r), o.Direction, r, r+o.Length+o.Diameter+1)
}
