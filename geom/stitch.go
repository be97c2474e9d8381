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
		if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
			out.Facets = append(out.Facets, t)
		}
	}
	r.repair(out, Repair{RepairStitched, joined.Count, joined.At[0], 0,
		count(joined.Count, "corner of an open edge", "corners of open edges") + " within 0.001 mm of another joined to it"})
}

// joinNear maps each of some vertices to the first, in the order of Vec.Less, within
// seamWidth of it.
func joinNear(m *Mesh, list []int32) (to map[int32]int32, joined Places) {
	slices.SortFunc(list, func(a, b int32) int { return compareVec(m.Vertices[a], m.Vertices[b]) })
	to = make(map[int32]int32, len(list)) // asked by vertex only
	type cell [3]int64
	of := func(v Vec) cell {
		return cell{int64(math.Floor(v.X / seamWidth)), int64(math.Floor(v.Y / seamWidth)), int64(math.Floor(v.Z / seamWidth))}
	}
	first := make(map[cell][]int32, len(list)) // those that others are joined to, asked by cell only
	for _, v := range list {
		p := m.Vertices[v]
		c := of(p)
		to[v] = v
	near:
		for i := range int64(27) {
			for _, u := range first[cell{c[0] + i%3 - 1, c[1] + i/3%3 - 1, c[2] + i/9 - 1}] {
				if m.Vertices[u].Sub(p).Norm2() <= seamWidth*seamWidth {
					to[v] = u
					joined.Add(p)
					break near
				}
			}
		}
		if to[v] == v {
			first[c] = append(first[c], v)
		}
	}
	return to, joined
}
