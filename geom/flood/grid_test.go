package flood

import (
	"math/rand/v2"
	"testing"
)

// grid is a block of cells, solid or open.
type grid struct {
	w, d, h int
	solid   []bool
}

func newGrid(w, d, h int, solid bool) *grid {
	g := &grid{w, d, h, make([]bool, w*d*h)}
	for i := range g.solid {
		g.solid[i] = solid
	}
	return g
}

// box makes the cells of [x0,x1) x [y0,y1) x [z0,z1) solid or open, as far as
// they lie in the grid.
func (g *grid) box(x0, x1, y0, y1, z0, z1 int, solid bool) {
	for x := max(x0, 0); x < min(x1, g.w); x++ {
		for y := max(y0, 0); y < min(y1, g.d); y++ {
			for z := max(z0, 0); z < min(z1, g.h); z++ {
				g.solid[(x*g.d+y)*g.h+z] = solid
			}
		}
	}
}

// graph turns the grid's open cells into runs, links and the runs on its border
// or top, where exits may be. Cells are as high as scale.
func (g *grid) graph(scale, bottom int32) (out Graph, border []int32) {
	at := func(z int) int32 { return bottom + int32(z)*scale }
	first := make([]int, g.w*g.d+1)
	for c := range g.w * g.d {
		edge := c/g.d == 0 || c/g.d == g.w-1 || g.d > 1 && (c%g.d == 0 || c%g.d == g.d-1)
		for z := 0; z < g.h; z++ {
			lo := z
			for ; z < g.h && !g.solid[c*g.h+z]; z++ {
			}
			if z == lo {
				continue
			}
			if edge || z == g.h {
				border = append(border, int32(len(out.Lo)))
			}
			out.Lo, out.Hi = append(out.Lo, at(lo)), append(out.Hi, at(z))
		}
		first[c+1] = len(out.Lo)
	}
	join := func(c, e int) {
		for a := first[c]; a < first[c+1]; a++ {
			for b := first[e]; b < first[e+1]; b++ {
				if lo, hi := max(out.Lo[a], out.Lo[b]), min(out.Hi[a], out.Hi[b]); lo < hi {
					out.Links = append(out.Links, Link{int32(a), int32(b), lo, hi})
				}
			}
		}
	}
	for c := range g.w * g.d {
		if c/g.d+1 < g.w {
			join(c, c+g.d)
		}
		if c%g.d+1 < g.d {
			join(c, c+1)
		}
	}
	return out, border
}

// blocks draws what a grid is made of: noise; solid boxes in the open or open
// boxes in a solid; walls with holes; shelves; cups, upright and inverted.
func blocks(rng *rand.Rand, w, d, h int) *grid {
	kind := rng.IntN(5)
	g := newGrid(w, d, h, kind == 1)
	span := func(n, most int) (int, int) {
		a := rng.IntN(n)
		return a, a + 1 + rng.IntN(most)
	}
	switch kind {
	case 0:
		density := 0.15 + 0.5*rng.Float64()
		for i := range g.solid {
			g.solid[i] = rng.Float64() < density
		}
	case 1, 2:
		for range 4 + rng.IntN(16) {
			x0, x1 := span(w, 1+w/2)
			y0, y1 := span(d, 1+d/2)
			z0, z1 := span(h, 1+h/2)
			g.box(x0, x1, y0, y1, z0, z1, kind == 2)
		}
	case 3:
		for x := 1; x < w; x += 2 + rng.IntN(3) {
			g.box(x, x+1, 0, d, 0, h, true)
			for range 1 + rng.IntN(2) {
				y0, y1 := span(d, d)
				z0, z1 := span(h, 1+h/3)
				g.box(x, x+1, y0, y1, z0, z1, false)
			}
		}
		for range rng.IntN(4) {
			x0, x1 := span(w, w)
			y0, y1 := span(d, d)
			z := rng.IntN(h)
			g.box(x0, x1, y0, y1, z, z+1, true)
		}
	case 4:
		for range 2 + rng.IntN(5) {
			x0, x1 := span(w, 2+w/2)
			y0, y1 := span(d, 2+d/2)
			z0, z1 := span(h, 2+h/2)
			g.box(x0, x1, y0, y1, z0, z1, true)
			if rng.IntN(2) == 0 { // open at its top
				z0, z1 = z0+1, z1+1
			}
			g.box(x0+1, x1-1, y0+1-1/d, y1-1+1/d, z0, z1-1, false)
		}
	}
	return g
}

// furnish opens some border runs to the outside, whole or in part, and places
// sources.
func furnish(rng *rand.Rand, g *Graph, border []int32) {
	if len(border) > 0 {
		for range rng.IntN(5) {
			run := border[rng.IntN(len(border))]
			lo, hi := g.Lo[run], g.Hi[run]
			if rng.IntN(2) == 0 {
				lo += rng.Int32N(hi - lo + 1)
				hi = lo + rng.Int32N(hi-lo+1)
			}
			g.Exits = append(g.Exits, Exit{run, lo, hi, int32(len(g.Exits))})
		}
	}
	for range 1 + max(0, rng.IntN(5)-2) {
		g.Sources = append(g.Sources, rng.Int32N(int32(len(g.Lo))))
	}
}

func randomGrid(rng *rand.Rand) Graph {
	for {
		w, d, h := 6+rng.IntN(15), 1, 6+rng.IntN(15)
		if rng.IntN(2) == 0 {
			w, d, h = 4+rng.IntN(5), 4+rng.IntN(5), 5+rng.IntN(5)
		}
		g, border := blocks(rng, w, d, h).graph(1+rng.Int32N(2), rng.Int32N(40)-20)
		if len(g.Lo) == 0 {
			continue
		}
		furnish(rng, &g, border)
		return g
	}
}

// randomGraph draws runs joined at random, with lips: links that open above both
// bottoms and close below both tops, as narrow as a single height.
func randomGraph(rng *rand.Rand) Graph {
	var g Graph
	tall := 2 + rng.Int32N(14)
	for range 2 + rng.IntN(14) {
		lo := rng.Int32N(tall) - tall/2
		g.Lo, g.Hi = append(g.Lo, lo), append(g.Hi, lo+1+rng.Int32N(tall))
	}
	n := int32(len(g.Lo))
	for range 3 * n {
		a, b := rng.Int32N(n), rng.Int32N(n)
		lo, hi := max(g.Lo[a], g.Lo[b]), min(g.Hi[a], g.Hi[b])
		if a == b || lo > hi {
			continue
		}
		if rng.IntN(2) == 0 {
			lo += rng.Int32N(hi - lo + 1)
		}
		if rng.IntN(2) == 0 {
			hi = lo + rng.Int32N(hi-lo+1)
		}
		g.Links = append(g.Links, Link{a, b, lo, hi})
		if len(g.Links) > int(n)*3/2 && rng.IntN(3) == 0 {
			break
		}
	}
	all := make([]int32, n)
	for i := range all {
		all[i] = int32(i)
	}
	furnish(rng, &g, all)
	return g
}

func TestEqualsForwardModelOnRandomGrids(t *testing.T) { agree(t, 1800, randomGrid) }

func TestEqualsForwardModelOnRandomGraphsWithLips(t *testing.T) { agree(t, 6000, randomGraph) }
