package mold

import (
	"encoding/binary"
	"fmt"
	"slices"

	"pourproof/geom"
)

// slitWidth is the width in mm below which a passage counts as thin where it
// opens beside a wider one: a gap along the parting face that runs into a bore is
// told apart from the bore.
const slitWidth = 0.7

// split tells the channels apart. The cores' nodes that touch the cavity form
// mouths; every node of a core belongs to the mouth it is nearest to by way of
// the core: first wide mouths over wide passages, then thin ones over thin, then
// the rest from both. Cores that are only roughness of the skin go back to the
// cavity.
func (w *sorter) split() error {
	s := splitter{w: w, wide: w.wideCores(), owner: make(map[int32]label, len(w.cores))}
	edge := w.edge()
	s.rims(edge)
	for _, wide := range [2]bool{true, false} {
		var some []int32
		for _, x := range edge {
			if s.wide[x] == wide {
				some = append(some, x)
			}
		}
		groups := w.group(some)
		if len(w.kept)+len(w.rough)+len(s.mouths)+len(groups) > maxChannels {
			return fmt.Errorf("more than %d openings into the cavity found: the halves do not enclose the part (wrong file, wrong place, or wrong units?)", maxChannels)
		}
		s.claim(groups)
		s.spread(func(y int32) bool { return s.wide[y] == wide })
	}
	s.spread(func(int32) bool { return true })
	w.members = make([][]int32, len(s.mouths))
	through := make([]bool, len(s.mouths))
	for _, x := range s.reached {
		own := s.owner[x] - firstChannel
		w.members[own] = append(w.members[own], x)
		w.around(x, func(y int32) { through[own] = through[own] || w.of[y] == beyond })
	}
	w.keep(s.mouths, through)
	return nil
}

// splitter hands core nodes out to mouths.
type splitter struct {
	w       *sorter
	wide    map[int32]bool
	owner   map[int32]label
	mouths  [][]int32
	reached []int32 // in the order reached
}

// rims counts thin mouth nodes beside a wide mouth, its corners, as wide.
func (s *splitter) rims(edge []int32) {
	thin := map[int32]bool{}
	for _, x := range edge {
		thin[x] = !s.wide[x]
	}
	var rim []int32
	for _, x := range edge {
		if s.wide[x] {
			s.w.within(x, slitWidth+s.w.lat.Pitch(), func(y int32) {
				if thin[y] {
					thin[y] = false
					rim = append(rim, y)
				}
			})
		}
	}
	for _, x := range rim {
		s.wide[x] = true
	}
}

// claim gives every group of mouth nodes a number.
func (s *splitter) claim(groups [][]int32) {
	for _, g := range groups {
		own := firstChannel + label(len(s.mouths))
		s.mouths = append(s.mouths, g)
		for _, x := range g {
			if s.owner[x] == nothing {
				s.owner[x] = own
				s.reached = append(s.reached, x)
			}
		}
	}
}

// spread walks on from all reached nodes over free core nodes that may be taken.
func (s *splitter) spread(may func(y int32) bool) {
	for head := 0; head < len(s.reached); head++ {
		x := s.reached[head]
		s.w.around(x, func(y int32) {
			if s.w.of[y] == core && s.owner[y] == nothing && may(y) {
				s.owner[y] = s.owner[x]
				s.reached = append(s.reached, y)
			}
		})
	}
}

// wideCores marks the core nodes in passages at least slitWidth wide: those that
// a ball of that width can cover (morphological opening), and a pitch more,
// because the ball's own middle falls between nodes.
func (w *sorter) wideCores() map[int32]bool {
	const r = slitWidth / 2
	wide := make(map[int32]bool, len(w.cores))
	for _, x := range w.cores {
		if _, near := w.m.wallWithin(w.point(x), r); !near {
			w.within(x, r+w.lat.Pitch(), func(y int32) { wide[y] = true })
		}
	}
	return wide
}

// within calls visit for every node no farther than d mm from x.
func (w *sorter) within(x int32, d float64, visit func(y int32)) {
	n := int(d / w.lat.Pitch())
	i, j, k := w.node(x)
	s := d / w.lat.Pitch()
	for a := max(i-n, 0); a <= min(i+n, w.lat.N[0]-1); a++ {
		for b := max(j-n, 0); b <= min(j+n, w.lat.N[1]-1); b++ {
			for c := max(k-n, 0); c <= min(k+n, w.lat.N[2]-1); c++ {
				u, v, t := float64(a-i), float64(b-j), float64(c-k)
				if float64(u*u)+float64(v*v)+float64(t*t) <= s*s {
					visit(w.index(a, b, c))
				}
			}
		}
	}
}

