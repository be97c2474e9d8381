package geom

import (
	"cmp"
	"slices"
)

// Places counts defects of one kind and keeps the coordinates of the first few.
type Places struct {
	Count int
	At    []Vec // at most eight, in the order of Vec.Less, so facet order does not matter
}

// maxPlaces is how many coordinates a Places keeps: enough to find the spot, few
// enough to print.
const maxPlaces = 8

// Add counts one at a place.
func (p *Places) Add(v Vec) {
	p.Count++
	p.keep(v)
}

// Merge counts in what another holds.
func (p *Places) Merge(q *Places) {
	p.Count += q.Count
	for _, v := range q.At {
		p.keep(v)
	}
}

func (p *Places) keep(v Vec) {
	if len(p.At) == maxPlaces && !v.Less(p.At[maxPlaces-1]) {
		return
	}
	i, _ := slices.BinarySearchFunc(p.At, v, compareVec)
	p.At = slices.Insert(p.At, i, v)
	if len(p.At) > maxPlaces {
		p.At = p.At[:maxPlaces]
	}
}

func compareVec(a, b Vec) int {
	if a.Less(b) {
		return -1
	}
	if b.Less(a) {
		return 1
	}
	return 0
}

// Defects is what Inspect finds in a mesh.
type Defects struct {
	Open       Places // edges used by one facet; at the edge's middle
	Crowded    Places // edges used by more than two facets
	Opposed    Places // edges used by two facets that run along it in the same direction
	Duplicate  Places // facets that repeat an earlier one, corner for corner; at the centroid
	Repeated   Places // facets that name a vertex twice
	Degenerate Places // facets of no area with three different vertices
	Unused     Places // vertices that no facet names

	Shells  []Shell // largest volume first
	ShellOf []int32 // the shell of each facet

	// NestingUnknown says that too many shells overlap to tell in bounded time
	// which lies inside which; Shell.Parent is then -1 throughout.
	NestingUnknown bool

	mates     []int32
	duplicate []int32 // facets that repeat an earlier one, rising
}

// Closed reports whether every shell is closed and there is at least one.
func (d *Defects) Closed() bool {
	for i := range d.Shells {
		if !d.Shells[i].Closed {
			return false
		}
	}
	return len(d.Shells) > 0
}

// Mates are those of the mesh that was inspected, as Mesh.Mates gives them. They must
// not be changed.
func (d *Defects) Mates() []int32 { return d.mates }

// Inspect finds what is wrong with a mesh and takes it apart into shells. The
// mesh is not changed. Near O(F); about 80 bytes a facet while at work.
func Inspect(m *Mesh) *Defects {
	d := &Defects{mates: make([]int32, 3*len(m.Facets))}
	for i := range d.mates {
		d.mates[i] = Open
	}
	d.inspectVertices(m)
	e := d.inspectEdges(m)
	d.makeShells(m, e)
	d.nest(m)
	return d
}

// inspectVertices finds vertices without facet.
func (d *Defects) inspectVertices(m *Mesh) {
	used := make([]bool, len(m.Vertices))
	for _, t := range m.Facets {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	for v, u := range used {
		if !u {
			d.Unused.Add(m.Vertices[v])
		}
	}
}

// inspectFacet notes a facet without area.
func (d *Defects) inspectFacet(m *Mesh, f int, t Triangle) {
	if c := m.Facets[f]; c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
		d.Repeated.Add(t.Centroid())
	} else {
		d.Degenerate.Add(t.Centroid())
	}
}

// Degenerate reports whether the area cannot be told from zero in float64. The
// components of the cross product of b and c are differences of two products:
// each side difference, product and the last difference is rounded by at most
// 2^-53 of itself, so together by less than 8 * 2^-53 |b| |c|.
func (t Triangle) Degenerate() bool { return t.degenerate(t.AreaVec()) }

// degenerate is Degenerate by the area vector, half the product.
func (t *Triangle) degenerate(n Vec) bool {
	const bound = 8.0 / (1 << 53)
	return 4*n.Norm2() <= float64(t.B.Sub(t.A).Norm2()*t.C.Sub(t.A).Norm2())*(bound*bound)
}

