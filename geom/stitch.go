package geom

import (
	"cmp"
	"math"
	"slices"
)

// spareDuplicates returns the duplicate facets that close nothing: those that may
// be dropped. A shell that lies on another, cut into triangles in part like it, needs
// the facets they have in common twice. Duplicates that hang together are kept where
// without them more edges would be run along more often one way than the other.
func (d *Defects) spareDuplicates(m *Mesh) (spare []int32, kept Places) {
	if len(d.duplicate) == 0 {
		return nil, kept
	}
	type use struct {
		edge      [2]int32
		way       int // +1 from the lower vertex to the higher
		duplicate int32
	}
	list := make([]use, 0, 3*len(d.duplicate))
	usesOf := func(f int, duplicate int32) {
		for k, a := range m.Facets[f] {
			if b := m.Facets[f][next3(k)]; a < b {
				list = append(list, use{[2]int32{a, b}, 1, duplicate})
			} else {
				list = append(list, use{[2]int32{b, a}, -1, duplicate})
			}
		}
	}
	touched := map[int32]bool{} // asked by vertex only
	for i, f := range d.duplicate {
		usesOf(int(f), int32(i))
		for _, v := range m.Facets[f] {
			touched[v] = true
		}
	}
	for f, i := 0, 0; f < len(m.Facets); f++ {
		if i < len(d.duplicate) && int(d.duplicate[i]) == f {
			i++
			continue
		}
		if c := m.Facets[f]; touched[c[0]] && touched[c[1]] || touched[c[1]] && touched[c[2]] || touched[c[2]] && touched[c[0]] {
			usesOf(f, -1)
		}
	}
	slices.SortFunc(list, func(a, b use) int {
		return cmp.Or(slices.Compare(a.edge[:], b.edge[:]), cmp.Compare(a.duplicate, b.duplicate))
	})
	groups, worse := newForest(len(d.duplicate)), make([]int, len(d.duplicate))
	for len(list) > 0 {
		n, all, twice, first := 0, 0, 0, int32(-1)
		for n < len(list) && list[n].edge == list[0].edge {
			u := list[n]
			all += u.way
			if u.duplicate >= 0 {
				twice += u.way
				if first >= 0 {
					groups.join(first, u.duplicate)
				}
				first = u.duplicate
			}
			n++
		}
		if first >= 0 {
			worse[first] += max(all-twice, twice-all) - max(all, -all)
		}
		list = list[n:]
	}
	sum := make([]int, len(d.duplicate))
	for i, w := range worse {
		sum[groups.root(int32(i))] += w
	}
	for i, f := range d.duplicate {
		if sum[groups.root(int32(i))] <= 0 {
			spare = append(spare, f)
		} else {
			kept.Add(m.Triangle(int(f)).Centroid())
		}
	}
	return spare, kept
}

// stitch joins corners of open edges that lie within seamWidth of each other: a gap
// that narrow changes no figure that is told, and files have them where a program
// computed one corner in two ways. Corners of closed surfaces are left alone.
func (r *Mended) stitch() {
	d, m := r.Defects, r.Mesh
	if d.Open.Count == 0 {
		return
	}
	open := make([]bool, len(m.Vertices))
	for h, mate := range d.mates {
		if mate == Open {
			open[m.from(int32(h))], open[m.to(int32(h))] = true, true
		}
	}
	var corners []int32
	for v, is := range open {
		if is {
			corners = append(corners, int32(v))
		}
	}
	to, joined := joinNear(m, corners)
	if joined.Count == 0 {
		return
	}
	out := &Mesh{Vertices: m.Vertices, Facets: make([][3]int32, 0, len(m.Facets))}
	for _, t := range m.Facets {
		for k, v := range t {
			if open[v] {
				t[k] = to[v]
			}
		}
		if !repeatsCorner(t) {
			out.Facets = append(out.Facets, t)
		}
	}
	r.repair(out, Repair{RepairStitched, joined.Count, joined.At[0], 0,
		count(joined.Count, "corner of an open edge", "corners of open edges") + " within 0.001 mm of another joined to it"})
}

// joinNear returns for each of some vertices the first, in the order of Vec.Less,
// within seamWidth of it to which others are joined, by vertex; the list is sorted.
// Those lie in cells, found by hash: 20 bytes a vertex.
func joinNear(m *Mesh, list []int32) (to []int32, joined Places) {
	slices.SortFunc(list, func(a, b int32) int { return compareVec(m.Vertices[a], m.Vertices[b]) })
	to = make([]int32, len(m.Vertices))
	grid := newCellTable(len(list))
	for i, v := range list {
		p := m.Vertices[v]
		to[v] = v
		if u := grid.first(p, func(k int32) bool { return m.Vertices[list[k]].Sub(p).Norm2() <= seamWidth*seamWidth }); u >= 0 {
			to[v] = list[u]
			joined.Add(p)
		}
		if to[v] == v {
			grid.add(cellAt(p), int32(i))
		}
	}
	return to, joined
}

// cell is a cube of eight seamWidths: most places have all that is near in one.
type cell [3]int64

func cellAt(v Vec) cell {
	const side = 8 * seamWidth
	return cell{int64(math.Floor(v.X / side)), int64(math.Floor(v.Y / side)), int64(math.Floor(v.Z / side))}
}

// cellTable holds numbers by cell. Cells of one hash share a chain: what is asked of
// a number must tell them apart.
type cellTable struct {
	head, next []int32 // number + 1; 0 = none. The latest comes first
	shift      uint
}

func newCellTable(n int) *cellTable {
	bits := uint(8)
	for 1<<bits < n {
		bits++
	}
	return &cellTable{make([]int32, 1<<bits), make([]int32, n), 64 - bits}
}

// slot is a Fibonacci hash, as hash64 makes.
func (t *cellTable) slot(c cell) *int32 {
	h := uint64(c[0])*0x9E3779B97F4A7C15 ^ uint64(c[1])*0xC2B2AE3D27D4EB4F ^ uint64(c[2])*0x165667B19E3779F9
	h ^= h >> 32
	return &t.head[h*0x9E3779B97F4A7C15>>t.shift]
}

func (t *cellTable) add(c cell, i int32) {
	s := t.slot(c)
	t.next[i], *s = *s, i+1
}

// first returns the number that came first of those near enough to p, or -1.
func (t *cellTable) first(p Vec, near func(i int32) bool) int32 {
	w := Vec{seamWidth, seamWidth, seamWidth}
	lo, hi := cellAt(p.Sub(w)), cellAt(p.Add(w))
	found := int32(-1)
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for z := lo[2]; z <= hi[2]; z++ {
				for k := *t.slot(cell{x, y, z}); k > 0; k = t.next[k-1] {
					if (found < 0 || k-1 < found) && near(k-1) {
						found = k - 1
					}
				}
			}
		}
	}
	return found
}
