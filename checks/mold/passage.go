package mold

import (
	"math"
	"slices"
)

// Widths at which passages are taken as closed, as multiples of the relief width:
// a cup whose widest passage is narrower, and narrower than the cup itself, shows
// at one of them. The tenth above keeps a passage of exactly the relief width on
// one side.
var passageWidths = [4]float64{0.55, 1.1, 2.2, 4.4}

// mostPassages is the number of cups, the largest first, whose passages are
// measured.
const mostPassages = 12

// passageCups adds the cups that passages relieve, narrowest passages first.
func (w *printing) passageCups(all *[]Cup) error {
	for level := range w.rooms {
		room, err := w.rooms[level]()
		if err != nil {
			return err
		}
		if room.plugs == nil {
			continue
		}
		width := room.width
		h, before := w.hollow(room, nil, nil), len(w.found)
		basins := h.rise.run(w.least())
		var big []*basin
		for i := range basins {
			if b := &basins[i]; b.into < 0 && b.open && h.holdsDisc(b, width/2) && w.isNew(h, b) {
				big = append(big, b)
			}
		}
		slices.SortStableFunc(big, func(a, b *basin) int { return int(b.most) - int(a.most) })
		for _, b := range big[:min(len(big), mostPassages)] {
			f := foundAt{h, b, room}
			c := w.cup(&f)
			if c.Passage = w.passage(&f, &c); c.Passage == nil {
				continue
			}
			p := c.Passage
			c.Relieved = p.Relieves(p.Width, &w.p.Printer)
			*all = append(*all, c)
			w.found = append(w.found, f)
			if w.o.over.exceededBy(&c) {
				return nil
			}
		}
		if len(w.found) == before {
			w.release(h)
		}
	}
	return nil
}

// isNew tells whether a basin is not one that was found with narrower passages
// closed, or with none: neither does it hold the middle of one that has nearly its
// area, nor does its middle lie in a larger one that ends no earlier.
func (w *printing) isNew(h *hollow, b *basin) bool {
	in := make([]bool, len(h.lo))
	h.rise.each(b, func(i int32) { in[i] = true })
	own := foundAt{h, b, nil}
	heart := own.heart()
	for k := range w.found {
		f := &w.found[k]
		if f.b.most >= b.most && f.b.to >= b.to && f.holds(heart) {
			return false
		}
		// Four fifths: what is added then is no second cup worth a line.
		if i := h.pieceAt(f.heart()); 5*f.b.most >= 4*b.most && i >= 0 && in[i] {
			return false
		}
	}
	return true
}

// holdsDisc tells whether a disc of radius r fits in the basin's largest opening.
func (h *hollow) holdsDisc(b *basin, r float64) bool {
	ny := h.lat.N[1]
	mask := make([]bool, h.lat.N[0]*ny)
	h.rise.each(b, func(i int32) {
		if h.lo[i] <= b.mostAt && b.mostAt < h.hi[i] {
			mask[h.col[i]] = true
		}
	})
	n := int(r / h.lat.Pitch())
	fits := func(c int) bool {
		x, y := c/ny, c%ny
		for i := -n; i <= n; i++ {
			m := int(math.Sqrt(float64(n*n - i*i)))
			for j := -m; j <= m; j++ {
				if u, v := x+i, y+j; u < 0 || v < 0 || u >= h.lat.N[0] || v >= ny || !mask[u*ny+v] {
					return false
				}
			}
		}
		return true
	}
	for c := range mask {
		if mask[c] && fits(c) {
			return true
		}
	}
	return false
}

// mostParallel is the number of passages of one cup, the widest first, that share
// the flow.
const mostParallel = 6

// passage measures the ways from a cup to the outside below the layer that frees it;
// nil if there is none. Ways are looked for on the nodes of room, always going on
// where there is most room (Prim's order gives the way whose narrowest place is
// widest), then measured on the mesh; each is then closed and the next looked for.
// The widest gives its width; the flow goes through all of them side by side.
func (w *printing) passage(f *foundAt, c *Cup) *Passage {
	var first *Passage
	flow := float64(c.Area * w.p.Printer.Lift) // mm3/s
	conductance := 0.0                         // mm3/s a kPa
	ways := w.waysFrom(f)
	defer ways.end()
	for range mostParallel {
		way, neck := ways.widest()
		if way == nil {
			break
		}
		line := w.wayLine(f.room, way, neck)
		p := line.measure()
		if first == nil && p.Width > f.room.width {
			return nil // wider than what was taken as closed: no passage closes here
		}
		drop := line.drop(flow, w.p.Printer.Viscosity)
		if first == nil {
			first = &p
		} else if flow/drop < conductance/20 {
			break // the rest adds nothing
		}
		first.Count++
		conductance += flow / drop
		if first.Drop = flow / conductance; w.o.over.settledBy(c, first, &w.p.Printer) {
			break
		}
		r := p.Width/2 + 1.5*f.room.lat.Pitch() // the nodes across it, whichever way they lie
		ways.close(p.At, r)
		ways.close(f.room.point(way[neck]), r)
	}
	return first
}

// Relieves tells whether a cup's passage would relieve it if it were so many mm wide all
// along, the flow through it as it is: wide enough to stay open, to the error of its width,
// and with no more loss than relieves. Where several share the flow the others stay as they
// are, and the answer is on the safe side.
func (p *Passage) Relieves(width float64, by *Printer) bool {
	drop := p.Drop
	if width != p.Width {
		drop *= PassageDrop(1, by.Viscosity, width, p.Length) / PassageDrop(1, by.Viscosity, p.Width, p.Length)
	}
	return width >= by.Relief-p.Error && drop <= by.ReliefDrop
}

// PassageDrop returns the pressure in kPa that a flow of mm3/s of a liquid of
// viscosity mPa s loses in a round bore of diameter and length mm, its ends
// included: mu Q (3/r^3 + 8 L/(pi r^4)), Hagen-Poiseuille with the end term of
// Sampson 1891 (Dagan, Weinbaum and Pfeffer, J. Fluid Mech. 115, 1982).
func PassageDrop(flow, viscosity, diameter, length float64) float64 {
	r := diameter / 2
	// mPa s x mm3/s / mm3 = mPa = 1e-6 kPa
	return 1e-6 * viscosity * flow * (3/(r*r*r) + 8*length/(math.Pi*r*r*r*r))
}
