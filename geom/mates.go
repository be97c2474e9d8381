package geom

import (
	"cmp"
	"slices"
)

// What Mates says of a half-edge that has no single mate.
const (
	Open    int32 = -1 // no other facet uses the edge
	Crowded int32 = -2 // more than two facets use the edge
)

// Mates returns for every half-edge the other half-edge on the same edge, or
// Open, or Crowded. Half-edge 3f+k runs from corner k of facet f to its next
// corner. In a consistent mesh a mate runs the other way; where it does not,
// one of the two facets is turned around. A half-edge from a vertex to itself is
// Open.
//
// Bucket sort by the lower vertex, then by the upper one inside each bucket:
// O(F log d) for vertices with at most d edges; 40 bytes a facet while at work,
// 12 of them returned.
func (m *Mesh) Mates() []int32 {
	mates := make([]int32, 3*len(m.Facets))
	e := newEdgeList(m)
	for v := range m.Vertices {
		e.eachEdge(v, func(uses []edgeUse) { setMates(mates, uses) })
	}
	for f, t := range m.Facets {
		for k := range t {
			if t[k] == t[next3(k)] {
				mates[3*f+k] = Open
			}
		}
	}
	return mates
}

// setMates writes what Mates says of the half-edges on one edge.
func setMates(mates []int32, uses []edgeUse) {
	switch len(uses) {
	case 1:
		mates[uses[0].half] = Open
	case 2:
		mates[uses[0].half], mates[uses[1].half] = uses[1].half, uses[0].half
	default:
		for _, u := range uses {
			mates[u.half] = Crowded
		}
	}
}

// edgeUse is one half-edge in the bucket of its lower vertex.
type edgeUse struct {
	key  uint32 // the edge's higher vertex index, twice; plus 1 if the half-edge falls to the lower
	half int32
}

// upper returns the edge's higher vertex index, twice.
func (u edgeUse) upper() uint32 { return u.key &^ 1 }

// falls reports whether the half-edge runs from the higher to the lower vertex.
func (u edgeUse) falls() bool { return u.key&1 != 0 }

// edgeList holds all half-edges, bucketed by their lower vertex; half-edges from
// a vertex to itself are left out.
type edgeList struct {
	first []int32 // bucket v is uses[first[v]:first[v+1]]
	uses  []edgeUse
}

func newEdgeList(m *Mesh) *edgeList {
	// While filling, first is shifted by one: first[v+1] walks from the start of
	// bucket v to its end, which is the start of bucket v+1.
	first := make([]int32, len(m.Vertices)+2)
	total := 0
	for _, t := range m.Facets {
		for k, a := range t {
			if b := t[next3(k)]; a != b {
				first[min(a, b)+2]++
				total++
			}
		}
	}
	for v := 2; v < len(first); v++ {
		first[v] += first[v-1]
	}
	uses := make([]edgeUse, total)
	for f, t := range m.Facets {
		for k, a := range t {
			if b := t[next3(k)]; a != b {
				u := edgeUse{key: uint32(b) << 1, half: int32(3*f + k)}
				if a > b {
					a, u.key = b, uint32(a)<<1|1
				}
				slot := &first[a+1]
				uses[*slot] = u
				*slot++
			}
		}
	}
	return &edgeList{first: first, uses: uses}
}

// eachEdge calls visit once for every edge whose lower vertex is v, in the order
// of the upper vertex, with the half-edges that rise to it first.
func (e *edgeList) eachEdge(v int, visit func([]edgeUse)) {
	bucket := e.uses[e.first[v]:e.first[v+1]]
	sortUses(bucket)
	for len(bucket) > 0 {
		n := 1
		for n < len(bucket) && bucket[n].upper() == bucket[0].upper() {
			n++
		}
		visit(bucket[:n])
		bucket = bucket[n:]
	}
}

// sortUses sorts by upper vertex and direction and keeps the order of equals. Most
// buckets hold about six half-edges, where insertion is quickest; the hub of a fan
// may hold any number.
func sortUses(b []edgeUse) {
	if len(b) > 32 {
		slices.SortStableFunc(b, func(x, y edgeUse) int { return cmp.Compare(x.key, y.key) })
		return
	}
	for i := 1; i < len(b); i++ {
		u, j := b[i], i
		for j > 0 && b[j-1].key > u.key {
			b[j] = b[j-1]
			j--
		}
		b[j] = u
	}
}

// next3 is (k+1) mod 3 for k in 0..2, without a division.
func next3(k int) int {
	if k == 2 {
		return 0
	}
	return k + 1
}