// edge returns the core nodes that touch the cavity, in order.
func (w *sorter) edge() []int32 {
	var edge []int32
	for _, x := range w.cores {
		touches := false
		w.around(x, func(y int32) { touches = touches || w.of[y] == cavity })
		if touches {
			edge = append(edge, x)
		}
	}
	slices.Sort(edge)
	return edge
}

// group gathers nodes no more than two steps apart, ordered by their first node.
func (w *sorter) group(edge []int32) [][]int32 {
	group := make(map[int32]int, len(edge))
	for _, x := range edge {
		group[x] = -1
	}
	var out [][]int32
	for _, x := range edge {
		if group[x] >= 0 {
			continue
		}
		id := len(out)
		group[x] = id
		members := []int32{x}
		for head := 0; head < len(members); head++ {
			w.within2(members[head], func(y int32) {
				if g, ok := group[y]; ok && g < 0 {
					group[y] = id
					members = append(members, y)
				}
			})
		}
		out = append(out, members)
	}
	return out
}

// rough is the depth beyond the skin, in pitches, below which a dead end is
// roughness between two meshes and no channel: the deepest node of a true
// channel lies at least one pitch beyond the skin, and the nodes of one that is
// a whole pitch deep lie up to sqrt(3)/2 of a pitch short of its end.
const rough = 1.5

// keptChannel is a channel that is real.
type keptChannel struct {
	at             geom.Vec
	members, mouth []int32
	through        bool
	was            label // its label where it was known already, or nothing
}

// keep numbers the channels that are real by place of their mouths and writes
// their labels; the others' nodes become cavity.
func (w *sorter) keep(mouths [][]int32, through []bool) {
	real := w.kept
	deep := w.m.Skin + rough*w.lat.Pitch()
	for n, members := range w.members {
		isReal := through[n]
		for i := 0; i < len(members) && !isReal; i++ {
			isReal = !w.m.fixed.partTree.Within(w.point(members[i]), deep)
		}
		if isReal {
			real = append(real, keptChannel{at: w.middle(mouths[n]), members: members, mouth: mouths[n], through: through[n]})
			continue
		}
		w.rough = append(w.rough, members)
		for _, x := range members {
			w.of[x] = cavity
		}
	}
	slices.SortFunc(real, func(a, b keptChannel) int {
		if a.at.Less(b.at) {
			return -1
		}
		return 1
	})
	w.renumber(real)
	w.members = w.members[:0]
	w.m.nodes = channelNodes{}
	for n, r := range real {
		for _, x := range r.members {
			w.of[x] = firstChannel + label(n)
		}
		role := Blind
		if r.through {
			role = Vent
		}
		w.members = append(w.members, r.members)
		w.channels = append(w.channels, Channel{ID: n + 1, Role: role, Mouth: r.at})
		w.m.nodes.middles = append(w.m.nodes.middles, r.at)
		w.m.nodes.mouths = append(w.m.nodes.mouths, r.mouth)
	}
	w.m.nodes.members = w.members
}

// keptChannels lists the mold's channels.
func (m *Mold) keptChannels() (list []keptChannel) {
	for n := range m.Channels {
		list = append(list, keptChannel{m.nodes.middles[n], m.nodes.members[n], m.nodes.mouths[n], m.Channels[n].Exit != nil && m.Channels[n].Joins == 0, firstChannel + label(n)})
	}
	return list
}

// renumber gives kept channels the labels of their new places, their material's too.
func (w *sorter) renumber(real []keptChannel) {
	var to [256]label
	for l := range to {
		to[l] = label(l)
	}
	same := true
	for n, r := range real {
		if l := firstChannel + label(n); r.was != nothing {
			to[r.was], to[r.was|material] = l, l|material
			same = same && r.was == l
		}
	}
	if same {
		return
	}
	rest := w.of
	for ; len(rest) >= 8; rest = rest[8:] {
		if binary.LittleEndian.Uint64(rest) == 0 {
			continue // nothing in eight nodes, as mostly
		}
		for x, l := range rest[:8] {
			rest[x] = to[l]
		}
	}
	for x, l := range rest {
		rest[x] = to[l]
	}
}

// middle returns the mean place of nodes.
func (w *sorter) middle(nodes []int32) geom.Vec {
	var sum geom.Vec
	for _, x := range nodes {
		sum = sum.Add(w.point(x))
	}
	return sum.Scale(1 / float64(len(nodes)))
}
