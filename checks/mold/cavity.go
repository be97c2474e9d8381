package mold

import (
	"fmt"
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// label says what a lattice node of the void belongs to. Numbers from
// firstChannel on are channels.
type label = uint8

const (
	nothing      label = 0 // material, outside, or void without a way to the part
	cavity       label = 1
	core         label = 2 // inside void beyond the skin, while channels are told apart
	beyond       label = 3 // outside void that touches a channel
	firstChannel label = 4
	maxChannels        = 120
	// material marks a node of material that carries its neighbour's label.
	material label = 0x80
)

// labels sorts the nodes of the closed mold's lattice. Nodes of material within
// two steps of a labelled node carry its label too, so that a place can be
// looked up by its nearest node.
type labels struct {
	lat      column.Lattice
	perPitch float64 // 1 over the pitch; a quantum is a power of two of pitches, so it scales as exactly
	of       []label
	parts    [][]span // per column: the stretches inside the fitted part, quanta
	free     *freeMap // once all are told
}

type span struct{ lo, hi int32 }

func (l *labels) index(i, j, k int) int32 { return int32((i*l.lat.N[1]+j)*l.lat.N[2] + k) }

func (l *labels) node(x int32) (i, j, k int) {
	k = int(x) % l.lat.N[2]
	c := int(x) / l.lat.N[2]
	return c / l.lat.N[1], c % l.lat.N[1], k
}

// point returns a node's place.
func (l *labels) point(x int32) geom.Vec {
	i, j, k := l.node(x)
	return l.lat.Point(l.lat.At(0, i), l.lat.At(1, j), l.lat.At(2, k))
}

// nearest returns the node nearest to a CAD point, -1 outside the lattice.
func (l *labels) nearest(p geom.Vec) int32 {
	i, j, k := l.place(p)
	if uint(i) >= uint(l.lat.N[0]) || uint(j) >= uint(l.lat.N[1]) || uint(k) >= uint(l.lat.N[2]) {
		return -1
	}
	return l.index(i, j, k)
}

// place returns the numbers of the node nearest to a CAD point, which may lie outside
// the lattice.
func (l *labels) place(p geom.Vec) (i, j, k int) {
	q := p.Sub(l.lat.Origin).Scale(l.perPitch) // Lattice.Place: this lattice is not turned
	return int(math.Floor(q.X+0.5)) - int(l.lat.First[0]), int(math.Floor(q.Y+0.5)) - int(l.lat.First[1]), int(math.Floor(q.Z+0.5)) - int(l.lat.First[2])
}

// at returns the label at a CAD point.
func (l *labels) at(p geom.Vec) label {
	if n := l.nearest(p); n >= 0 {
		return l.of[n]
	}
	return nothing
}

// within2 calls visit for every node no more than two steps along any axis from
// x, in fixed order.
func (l *labels) within2(x int32, visit func(y int32)) {
	i, j, k := l.node(x)
	for a := max(i-2, 0); a <= min(i+2, l.lat.N[0]-1); a++ {
		for b := max(j-2, 0); b <= min(j+2, l.lat.N[1]-1); b++ {
			for c := max(k-2, 0); c <= min(k+2, l.lat.N[2]-1); c++ {
				visit(l.index(a, b, c))
			}
		}
	}
}

// label sorts the void reached from the part's space: cavity is what lies in the
// fitted part or within the skin of it, except in front of a channel; the rest
// up to the outside are channels, told apart by their mouths.
func (m *Mold) label() error {
	w := newSorter(m)
	w.seedPart()
	if len(w.queue) == 0 {
		return fmt.Errorf("%w (part %s)", ErrNoCavity, m.Part.Name)
	}
	w.spread()
	w.growBack()
	if err := w.split(); err != nil {
		return err
	}
	w.thicken()
	w.free = newFreeMap(&w.labels, m.fixed.near)
	m.labels, m.Channels = &w.labels, w.channels
	m.walked = &walked{w.skins, w.rough}
	return nil
}

// sorter walks the void node by node over steps that cross no surface.
type sorter struct {
	labels
	m        *Mold
	sp       *column.Space
	queue    []int32
	cores    []int32 // nodes labelled core, in the order found
	skins    []int32 // nodes outside the part within the skin
	ends     []int32 // nodes labelled beyond
	channels []Channel
	members  [][]int32     // per channel
	rough    [][]int32     // members of mouths that are no channels
	kept     []keptChannel // channels that are known already
}

func newSorter(m *Mold) *sorter {
	w := &sorter{m: m, sp: m.space}
	w.lat = m.space.Lattice
	w.perPitch = 1 / w.lat.Q / float64(int64(1)<<w.lat.Bits)
	w.of = make([]label, w.lat.Nodes())
	if m.before != nil && m.before.space.Pitch() == w.lat.Pitch() {
		w.parts = m.before.labels.parts
		return w
	}
	w.parts = partSpans(column.Snap(w.lat, []*geom.Mesh{m.fixed.part}, nil))
	return w
}

// partSpans returns the stretches of every column inside a mesh.
func partSpans(sol *column.Solids) [][]span {
	l := sol.Cast(2)
	all := make([]span, len(l.Lo))
	for i := range l.Lo {
		all[i] = span{l.Lo[i], l.Hi[i]}
	}
	out := make([][]span, len(l.Start)-1)
	for c := range out {
		out[c] = all[l.Start[c]:l.Start[c+1]]
	}
	return out
}

// seedPart labels the void nodes inside the part.
func (w *sorter) seedPart() {
	nodes := 0
	for _, in := range w.parts {
		for _, s := range in {
			nodes += w.lat.NodeBelow(2, s.hi) - w.lat.NodeAbove(2, s.lo) + 1
		}
	}
	w.queue = make([]int32, 0, max(nodes, 0)*9/8) // and the skin around it
	for c, in := range w.parts {
		if len(in) == 0 {
			continue
		}
		for r := w.sp.Start[c]; r < w.sp.Start[c+1]; r++ {
			for _, s := range in {
				lo, hi := max(s.lo, w.sp.Lo[r]), min(s.hi, w.sp.Hi[r])
				for k := w.lat.NodeAbove(2, lo); k <= w.lat.NodeBelow(2, hi); k++ {
					if k >= 0 && k < w.lat.N[2] {
						x := int32(c*w.lat.N[2] + k)
						w.of[x] = cavity
						w.queue = append(w.queue, x)
					}
				}
			}
		}
	}
}

// around calls visit for every void node one step from x that no surface parts
// from it.
func (w *sorter) around(x int32, visit func(y int32)) {
	i, j, k := w.node(x)
	c := i*w.lat.N[1] + j
	r := w.run(c, k)
	if r < 0 {
		return
	}
	if k > 0 && w.lat.At(2, k-1) >= w.sp.Lo[r] {
		visit(x - 1)
	}
	if k+1 < w.lat.N[2] && w.lat.At(2, k+1) <= w.sp.Hi[r] {
		visit(x + 1)
	}
	side := func(i, j, axis, c int, y int32) {
		if !w.sp.Blocked(i, j, k, axis) && w.run(c, k) >= 0 {
			visit(y)
		}
	}
	nz := int32(w.lat.N[2])
	if i > 0 {
		side(i-1, j, 0, c-w.lat.N[1], x-nz*int32(w.lat.N[1]))
	}
	if i+1 < w.lat.N[0] {
		side(i, j, 0, c+w.lat.N[1], x+nz*int32(w.lat.N[1]))
	}
	if j > 0 {
		side(i, j-1, 1, c-1, x-nz)
	}
	if j+1 < w.lat.N[1] {
		side(i, j, 1, c+1, x+nz)
	}
}

// run returns the run of column c that holds node k, -1 for none.
func (w *sorter) run(c, k int) int32 {
	z := w.lat.At(2, k)
	for r := w.sp.Start[c]; r < w.sp.Start[c+1]; r++ {
		if z < w.sp.Lo[r] {
			return -1
		}
		if z <= w.sp.Hi[r] {
			return r
		}
	}
	return -1
}

// enclosed tells whether the six nodes next to x are labelled, so that no walk goes on
// from it: most nodes lie deep in the part.
func (w *sorter) enclosed(x int32) bool {
	i, j, k := w.node(x)
	nz := int32(w.lat.N[2])
	nyz := nz * int32(w.lat.N[1])
	return i > 0 && j > 0 && k > 0 && i+1 < w.lat.N[0] && j+1 < w.lat.N[1] && k+1 < w.lat.N[2] &&
		w.of[x-1] != nothing && w.of[x+1] != nothing && w.of[x-nz] != nothing && w.of[x+nz] != nothing && w.of[x-nyz] != nothing && w.of[x+nyz] != nothing
}

// spread walks from the part's space through the void up to the outside.
func (w *sorter) spread() {
	for head := 0; head < len(w.queue); head++ {
		x := w.queue[head]
		if w.enclosed(x) {
			continue
		}
		w.around(x, func(y int32) {
			if w.of[y] != nothing {
				return
			}
			p := w.point(y)
			if w.m.fixed.outside.holds(p) {
				w.of[y] = beyond
				w.ends = append(w.ends, y)
				return
			}
			if w.m.nearPart(p) {
				w.of[y] = cavity
				w.skins = append(w.skins, y)
			} else {
				w.of[y] = core
				w.cores = append(w.cores, y)
			}
			w.queue = append(w.queue, y)
		})
	}
	w.queue = w.queue[:0]
}

// growBack gives the skin in front of a channel's core to the core: a skin node
// whose nearest place on the part, pushed out beyond the skin, lies in a core.
func (w *sorter) growBack() {
	var grown []int32
	for _, x := range w.skins {
		if y := w.front(x); y >= 0 && w.of[y] == core {
			grown = append(grown, x)
		}
	}
	w.growInto(grown)
}

// front returns the node nearest to the place just beyond the skin that lies in front of
// a skin node, as seen from the part; -1 where there is none.
func (w *sorter) front(x int32) int32 {
	p := w.point(x)
	hit, ok := w.m.fixed.partTree.Nearest(p, w.m.Skin)
	if !ok {
		return -1
	}
	n := p.Sub(hit.Point)
	// Nearer than this the direction is rounding: take the facet's own.
	if n.Norm() < 1e-6 {
		n = w.m.fixed.part.Triangle(int(hit.Facet)).Normal()
	}
	// A pitch more: a node within sqrt(3)/2 h of it lies beyond the skin.
	return w.nearest(hit.Point.AddScaled(n.Unit(), w.m.Skin+w.lat.Pitch()))
}

// growInto makes core of skin nodes.
func (w *sorter) growInto(grown []int32) {
	for _, x := range grown {
		w.of[x] = core
	}
	w.cores = append(w.cores, grown...)
}
