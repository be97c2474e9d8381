package geom

import (
	"cmp"
	"math"
	"slices"
)

// Shell is a connected piece of a mesh's surface. Facets are connected over
// edges that exactly two of them use; pieces that meet along a crowded edge are
// one shell only where neither of them is closed along it alone.
type Shell struct {
	Facets int
	Closed bool    // no edge is used an odd number of times
	Even   bool    // closed, and as many facets run along each edge one way as the other
	Volume float64 // mm3 by the divergence theorem, negative where facets face inward
	Area   float64 // mm2
	Box    Box
	At     Vec // its least vertex in the order of Vec.Less: a place to name it by

	// Parent is the smallest closed shell around this one, -1 where there is
	// none or the shell is not closed. Around counts the other closed shells
	// around it, outward ones +1, inward ones -1.
	Parent, Around int

	extremes [6]int32 // a facet at the least and greatest x, y and z: see Mesh.extreme
	first    int32    // its first facet
}

// extreme is a corner of a shell, and the middle and the area vector of a facet
// there.
type extreme struct{ corner, middle, normal Vec }

// extreme returns what facet f has in extreme direction k.
func (m *Mesh) extreme(f int32, k int) extreme {
	t := m.Triangle(int(f))
	return extreme{t.extremeCorner(k), t.Centroid(), t.AreaVec()}
}

// extremeCorner returns the corner of facet f farthest in extreme direction k.
func (m *Mesh) extremeCorner(f int32, k int) Vec {
	t := m.Triangle(int(f))
	return t.extremeCorner(k)
}

// Flat reports whether a closed shell encloses no more than coordinates of
// float32 can tell from nothing: each vertex may be off by 2^-24 of its size.
func (s *Shell) Flat() bool {
	far := s.Box.Min.abs().Max(s.Box.Max.abs())
	return math.Abs(s.Volume) <= s.Area*max(far.X, far.Y, far.Z)/(1<<24)
}

// Inward reports whether the shell's facets face the side they enclose.
func (s *Shell) Inward() bool { return s.Volume < 0 && !s.Flat() }

func (a Vec) abs() Vec { return Vec{math.Abs(a.X), math.Abs(a.Y), math.Abs(a.Z)} }

// forest joins facets into pieces (union-find with path halving; Tarjan & van
// Leeuwen 1984). The least facet of a piece is its root.
type forest []int32

func newForest(n int) forest {
	p := make(forest, n)
	for i := range p {
		p[i] = int32(i)
	}
	return p
}

func (p forest) root(f int32) int32 {
	for p[f] != f {
		p[f] = p[p[f]]
		f = p[f]
	}
	return f
}

func (p forest) join(a, b int32) {
	a, b = p.root(a), p.root(b)
	p[max(a, b)] = min(a, b)
}

// joinCrowded joins, at every crowded edge, the pieces that do not run along it
// as often one way as the other. Two cubes that touch along an edge stay two;
// three facets at one edge become one. All edges are judged before any is
// joined, so their order does not matter.
func (p forest) joinCrowded(crowded []edgeUse) {
	var pairs [][2]int32
	for rest := crowded; len(rest) > 0; {
		n := 0
		for rest[n].half >= 0 {
			n++
		}
		uses := rest[:n]
		rest = rest[n+1:]
		odd := int32(-1)
		for i, root := range p.pieceBalance(uses) {
			if root < 0 {
				continue
			}
			if odd >= 0 {
				pairs = append(pairs, [2]int32{odd, uses[i].half / 3})
			}
			odd = uses[i].half / 3
		}
	}
	for _, q := range pairs {
		p.join(q[0], q[1])
	}
}

// pieceBalance returns, for each half-edge on one edge, the root of its piece,
// or -1 where that piece runs along the edge as often one way as the other.
func (p forest) pieceBalance(uses []edgeUse) []int32 {
	type part struct{ root, balance int32 }
	sorted := make([]part, len(uses))
	for i, u := range uses {
		sorted[i] = part{p.root(u.half / 3), 1}
		if u.falls() {
			sorted[i].balance = -1
		}
	}
	roots := make([]int32, len(uses))
	for i := range sorted {
		roots[i] = sorted[i].root
	}
	slices.SortFunc(sorted, func(a, b part) int { return cmp.Compare(a.root, b.root) })
	sums := sorted[:0]
	for _, q := range sorted {
		if n := len(sums); n > 0 && sums[n-1].root == q.root {
			sums[n-1].balance += q.balance
			continue
		}
		sums = append(sums, q)
	}
	for i, r := range roots {
		k, _ := slices.BinarySearchFunc(sums, r, func(q part, r int32) int { return cmp.Compare(q.root, r) })
		if sums[k].balance == 0 {
			roots[i] = -1
		}
	}
	return roots
}

