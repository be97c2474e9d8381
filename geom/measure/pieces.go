package measure

import (
	"math"

	"pourproof/geom"
)

// pieces finds the piece of a split facet that a point lies in: columns are cast
// through the facets as they were given, which are fewer.
type pieces struct {
	mesh  *geom.Mesh // the pieces, those of a facet one after the other
	whole []int32    // by given facet: its piece where it has only one; else -1 less its number in cells; nil where all have one
	cells []pieceCells
	start []int32 // by cell of all facets: where its pieces begin in list
	list  []int32
}

// pieceCells lays a grid over one facet, seen along the axis that it faces most.
type pieceCells struct {
	first, end int32 // pieces of the facet

	turned float64 // -1 where the facet is seen from behind
	u, v   int     // axes of the grid
	lo     [2]float64
	per    [2]float64 // cells a mm
	n      [2]int
	start  int32 // its cell (0, 0); cell (i, j) is i*n[1] + j further on
}

// newPieces prepares the pieces of the facets of a mesh. Cost: linear in the pieces of
// split facets, a few cells each.
func newPieces(given, mesh *geom.Mesh, parent []int32) *pieces {
	p := &pieces{mesh: mesh}
	if len(mesh.Facets) == len(given.Facets) {
		return p
	}
	p.whole = make([]int32, len(given.Facets))
	for first := 0; first < len(parent); {
		end := first + 1
		for end < len(parent) && parent[end] == parent[first] {
			end++
		}
		f := parent[first]
		if p.whole[f] = int32(first); end-first > 1 {
			p.whole[f] = -1 - int32(len(p.cells))
			p.addCells(given.Triangle(int(f)), int32(first), int32(end))
		}
		first = end
	}
	p.start = append(p.start, 0)
	p.sort()
	return p
}

// split tells whether a facet has several pieces.
func (p *pieces) split(facet int32) bool { return p.whole != nil && p.whole[facet] < 0 }

// first returns the first piece of a facet.
func (p *pieces) first(facet int32) int32 {
	if p.whole == nil {
		return facet
	}
	if w := p.whole[facet]; w >= 0 {
		return w
	}
	return p.cells[-1-p.whole[facet]].first
}

// addCells lays the grid of a facet in the pieces from first up to end, with about as
// many cells.
func (p *pieces) addCells(t geom.Triangle, first, end int32) {
	n := int(end - first)
	normal, box := t.AreaVec(), t.Box()
	a := [3]float64{math.Abs(normal.X), math.Abs(normal.Y), math.Abs(normal.Z)}
	w := 0
	for i := range a {
		if a[i] > a[w] {
			w = i
		}
	}
	g := pieceCells{first: first, end: end, u: (w + 1) % 3, v: (w + 2) % 3, turned: math.Copysign(1, along(normal, w)), start: int32(len(p.start))}
	g.lo = [2]float64{along(box.Min, g.u), along(box.Min, g.v)}
	size := [2]float64{along(box.Max, g.u) - g.lo[0], along(box.Max, g.v) - g.lo[1]}
	g.n = [2]int{1, 1} // a facet without area is one cell
	if side := math.Sqrt(float64(size[0]*size[1]) / float64(n)); side > 0 {
		for i := range size {
			g.n[i] = int(max(1, min(float64(n), size[i]/side)))
			g.per[i] = float64(g.n[i]) / size[i]
		}
	}
	p.cells = append(p.cells, g)
	p.start = append(p.start, make([]int32, g.n[0]*g.n[1])...)
}

// sort puts the pieces in the cells that their boxes touch (counting sort).
func (p *pieces) sort() {
	each := func(visit func(cell, piece int32)) {
		for c := range p.cells {
			g := &p.cells[c]
			for k := g.first; k < g.end; k++ {
				box := p.mesh.Triangle(int(k)).Box()
				i0, j0 := g.cell(box.Min)
				i1, j1 := g.cell(box.Max)
				for i := i0; i <= i1; i++ {
					for j := j0; j <= j1; j++ {
						visit(g.start+int32(i*g.n[1]+j), k)
					}
				}
			}
		}
	}
	// While filling, start[c] walks from the end of cell c back to its beginning.
	each(func(cell, _ int32) { p.start[cell]++ })
	for c := 1; c < len(p.start); c++ {
		p.start[c] += p.start[c-1]
	}
	p.list = make([]int32, p.start[len(p.start)-1])
	each(func(cell, piece int32) {
		p.start[cell]--
		p.list[p.start[cell]] = piece
	})
}

// cell returns the cell of a point, the nearest one for a point beside the grid.
func (g *pieceCells) cell(q geom.Vec) (i, j int) {
	at := func(k int, x float64) int { return max(0, min(g.n[k]-1, int(float64((x-g.lo[k])*g.per[k])))) }
	return at(0, along(q, g.u)), at(1, along(q, g.v))
}

func along(v geom.Vec, axis int) float64 { return [3]float64{v.X, v.Y, v.Z}[axis] }

// at returns the piece of a facet that holds a point of it, of several the last; where
// rounding lets the point slip between them, the one that it lies least outside of.
func (p *pieces) at(facet int32, q geom.Vec) int32 {
	if !p.split(facet) {
		return p.first(facet)
	}
	g := &p.cells[-1-p.whole[facet]]
	i, j := g.cell(q)
	c := g.start + int32(i*g.n[1]+j)
	best, least := g.first, math.Inf(-1)
	for _, k := range p.list[p.start[c]:p.start[c+1]] {
		in := g.inside(p.mesh.Triangle(int(k)), q)
		if in >= 0 {
			return k
		}
		if in > least {
			best, least = k, in
		}
	}
	return best
}

// inside is negative where a point, seen along the grid's axis, lies outside a
// triangle: twice the area of the triangle that it makes with the worst edge.
func (g *pieceCells) inside(t geom.Triangle, q geom.Vec) float64 {
	x, y := along(q, g.u), along(q, g.v)
	ax, ay := along(t.A, g.u)-x, along(t.A, g.v)-y
	bx, by := along(t.B, g.u)-x, along(t.B, g.v)-y
	cx, cy := along(t.C, g.u)-x, along(t.C, g.v)-y
	side := func(ax, ay, bx, by float64) float64 { return g.turned * (float64(ax*by) - float64(ay*bx)) }
	return min(side(ax, ay, bx, by), side(bx, by, cx, cy), side(cx, cy, ax, ay))
}
