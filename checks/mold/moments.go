package mold

import (
	"math"
	"slices"
	"sort"

	"pourproof/geom"
)

// Moments tells on a cubic grid when the resin comes to a place of cavity and
// channels, for a view that shows the pour at any moment. A node stands for a block
// of the pour's columns; the moment is that of its own height, so that surfaces are
// as level as the pour's and off by half a step only at walls.
type Moments struct {
	Frame geom.Rigid // CAD frame to the grid's, a turn only; its third axis is up
	First geom.Vec   // node (0,0,0) in that frame, mm
	Step  float64    // mm between nodes
	N     [3]int     // nodes along each axis
	At    []uint8    // by x, then y, then z: a moment, MomentNone or MomentNever
}

// What a node of Moments says beside a moment. A moment m from 1 on means that the
// resin is there once (m-1)/(MomentLast-1) of it is in.
const (
	MomentNone  = 0   // neither cavity nor channel, or the gate, which is full from the start
	MomentLast  = 250 // all is in
	MomentNever = 255 // air stays
)

// Moments returns when the resin comes where, on a grid of at most most nodes; nil for
// a fill that no resin went into. Cost: O(n log n) in the pour's runs, and the nodes.
func (f *Fill) Moments(most int) *Moments {
	s := f.stages
	if s == nil || most < 1 {
		return nil
	}
	lat := &s.lat
	by := max(1, int(math.Ceil(math.Cbrt(float64(lat.Nodes())/float64(most)))))
	m := &Moments{Frame: lat.Frame, Step: lat.Pitch() * float64(by)}
	for a, n := range lat.N {
		m.N[a] = (n-1)/by + 1
	}
	if m.N[0]*m.N[1]*m.N[2] > most { // rounded up along each axis
		by++
		m.Step = lat.Pitch() * float64(by)
		for a, n := range lat.N {
			m.N[a] = (n-1)/by + 1
		}
	}
	first := geom.Vec{X: float64(lat.At(0, 0)), Y: float64(lat.At(1, 0)), Z: float64(lat.At(2, 0))}
	middle := float64(by-1) / 2 * lat.Pitch()
	m.First = lat.Origin.AddScaled(first, lat.Q).Add(geom.Vec{X: middle, Y: middle})
	m.At = make([]uint8, m.N[0]*m.N[1]*m.N[2])
	g := s.progress
	total := g.before[len(g.before)-1]
	for arc := range len(g.before) - 1 {
		c := newClimb(g, int32(arc))
		for i := g.start[arc]; i < g.start[arc+1]; i++ {
			s.nodes(m, by, g.run[i], g.lo[i], g.hi[i], func(z int32) uint8 {
				share := float64(c.at(z)) / float64(total)
				return uint8(1 + math.Round(float64(share*(MomentLast-1))))
			})
		}
	}
	for r := range s.level {
		s.nodes(m, by, int32(r), s.level[r][len(stagesAt)-1], s.hi[r], func(int32) uint8 { return MomentNever })
	}
	return m
}

// nodes sets the nodes of a run's block between two heights, lo included, that are not
// set yet.
func (s *stageField) nodes(m *Moments, by int, run, lo, hi int32, of func(z int32) uint8) {
	col := int(s.x[run])/by + m.N[0]*(int(s.y[run])/by)
	for k := (max(s.lat.NodeAbove(2, lo), 0) + by - 1) / by; k < m.N[2]; k++ {
		z := s.lat.At(2, k*by)
		if z >= hi {
			return
		}
		if at := &m.At[col+m.N[0]*m.N[1]*k]; *at == MomentNone {
			*at = of(z)
		}
	}
}

// climb is the resin that is in as an arc's level rises: a sum over runs, of which
// those below and those above a height are found by halving.
type climb struct {
	before int64
	lo, hi []int32 // ascending
	sumLo  []int64 // sums of the first n
	sumHi  []int64
}

func newClimb(g *progress, arc int32) climb {
	from, to := g.start[arc], g.start[arc+1]
	c := climb{before: g.before[arc], lo: slices.Clone(g.lo[from:to]), hi: slices.Clone(g.hi[from:to])}
	slices.Sort(c.lo)
	slices.Sort(c.hi)
	c.sumLo, c.sumHi = sums(c.lo), sums(c.hi)
	return c
}

func sums(list []int32) []int64 {
	out := make([]int64, len(list)+1)
	for i, x := range list {
		out[i+1] = out[i] + int64(x)
	}
	return out
}

// at returns the quanta of column filled when the level is at z.
func (c *climb) at(z int32) int64 {
	a := sort.Search(len(c.lo), func(i int) bool { return c.lo[i] >= z })
	b := sort.Search(len(c.hi), func(i int) bool { return c.hi[i] >= z })
	return c.before + int64(a-b)*int64(z) - c.sumLo[a] + c.sumHi[b]
}
