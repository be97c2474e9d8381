package geom

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Hole is a loop of open edges.
type Hole struct {
	Edges  int
	At     Vec     // middle of its bounds
	Width  float64 // diagonal of its bounds, mm
	Area   float64 // of the flattest patch over it, mm2; 0 where none was sought
	Closed bool    // by that patch
}

// Seam reports whether the loop opens nothing: its edges run along each other, as
// where a corner lies on another facet's edge.
func (h *Hole) Seam() bool { return h.Closed && h.Area <= seamWidth*h.Width }

const (
	// holeShare is the largest hole that is closed, in parts of its shell's area:
	// above it the patch would be a guess about the shape, not about its surface.
	holeShare = 0.1
	// seamWidth is how far apart the edges of a seam may lie on average, mm: below
	// it a gap changes no figure that is told, areas to 0.01 mm2 and lengths to
	// 0.01 mm.
	seamWidth = 1e-3
	// maxLoop bounds the edges of a hole that is closed, for the patch takes their
	// number cubed; patchBudget bounds the sum of these cubes, a second's work.
	maxLoop     = 512
	patchBudget = 1 << 30
	// maxHoles bounds the list of holes.
	maxHoles = 64
	// maxFork bounds how many holes may meet at a vertex, for all pairs of their
	// edges are compared.
	maxFork = 16
)

// loop is a closed chain of vertices, in the order in which a patch's edges run.
type loop struct {
	corners []int32
	area    float64 // of the smallest shell that it borders
	hole    Hole
}

// findLoops gathers the open edges of a mesh into loops, smallest first. Edges that
// belong to none are left out: where neighbours face opposite sides, or where so
// many holes meet that it cannot be told which edges belong together.
func (d *Defects) findLoops(m *Mesh) []loop {
	var open []int32
	for h, mate := range d.mates {
		if mate == Open && m.from(int32(h)) != m.to(int32(h)) {
			open = append(open, int32(h))
		}
	}
	next := pairOpen(m, open)
	var out []loop
	for i := range open {
		var chain []int32
		k := int32(i)
		for ; next[k] >= 0; k, next[k] = next[k], -1 {
			chain = append(chain, k)
		}
		if len(chain) > 2 && k == int32(i) {
			out = append(out, d.loopOf(m, open, chain))
		}
	}
	slices.SortFunc(out, func(a, b loop) int {
		return cmp.Or(cmp.Compare(len(a.corners), len(b.corners)), cmp.Compare(a.hole.Width, b.hole.Width), compareVec(a.hole.At, b.hole.At))
	})
	return out
}

// to returns the vertex at which a half-edge ends.
func (m *Mesh) to(h int32) int32 { return m.Facets[h/3][next3(int(h%3))] }

// pairOpen returns, for each open half-edge, the place in the list of the one that
// ends where it starts: a patch runs along both against their sense, one after the
// other. Where several holes meet, edges that lie closest together are one hole's.
// It is -1 where there is none.
func pairOpen(m *Mesh, open []int32) []int32 {
	out, in := make([]int32, len(open)), make([]int32, len(open)) // places in the list, by vertex
	next := make([]int32, len(open))
	for i := range open {
		out[i], in[i], next[i] = int32(i), int32(i), -1
	}
	from := func(i int32) int32 { return m.from(open[i]) }
	to := func(i int32) int32 { return m.to(open[i]) }
	slices.SortStableFunc(out, func(a, b int32) int { return cmp.Compare(from(a), from(b)) })
	slices.SortStableFunc(in, func(a, b int32) int { return cmp.Compare(to(a), to(b)) })
	for len(out) > 0 && len(in) > 0 {
		v := min(from(out[0]), to(in[0]))
		a, b := 0, 0
		for a < len(out) && from(out[a]) == v {
			a++
		}
		for b < len(in) && to(in[b]) == v {
			b++
		}
		switch {
		case a != b || a > maxFork:
		case a == 1:
			next[out[0]] = in[0]
		default:
			pairClosest(m, open, out[:a], in[:a], next)
		}
		out, in = out[a:], in[b:]
	}
	return next
}

