package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// leastPatch is the area in mm2 from which a thin place is listed: a few crossings of
// the columns.
const leastPatch = 0.05

// walls groups the thin facets: those of one kind that hang together, and those that
// lie opposite each other.
func (w *rubberWork) walls() ([]Wall, []int32) {
	t := w.t
	set := newSets(len(t.Least))
	for f := range t.Least {
		if w.kind[f] == thick {
			continue
		}
		for k := range 3 {
			if m := t.Mates[3*f+k]; m >= 0 && w.kind[m/3] == w.kind[f] {
				set.join(int32(f), m/3)
			}
		}
		if g := t.Contact[f]; w.kind[g] == w.kind[f] {
			set.join(int32(f), g)
		}
	}
	groups := set.groups(func(f int32) bool { return w.kind[f] != thick })
	var walls []Wall
	var members [][]int32
	for _, g := range groups {
		if p, ok := w.wall(g); ok {
			p.ID = len(walls)
			walls, members = append(walls, p), append(members, g)
		}
	}
	slices.SortStableFunc(walls, func(a, b Wall) int {
		return cmp.Or(boolOrder(a.Around(), b.Around()), cmp.Compare(a.Least, b.Least), compareVec(a.At, b.At))
	})
	number := make([]int32, len(t.Least))
	for i := range walls {
		for _, f := range members[walls[i].ID] {
			number[f] = int32(i + 1)
		}
		walls[i].ID = i + 1
	}
	return walls, number
}

// wall measures one group. It is false for what is too small, and for what is
// neither thin nor slender.
func (w *rubberWork) wall(g []int32) (Wall, bool) {
	t := w.t
	p := Wall{Kind: ThinWall, Facets: len(g), Least: math.Inf(1)}
	var area float64
	least := g[0]
	for _, f := range g {
		a := t.Mesh.Triangle(int(f)).Area()
		area += a
		p.Molding = p.Molding || w.side[f] == AtCavity
		if d := math.Round(t.Least[f]*1e4) / 1e4; d < p.Least || d == p.Least && t.At[f].Less(t.At[least]) {
			p.Least, least = d, f
		}
	}
	p.At, p.Between = t.At[least].Lerp(t.Touch[least], 0.5), w.between(least)
	p.Mean, _ = w.quarters(g, 0)
	limit := w.o.Around
	if w.kind[least] == thinInner {
		limit = w.o.Thin
		w.stand(&p, g, area)
		if p.Kind != ThinWall {
			p.Slender = p.Height / p.Mean
		}
		if p.Least >= limit {
			if p.Kind == ThinWall {
				return p, false
			}
			limit *= 2
		}
	}
	_, p.Area = w.quarters(g, limit)
	p.Area /= 2
	return p, p.Area >= leastPatch
}

// quarters looks at the middles of the four quarters of every facet of a group: the
// mean thickness there, and the area that is thinner than limit.
func (w *rubberWork) quarters(g []int32, limit float64) (mean, below float64) {
	t := w.t
	var sum, seen float64
	for _, f := range g {
		tri := t.Mesh.Triangle(int(f))
		ab, bc, ca := tri.A.Lerp(tri.B, 0.5), tri.B.Lerp(tri.C, 0.5), tri.C.Lerp(tri.A, 0.5)
		a := tri.Area() / 4
		for _, q := range [4]geom.Triangle{{A: tri.A, B: ab, C: ca}, {A: ab, B: tri.B, C: bc}, {A: ca, B: bc, C: tri.C}, {A: ab, B: bc, C: ca}} {
			d, _, _, ok := t.Ball(q.Centroid(), f, t.Contact[f])
			if !ok {
				continue
			}
			seen += a
			sum += float64(a * d)
			if d < limit {
				below += a
			}
		}
	}
	if seen == 0 {
		return t.Least[g[0]], 0
	}
	return sum / seen, below
}

// How a group stands free. A fin is a sheet, a pin a post: half of its surface over
// its height is less than pinWidth times its thickness (round 1.57, square 2).
const (
	pinWidth  = 2.5
	mostRim   = 400  // places of a border that are looked at
	mostPlace = 2000 // facets whose distance to the border is measured
	knife     = math.Pi / 3
)

