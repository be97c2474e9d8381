package mold

import (
	"container/heap"
	"math"
	"slices"

	"pourproof/geom"
)

// way is a node on the search for the widest way.
type way struct {
	cost float64
	x    int32
}

type wayHeap []way

func (h wayHeap) Len() int { return len(h) }
func (h wayHeap) Less(i, j int) bool {
	return h[i].cost < h[j].cost || h[i].cost == h[j].cost && h[i].x < h[j].x
}
func (h wayHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *wayHeap) Push(v any)   { *h = append(*h, v.(way)) }
func (h *wayHeap) Pop() any {
	o := *h
	v := o[len(o)-1]
	*h = o[:len(o)-1]
	return v
}

// centreLine returns the way from a mouth to the exit that costs least when a
// step costs the inverse square of the clear radius (Dijkstra), so it keeps to
// the middle. The exit is a node beside one of the label that it leads to. For a blind
// channel, which leads to nothing, the end is the node with the most steps from
// the mouth.
func (w *sorter) centreLine(members, mouth []int32, to label) []geom.Vec {
	slot := make(map[int32]int32, len(members))
	for i, x := range members {
		slot[x] = int32(i)
	}
	cost := make([]float64, len(members))
	from := make([]int32, len(members))
	for i := range cost {
		cost[i], from[i] = math.Inf(1), -1
	}
	step := w.lat.Pitch()
	room := w.rooms(members)
	price := make([]float64, len(members))
	for i := range price {
		r := max(room[i], step/16)
		price[i] = step / (r * r)
	}
	h := &wayHeap{}
	for _, x := range mouth {
		if i, ok := slot[x]; ok {
			cost[i] = 0
			heap.Push(h, way{0, x})
		}
	}
	end := int32(-1)
	for h.Len() > 0 {
		v := heap.Pop(h).(way)
		i := slot[v.x]
		if v.cost > cost[i] {
			continue
		}
		leaves := false
		w.around(v.x, func(y int32) {
			leaves = leaves || w.of[y] == to
			j, ok := slot[y]
			if !ok {
				return
			}
			if c := v.cost + price[j]; c < cost[j] {
				cost[j], from[j] = c, v.x
				heap.Push(h, way{c, y})
			}
		})
		if to != nothing && leaves {
			end = v.x
			break
		}
	}
	if end < 0 {
		end = w.farthest(room, mouth, slot)
	}
	var path []geom.Vec
	for x := end; x >= 0; x = from[slot[x]] {
		path = append(path, w.point(x))
	}
	slices.Reverse(path)
	return path
}

// rooms returns the room at every member. The wall nearest to one is often that of the
// next, too.
func (w *sorter) rooms(members []int32) []float64 {
	const share = 256
	out := make([]float64, len(members))
	sideBySide((len(members)+share-1)/share, func(n int) {
		guess := int32(-1)
		for i := n * share; i < min((n+1)*share, len(members)); i++ {
			out[i], guess = w.m.roomFrom(guess, w.point(members[i]))
		}
	})
	return out
}

// farthest returns the member with the most steps from the mouth among those
// with more than half of the most room there is: the middle of the far end, not
// a corner of it. Of several the one with most room.
func (w *sorter) farthest(room []float64, mouth []int32, slot map[int32]int32) int32 {
	depth := make([]int32, len(room))
	var front []int32
	for _, x := range mouth {
		if i, ok := slot[x]; ok && depth[i] == 0 {
			depth[i] = 1
			front = append(front, x)
		}
	}
	widest := 0.0
	for _, r := range room {
		widest = max(widest, r)
	}
	for head := 0; head < len(front); head++ {
		d := depth[slot[front[head]]]
		w.around(front[head], func(y int32) {
			if j, ok := slot[y]; ok && depth[j] == 0 {
				depth[j] = d + 1
				front = append(front, y)
			}
		})
	}
	best := front[0]
	for _, x := range front {
		i, j := slot[x], slot[best]
		if room[i] <= widest/2 {
			continue
		}
		if room[j] <= widest/2 || depth[i] > depth[j] || depth[i] == depth[j] && room[i] > room[j] {
			best = x
		}
	}
	return best
}

