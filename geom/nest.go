package geom

import (
	"cmp"
	"math"
	"slices"
)

// nestBudget bounds the work of nest: pairs of a facet and a sample, and grid
// cells, looked at. At a few nanoseconds each it is a second; ordinary files
// need a few looks a facet. nestCrossings bounds the crossings kept, 12 bytes each.
const (
	nestBudget    = 1 << 28
	nestCrossings = 1 << 22
)

// A sample lies sampleDepth inside its shell, in parts of the shell's diagonal:
// deeper than float32 rounds the surface (2^-24 of the coordinates, for a model
// that lies within its own size of the origin), shallower than any wall. Shells
// that share faces are so told apart: a peg that fills a hole is not inside the
// solid around it, and of two equal shells one is inside the other. For the same
// reason it lies sampleShift of the way from the extreme corner to the middle of a
// facet there.
const (
	sampleDepth = 1e-6
	sampleShift = 1e-2
)

// sample is a point just inside a closed shell, at an extreme corner.
type sample struct {
	at    Vec
	shell int32
}

// crossing says that a vertical ray from a sample upward leaves (+1) or enters
// (-1) a shell.
type crossing struct{ sample, shell, way int32 }

// nest finds which closed shell lies inside which: a shell is inside another if
// that one winds around all six of its samples. Winding is counted by one vertical
// ray a sample; the samples lie in a grid, and each facet meets only those in its
// own bounds.
func (d *Defects) nest(m *Mesh) {
	var samples []sample
	closed := 0
	for i := range d.Shells {
		if s := &d.Shells[i]; s.Closed && !s.Flat() {
			closed++
			depth := -sampleDepth * s.Box.Diagonal()
			if s.Inward() {
				depth = -depth
			}
			for k, f := range s.extremes {
				e := m.extreme(f, k)
				at := e.corner.Lerp(e.middle, sampleShift).AddScaled(e.normal.Unit(), depth)
				samples = append(samples, sample{at, int32(i)})
			}
		}
	}
	if closed < 2 {
		return
	}
	crossings, ok := d.castSamples(m, newSampleGrid(samples))
	if !ok {
		d.NestingUnknown = true
		return
	}
	slices.SortFunc(crossings, func(a, b crossing) int {
		return cmp.Or(cmp.Compare(samples[a.sample].shell, samples[b.sample].shell),
			cmp.Compare(a.shell, b.shell), cmp.Compare(a.sample, b.sample))
	})
	for len(crossings) > 0 {
		inner, outer := samples[crossings[0].sample].shell, crossings[0].shell
		n := 0
		for n < len(crossings) && crossings[n].shell == outer && samples[crossings[n].sample].shell == inner {
			n++
		}
		if windsAroundAll(crossings[:n]) {
			d.putInside(inner, outer)
		}
		crossings = crossings[n:]
	}
}

// windsAroundAll takes the crossings of one shell's six samples with another
// shell, sorted by sample, and reports whether none of the six sums is zero.
func windsAroundAll(c []crossing) bool {
	around := 0
	for len(c) > 0 {
		sum, n := int32(0), 0
		for n < len(c) && c[n].sample == c[0].sample {
			sum += c[n].way
			n++
		}
		if sum != 0 {
			around++
		}
		c = c[n:]
	}
	return around == 6
}

// putInside notes that one shell is inside another. Shells are in order of
// falling volume, so only an earlier one can hold a later one, and the last to
// hold it is its parent.
func (d *Defects) putInside(inner, outer int32) {
	if outer >= inner {
		return
	}
	s := &d.Shells[inner]
	s.Parent = max(s.Parent, int(outer))
	if d.Shells[outer].Volume < 0 {
		s.Around--
	} else {
		s.Around++
	}
}

