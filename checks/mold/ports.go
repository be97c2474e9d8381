package mold

import (
	"fmt"
	"slices"

	"pourproof/geom"
)

// split tells the channels apart. The cores' nodes that touch the cavity form
// mouths; every node of a core belongs to the mouth it is nearest to by way of
// the core. Cores that are only roughness of the skin go back to the cavity.
func (w *sorter) split() error {
	mouths := w.mouths()
	if len(mouths) > maxChannels {
		return fmt.Errorf("%d openings into the cavity found, more than %d: the halves do not enclose the part (wrong file, wrong place, or wrong units?)",
			len(mouths), maxChannels)
	}
	owner := make(map[int32]label, len(w.cores))
	var front []int32
	for n, mouth := range mouths {
		for _, x := range mouth {
			owner[x] = firstChannel + label(n)
		}
		front = append(front, mouth...)
	}
	w.members = make([][]int32, len(mouths))
	through := make([]bool, len(mouths))
	for head := 0; head < len(front); head++ {
		x := front[head]
		own := owner[x]
		w.members[own-firstChannel] = append(w.members[own-firstChannel], x)
		w.around(x, func(y int32) {
			switch {
			case w.of[y] == beyond:
				through[own-firstChannel] = true
			case w.of[y] == core && owner[y] == nothing:
				owner[y] = own
				front = append(front, y)
			}
		})
	}
	w.keep(mouths, through)
	return nil
}

// mouths returns the groups of core nodes that touch the cavity, each group's
// nodes no more than two steps apart, ordered by their first node.
func (w *sorter) mouths() [][]int32 {
	var edge []int32
	for _, x := range w.cores {
		touches := false
		w.around(x, func(y int32) { touches = touches || w.of[y] == cavity })
		if touches {
			edge = append(edge, x)
		}
	}
	slices.Sort(edge)
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

// within2 calls visit for every node no more than two steps along any axis from
// x, in fixed order.
func (w *sorter) within2(x int32, visit func(y int32)) {
	i, j, k := w.node(x)
	for a := max(i-2, 0); a <= min(i+2, w.lat.N[0]-1); a++ {
		for b := max(j-2, 0); b <= min(j+2, w.lat.N[1]-1); b++ {
			for c := max(k-2, 0); c <= min(k+2, w.lat.N[2]-1); c++ {
				visit(w.index(a, b, c))
			}
		}
	}
}

// rough is the depth beyond the skin, in pitches, below which a dead end is
// roughness between two meshes and no channel: the deepest node of a true
// channel lies at least one pitch beyond the skin, and the nodes of one that is
// a whole pitch deep lie up to sqrt(3)/2 of a pitch short of its end.
const rough = 1.5

// keep numbers the channels that are real by place of their mouths and writes
// their labels; the others' nodes become cavity.
func (w *sorter) keep(mouths [][]int32, through []bool) {
	type found struct {
		at      geom.Vec
		members []int32
		through bool
		mouth   []int32
	}
	var real []found
	deep := w.m.Skin + rough*w.lat.Pitch()
	for n, members := range w.members {
		isReal := through[n]
		for i := 0; i < len(members) && !isReal; i++ {
			_, near := w.m.fixed.partTree.Nearest(w.point(members[i]), deep)
			isReal = !near
		}
		if isReal {
			real = append(real, found{w.middle(mouths[n]), members, through[n], mouths[n]})
			continue
		}
		for _, x := range members {
			w.of[x] = cavity
		}
	}
	slices.SortFunc(real, func(a, b found) int {
		if a.at.Less(b.at) {
			return -1
		}
		return 1
	})
	w.members = w.members[:0]
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
	}
	w.m.nodes = channelNodes{w.members, nil}
	for _, r := range real {
		w.m.nodes.mouths = append(w.m.nodes.mouths, r.mouth)
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
