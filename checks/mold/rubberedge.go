package mold

import (
	"cmp"
	"math"
	"slices"
)

// Which edges are listed. Inner corners turn by 30 deg or more, which no rounding in
// facets of a usual export does.
const (
	exactAngle  = 1e-5 // radians: exactly 45 deg, as of a chamfer, is no knife edge
	cornerTurn  = math.Pi / 6
	leastEdge   = 0.5  // mm, of a line of edges
	leastFlank  = 0.02 // mm that a facet reaches beside its edge: less is a splinter of the mesh
	anglesExact = 1e9  // angles are rounded to this part of a radian: the arc tangent's last bits differ between CPUs
)

// interior returns the angle of the rubber at a half-edge, 0 to 2 pi.
func (w *rubberWork) interior(h int32) float64 {
	t := w.t
	m := t.Mates[h]
	if m < 0 {
		return math.Pi
	}
	n, o := t.Normal[h/3], t.Normal[m/3]
	a, b := w.ends(h)
	along := b.Sub(a).Unit()
	turn := math.Atan2(n.Cross(o).Dot(along), n.Dot(o)) // positive where the surface bends away
	return math.Round((math.Pi-turn)*anglesExact) / anglesExact
}

// edges lists the knife edges and the sharp inner corners of a half.
func (w *rubberWork) edges() (knives, corners []Edge) {
	var sharp, inner []sharpEdge
	lowKnife, lowCorner := roundAngle(math.Cos(w.o.Knife-exactAngle)), roundAngle(math.Cos(cornerTurn))
	t := w.t
	for h := range int32(len(t.Mates)) {
		m := t.Mates[h]
		if m < h { // open, or seen from its mate
			continue
		}
		c := t.Normal[h/3].Dot(t.Normal[m/3])
		if c > lowCorner || w.flank(h) < leastFlank || w.flank(m) < leastFlank {
			continue
		}
		switch a := w.interior(h); {
		case a < math.Pi && -c > lowKnife:
			sharp = append(sharp, sharpEdge{h, a})
		case a > math.Pi:
			inner = append(inner, sharpEdge{h, 2*math.Pi - a})
		}
	}
	inner = slices.DeleteFunc(inner, func(e sharpEdge) bool { return !w.molds(e.half) || !w.molds(t.Mates[e.half]) })
	return w.chains(sharp), w.chains(inner)
}

// sharpEdge is one edge of the mesh, by a half-edge, with its angle.
type sharpEdge struct {
	half  int32
	angle float64
}

// flank returns how far the facet of a half-edge reaches beside it.
func (w *rubberWork) flank(h int32) float64 {
	a, b := w.ends(h)
	return 2 * w.t.Mesh.Triangle(int(h/3)).Area() / max(a.Dist(b), 1e-12)
}

// molds tells whether the facet of a half-edge shapes the part.
func (w *rubberWork) molds(h int32) bool {
	return w.m.molds(w.m.fixed.owner[w.half] + w.t.Parent[h/3])
}

// chains joins edges that share a corner into lines.
func (w *rubberWork) chains(list []sharpEdge) []Edge {
	at := map[int32]int32{} // first edge at a corner
	set := newSets(len(list))
	for i, e := range list {
		f := w.t.Mesh.Facets[e.half/3]
		for _, v := range [2]int32{f[e.half%3], f[(e.half+1)%3]} {
			if first, known := at[v]; known {
				set.join(first, int32(i))
			} else {
				at[v] = int32(i)
			}
		}
	}
	var out []Edge
	for _, g := range set.groups(func(int32) bool { return true }) {
		line := Edge{Angle: math.Inf(1)}
		for _, i := range g {
			e := w.halfEdge(list[i].half)
			line.Length += e.length
			line.Facets = append(line.Facets, w.t.Parent[list[i].half/3], w.t.Parent[w.t.Mates[list[i].half]/3])
			line.Molding = line.Molding || w.molds(list[i].half) || w.molds(w.t.Mates[list[i].half])
			// Of angles equal to a thousandth of a degree the first place counts.
			if a := math.Round(list[i].angle*(180/math.Pi)*1000) / 1000 * (math.Pi / 180); a < line.Angle || a == line.Angle && e.at.Less(line.At) {
				line.Angle, line.At = a, e.at
			}
		}
		slices.Sort(line.Facets)
		line.Facets = slices.Compact(line.Facets)
		if line.Length >= leastEdge {
			out = append(out, line)
		}
	}
	slices.SortStableFunc(out, func(a, b Edge) int {
		return cmp.Or(cmp.Compare(a.Angle, b.Angle), cmp.Compare(b.Length, a.Length), compareVec(a.At, b.At))
	})
	for i := range out {
		out[i].ID = i + 1
	}
	return out
}

// sets are disjoint sets of numbers (Galler and Fischer 1964), each named by its
// least member.
type sets []int32

func newSets(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

func (s sets) root(i int32) int32 {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

func (s sets) join(a, b int32) {
	a, b = s.root(a), s.root(b)
	s[max(a, b)] = min(a, b)
}

// groups lists the members of every set whose members keep accepts, in order.
func (s sets) groups(keep func(i int32) bool) [][]int32 {
	place := make([]int32, len(s))
	var out [][]int32
	for i := range s {
		if !keep(int32(i)) {
			continue
		}
		r := s.root(int32(i))
		if place[r] == 0 {
			out = append(out, nil)
			place[r] = int32(len(out))
		}
		g := &out[place[r]-1]
		*g = append(*g, int32(i))
	}
	return out
}