// castSamples returns all crossings of the samples' rays with closed shells
// other than their own, and false if that would exceed the budget.
func (d *Defects) castSamples(m *Mesh, g *sampleGrid) ([]crossing, bool) {
	var out []crossing
	work := 0
	for f := range m.Facets {
		shell := d.ShellOf[f]
		if s := &d.Shells[shell]; !s.Closed || s.Flat() {
			continue
		}
		t := m.Triangle(f)
		b := t.Box()
		x0, x1, y0, y1 := g.cells(b)
		for y := y0; y <= y1; y++ {
			row := g.first[y*g.side+x0 : y*g.side+x1+2]
			work += len(row) + int(row[len(row)-1]-row[0])
			for _, i := range g.order[row[0]:row[len(row)-1]] {
				p := &g.samples[i]
				if p.shell == shell || p.at.Z > b.Max.Z {
					continue
				}
				if way := t.crossingAbove(p.at); way != 0 {
					out = append(out, crossing{i, shell, way})
				}
			}
		}
		if work > nestBudget || len(out) > nestCrossings {
			return nil, false
		}
	}
	return out, true
}

// crossingAbove returns +1 where the vertical ray from p upward passes the
// triangle to its outer side, -1 to its inner side, else 0. In the plane the
// triangle's winding about p is the sum over its edges of signed crossings with
// the half-line from p along +x; the side of p is always computed from the
// edge's lower end, so two triangles at one edge agree and on a closed surface
// the sum over all triangles is zero, whatever the rounding.
func (t Triangle) crossingAbove(p Vec) int32 {
	way := crossingRight(t.A, t.B, p) + crossingRight(t.B, t.C, p) + crossingRight(t.C, t.A, p)
	if way == 0 {
		return 0
	}
	n := t.AreaVec()
	rise := float64(n.X*(p.X-t.A.X)) + float64(n.Y*(p.Y-t.A.Y))
	z := t.A.Z - ratio(rise, n.Z)
	z = min(max(z, min(t.A.Z, t.B.Z, t.C.Z)), max(t.A.Z, t.B.Z, t.C.Z))
	if z <= p.Z {
		return 0
	}
	return way
}

// crossingRight returns +1 where the edge from a to b, seen along -z, passes the
// half-line from p along +x upward, -1 downward, else 0.
func crossingRight(a, b, p Vec) int32 {
	if (a.Y > p.Y) == (b.Y > p.Y) {
		return 0
	}
	way := int32(1)
	if a.Y > p.Y {
		a, b, way = b, a, -1
	}
	if float64((b.X-a.X)*(p.Y-a.Y))-float64((b.Y-a.Y)*(p.X-a.X)) > 0 {
		return way
	}
	return 0
}

// sampleGrid sorts samples into square cells over x and y.
type sampleGrid struct {
	samples []sample
	order   []int32 // samples by cell
	first   []int32 // cell c holds order[first[c]:first[c+1]]
	side    int     // cells along x and along y
	min     Vec
	step    Vec // size of a cell, 0 where all samples share the coordinate
}

func newSampleGrid(samples []sample) *sampleGrid {
	b := EmptyBox()
	for _, s := range samples {
		b = b.Include(s.at)
	}
	// about one sample a cell; more than 1024 x 1024 cells cost more to visit
	// than they save
	side := min(int(math.Ceil(math.Sqrt(float64(len(samples))))), 1024)
	g := &sampleGrid{samples: samples, side: side, min: b.Min, step: b.Size().Scale(1 / float64(side)),
		order: make([]int32, len(samples)), first: make([]int32, side*side+2)}
	cell := make([]int, len(samples))
	for i, s := range samples {
		cell[i] = g.index(s.at.Y, g.min.Y, g.step.Y)*side + g.index(s.at.X, g.min.X, g.step.X)
		g.first[cell[i]+2]++
	}
	for c := 2; c < len(g.first); c++ {
		g.first[c] += g.first[c-1]
	}
	for i, c := range cell {
		g.order[g.first[c+1]] = int32(i)
		g.first[c+1]++
	}
	return g
}

// index returns the cell of a coordinate, clamped to the grid. It rises with the
// coordinate, so a box's cells hold every sample in the box.
func (g *sampleGrid) index(x, least, step float64) int {
	return int(min(max(ratio(x-least, step), 0), float64(g.side-1)))
}

// cells returns the range of cells, ends included, that may hold samples in b.
func (g *sampleGrid) cells(b Box) (x0, x1, y0, y1 int) {
	return g.index(b.Min.X, g.min.X, g.step.X), g.index(b.Max.X, g.min.X, g.step.X),
		g.index(b.Min.Y, g.min.Y, g.step.Y), g.index(b.Max.Y, g.min.Y, g.step.Y)
}
