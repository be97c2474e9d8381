package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/flood"
)

// Bounds of a hole that opens upward, as radii over the capillary length: below the
// first a bubble in a closed tube does not rise at all (Bretherton, J. Fluid Mech. 10,
// 1961: 0.842 in the square); below the second liquid can lie over air without falling
// in (Rayleigh and Taylor, free contact line: the first zero of J1'; from memory).
const (
	stuckBubble = 0.918
	liquidOver  = 1.8412
)

// CapillaryLength returns sqrt(tension / (density g)) in mm, of mN/m and g/ml.
func CapillaryLength(tension, density float64) float64 {
	return math.Sqrt(tension / float64(density*gravity))
}

// CapillaryWidths returns the diameters in mm below which a blind hole that opens upward
// keeps its air for sure once resin bridges it, and below which it may. Experiments with
// open tubes reach 1.0 to 1.5 times the second (Extrand, Langmuir 33, 2017).
func (l *Liquid) CapillaryWidths() (sure, may float64) {
	c := CapillaryLength(l.SurfaceTension, l.Density)
	return 2 * stuckBubble * c, 2 * liquidOver * c
}

// Clinging is a blind hole of the cavity that opens upward and is so narrow that surface
// tension can hold its air. The pour counts it as filled.
type Clinging struct {
	Pocket         // of kind Capillary; Volume is the hole's below its rim
	Width  float64 // mm, least extent of the hole seen from above
	Sure   bool    // narrower than what any bubble rises in
}

// Cling finds the holes of the cavity whose air surface tension can hold at the pour's
// up: floors that the resin reaches over their rim only, no wider in any direction than
// CapillaryWidths' second, and at least half as deep as wide. A groove along which the
// resin can push the air is none. Numbered on from the pour's pockets, the largest
// first. A hole's width is known to a cell. Cost: a cast of the halves and a sort of the
// links between their columns.
func Cling(m *Mold, f *Fill) ([]Clinging, error) {
	p, err := m.newPour(f.Up, f.Cell)
	if err != nil {
		return nil, err
	}
	w := wells{pour: p}
	w.sure, w.may = m.Job.Liquid.CapillaryWidths()
	w.begin()
	w.rise()
	out := w.found
	slices.SortStableFunc(out, func(a, b Clinging) int { return cmp.Compare(b.Volume, a.Volume) })
	for i := range out {
		out[i].ID = len(f.Pockets) + 1 + i
		out[i].Near, out[i].NearDistance = m.nearestMouth(out[i].Top)
		out[i].Show = m.shownBy(out[i].Bottom)
	}
	return out, nil
}

// wells joins the columns of the void in the order in which a liquid rising from every
// floor would: what is joined at a height lies below one rim (Kruskal 1956, as in the
// merge tree of Carr, Snoeyink and Axen 2003).
type wells struct {
	*pour
	sure, may float64
	parent    []int32
	next      []int32    // ring of the runs of a component
	open      []bool     // per component: resin comes in or air goes out below the rim
	box       [][4]int32 // of columns: x, y least and most
	low       []int32    // lowest run
	found     []Clinging
	root      []int32 // per found hole: a run of it
}

// begin makes a component of every run.
func (w *wells) begin() {
	n := len(w.piece)
	w.parent, w.next, w.low = make([]int32, n), make([]int32, n), make([]int32, n)
	w.open, w.box = make([]bool, n), make([][4]int32, n)
	for r := range w.piece {
		i := int32(r)
		w.parent[r], w.next[r], w.low[r] = i, i, i
		x, y := w.column(w.piece[r])
		w.box[r] = [4]int32{int32(x), int32(y), int32(x), int32(y)}
	}
	for _, s := range w.graph.Sources {
		w.open[s] = true
	}
	for _, e := range w.graph.Exits {
		w.open[e.Run] = true
	}
}

func (w *wells) find(i int32) int32 {
	for w.parent[i] != i {
		w.parent[i] = w.parent[w.parent[i]]
		i = w.parent[i]
	}
	return i
}

