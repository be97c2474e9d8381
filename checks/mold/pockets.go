package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
	"pourproof/geom/flood"
)

// reported is the volume in mm3 below which a pocket is summed up in Small.
const reported = 1.0

// tally gathers what a pocket's columns hold.
type tally struct {
	cav, chn, dry int64 // quanta: in the part, in channels, in the part below the sealing level
	surface       int   // columns with resin under the air
	rim           float64
	top, bottom   int32 // pieces
	topZ, bottomZ int32
}

// pockets fills in the reported pockets, the small ones, and the sum's error.
func (p *pour) pockets(f *Fill, lv *levels, marginal map[int32]bool) {
	t := p.tallies(lv)
	spoils, chord, shown := p.spoiled(lv)
	var err2 float64
	p.idOf = make([]int, len(t))
	var from []int32 // per reported pocket: its number in the flow
	for k := range t {
		v := p.volume(t[k].cav)
		if v+p.volume(t[k].chn) <= 0 || v == 0 {
			continue
		}
		e := p.pocketError(&t[k], lv.off(int32(k)), chord[k])
		err2 += e * e
		if v < reported || v < e {
			f.SmallCount++
			f.SmallVolume += v
			continue
		}
		k32 := int32(k)
		pk := Pocket{ID: len(f.Pockets) + 1, Kind: Ceiling, Volume: v, ChannelVolume: p.volume(t[k].chn), Error: e,
			Spoils: spoils[k], Show: shown[k], Marginal: marginal[k32]}
		if 2*t[k].dry > t[k].cav {
			pk.Kind = Basin
		}
		pk.Top = p.sharpTop(t[k].top, t[k].topZ)
		pk.Bottom = p.point(t[k].bottom, t[k].bottomZ)
		pk.SealedAt = pk.Bottom.Dot(f.Up)
		if p.flow.Seals[k].When != flood.Start {
			pk.SealedAt = p.lat.Height(p.pocketLevel(k32, lv))
		}
		pk.Depth = max(pk.Top.Dot(f.Up)-pk.SealedAt, 0)
		pk.Near, pk.NearDistance = p.m.nearestMouth(pk.Top)
		f.Pockets = append(f.Pockets, pk)
		from = append(from, k32)
		f.Marginal = f.Marginal || pk.Marginal
	}
	f.TrappedError = math.Sqrt(err2)
	p.byHarm(f, from)
}

// pocketLevel returns the level of the resin under a pocket: that of the most
// columns of it, the lower of two.
func (p *pour) pocketLevel(k int32, lv *levels) int32 {
	count := map[int32]int{}
	best, n := p.flow.SealLevel(k), 0
	for r := range p.piece {
		if p.flow.Pocket[r] != k {
			continue
		}
		z := lv.of(int32(r))
		if z <= p.graph.Lo[r] {
			continue
		}
		count[z]++
		if c := count[z]; c > n || c == n && z < best {
			best, n = z, c
		}
	}
	return best
}

// byHarm orders the pockets by volume, ties by place, and numbers them.
func (p *pour) byHarm(f *Fill, from []int32) {
	order := make([]int, len(from))
	for i := range order {
		order[i] = i
	}
	old := f.Pockets
	slices.SortFunc(order, func(a, b int) int {
		if c := cmp.Compare(old[b].Volume, old[a].Volume); c != 0 {
			return c
		}
		return cmp.Compare(from[a], from[b])
	})
	f.Pockets = make([]Pocket, len(old))
	for n, i := range order {
		f.Pockets[n] = old[i]
		f.Pockets[n].ID = n + 1
		p.idOf[from[i]] = n + 1
	}
}

// tallies sums every pocket over its columns.
func (p *pour) tallies(lv *levels) []tally {
	t := make([]tally, len(p.flow.Seals))
	for k := range t {
		t[k].top, t[k].bottom = -1, -1
	}
	h2 := p.area()
	for r, i := range p.piece {
		k := p.flow.Pocket[r]
		if k < 0 || !p.flow.Reached[r] {
			continue
		}
		s := &t[k]
		z := lv.of(int32(r))
		a, b := p.inLabel(i, z, p.hi[i])
		s.cav += a
		s.chn += b
		if a == 0 {
			continue
		}
		if seal := lv.sealLevel(k); seal > z {
			d, _ := p.inLabel(i, z, min(seal, p.hi[i]))
			s.dry += d
		}
		if z > p.lo[i] {
			s.surface++
		}
		for q := p.first[i]; q < p.first[i+1]; q++ {
			if g := p.segs[q]; g.of == cavity && g.hi > z {
				if s.top < 0 || g.hi > s.topZ {
					s.top, s.topZ = i, g.hi
				}
				if lo := max(g.lo, z); s.bottom < 0 || lo < s.bottomZ {
					s.bottom, s.bottomZ = i, lo
				}
			}
		}
		if open := 4 - p.pocketNeighbours(i, k, z); open > 0 {
			jump := float64(a) * p.lat.Q
			e := h2 / 2 * jump
			s.rim += float64(open) / 2 * e * e
		}
	}
	return t
}

