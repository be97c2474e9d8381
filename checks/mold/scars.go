package mold

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"pourproof/geom"
)

// Scars are the faces that the printer must support: those turned to the platform
// and flatter than the self-support angle.
type Scars struct {
	Area    float64 // mm2 of all patches
	Molding float64 // mm2 of those that shape the part
	Patches []Patch // largest molding patch first, then the others
}

// Patch is one connected face that needs supports.
type Patch struct {
	ID      int
	Area    float64
	At      geom.Vec // on the patch, at its largest facet
	Low     float64  // its lowest height, mm above the half's lowest point
	Width   float64  // mm across: the smallest extent of a rectangle around it, seen from above
	Molding bool
	Facets  []int32 // of the half's mesh
}

// Start is new solid above nothing: it hangs free when its first layer is printed.
type Start struct {
	ID      int
	At      geom.Vec
	Height  float64 // above the half's lowest point
	Area    float64 // mm2 of its first layer
	Joins   float64 // height at which it meets the rest
	Molding bool    // its first layer lies on a face that shapes the part
}

// contactSlack in mm is how far above the lowest point a face still stands on the
// platform: what float32 leaves of a plane that was turned.
const contactSlack = 0.005

// scars lists the patches.
func (r *rubber) scars(p *Printed) Scars {
	need := r.downward(p)
	var s Scars
	done := make([]bool, len(need))
	for f := range need {
		if need[f] == 0 || done[f] {
			continue
		}
		patch := r.patchFrom(int32(f), need, done, p)
		s.Area += patch.Area
		if patch.Molding {
			s.Molding += patch.Area
		}
		s.Patches = append(s.Patches, patch)
	}
	slices.SortStableFunc(s.Patches, func(a, b Patch) int {
		return cmp.Or(boolOrder(!a.Molding, !b.Molding), cmp.Compare(b.Area, a.Area), compareVec(a.At, b.At))
	})
	for i := range s.Patches {
		s.Patches[i].ID = i + 1
	}
	return s
}

// downward marks the facets that need supports: 1, or 2 where they shape the part.
func (r *rubber) downward(p *Printed) []int8 {
	need := make([]int8, len(r.mesh.Facets))
	limit := selfSupported(&p.Printer)
	for f := range need {
		need[f] = r.needs(int32(f), p, limit)
	}
	return need
}

// selfSupported returns the cosine of normal and build direction below which a face
// needs supports.
func selfSupported(pr *Printer) float64 { return -roundAngle(math.Cos(pr.SelfSupport)) }

// needs is downward for one facet.
func (r *rubber) needs(f int32, p *Printed, limit float64) int8 {
	if !(r.solid.normal[f].Dot(p.Build) < limit) {
		return 0
	}
	if p.Flat {
		high := math.Inf(-1)
		for _, v := range r.mesh.Facets[f] {
			high = max(high, r.mesh.Vertices[v].Dot(p.Build))
		}
		if high-p.Base <= contactSlack {
			return 0
		}
	}
	if r.molding(f) {
		return 2
	}
	return 1
}

// patchFrom collects the facets of one kind that hang together with facet f.
func (r *rubber) patchFrom(f int32, need []int8, done []bool, p *Printed) Patch {
	out := Patch{Molding: need[f] == 2, Low: math.Inf(1)}
	done[f] = true
	queue := []int32{f}
	for n := 0; n < len(queue); n++ {
		for k := range 3 {
			m := r.solid.mates[3*queue[n]+int32(k)]
			if m >= 0 && need[m/3] == need[f] && !done[m/3] {
				done[m/3] = true
				queue = append(queue, m/3)
			}
		}
	}
	slices.Sort(queue)
	out.Facets = queue
	biggest := -1.0
	for _, g := range queue {
		a := r.solid.area[g]
		out.Area += a
		for _, v := range r.mesh.Facets[g] {
			out.Low = min(out.Low, r.mesh.Vertices[v].Dot(p.Build)-p.Base)
		}
		if c := r.mesh.Triangle(int(g)).Centroid(); a > biggest || a == biggest && c.Less(out.At) {
			biggest, out.At = a, c
		}
	}
	out.Width = r.across(queue, p.Build)
	return out
}

// across returns the smallest extent of facets over 36 level directions.
func (r *rubber) across(facets []int32, build geom.Vec) float64 {
	u, v := build.Perpendicular()
	least := math.Inf(1)
	for k := range 36 {
		s, c := math.Sincos(math.Pi * float64(k) / 36)
		d := u.Scale(roundAngle(c)).AddScaled(v, roundAngle(s))
		low, high := math.Inf(1), math.Inf(-1)
		for _, f := range facets {
			for _, i := range r.mesh.Facets[f] {
				x := r.mesh.Vertices[i].Dot(d)
				low, high = min(low, x), max(high, x)
			}
		}
		least = min(least, high-low)
	}
	return least
}

// leastRise is the height in mm that a start must hang free for: what a layer or
// two bridge is no start.
const leastRise = 0.1