// shellSums gathers the integrals of a shell over its facets, about one point for
// the whole mesh.
type shellSums struct{ volume, area Sum }

func (s *shellSums) add(t *Triangle, n, center Vec) {
	s.area.Add(n.Norm())
	s.volume.Add(t.A.Sub(center).Dot(n))
}

// areaVectors returns the sums of the area vectors of those shells whose box lies
// elsewhere than about center, nil for none.
func (d *Defects) areaVectors(m *Mesh, center Vec) []Vec {
	aside := false
	for i := range d.Shells {
		aside = aside || d.Shells[i].Box.Center() != center
	}
	if !aside {
		return nil
	}
	sums, out := make([][3]Sum, len(d.Shells)), make([]Vec, len(d.Shells))
	for f, s := range d.ShellOf {
		n := m.Triangle(f).AreaVec()
		sums[s][0].Add(n.X)
		sums[s][1].Add(n.Y)
		sums[s][2].Add(n.Z)
	}
	for i := range sums {
		out[i] = Vec{sums[i][0].Value(), sums[i][1].Value(), sums[i][2].Value()}
	}
	return out
}

// makeShells measures each piece in one pass over the facets and puts them in
// order of volume.
func (d *Defects) makeShells(m *Mesh, odd *oddEdges) {
	d.ShellOf = make([]int32, len(m.Facets))
	shells := 0
	for f := range m.Facets {
		if odd.parts[f] == int32(f) {
			shells++
		}
	}
	d.Shells = make([]Shell, 0, shells)
	sums := make([]shellSums, 0, shells)
	center := m.Box().Center()
	var corners [6]Vec // of the extremes of the shell met last
	last := int32(-1)
	for f := range d.ShellOf {
		if r := odd.parts.root(int32(f)); int(r) == f {
			d.ShellOf[f] = int32(len(d.Shells))
			d.Shells, sums = append(d.Shells, newShell(f)), append(sums, shellSums{})
		} else {
			d.ShellOf[f] = d.ShellOf[r] // the root is the least facet: seen before
		}
		t, s := m.Triangle(f), d.ShellOf[f]
		n := t.AreaVec()
		if t.degenerate(n) {
			d.inspectFacet(m, f, t)
		}
		shell := &d.Shells[s]
		if s != last && shell.Facets > 0 {
			for k, e := range shell.extremes {
				corners[k] = m.extremeCorner(e, k)
			}
		}
		last = s
		shell.include(m, int32(f), &t, &corners)
		sums[s].add(&t, n, center)
	}
	vectors := d.areaVectors(m, center)
	for i := range d.Shells {
		s, q := &d.Shells[i], &sums[i]
		s.At = m.extremeCorner(s.extremes[0], 0)
		// The volume about the middle of the shell's own box, which matters where
		// the shell is open: moving the point by e takes off a third of e times the
		// area vector.
		moved := 0.0
		if vectors != nil {
			moved = s.Box.Center().Sub(center).Dot(vectors[i])
		}
		s.Volume = (q.volume.Value() - moved) / 3
		s.Area = q.area.Value()
	}
	d.judgeEdges(odd)
	d.orderShells()
}

func newShell(f int) Shell {
	return Shell{Closed: true, Even: true, Box: EmptyBox(), Parent: -1, first: int32(f)}
}

// include counts in facet f of a mesh, which is t. corners are those of the shell's
// extremes so far.
func (s *Shell) include(m *Mesh, f int32, t *Triangle, corners *[6]Vec) {
	if s.Facets++; s.Facets == 1 {
		s.Box = t.Box()
		for k := range corners {
			s.extremes[k], corners[k] = f, t.extremeCorner(k)
		}
		return
	}
	if s.Box.surrounds(&t.A) && s.Box.surrounds(&t.B) && s.Box.surrounds(&t.C) {
		return
	}
	for k := range corners {
		at := corners[k]
		if !t.reaches(k, at.axis(k/2)) {
			continue
		}
		switch v := t.extremeCorner(k); {
		case beyond(k, v, at):
			s.extremes[k], corners[k] = f, v
			s.Box = s.Box.Include(v)
		case v != at:
		default:
			known := m.Triangle(int(s.extremes[k]))
			if known.AreaVec() == (Vec{}) || t.AreaVec() != (Vec{}) && t.Centroid().Less(known.Centroid()) { // a facet without area has no inner side
				s.extremes[k] = f
			}
		}
	}
}