// oddEdges is what inspectEdges hands on to makeShells.
type oddEdges struct {
	parts   forest    // facets joined over edges that two of them use
	open    []int32   // half-edges without a mate
	opposed []int32   // one half-edge of each pair that runs the same way
	crowded []edgeUse // half-edges on one edge, each run of them ended by half = -1
}

// inspectEdges walks all edges once: mates, open, opposed and crowded edges, and
// the facets that may be duplicates.
func (d *Defects) inspectEdges(m *Mesh) *oddEdges {
	list := newEdgeList(m)
	odd := &oddEdges{parts: newForest(len(m.Facets))}
	var twins []uint8 // per facet: half-edges that another facet runs along in the same direction
	visit := func(uses []edgeUse) {
		setMates(d.mates, uses)
		switch {
		case len(uses) == 1:
			d.Open.Add(m.edgeMiddle(uses[0].half))
			odd.open = append(odd.open, uses[0].half)
		case len(uses) > 2:
			d.Crowded.Add(m.edgeMiddle(uses[0].half))
			twins = m.markTwins(uses, twins)
			odd.crowded = append(append(odd.crowded, uses...), edgeUse{half: -1})
		default:
			odd.parts.join(uses[0].half/3, uses[1].half/3)
			if uses[0].key == uses[1].key {
				d.Opposed.Add(m.edgeMiddle(uses[0].half))
				odd.opposed = append(odd.opposed, uses[0].half)
				twins = m.markTwins(uses, twins)
			}
		}
	}
	for v := range m.Vertices {
		list.eachEdge(v, visit)
	}
	odd.parts.joinCrowded(odd.crowded)
	d.findDuplicates(m, twins)
	return odd
}

// sameWay reports whether two half-edges on one edge run in the same direction.
func (m *Mesh) sameWay(g, h int32) bool { return m.from(g) == m.from(h) }

// from returns the vertex at which a half-edge starts.
func (m *Mesh) from(h int32) int32 { return m.Facets[h/3][h%3] }

func (m *Mesh) edgeMiddle(h int32) Vec {
	t := &m.Facets[h/3]
	return m.Vertices[t[h%3]].Lerp(m.Vertices[t[next3(int(h%3))]], 0.5)
}

// markTwins counts, for the facets of one edge, the half-edges that another
// facet runs along in the same direction. The counts are made at the first need:
// a clean mesh has none.
func (m *Mesh) markTwins(uses []edgeUse, twins []uint8) []uint8 {
	if twins == nil {
		twins = make([]uint8, len(m.Facets))
	}
	falling := 0
	for _, u := range uses {
		falling += int(u.key & 1)
	}
	for _, u := range uses {
		if u.falls() && falling > 1 || !u.falls() && len(uses)-falling > 1 {
			twins[u.half/3]++
		}
	}
	return twins
}

// findDuplicates sorts the facets that share all three half-edges with others
// and finds the equal ones: an exact repeat shares all three with its original.
func (d *Defects) findDuplicates(m *Mesh, twins []uint8) {
	type candidate struct {
		corners [3]int32 // rotated to begin with the least, which keeps the winding
		facet   int32
	}
	var c []candidate
	for f, n := range twins {
		if n == 3 {
			c = append(c, candidate{rotateToLeast(m.Facets[f]), int32(f)})
		}
	}
	slices.SortFunc(c, func(a, b candidate) int {
		return cmp.Or(slices.Compare(a.corners[:], b.corners[:]), cmp.Compare(a.facet, b.facet))
	})
	for i := 1; i < len(c); i++ {
		if c[i].corners == c[i-1].corners {
			d.duplicate = append(d.duplicate, c[i].facet)
			d.Duplicate.Add(m.Triangle(int(c[i].facet)).Centroid())
		}
	}
	slices.Sort(d.duplicate)
}

func rotateToLeast(t [3]int32) [3]int32 {
	switch {
	case t[1] < t[0] && t[1] < t[2]:
		return [3]int32{t[1], t[2], t[0]}
	case t[2] < t[0] && t[2] < t[1]:
		return [3]int32{t[2], t[0], t[1]}
	}
	return t
}
