package mold

import (
	"math"

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
	d, _ := m.roomFrom(-1, p)
	return d
}

// roomFrom is room with a guess at the facet nearest, -1 for none; it returns that facet.
func (m *Mold) roomFrom(guess int32, p geom.Vec) (float64, int32) {
	h, ok := m.fixed.tree.NearestFrom(guess, p, math.Inf(1), func(f int32) bool { return !m.molds(f) })
	if !ok {
		return math.Inf(1), -1
	}
	return h.Dist, h.Facet
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
	w.joinArms()
	for n := range m.Channels {
		c := &m.Channels[n]
		if m.measuredBefore(c, n) {
			continue
		}
		if b := m.boreOf(m.nodes.members[n]); b != nil {
			m.measureBore(c, b)
			c.rim = m.rimOf(c)
			continue
		}
		path := w.centreLine(m.nodes.members[n], m.nodes.mouths[n], leadsTo(c))
		if c.Role == Blind {
			path = m.trimEnd(path)
		}
		m.recentre(path, m.Cell0())
		m.measureLine(c, path)
		c.rim = m.rimOf(c)
	}
	m.armExits()
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
		if len(m.before.nodes.members[i]) == len(m.nodes.members[n]) && m.before.nodes.middles[i] == m.nodes.middles[n] && (b.Joins == 0) == (c.Joins == 0) {
			id, role, joins := c.ID, c.Role, c.Joins
			*c = *b
			c.ID, c.Role, c.Joins, c.Assumed = id, role, joins, false // the gate is named afresh
			return true
		}
	}
	return false
}

// Cell0 returns the pitch of the closed mold's lattice.
func (m *Mold) Cell0() float64 { return m.space.Pitch() }

// measureLine fills in a channel from its centre line.
func (m *Mold) measureLine(c *Channel, path []geom.Vec) {
	f, last := m.fixed, path[len(path)-1]
	path = m.inner(path)
	near, axis := fitLine(path, 0, m.room(path[0]))
	far, exit := fitLine(path, len(path)-1, m.room(path[len(path)-1]))
	c.Axis, c.ExitAxis = axis, exit
	c.Mouth = m.mouthOf(near, c.Axis, c.Mouth)
	c.End = last // where an arm joins
	if c.Role != Blind && c.Joins == 0 {
		end := f.exitOf(far, c.ExitAxis, m.Reach)
		c.Exit, c.End = &end, end
	} else if h, ok := f.tree.First(far, c.ExitAxis, f.box.Diagonal()); c.Joins == 0 {
		if c.End = path[len(path)-1]; ok {
			c.End = h.Point
		}
	}
	c.Path = append(append([]geom.Vec{c.Mouth}, path...), c.End)
	c.round()
	c.Radius = make([]float64, len(c.Path))
	c.Diameter = math.Inf(1)
	at := 0
	for i, p := range c.Path {
		c.Radius[i] = roundMM(m.room(p))
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
		c.Narrowest = roundPlace(c.Narrowest)
		c.Diameter = max(c.Diameter, roundMM(2*m.room(c.Narrowest)))
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

// roundMM rounds to 2^-30 mm (1e-9): which of two equally near facets answers
// depends on their order in the file, and shows in the last bits only.
func roundMM(x float64) float64 {
	const q = 1 << 30
	return math.Round(x*q) / q
}

func roundPlace(v geom.Vec) geom.Vec {
	return geom.Vec{X: roundMM(v.X), Y: roundMM(v.Y), Z: roundMM(v.Z)}
}

// round takes every place of a channel to 2^-30 mm.
func (c *Channel) round() {
	c.Mouth, c.End = roundPlace(c.Mouth), roundPlace(c.End)
	c.Axis, c.ExitAxis = roundPlace(c.Axis), roundPlace(c.ExitAxis)
	if c.Exit != nil {
		end := c.End
		c.Exit = &end
	}
	for i := range c.Path {
		c.Path[i] = roundPlace(c.Path[i])
	}
}

// slitArea is how many squared diameters a mouth must cover to be a slit: a
// round mouth covers 0.8, seen on two layers of nodes 1.6, cut askew at 60 deg
// 3.2.
const slitArea = 6

// inner leaves out the points of a centre line nearer to an end than the room
// there: beside a rim the middle cannot be told. At least three points stay.
func (m *Mold) inner(path []geom.Vec) []geom.Vec {
	a, b := 0, len(path)
	for b-a > 3 && path[a].Dist(path[0]) < m.room(path[a]) {
		a++
	}
	for b-a > 3 && path[b-1].Dist(path[len(path)-1]) < m.room(path[b-1]) {
		b--
	}
	return path[a:b]
}

// fitLine fits a straight line to the points of a path near its end number at (0
// or the last): a point on it and its direction, from the first point toward the
// last. It takes in four radii, at least 3 mm, long against the scatter of single
// points; less where the path bends within them by more than a seventh of the
// radius.
func fitLine(path []geom.Vec, at int, radius float64) (on, dir geom.Vec) {
	for _, reach := range [3]float64{max(4*radius, 3), 2 * radius, radius} {
		var some []geom.Vec
		var sum geom.Vec
		for _, p := range path {
			if p.Dist(path[at]) <= reach {
				some = append(some, p)
				sum = sum.Add(p)
			}
		}
		if len(some) < 2 && dir != (geom.Vec{}) {
			break // too short to say more
		}
		on, dir = sum.Scale(1/float64(len(some))), geom.Vec{}
		for i, p := range some {
			dir = dir.AddScaled(p.Sub(on), float64(i)-float64(len(some)-1)/2)
		}
		dir = roundPlace(dir.Unit())
		off := 0.0
		for _, p := range some {
			off = max(off, p.Sub(on).Cross(dir).Norm())
		}
		if off <= radius/7 {
			break
		}
	}
	return on, dir
}

// mouthOf returns where the centre line, run backward from a point near its start,
// meets the fitted part; else, and where that lies off the middle of the mouth because the
// channel bends at once, the place on the part nearest to near.
func (m *Mold) mouthOf(first, axis, near geom.Vec) geom.Vec {
	within := m.Skin + 3*m.Cell0() + 2*m.room(first) + first.Dist(near)
	if h, ok := m.fixed.partTree.First(first, axis.Neg(), within); ok && axis != (geom.Vec{}) {
		room := m.room(first)
		bends := first.Dist(near) <= 2*room+m.Skin && h.Point.Dist(near) > room/2+m.Cell0() // far from the middle a slot may be left anywhere
		if !bends {
			return h.Point
		}
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
