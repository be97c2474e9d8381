package mold

import (
	"container/heap"
	"math"
	"slices"

	"pourproof/geom"
)

// channelNodes lists the lattice nodes of every channel and of its mouth, and
// the mouth's middle.
type channelNodes struct {
	members, mouths [][]int32
	middles         []geom.Vec
}

// clear returns the distance from p to the nearest surface of the halves.
func (f *fixed) clear(p geom.Vec) float64 {
	h, ok := f.tree.Nearest(p, math.Inf(1))
	if !ok {
		return math.Inf(1)
	}
	return h.Dist
}

// room returns the distance from p to the nearest channel wall: surface of the
// halves that does not shape the part. A thin part's far side does not make the
// bore that meets it narrower.
func (m *Mold) room(p geom.Vec) float64 {
	if d, ok := m.wallWithin(p, math.Inf(1)); ok {
		return d
	}
	return math.Inf(1)
}

// wallWithin returns the distance from p to the nearest channel wall if it is no
// more than reach.
func (m *Mold) wallWithin(p geom.Vec, reach float64) (float64, bool) {
	h, ok := m.fixed.tree.NearestWhere(p, reach, func(f int32) bool { return !m.molds(f) })
	return h.Dist, ok
}

// measureChannels finds centre line, clear widths, mouth, exit and owner of
// every channel. The centre line starts as the widest way over lattice nodes
// from the mouth to the exit (the far end of a blind channel) and is then moved,
// station by station, to where a ball has most room in the cross-section; widths
// are exact distances to the mesh there.
func (m *Mold) measureChannels() {
	w := sorter{labels: *m.labels, m: m, sp: m.space}
	for n := range m.Channels {
		c := &m.Channels[n]
		if m.measuredBefore(c, n) {
			continue
		}
		if b := m.boreOf(m.nodes.members[n]); b != nil {
			m.measureBore(c, b)
			continue
		}
		path := w.centreLine(m.nodes.members[n], m.nodes.mouths[n], c.Role != Blind)
		if c.Role == Blind {
			path = m.trimEnd(path)
		}
		m.recentre(path, m.Cell0())
		m.measureLine(c, path)
	}
}

// measuredBefore copies what the mold without the bores just added knows of a
// channel, if they left it as it was: as many nodes, and a mouth no farther off
// than a cell.
func (m *Mold) measuredBefore(c *Channel, n int) bool {
	if m.before == nil || m.before.space.Pitch() != m.space.Pitch() {
		return false
	}
	for i := range m.before.Channels {
		b := &m.before.Channels[i]
		if len(m.before.nodes.members[i]) == len(m.nodes.members[n]) && m.before.nodes.middles[i] == m.nodes.middles[n] {
			id, role := c.ID, c.Role
			*c = *b
			c.ID, c.Role, c.Assumed = id, role, false // the gate is named afresh
			return true
		}
	}
	return false
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

// Cell0 returns the pitch of the closed mold's lattice.
func (m *Mold) Cell0() float64 { return m.space.Pitch() }

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
// the middle. For a blind channel the end is the node with the most steps from
// the mouth.
func (w *sorter) centreLine(members, mouth []int32, through bool) []geom.Vec {
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
	price := make([]float64, len(members))
	for i, x := range members {
		r := max(w.m.room(w.point(x)), step/16)
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
			leaves = leaves || w.of[y] == beyond
			j, ok := slot[y]
			if !ok {
				return
			}
			if c := v.cost + price[j]; c < cost[j] {
				cost[j], from[j] = c, v.x
				heap.Push(h, way{c, y})
			}
		})
		if through && leaves {
			end = v.x
			break
		}
	}
	if end < 0 {
		end = w.farthest(members, mouth, slot)
	}
	var path []geom.Vec
	for x := end; x >= 0; x = from[slot[x]] {
		path = append(path, w.point(x))
	}
	slices.Reverse(path)
	return path
}