// starts lists the solid that begins above nothing, by layers that rise through the
// columns of material. Columns meet a sloping edge here and there only; so each
// beginning that they find counts for the place to which the surface goes down from
// it. The first contact is what begins within a layer of the half's lowest point.
func (w *printing) starts(s *bulk) []Start {
	layer := int32(math.Round(w.p.Printer.Layer / w.lat.Q))
	var out []Start
	number := map[int32]int{} // of the start whose least corner it is
	for i := range s.basins {
		b := &s.basins[i]
		f := s.facet[b.low]
		rise := float64(b.to-b.from) * w.lat.Q
		if !w.ownFacet(f) || b.into < 0 && !w.apart(s.basins, b) || rise < max(leastRise, 2*w.p.Printer.Layer) {
			continue
		}
		place := w.solid.descend(f, w.p.Build)
		at := w.mesh.Vertices[place[0]]
		height := at.Dot(w.p.Build) - w.p.Base
		if height <= max(w.p.Printer.Layer, contactSlack) {
			continue
		}
		n, known := number[place[0]]
		if !known {
			n = len(out)
			number[place[0]] = n
			out = append(out, Start{At: at, Height: height, Molding: w.molding(f)})
		}
		out[n].Area += w.firstLayer(s, b, b.from+layer)
		out[n].Joins = max(out[n].Joins, w.height(b.to))
	}
	slices.SortStableFunc(out, func(a, b Start) int {
		return cmp.Or(boolOrder(!a.Molding, !b.Molding), cmp.Compare(b.Area, a.Area), compareVec(a.At, b.At))
	})
	for i := range out {
		out[i].ID = i + 1
	}
	return out
}

// firstLayer returns the area of a basin of material at a height.
func (w *printing) firstLayer(s *bulk, b *basin, z int32) float64 {
	n := 0
	s.each(b, func(k int32) {
		if s.lo[k] <= z && z < s.hi[k] {
			n++
		}
	})
	return float64(n) * w.open.cell()
}

// apart tells whether a basin that met nothing is a piece of its own and not the
// half's body: the body is the one that begins lowest.
func (w *printing) apart(all []basin, b *basin) bool {
	for i := range all {
		if all[i].into < 0 && all[i].from < b.from {
			return true
		}
	}
	return false
}

// bulk is the half's columns as a riser, with the facet under each piece.
type bulk struct {
	riser
	start      []int32 // per column: its first piece, and the total
	col, facet []int32
	basins     []basin // of its pieces
}

// bulks holds those that are needed no more: their memory is used again.
var bulks = sync.Pool{New: func() any { return &bulk{riser: riser{oldest: true}} }}

// bulk takes what lies between the runs of void. It is to be given back to bulks.
func (w *printing) bulk() *bulk {
	sp := w.open.sp
	s := bulks.Get().(*bulk)
	start := sized(s.start, len(sp.Start))
	s.start, start[0] = start, 0
	n := len(sp.Lo) // a run of void more a column
	for _, list := range [...]*[]int32{&s.lo, &s.hi, &s.col, &s.facet} {
		*list = sized(*list, n)[:0]
	}
	s.links = sized(s.links, 2*n)[:0]
	for c := 0; c+1 < len(sp.Start); c++ {
		for r := sp.Start[c]; r+1 < sp.Start[c+1]; r++ {
			s.lo, s.hi = append(s.lo, sp.Hi[r]), append(s.hi, sp.Lo[r+1])
			s.col, s.facet = append(s.col, int32(c)), append(s.facet, sp.HiFacet[r])
		}
		start[c+1] = int32(len(s.lo))
	}
	ny := sp.N[1]
	for c := 0; c+1 < len(start); c++ {
		if c/ny+1 < sp.N[0] {
			w.joinMaterial(s, c, c+ny, 0)
		}
		if c%ny+1 < ny {
			w.joinMaterial(s, c, c+1, 1)
		}
	}
	s.basins = s.run(1)
	return s
}

// joinMaterial links the stretches of two columns that overlap and between which,
// at a node's height, no gap lies.
func (w *printing) joinMaterial(s *bulk, c, d, axis int) {
	sp := w.open.sp
	ny := sp.N[1]
	a, b := s.start[c], s.start[d]
	for a < s.start[c+1] && b < s.start[d+1] {
		if lo, hi := max(s.lo[a], s.lo[b]), min(s.hi[a], s.hi[b]); lo < hi {
			k, last := max(sp.NodeAbove(2, lo+1), 0), min(sp.NodeBelow(2, hi-1), sp.N[2]-1)
			first := k
			for k <= last && sp.Blocked(c/ny, c%ny, k, axis) {
				k++
			}
			if first > last || k == first {
				s.links = append(s.links, rising{a, b, lo})
			} else if k <= last {
				s.links = append(s.links, rising{a, b, sp.At(2, k)})
			}
		}
		if s.hi[a] < s.hi[b] {
			a++
		} else {
			b++
		}
	}
}
