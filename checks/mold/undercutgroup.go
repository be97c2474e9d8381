package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// lump is one undercut on the columns: stretches that touch those of the next column.
type lump struct {
	list    []int32 // of shadow.stuck, in their order
	deepest int32
}

// groups joins stuck stretches of neighbouring columns whose heights overlap, and
// returns the groups by falling depth, of equals the larger first.
func (s *shadow) groups() []lump {
	parent := make([]int32, len(s.stuck))
	for i := range parent {
		parent[i] = int32(i)
	}
	root := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	join := func(i, c int32) {
		for k := s.first[c]; k < s.first[c+1]; k++ {
			if t := &s.stuck[k]; t.lo < s.stuck[i].hi && s.stuck[i].lo < t.hi {
				a, b := root(i), root(k)
				parent[max(a, b)] = min(a, b)
			}
		}
	}
	for i := range s.stuck {
		c := s.stuck[i].column
		if int(c)%s.nv > 0 {
			join(int32(i), c-1)
		}
		if int(c) >= s.nv {
			join(int32(i), c-int32(s.nv))
		}
	}
	number := map[int32]int{}
	var out []lump
	for i := range s.stuck {
		r := root(int32(i))
		n, known := number[r]
		if !known {
			n = len(out)
			number[r] = n
			out = append(out, lump{deepest: int32(i)})
		}
		g := &out[n]
		g.list = append(g.list, int32(i))
		if s.stuck[i].depth > s.stuck[g.deepest].depth {
			g.deepest = int32(i)
		}
	}
	slices.SortStableFunc(out, func(a, b lump) int {
		return cmp.Or(cmp.Compare(s.stuck[b.deepest].depth, s.stuck[a.deepest].depth), cmp.Compare(len(b.list), len(a.list)))
	})
	return out
}

// describe measures a group on the columns.
func (s *shadow) describe(g *lump) Undercut {
	h := s.lat.Pitch()
	cell := float64(h * h)
	u := Undercut{Error: h}
	seen := map[int32]bool{}
	owner := s.m.fixed.owner[s.half]
	var du, dv, weight float64
	for _, k := range g.list {
		t := &s.stuck[k]
		u.Volume += cell * float64(float64(t.hi-t.lo)*s.lat.Q)
		du += float64(t.depth * t.du)
		dv += float64(t.depth * t.dv)
		weight += float64(t.depth)
		own := t.facet
		if int(own) >= len(s.m.fixed.halves[s.half].Facets) || !s.m.molds(owner+own) {
			continue
		}
		u.Area += cell / max(s.bodies[0].Normal(own).Dot(s.pull), steepArea)
		if !seen[own] {
			seen[own] = true
			u.Facets = append(u.Facets, own)
		}
	}
	slices.Sort(u.Facets)
	if weight > 0 {
		du, dv = du/weight, dv/weight
		u.Mean = s.flat(du, dv)
	}
	deepest, most := s.typical(g.list, du, dv)
	g.deepest = deepest
	s.put(&u, deepest, most)
	u.Kind = s.kind(g, &u)
	return u
}

// put notes the depth of an undercut, in pitches, and place and way of the deepest
// stretch.
func (s *shadow) put(u *Undercut, deepest int32, depth float32) {
	d := &s.stuck[deepest]
	u.Depth = float64(depth) * s.lat.Pitch()
	u.At = s.point(d.column, d.lo+(d.hi-d.lo)/2)
	u.Side = s.flat(float64(d.du), float64(d.dv))
}

// typical returns the deepest of some stretches, and the depth. Depths are whole steps of a lattice, so
// many are as deep as each other, or half a pitch less: of them the one that moves most
// like the whole undercut (du, dv), then the one nearest to their middle.
func (s *shadow) typical(list []int32, du, dv float64) (best int32, most float32) {
	for _, k := range list {
		most = max(most, s.stuck[k].depth)
	}
	var deep []int32
	var u, v float64
	for _, k := range list {
		if t := &s.stuck[k]; t.depth >= most-0.5 {
			deep = append(deep, k)
			u, v = u+float64(int(t.column)/s.nv), v+float64(int(t.column)%s.nv)
		}
	}
	n := float64(len(deep))
	u, v = u/n, v/n
	best = deep[0]
	like, far := -2.0, 0.0
	for _, k := range deep {
		t := &s.stuck[k]
		l := math.Round(16*(float64(du*float64(t.du))+float64(dv*float64(t.dv)))) / 16 // to what a lattice tells ways apart by
		x, y := float64(int(t.column)/s.nv)-u, float64(int(t.column)%s.nv)-v
		if f := float64(x*x) + float64(y*y); l > like || l == like && f < far {
			best, like, far = k, l, f
		}
	}
	return best, most
}

// steepArea bounds what a sample on a face that leans along the pull stands for: beyond
// 84 deg a column's share of it is chance.
const steepArea = 0.1

// flat returns the CAD direction of one in the lattice's plane.
func (s *shadow) flat(u, v float64) geom.Vec {
	return roundUnit(s.lat.Frame.TurnBack(geom.Vec{X: u, Y: v}))
}