// farthest returns the member with the most steps from the mouth among those
// with more than half of the most room there is: the middle of the far end, not
// a corner of it. Of several the one with most room.
func (w *sorter) farthest(members, mouth []int32, slot map[int32]int32) int32 {
	depth := make([]int32, len(members))
	var front []int32
	for _, x := range mouth {
		if i, ok := slot[x]; ok && depth[i] == 0 {
			depth[i] = 1
			front = append(front, x)
		}
	}
	room := make([]float64, len(members))
	widest := 0.0
	for i, x := range members {
		room[i] = w.m.room(w.point(x))
		widest = max(widest, room[i])
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
	return p
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

// measureLine fills in a channel from its centre line.
func (m *Mold) measureLine(c *Channel, path []geom.Vec) {
	f := m.fixed
	first, last := path[0], path[len(path)-1]
	c.Axis = heading(path, m.room(first))
	c.Mouth = m.mouthOf(first, c.Axis, c.Mouth)
	back := slices.Clone(path)
	slices.Reverse(back)
	c.ExitAxis = heading(back, m.room(last)).Neg()
	if c.ExitAxis == (geom.Vec{}) {
		c.ExitAxis = c.Axis
	}
	c.End = last
	if c.Role != Blind {
		end := f.exitOf(last, c.ExitAxis, m.Reach)
		c.Exit, c.End = &end, end
	} else if h, ok := f.tree.First(last, c.ExitAxis, f.box.Diagonal()); ok {
		c.End = h.Point
	}
	c.Path = append(append([]geom.Vec{c.Mouth}, path...), c.End)
	c.Radius = make([]float64, len(c.Path))
	c.Diameter = math.Inf(1)
	at := 0
	for i, p := range c.Path {
		c.Radius[i] = m.room(p)
		inner := i > 0 && i < len(c.Path)-1 // the ends lie on an edge or a wall
		if inner && 2*c.Radius[i] < c.Diameter {
			c.Diameter, c.Narrowest, at = 2*c.Radius[i], p, i
		}
		if i > 0 {
			c.Length += p.Dist(c.Path[i-1])
		}
	}
	// The neck decides: there the middle of the chords gives way to the place with
	// most room.
	if axis := along(c.Path, at, c.Radius[at]); axis != (geom.Vec{}) {
		c.Narrowest = m.widest(c.Narrowest, axis, m.Cell0())
		c.Diameter = max(c.Diameter, 2*m.room(c.Narrowest))
	}
	c.MouthDiameter = 2 * c.Radius[0]
	for _, r := range c.Radius[at : len(c.Radius)-1] {
		c.WidestBeyond = max(c.WidestBeyond, 2*r)
	}
	c.Half = m.halfAround(path)
	h := m.Cell0()
	// A bore's mouth is at most a few diameters squared, a gap's far more.
	c.Slit = float64(len(m.nodes.mouths[c.ID-1]))*h*h > slitArea*c.Diameter*c.Diameter
}

// slitArea is how many squared diameters a mouth must cover to be a slit: a
// round mouth covers 0.8, seen on two layers of nodes 1.6, cut askew at 60 deg
// 3.2.
const slitArea = 6

// heading returns the direction in which a path sets out, over about the given
// length: the unit vector from its first point to the mean of the others.
func heading(path []geom.Vec, length float64) geom.Vec {
	var sum geom.Vec
	n := 0
	for _, p := range path[1:] {
		if n > 1 && p.Dist(path[0]) > max(length, 1) {
			break
		}
		sum = sum.Add(p)
		n++
	}
	if n == 0 {
		return geom.Vec{}
	}
	return sum.Scale(1 / float64(n)).Sub(path[0]).Unit()
}

// mouthOf returns where the centre line, run backward from its first point,
// meets the fitted part; else the place on the part nearest to near.
func (m *Mold) mouthOf(first, axis, near geom.Vec) geom.Vec {
	within := m.Skin + 3*m.Cell0() + m.room(first)
	if h, ok := m.fixed.partTree.First(first, axis.Neg(), within); ok && axis != (geom.Vec{}) {
		return h.Point
	}
	if h, ok := m.fixed.partTree.Nearest(near, math.Inf(1)); ok {
		return h.Point
	}
	return near
}

// exitOf returns where a channel whose last centre is c, heading outward along
// axis, meets the outside: a ball of radius reach rolled against the mouth of
// the bore touches its rim; lines parallel to the axis just beyond that rim leave
// the rubber at the outer face, and their mean is the exit.
func (f *fixed) exitOf(c, axis geom.Vec, reach float64) geom.Vec {
	if axis == (geom.Vec{}) {
		return c
	}
	at := func(s float64) geom.Vec { return c.AddScaled(axis, s) }
	hi := reach
	for ; f.clear(at(hi)) < reach; hi += reach / 4 {
		if hi > 5*reach { // something stands in the way: the last centre must do
			return c
		}
	}
	lo := 0.0
	if hi > reach {
		lo = hi - reach/4
	}
	for i := 0; i < 50; i++ {
		mid := (lo + hi) / 2
		if f.clear(at(mid)) < reach {
			lo = mid
		} else {
			hi = mid
		}
	}
	h, _ := f.tree.Nearest(at(hi), math.Inf(1))
	touch := h.Point.Sub(c)
	depth := touch.Dot(axis)
	rim := touch.AddScaled(axis, -depth).Norm()
	const inside, beside = 0.3, 0.05 // mm: start this far below the rim, this far beyond it
	u, v := axis.Perpendicular()
	sum, n := 0.0, 0
	for k := 0; k < 16; k++ {
		s, co := math.Sincos(2 * math.Pi * float64(k) / 16)
		dir := u.Scale(roundAngle(co)).AddScaled(v, roundAngle(s))
		p := at(depth-inside).AddScaled(dir, rim+beside)
		if hit, ok := f.tree.First(p, axis, 4*rim+1); ok && hit.Sense < 0 {
			sum += depth - inside + hit.Dist
			n++
		}
	}
	if n < 16 {
		return at(depth)
	}
	return at(sum / 16)
}

// mostly is the share of a channel's wall that must belong to one half for the
// channel to be that half's; below it two halves form it at the parting face.
const mostly = 0.85

// halfAround names the half whose rubber surrounds the path.
func (m *Mold) halfAround(path []geom.Vec) string {
	f := m.fixed
	count := make([]int, len(f.halves))
	total := 0
	for i := 0; i < len(path); i += max(1, len(path)/12) {
		a, b := path[max(i-1, 0)], path[min(i+1, len(path)-1)]
		axis := b.Sub(a).Unit()
		if axis == (geom.Vec{}) {
			axis = geom.Vec{Z: 1}
		}
		u, v := axis.Perpendicular()
		for k := 0; k < 8; k++ {
			s, c := math.Sincos(2*math.Pi*float64(k)/8 + 0.2)
			dir := u.Scale(roundAngle(c)).AddScaled(v, roundAngle(s)).Unit()
			if h, ok := f.tree.First(path[i], dir, 4*f.clear(path[i])+1); ok {
				count[f.half(h.Facet)]++
				total++
			}
		}
	}
	for h, n := range count {
		if float64(n) >= mostly*float64(total) && n > 0 {
			return m.Halves[h].Name
		}
	}
	return "parting"
}