// rise joins the links from the lowest up. Where two components meet, each of them that
// is narrow and closed below may be a hole.
func (w *wells) rise() {
	links := slices.Clone(w.graph.Links)
	slices.SortStableFunc(links, func(a, b flood.Link) int { return cmp.Compare(a.Lo, b.Lo) })
	for _, l := range links {
		a, b := w.find(l.A), w.find(l.B)
		if a == b {
			continue
		}
		w.hole(a, l.Lo)
		w.hole(b, l.Lo)
		w.join(min(a, b), max(a, b))
	}
}

func (w *wells) join(a, b int32) {
	w.parent[b] = a
	w.next[a], w.next[b] = w.next[b], w.next[a]
	w.open[a] = w.open[a] || w.open[b]
	if w.graph.Lo[w.low[b]] < w.graph.Lo[w.low[a]] {
		w.low[a] = w.low[b]
	}
	p, q := &w.box[a], w.box[b]
	*p = [4]int32{min(p[0], q[0]), min(p[1], q[1]), max(p[2], q[2]), max(p[3], q[3])}
}

// hole adds component c, filled to its rim at height z, if it is one; holes found in it
// before are part of it.
func (w *wells) hole(c, z int32) {
	h := w.lat.Pitch()
	box := w.box[c]
	depth := float64(z-w.graph.Lo[w.low[c]]) * w.lat.Q
	// Half a cell of doubt at either side of the outline.
	most := w.may + h
	if w.open[c] || depth < 2*h || float64(box[2]-box[0])*h > most || float64(box[3]-box[1])*h > most {
		return
	}
	var runs []int32
	volume := int64(0)
	for r := c; ; {
		runs = append(runs, r)
		in, _ := w.inLabel(w.piece[r], w.graph.Lo[r], min(z, w.graph.Hi[r]))
		volume += in
		if r = w.next[r]; r == c {
			break
		}
	}
	least, longest := w.extents(runs)
	v := w.volume(volume)
	if longest > w.may || depth < least/2 || v < reported {
		return
	}
	low := w.point(w.piece[w.low[c]], w.graph.Lo[w.low[c]])
	k := Clinging{Width: least, Sure: least < w.sure, Pocket: Pocket{Kind: Capillary, Volume: v, Depth: depth, SealedAt: w.lat.Height(z), Bottom: low,
		Top: w.middle(runs, z)}}
	// The outline's columns, each half in and half out: as pocketError's rim.
	k.Error = 2 * math.Sqrt(math.Pi*least/h/3) * float64(w.area()/2*depth)
	for i := 0; i < len(w.found); {
		if w.find(w.root[i]) == c {
			w.found, w.root = slices.Delete(w.found, i, i+1), slices.Delete(w.root, i, i+1)
		} else {
			i++
		}
	}
	w.found, w.root = append(w.found, k), append(w.root, c)
}

// middle returns the middle of some runs' columns at height z.
func (w *wells) middle(runs []int32, z int32) geom.Vec {
	var sum geom.Vec
	for _, r := range runs {
		sum = sum.Add(w.point(w.piece[r], z))
	}
	return sum.Scale(1 / float64(len(runs)))
}

// extents returns the least and the longest extent in mm of some runs' columns seen from
// above, over 32 directions, 5.6 deg apart: a column's own width counts. The least is
// that of a circle to a cell, of a square up to 5 % more.
func (w *wells) extents(runs []int32) (least, longest float64) {
	h := w.lat.Pitch()
	least = math.Inf(1)
	for _, d := range aroundWays {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, r := range runs {
			x, y := w.column(w.piece[r])
			t := float64(float64(x)*d[0]) + float64(float64(y)*d[1])
			lo, hi = min(lo, t), max(hi, t)
		}
		e := (hi - lo + 1) * h
		least, longest = min(least, e), max(longest, e)
	}
	return least, longest
}

// aroundWays are directions over half a turn, rounded to 2^-40.
var aroundWays = func() (d [32][2]float64) {
	for k := range d {
		s, c := math.Sincos(math.Pi / float64(len(d)) * float64(k))
		d[k] = [2]float64{roundAngle(c), roundAngle(s)}
	}
	return d
}()