// What tells the kinds apart, by design: a floor is ahead of more than half of the
// part; the ways of one side do not spread over more than a half circle or so (mean
// length 2/pi); a ring reaches over two thirds of the circle.
const (
	floorShare = 0.6
	oneWay     = 0.55
	ringShare  = 0.66
	ringBins   = 72
	leastHole  = 2.0 // pitches
)

// kind tells how a group holds the part, and measures the rim of a ring or core.
func (s *shadow) kind(g *lump, u *Undercut) Lock {
	covered := 0
	for _, t := range s.top {
		if t != uncovered {
			covered++
		}
	}
	own, last := 0, int32(-1)
	var cu, cv float64
	for _, k := range g.list {
		c := s.stuck[k].column
		if c != last {
			own++
			cu += float64(int(c) / s.nv)
			cv += float64(int(c) % s.nv)
		}
		last = c
	}
	if float64(own) > floorShare*float64(covered) {
		return LockFloor
	}
	if s.through(g) {
		return LockThrough
	}
	if u.Mean.Norm() > oneWay {
		return LockSide
	}
	return s.ring(g, cu/float64(own), cv/float64(own), u)
}

// ring tells lips from cores about a middle, and measures their rim: the circle whose
// area is that inside the rim.
func (s *shadow) ring(g *lump, cu, cv float64, u *Undercut) Lock {
	var near, far [ringBins]float64
	outward := 0.0
	for _, k := range g.list {
		t := &s.stuck[k]
		x, y := float64(int(t.column)/s.nv)-cu, float64(int(t.column)%s.nv)-cv
		r := math.Sqrt(float64(x*x) + float64(y*y))
		if r == 0 {
			continue
		}
		outward += (float64(x*float64(t.du)) + float64(y*float64(t.dv))) / r * float64(t.depth)
		b := min(int(math.Floor((math.Round(math.Atan2(y, x)*1e9)/1e9+math.Pi)/(2*math.Pi)*ringBins)), ringBins-1)
		if near[b] == 0 || r < near[b] {
			near[b] = r
		}
		far[b] = max(far[b], r)
	}
	full, inner, outer := 0, 0.0, 0.0
	for b := range near {
		if near[b] > 0 {
			if near[b] < leastHole {
				return LockSide // no hole in it: rubber under an overhang, free all around
			}
			full++
			inner += float64(near[b] * near[b])
			outer += float64(far[b] * far[b])
		}
	}
	if full == 0 || float64(full) < ringShare*ringBins {
		return LockSide
	}
	h := s.lat.Pitch()
	// Rims lie half a pitch beside the columns nearest to them, in the mean.
	if outward > 0 {
		u.Radius = (math.Sqrt(inner/float64(full)) - 0.5) * h
		return LockRing
	}
	u.Radius = (math.Sqrt(outer/float64(full))+0.5)*h - u.Depth // the neck that it leaves by
	return LockCore
}

// through tells whether a group is held at two ends that pull it opposite ways: rubber
// that passes through the part.
func (s *shadow) through(g *lump) bool {
	held := map[int32]int32{} // column to its stretch, of those next to rubber that is free
	for _, k := range g.list {
		if s.beside(&s.stuck[k]) {
			held[s.stuck[k].column] = k
		}
	}
	seen := map[int32]bool{}
	var ends [][2]float64
	for _, k := range g.list {
		c := s.stuck[k].column
		if _, is := held[c]; !is || seen[c] {
			continue
		}
		ends = append(ends, s.end(c, held, seen))
	}
	if len(ends) != 2 {
		return false
	}
	return float64(ends[0][0]*ends[1][0])+float64(ends[0][1]*ends[1][1]) < 0
}

// beside tells whether free rubber of the half touches a stuck stretch in one of the
// next columns.
func (s *shadow) beside(t *stuck) bool {
	u, v := int(t.column)/s.nv, int(t.column)%s.nv
	for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
		if a, b := u+d[0], v+d[1]; a >= 0 && b >= 0 && a < s.nu && b < s.nv {
			c := a*s.nv + b
			for i := s.rubber.Start[c]; i < s.rubber.Start[c+1]; i++ {
				if s.rubber.Lo[i] >= s.top[c] && s.rubber.Lo[i] < t.hi && t.lo < s.rubber.Hi[i] {
					return true
				}
			}
		}
	}
	return false
}

// end walks one end of a group, columns within two of each other, and returns the sum of
// its ways.
func (s *shadow) end(start int32, held map[int32]int32, seen map[int32]bool) (sum [2]float64) {
	stack := []int32{start}
	seen[start] = true
	for len(stack) > 0 {
		c := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		t := &s.stuck[held[c]]
		sum[0] += float64(t.du)
		sum[1] += float64(t.dv)
		u, v := int(c)/s.nv, int(c)%s.nv
		for a := max(u-2, 0); a <= min(u+2, s.nu-1); a++ {
			for b := max(v-2, 0); b <= min(v+2, s.nv-1); b++ {
				d := int32(a*s.nv + b)
				if _, is := held[d]; is && !seen[d] {
					seen[d] = true
					stack = append(stack, d)
				}
			}
		}
	}
	return sum
}
