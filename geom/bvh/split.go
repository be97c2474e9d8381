package bvh

import (
	"math"

	"pourproof/geom"
)

// The splits are found on whole numbers: a lattice of latticeSteps cells along the
// longest side of the mesh. Comparing and counting whole numbers is exact and
// quick, and a cell is finer than the single precision of the nodes' boxes.

const latticeSteps = 1 << 28 // doubled middles, below 2^30, stay in int32

// lattice maps millimetres to cells, each box rounded outward and grown by slack.
type lattice struct {
	origin    geom.Vec
	step, per float64 // mm a cell, cells a mm
	slack     float64
}

func latticeOf(all geom.Box, reach float64) lattice {
	size := all.Size()
	slack := 2 * surfaceSlack(reach) // one for the surface, one for the roundings of cell and bounds, below 16*2^-53*reach
	span := max(size.X, size.Y, size.Z) + 4*slack
	l := lattice{origin: all.Min.Sub(geom.Vec{X: 2 * slack, Y: 2 * slack, Z: 2 * slack}), step: span / latticeSteps, slack: slack}
	l.per = 1 / l.step
	return l
}

// surfaceSlack is how far outside its facet's box a computed surface point may
// lie. geom.Triangle.Closest forms a + v*ab + w*ac with v, w >= 0 and v + w <= 1
// up to 4 roundings: every term is at most 2*reach, so 16 roundings of 2^-53 each
// of 2*reach bound the error. The second term keeps distances whose square
// underflows inside the box.
func surfaceSlack(reach float64) float64 { return float64(reach*0x1p-48) + 0x1p-100 }

// cells returns the cells that hold the box.
func (l *lattice) cells(b geom.Box) cellBox {
	o, s := l.origin, l.slack
	return cellBox{
		lo: [3]int32{l.cell(b.Min.X - s - o.X), l.cell(b.Min.Y - s - o.Y), l.cell(b.Min.Z - s - o.Z)},
		hi: [3]int32{l.cell(b.Max.X+s-o.X) + 1, l.cell(b.Max.Y+s-o.Y) + 1, l.cell(b.Max.Z+s-o.Z) + 1},
	}
}

// cell returns the cell at x mm from the origin, kept on the lattice whatever x is.
func (l *lattice) cell(x float64) int32 {
	c := x * l.per
	if !(c > 0) {
		return 0
	}
	return int32(min(c, latticeSteps-1))
}

// bounds returns the box of the cells in mm, rounded outward.
func (l *lattice) bounds(c *cellBox) bounds {
	at := func(c [3]int32) geom.Vec {
		return l.origin.AddScaled(geom.Vec{X: float64(c[0]), Y: float64(c[1]), Z: float64(c[2])}, l.step)
	}
	return outward(geom.Box{Min: at(c.lo), Max: at(c.hi)}, 0)
}

// cellBox is a box on the lattice.
type cellBox struct{ lo, hi [3]int32 }

var noCells = cellBox{
	lo: [3]int32{math.MaxInt32, math.MaxInt32, math.MaxInt32},
	hi: [3]int32{math.MinInt32, math.MinInt32, math.MinInt32},
}

func (b *cellBox) include(c *cellBox) {
	b.lo[0], b.hi[0] = min(b.lo[0], c.lo[0]), max(b.hi[0], c.hi[0])
	b.lo[1], b.hi[1] = min(b.lo[1], c.lo[1]), max(b.hi[1], c.hi[1])
	b.lo[2], b.hi[2] = min(b.lo[2], c.lo[2]), max(b.hi[2], c.hi[2])
}

// doubled returns the box that holds the doubled middles of all boxes inside b.
func (b *cellBox) doubled() cellBox {
	return cellBox{
		lo: [3]int32{2 * b.lo[0], 2 * b.lo[1], 2 * b.lo[2]},
		hi: [3]int32{2 * b.hi[0], 2 * b.hi[1], 2 * b.hi[2]},
	}
}

// halfArea is half the surface of the box in square cells.
func (b *cellBox) halfArea() float32 {
	x, y, z := float32(b.hi[0]-b.lo[0]), float32(b.hi[1]-b.lo[1]), float32(b.hi[2]-b.lo[2])
	return float32(x*y) + float32(y*z) + float32(z*x)
}

func middles(prims []prim) cellBox {
	m := noCells
	for i := range prims {
		b := &prims[i].box
		x, y, z := b.lo[0]+b.hi[0], b.lo[1]+b.hi[1], b.lo[2]+b.hi[2]
		m.include(&cellBox{lo: [3]int32{x, y, z}, hi: [3]int32{x, y, z}})
	}
	return m
}

// manyBins and fewBins are the numbers of slices an axis is cut into (Wald 2007
// used 8 to 16): every axis along which the middles reach at least half as far as along
// the longest, for surface is flat and seldom cut best across its thickness. Ranges below
// fewBelow facets are cut along the longest axis alone, into few slices. Of these choices
// none measured slower to ask than all axes by more than a twentieth, and with buckets
// they build in half the time.
const (
	manyBins = 16
	fewBins  = 8
	fewBelow = 128
)

type bin struct {
	box   cellBox
	count int32
}

// plane is a candidate split: middles in bins before first go to the first side.
type plane struct {
	axis, first int
	scale       binScale
	cost        float32 // half areas by facets
	box, mids   [2]cellBox
}