// reaches reports whether the triangle goes as far as x or farther in extreme direction k.
func (t *Triangle) reaches(k int, x float64) bool {
	a, b, c := t.A.axis(k/2), t.B.axis(k/2), t.C.axis(k/2)
	if k&1 == 0 {
		return a <= x || b <= x || c <= x
	}
	return a >= x || b >= x || c >= x
}

// surrounds reports whether p lies inside b and not in its faces.
func (b *Box) surrounds(p *Vec) bool {
	return b.Min.X < p.X && p.X < b.Max.X && b.Min.Y < p.Y && p.Y < b.Max.Y && b.Min.Z < p.Z && p.Z < b.Max.Z
}

// beyond reports whether a lies farther than b in extreme direction k: 0 and 1 are
// the least and greatest x, then y, then z. Ties go to the lesser point.
func beyond(k int, a, b Vec) bool {
	p, q := a.axis(k/2), b.axis(k/2)
	if p == q {
		return a.Less(b)
	}
	return (p < q) == (k&1 == 0)
}

// extremeCorner returns the corner farthest in extreme direction k.
func (t *Triangle) extremeCorner(k int) Vec {
	v := t.A
	if beyond(k, t.B, v) {
		v = t.B
	}
	if beyond(k, t.C, v) {
		v = t.C
	}
	return v
}

// axis returns coordinate k: 0 is X, 1 is Y, 2 is Z.
func (a Vec) axis(k int) float64 {
	switch k {
	case 0:
		return a.X
	case 1:
		return a.Y
	}
	return a.Z
}

// judgeEdges finds the shells that are not closed or not evenly wound.
func (d *Defects) judgeEdges(odd *oddEdges) {
	for _, h := range odd.open {
		s := &d.Shells[d.ShellOf[h/3]]
		s.Closed, s.Even = false, false
	}
	for _, h := range odd.opposed {
		d.Shells[d.ShellOf[h/3]].Even = false
	}
	uses := make([]int32, 0, 8)
	for _, u := range odd.crowded {
		if u.half >= 0 {
			uses = append(uses, d.ShellOf[u.half/3]<<1|int32(u.key&1)) // shell, and direction in the lowest bit
			continue
		}
		slices.Sort(uses)
		d.judgeCrowded(uses)
		uses = uses[:0]
	}
}

// judgeCrowded takes the uses of one crowded edge, sorted by shell and direction.
func (d *Defects) judgeCrowded(uses []int32) {
	for len(uses) > 0 {
		n, down := 0, 0
		for n < len(uses) && uses[n]>>1 == uses[0]>>1 {
			down += int(uses[n] & 1)
			n++
		}
		s := &d.Shells[uses[0]>>1]
		s.Closed = s.Closed && n%2 == 0
		s.Even = s.Even && n == 2*down
		uses = uses[n:]
	}
}

// orderShells sorts by falling size of volume, then by place.
func (d *Defects) orderShells() {
	order := make([]int32, len(d.Shells))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		a, b := &d.Shells[i], &d.Shells[j]
		return cmp.Or(cmp.Compare(math.Abs(b.Volume), math.Abs(a.Volume)), cmp.Compare(b.Area, a.Area),
			compareVec(a.At, b.At), cmp.Compare(b.Facets, a.Facets), cmp.Compare(i, j))
	})
	rank := make([]int32, len(order))
	for r, i := range order {
		rank[i] = int32(r)
	}
	for i := range order { // in place, one cycle after the other
		held, at := d.Shells[i], int32(i)
		for order[at] != int32(i) {
			next := order[at]
			d.Shells[at], order[at], at = d.Shells[next], at, next
		}
		d.Shells[at], order[at] = held, at
	}
	for f, s := range d.ShellOf {
		d.ShellOf[f] = rank[s]
	}
}

// SolidVolume returns the volume of all space with a winding count of at least 1,
// in mm3, for closed shells that do not cross each other: a shell counts as far
// as the count rises to 1 or falls from it where one passes the shell inward.
func (d *Defects) SolidVolume() float64 {
	sum := 0.0
	for i := range d.Shells {
		s := &d.Shells[i]
		inside := s.Around + 1
		if s.Volume < 0 {
			inside = s.Around - 1
		}
		if s.Closed && (inside >= 1) != (s.Around >= 1) {
			sum += s.Volume
		}
	}
	return sum
}