// pocketNeighbours counts the four neighbouring columns in which pocket k's air
// goes on beside piece i above height z.
func (p *pour) pocketNeighbours(i, k, z int32) int {
	n := 0
	last := int32(-1)
	p.beside(i, func(j, lo, hi int32) {
		if r := p.run[j]; r >= 0 && p.flow.Pocket[r] == k && hi > z && p.col[j] != last {
			n++
			last = p.col[j]
		}
	})
	return n
}

// sealLevel returns the sharpened level of pocket k, or the coarse one.
func (l *levels) sealLevel(k int32) int32 {
	if z, ok := l.seal[k]; ok {
		return z
	}
	return l.p.flow.SealLevel(k)
}

// pocketError states how far a pocket's volume may be off: the free surface
// times the error of its level (an eighth of what the fine window moved it, at
// least half a fine pitch on a 1:8 slope; a quarter of a pitch where no window has
// confirmed it), the rim columns, each of which may be
// half in and half out (independent, because the lattice runs askew to the
// walls: added in quadrature, twice over for 95 %), and what the chords of the
// part's facets there cut off a curved face (mm3).
func (p *pour) pocketError(t *tally, moved, chord float64) float64 {
	h := p.lat.Pitch()
	level := max(moved/8, h/(1<<fineBits)/16)
	return float64(t.surface)*p.area()*level + 2*math.Sqrt(t.rim/3) + chord
}

// nearestMouth returns the channel whose mouth is nearest to q, the gate left out.
func (m *Mold) nearestMouth(q geom.Vec) (id int, dist float64) {
	dist = math.Inf(1)
	for i := range m.Channels {
		c := &m.Channels[i]
		if d := c.Mouth.Dist(q); c.Role != Gate && d < dist {
			id, dist = c.ID, d
		}
	}
	if id == 0 {
		dist = 0
	}
	return id, dist
}

// sharpTop moves the top of a pocket, found in a column, to the vertex of
// the roof's facet there that is really highest, if it lies within two pitches.
func (p *pour) sharpTop(i, z int32) geom.Vec {
	top := p.point(i, z)
	up := p.lat.Frame.Z
	facet := p.roof[i]
	if facet < 0 {
		return top
	}
	best, height := top, top.Dot(up)
	reach := 2 * p.lat.Pitch()
	t := p.sp.Solids.Triangle(facet)
	for _, v := range [3]geom.Vec{t.A, t.B, t.C} {
		d := v.Sub(top)
		aside := d.AddScaled(up, -d.Dot(up)).Norm()
		if h := v.Dot(up); aside <= reach && h > height && p.inCavity(v, up) {
			best, height = v, h
		}
	}
	return best
}

// inCavity tells whether the void just below v belongs to the cavity.
func (p *pour) inCavity(v, up geom.Vec) bool {
	q := v.AddScaled(up, -p.lat.Pitch()/2)
	return p.m.labels.at(q)&^material == cavity
}

// level2deg is the cosine of 2 deg: a roof within it of level holds a film of
// bubbles (design).
const level2deg = 0.9993908270190958

// levelCeiling finds the largest connected patch of cavity roof within 2 deg of
// level.
func (p *pour) levelCeiling(f *Fill) {
	up := p.lat.Frame.Z
	roof := make([]bool, len(p.piece))
	parent := make([]int32, len(p.piece))
	for r, i := range p.piece {
		parent[r] = int32(r)
		last := p.segs[p.first[i+1]-1]
		if last.of == cavity && last.hi-last.lo > sliver && p.roof[i] >= 0 {
			roof[r] = p.sp.Solids.Normal(p.roof[i]).Dot(up) < -level2deg
		}
	}
	root := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	step := int32(1) << (p.lat.Bits - 3) // tan 2 deg is 1/28 of a pitch; 1/8 leaves room for facets
	for _, l := range p.graph.Links {
		d := p.graph.Hi[l.A] - p.graph.Hi[l.B]
		if roof[l.A] && roof[l.B] && d <= step && d >= -step {
			a, b := root(l.A), root(l.B)
			parent[max(a, b)] = min(a, b)
		}
	}
	size := make([]int32, len(p.piece))
	best := int32(-1)
	for r := range p.piece {
		if !roof[r] {
			continue
		}
		k := root(int32(r))
		size[k]++
		if best < 0 || size[k] > size[best] {
			best = k
		}
	}
	if best < 0 {
		return
	}
	f.LevelCeilingArea = float64(size[best]) * p.area()
	n := int32(0)
	for r, i := range p.piece {
		if roof[r] && root(int32(r)) == best {
			if n++; n == (size[best]+1)/2 {
				q := p.point(i, p.hi[i])
				f.LevelCeilingAt = &q
			}
		}
	}
}