// binScale maps doubled middles to bins: (mid-lo)*per >> 32.
type binScale struct {
	lo  int32
	per uint64
}

func scaleOf(lo, hi int32, bins int) binScale {
	return binScale{lo, (uint64(bins) << 32) / uint64(uint32(hi-lo)+1)}
}

func (s binScale) bin(mid int32) int { return int(uint64(uint32(mid-s.lo)) * s.per >> 32) }

// start returns the least doubled middle of bin i.
func (s binScale) start(i int) int32 { return s.lo + int32((uint64(i)<<32+s.per-1)/s.per) }

// cheapest returns the plane with the least sum of half area times count, the
// first of equals, and axis -1 where none has facets on both sides.
func cheapest(prims []prim, mids *cellBox) plane {
	if len(prims) < fewBelow {
		return cheapestOfFew(prims, mids)
	}
	wide := widths(mids)
	longest := max(wide[0], wide[1], wide[2])
	var axes [3]int
	tried := axes[:0]
	for a := range wide {
		if wide[a] >= longest/2 {
			tried = append(tried, a)
		}
	}
	var grid [3][manyBins]bin
	var scale [3]binScale
	for _, a := range tried {
		scale[a] = scaleOf(mids.lo[a], mids.hi[a], manyBins)
		for i := range grid[a] {
			grid[a][i].box = noCells
		}
	}
	for i := range prims {
		b := &prims[i].box
		for _, a := range tried {
			g := &grid[a][scale[a].bin(b.lo[a]+b.hi[a])&(manyBins-1)]
			g.box.include(b)
			g.count += prims[i].facets
		}
	}
	best := plane{axis: -1}
	for _, a := range tried {
		best.sweep(a, grid[a][:])
	}
	if best.axis >= 0 {
		best.finish(grid[best.axis][:], scale[best.axis], mids)
	}
	return best
}

func widths(mids *cellBox) [3]uint32 {
	return [3]uint32{uint32(mids.hi[0] - mids.lo[0]), uint32(mids.hi[1] - mids.lo[1]), uint32(mids.hi[2] - mids.lo[2])}
}

// cheapestOfFew is cheapest along the longest axis, the last of equals.
func cheapestOfFew(prims []prim, mids *cellBox) plane {
	axis, wide := 0, widths(mids)
	for a := range wide {
		if wide[a] >= wide[axis] {
			axis = a
		}
	}
	var grid [fewBins]bin
	for i := range grid {
		grid[i].box = noCells
	}
	scale := scaleOf(mids.lo[axis], mids.hi[axis], fewBins)
	for i := range prims {
		b := &prims[i].box
		g := &grid[scale.bin(b.lo[axis]+b.hi[axis])&(fewBins-1)]
		g.box.include(b)
		g.count += prims[i].facets
	}
	best := plane{axis: -1}
	best.sweep(axis, grid[:])
	if best.axis >= 0 {
		best.finish(grid[:], scale, mids)
	}
	return best
}

// sweep looks for a cheaper plane among the bins of one axis.
func (p *plane) sweep(axis int, bins []bin) {
	var before [manyBins]float32 // cost of the first side, negative where it is empty
	acc := bin{box: noCells}
	for i := range bins {
		before[i] = -1
		if acc.count > 0 {
			before[i] = float32(acc.box.halfArea() * float32(acc.count))
		}
		acc.box.include(&bins[i].box)
		acc.count += bins[i].count
	}
	acc = bin{box: noCells}
	for i := len(bins) - 1; i > 0; i-- {
		if bins[i].count == 0 {
			continue // the same sides as the plane after this bin, or none
		}
		acc.box.include(&bins[i].box)
		acc.count += bins[i].count
		if before[i] < 0 {
			break
		}
		cost := before[i] + float32(acc.box.halfArea()*float32(acc.count))
		if p.axis < 0 || cost < p.cost {
			p.axis, p.first, p.cost = axis, i, cost
		}
	}
}

// finish gathers the boxes of both sides.
func (p *plane) finish(bins []bin, scale binScale, mids *cellBox) {
	p.scale = scale
	p.box = [2]cellBox{noCells, noCells}
	for i := range bins {
		side := 0
		if i >= p.first {
			side = 1
		}
		p.box[side].include(&bins[i].box)
	}
	for k := range p.mids {
		p.mids[k] = *mids
	}
	p.mids[1].lo[p.axis] = scale.start(p.first)
	p.mids[0].hi[p.axis] = p.mids[1].lo[p.axis] - 1
	for k := range p.mids { // no middle lies outside its side's box
		d := p.box[k].doubled()
		for a := range 3 {
			p.mids[k].lo[a] = max(p.mids[k].lo[a], d.lo[a])
			p.mids[k].hi[a] = min(p.mids[k].hi[a], d.hi[a])
		}
	}
}

// partition puts the first side first and returns its size.
func (p *plane) partition(prims []prim) int {
	i, j := 0, len(prims)
	for i < j {
		b := &prims[i].box
		if p.scale.bin(b.lo[p.axis]+b.hi[p.axis]) < p.first {
			i++
		} else {
			j--
			prims[i], prims[j] = prims[j], prims[i]
		}
	}
	return i
}