// recentre moves the points of a path to the middle of the passage. Two rounds:
// the axis of the second comes from the centred points of the first.
func (m *Mold) recentre(path []geom.Vec, step float64) {
	for round := 0; round < 2; round++ {
		old := slices.Clone(path)
		for i := range path {
			if axis := along(old, i, m.fixed.clear(old[i])); axis != (geom.Vec{}) {
				// Beside a mouth chords run into the cavity: a place with less room is no middle.
				if q := m.fixed.middle(old[i], axis, step); m.room(q) >= m.room(old[i])-step/100 {
					path[i] = q
				}
			}
		}
	}
}

// along returns the direction of a path at point i, taken over about the given
// length to both sides.
func along(path []geom.Vec, i int, length float64) geom.Vec {
	a, b := i, i
	for a > 0 && (i-a < 2 || path[a].Dist(path[i]) < length) {
		a--
	}
	for b < len(path)-1 && (b-i < 2 || path[b].Dist(path[i]) < length) {
		b++
	}
	return path[b].Sub(path[a]).Unit()
}

// diameters is the number of lines across a passage that find its middle.
const diameters = 8

// middle moves p, in the plane across axis, to the mean middle of the chords
// through it: exact in one step for a circle, three for squares and slots. A
// chord that meets no wall within four times the nearest one says nothing (a
// slot's length, an open side).
func (f *fixed) middle(p, axis geom.Vec, step float64) geom.Vec {
	u, v := axis.Perpendicular()
	from := p
	for i := 0; i < 3; i++ {
		near := math.Inf(1)
		var chord [diameters][2]float64
		var dir [diameters]geom.Vec
		for k := range chord {
			s, c := math.Sincos(math.Pi * float64(k) / diameters)
			dir[k] = u.Scale(roundAngle(c)).AddScaled(v, roundAngle(s))
			for e, d := range [2]geom.Vec{dir[k], dir[k].Neg()} {
				chord[k][e] = math.Inf(1)
				if h, ok := f.tree.First(p, d.Unit(), 100*step); ok {
					chord[k][e] = h.Dist
				}
				near = min(near, chord[k][e])
			}
		}
		var shift geom.Vec
		for k, c := range chord {
			if max(c[0], c[1]) <= 4*near+step {
				shift = shift.AddScaled(dir[k], (c[0]-c[1])/diameters)
			}
		}
		p = p.Add(shift)
	}
	if !p.Finite() || p.Dist(from) > 4*step+f.clear(from) {
		return from
	}
	return roundPlace(p)
}

// widest climbs from p, in the plane across axis, to a local maximum of the
// room by a pattern search of eight directions, to 1/1000 of the first step.
func (m *Mold) widest(p, axis geom.Vec, step float64) geom.Vec {
	u, v := axis.Perpendicular()
	// A gain below this is rounding: in a slot the room is the same all along it,
	// and the point must not wander.
	least := step * 1e-4
	// The search stays near: beyond lies another channel or, at an exit, the open.
	from, best := p, m.room(p)
	far := best + step
	const d = 0.7071067811865476
	dirs := [8][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}, {d, d}, {-d, d}, {-d, -d}, {d, -d}}
	for s := step / 8; s > step/1000; {
		moved := false
		for _, e := range dirs {
			q := p.AddScaled(u, s*e[0]).AddScaled(v, s*e[1])
			if r := m.room(q); r > best+least && q.Dist(from) <= far {
				p, best, moved = q, r, true
			}
		}
		if !moved {
			s /= 2
		}
	}
	return p
}

// trimEnd takes off the end of a dead end's path where the far wall is nearer
// than the side walls: there a ball has room for itself only, and the middle of
// the bore cannot be told.
func (m *Mold) trimEnd(path []geom.Vec) []geom.Vec {
	widest := 0.0
	for _, p := range path {
		widest = max(widest, m.room(p))
	}
	n := len(path)
	for n > 2 && path[n-1].Dist(path[len(path)-1]) < widest {
		n--
	}
	return path[:n]
}