// pairClosest pairs the open half-edges at one vertex by the angle between them,
// the least first.
func pairClosest(m *Mesh, open, out, in, next []int32) {
	type pair struct {
		cosine float64
		o, i   int32
		p, q   Vec // the far ends, for ties
	}
	var pairs []pair
	for _, o := range out {
		for _, i := range in {
			v, p, q := m.Vertices[m.from(open[o])], m.Vertices[m.to(open[o])], m.Vertices[m.from(open[i])]
			pairs = append(pairs, pair{p.Sub(v).Unit().Dot(q.Sub(v).Unit()), o, i, p, q})
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int {
		return cmp.Or(cmp.Compare(b.cosine, a.cosine), compareVec(a.p, b.p), compareVec(a.q, b.q))
	})
	var used []int32
	for _, p := range pairs {
		if next[p.o] < 0 && !slices.Contains(used, p.i) {
			next[p.o], used = p.i, append(used, p.i)
		}
	}
}

// loopOf makes a loop of a chain of open half-edges, beginning at its least vertex.
func (d *Defects) loopOf(m *Mesh, open, chain []int32) loop {
	l := loop{area: math.Inf(1), hole: Hole{Edges: len(chain)}}
	b, first := EmptyBox(), 0
	for i, k := range chain {
		v := m.to(open[k])
		l.corners = append(l.corners, v)
		b = b.Include(m.Vertices[v])
		l.area = min(l.area, d.Shells[d.ShellOf[open[k]/3]].Area)
		if m.Vertices[v].Less(m.Vertices[l.corners[first]]) {
			first = i
		}
	}
	l.corners = slices.Concat(l.corners[first:], l.corners[:first])
	l.hole.At, l.hole.Width = b.Center(), b.Diagonal()
	return l
}

// patch returns the facets of least area over a loop, and that area: over a flat
// loop the loop itself cut into triangles. (Barequet & Sharir, Filling gaps in the
// boundary of a polyhedron, Computer Aided Geometric Design 12, 1995: dynamic
// programming over all triangulations of the loop, n^3.)
func (l *loop) patch(m *Mesh) (facets [][3]int32, area float64) {
	n := len(l.corners)
	at := func(i int) Vec { return m.Vertices[l.corners[i]] }
	least, middle := make([]float64, n*n), make([]int32, n*n)
	for span := 2; span < n; span++ {
		for i := 0; i+span < n; i++ {
			k := i + span
			best, at3 := math.Inf(1), int32(0)
			for j := i + 1; j < k; j++ {
				if a := least[i*n+j] + least[j*n+k] + (Triangle{at(i), at(j), at(k)}).Area(); a < best {
					best, at3 = a, int32(j)
				}
			}
			least[i*n+k], middle[i*n+k] = best, at3
		}
	}
	for todo := [][2]int{{0, n - 1}}; len(todo) > 0; {
		i, k := todo[len(todo)-1][0], todo[len(todo)-1][1]
		todo = todo[:len(todo)-1]
		if k-i < 2 {
			continue
		}
		j := int(middle[i*n+k])
		facets = append(facets, [3]int32{l.corners[i], l.corners[j], l.corners[k]})
		todo = append(todo, [2]int{i, j}, [2]int{j, k})
	}
	return facets, least[n-1]
}

// closeHoles closes the loops of open edges that a flat patch can close, and lists
// all of them, the widest first.
func (r *Mended) closeHoles() {
	if r.Defects.Open.Count == 0 {
		return
	}
	var patches [][3]int32
	var seams, holes Places
	budget := patchBudget
	for _, l := range r.Defects.findLoops(r.Mesh) {
		if n := len(l.corners); n <= maxLoop && budget >= n*n*n {
			budget -= n * n * n
			facets, area := l.patch(r.Mesh)
			l.hole.Area, l.hole.Closed = area, area <= holeShare*l.area
			if l.hole.Closed {
				patches = append(patches, facets...)
			}
		}
		switch {
		case l.hole.Seam():
			seams.Add(l.hole.At)
		case l.hole.Closed:
			holes.Add(l.hole.At)
		default:
			r.left++
		}
		r.Holes = append(r.Holes, l.hole)
	}
	slices.SortStableFunc(r.Holes, func(a, b Hole) int {
		return cmp.Or(cmp.Compare(b.Width, a.Width), compareVec(a.At, b.At))
	})
	done := r.holeRepairs(seams, holes)
	r.Holes = slices.Clone(r.Holes[:min(len(r.Holes), maxHoles)])
	if len(patches) == 0 {
		return
	}
	old := r.Defects.Degenerate.Count
	r.repair(&Mesh{Vertices: r.Mesh.Vertices, Facets: slices.Concat(r.Mesh.Facets, patches)}, done...)
	r.patched = r.Defects.Degenerate.Count - old
}

// holeRepairs tells of the seams and holes that are closed.
func (r *Mended) holeRepairs(seams, holes Places) (out []Repair) {
	if seams.Count > 0 {
		out = append(out, Repair{RepairSeam, seams.Count, seams.At[0], 0, count(seams.Count, "seam", "seams") +
			" joined where edges run along each other without a common corner"})
	}
	if holes.Count > 0 {
		at, widest, text := r.holeText(func(h *Hole) bool { return h.Closed && !h.Seam() })
		out = append(out, Repair{RepairHole, holes.Count, at, widest, count(holes.Count, "hole", "holes") + " closed flat: " + text})
	}
	return out
}

// holeText names the widest of some holes.
func (r *Mended) holeText(which func(h *Hole) bool) (at Vec, widest float64, text string) {
	n := 0
	for i := range r.Holes {
		h := &r.Holes[i]
		if !which(h) {
			continue
		}
		if n++; n > maxNamed {
			return at, widest, text + "; more, none wider"
		}
		if n == 1 {
			at, widest = h.At, h.Width
		} else {
			text += "; "
		}
		text += fmt.Sprintf("%d edges, %.2f mm wide, at %s", h.Edges, h.Width, place(h.At))
	}
	return at, widest, text
}

// cautionHoles adds to the open edges which holes they are.
func (r *Mended) cautionHoles() {
	n := len(r.Cautions) - 1
	if n < 0 || r.Cautions[n].Kind != CautionOpen || r.left == 0 {
		return
	}
	_, _, text := r.holeText(func(h *Hole) bool { return !h.Closed })
	r.Cautions[n].Text += fmt.Sprintf(". Not closed, for a flat patch would be a guess: %s (%s)", count(r.left, "hole", "holes"), text)
}