// stand tells whether a group is held all around or has a free end, and how far
// that is from where it is held.
func (w *rubberWork) stand(p *Wall, g []int32, area float64) {
	held, free, sharp := w.rim(g)
	for _, e := range held {
		p.Boundary[0] += e.length
	}
	for _, e := range free {
		p.Boundary[1] += e.length
	}
	if len(held) == 0 {
		return // all of the half is thin, or a loose piece
	}
	far := w.farthest(g, held, &p.Height)
	wraps := w.wraps(g)
	ends := p.Boundary[1]+sharp > 2*p.Mean
	if wraps { // a post: free unless it is held at both ends
		var middle geom.Vec
		for _, e := range held {
			middle = middle.AddScaled(e.at, e.length/p.Boundary[0])
		}
		ends = far.Dist(middle) > 0.7*p.Height
	}
	switch {
	case p.Height < p.Mean: // a lip as high as it is thick is no fin
	case ends && area/2 <= pinWidth*p.Mean*p.Height:
		p.Kind = Pin
	case ends:
		p.Kind = Fin
	}
}

// rimEdge is a piece of a group's border.
type rimEdge struct {
	at     geom.Vec
	length float64
}

// rim returns the pieces of a group's border where the rubber goes on, and those
// beyond which it ends; and the length of knife edges inside the group, which are
// free ends too.
func (w *rubberWork) rim(g []int32) (held, free []rimEdge, sharp float64) {
	t := w.t
	var border []int32
	for _, f := range g {
		for k := range int32(3) {
			h := 3*f + k
			m := t.Mates[h]
			switch {
			case m >= 0 && w.kind[m/3] == w.kind[f]:
				if m > h && w.interior(h) < knife {
					sharp += w.halfEdge(h).length
				}
			default:
				border = append(border, h)
			}
		}
	}
	step := max(1, len(border)/mostRim)
	for i := 0; i < len(border); i += step {
		e := w.halfEdge(border[i])
		e.length *= float64(min(step, len(border)-i))
		if w.endsBeyond(border[i]) {
			free = append(free, e)
		} else {
			held = append(held, e)
		}
	}
	return held, free, sharp
}

func (w *rubberWork) halfEdge(h int32) rimEdge {
	a, b := w.ends(h)
	return rimEdge{a.Lerp(b, 0.5), a.Dist(b)}
}

func (w *rubberWork) ends(h int32) (a, b geom.Vec) {
	f := w.t.Mesh.Facets[h/3]
	return w.t.Mesh.Vertices[f[h%3]], w.t.Mesh.Vertices[f[(h+1)%3]]
}

// endsBeyond tells whether the rubber ends within its thickness beyond a border: a
// line in the middle of the sheet, out over the border, leaves the half there.
func (w *rubberWork) endsBeyond(h int32) bool {
	t := w.t
	f := h / 3
	a, b := w.ends(h)
	d := t.Least[f]
	out := b.Sub(a).Cross(t.Normal[f]).Unit()
	start := a.Lerp(b, 0.5).AddScaled(t.Normal[f], -d/2).AddScaled(out, -d/4)
	for _, hit := range w.m.fixed.tree.All(start, out, 1.25*d, nil) {
		if w.m.fixed.half(hit.Facet) == w.half {
			return hit.Sense < 0
		}
	}
	return false
}

// farthest finds the place of a group that is farthest from where it is held.
func (w *rubberWork) farthest(g []int32, held []rimEdge, height *float64) geom.Vec {
	var at geom.Vec
	*height = 0
	for i := 0; i < len(g); i += max(1, len(g)/mostPlace) {
		for _, v := range w.t.Mesh.Facets[g[i]] {
			q := w.t.Mesh.Vertices[v]
			near := math.Inf(1)
			for k := range held {
				near = min(near, held[k].at.Sub(q).Norm2())
			}
			if near = math.Sqrt(near); near > *height {
				*height, at = near, q
			}
		}
	}
	return at
}

// wraps tells whether the surface of a group leads around to its own opposite side:
// a post does, a sheet whose end is not thin does not.
func (w *rubberWork) wraps(g []int32) bool {
	t := w.t
	seen := map[int32]bool{g[0]: true}
	queue := []int32{g[0]}
	for n := 0; n < len(queue); n++ {
		for k := range int32(3) {
			h := 3*queue[n] + k
			m := t.Mates[h]
			if m >= 0 && w.kind[m/3] == w.kind[g[0]] && !seen[m/3] && w.interior(h) > knife {
				seen[m/3] = true
				queue = append(queue, m/3)
			}
		}
	}
	return seen[t.Contact[g[0]]]
}
