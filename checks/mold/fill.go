package mold

import (
	"math"

	"pourproof/geom"
	"pourproof/geom/flood"
)

// Pour fills the mold with up pointing away from gravity. Cost: three casts of
// the halves, then near linear in the columns' runs.
func (m *Mold) Pour(up geom.Vec) (*Fill, error) {
	p, f, lv, err := m.poured(up)
	if err != nil {
		return nil, err
	}
	p.levelCeiling(f)
	p.highPoints(f)
	p.events(f, lv)
	return f, nil
}

// airLeft is Pour without what only a report shows: the air that stays, and where.
func (m *Mold) airLeft(up geom.Vec) (strayAir, error) {
	p, f, _, err := m.poured(up)
	if err != nil {
		return strayAir{}, err
	}
	defer p.done()
	return strayAir{f.air, f.Trapped}, nil
}

// poured fills the mold and fills in the balance and the pockets.
func (m *Mold) poured(up geom.Vec) (*pour, *Fill, *levels, error) {
	p, err := m.newPour(up, m.Cell)
	if err != nil {
		return nil, nil, nil, err
	}
	if p.flow, err = flood.Run(&p.graph); err != nil {
		return nil, nil, nil, err
	}
	marginal, err := p.bothWays()
	if err != nil {
		return nil, nil, nil, err
	}
	t := TiltOf(m.Rest, up)
	f := &Fill{Up: up, TiltAngle: t.Angle, TiltSide: t.Side, Cell: p.lat.Pitch()}
	f.Ports = append(f.Ports, m.Channels...)
	lv := p.sharpen(p.coarseVolumes(), least)
	p.balance(f, lv)
	p.pockets(f, lv, marginal)
	p.keepAir(f, lv)
	return p, f, lv, nil
}

// area is the cross-section of a column in mm2.
func (p *pour) area() float64 { h := p.lat.Pitch(); return h * h }

// volume turns a height sum in quanta into mm3.
func (p *pour) volume(quanta int64) float64 { return float64(quanta) * p.lat.Q * p.area() }

// column returns the lattice place of piece i.
func (p *pour) column(i int32) (x, y int) {
	c := int(p.col[i])
	return c / p.lat.N[1], c % p.lat.N[1]
}

// point returns the CAD place of piece i at height z.
func (p *pour) point(i, z int32) geom.Vec {
	x, y := p.column(i)
	return p.lat.Point(p.lat.At(0, x), p.lat.At(1, y), z)
}

// inLabel sums the heights of piece i's segments between lo and hi whose label
// is cavity, and the rest.
func (p *pour) inLabel(i, lo, hi int32) (inCavity, inChannel int64) {
	for s := p.first[i]; s < p.first[i+1]; s++ {
		a, b := max(p.segs[s].lo, lo), min(p.segs[s].hi, hi)
		if a >= b {
			continue
		}
		if p.segs[s].of == cavity {
			inCavity += int64(b - a)
		} else {
			inChannel += int64(b - a)
		}
	}
	return inCavity, inChannel
}

// least is the volume in mm3 from which a pocket is worth sharpening: a tenth of
// the smallest one that is reported.
const least = 0.1

// coarseVolumes returns the volume of every pocket before sharpening.
func (p *pour) coarseVolumes() []float64 {
	v := make([]float64, len(p.flow.Seals))
	for r, i := range p.piece {
		if k := p.flow.Pocket[r]; k >= 0 && p.flow.Reached[r] {
			a, b := p.inLabel(i, p.flow.Level(int32(r), flood.Never), p.hi[i])
			v[k] += p.volume(a + b)
		}
	}
	return v
}

// balance sums cavity = filled + trapped + unreached, and the channels' volumes.
func (p *pour) balance(f *Fill, lv *levels) {
	var total, filled, trapped, unreached int64
	lost := int32(-1) // a piece that no resin reaches, the longest
	for r, i := range p.piece {
		cav, _ := p.inLabel(i, p.lo[i], p.hi[i])
		total += cav
		switch {
		case !p.flow.Reached[r] && cav > sliver:
			unreached += cav
			if cav > 0 && (lost < 0 || p.hi[i]-p.lo[i] > p.hi[lost]-p.lo[lost]) {
				lost = i
			}
		case p.flow.Pocket[r] >= 0:
			level := lv.of(int32(r))
			below, _ := p.inLabel(i, p.lo[i], level)
			above, _ := p.inLabel(i, level, p.hi[i])
			filled, trapped = filled+below, trapped+above
		default:
			filled += cav
		}
	}
	f.Cavity, f.Trapped, f.Unreached = p.volume(total), p.volume(trapped), p.volume(unreached)
	f.Filled = p.volume(filled)
	if lost >= 0 {
		q := p.point(lost, p.lo[lost]+(p.hi[lost]-p.lo[lost])/2)
		f.UnreachedAt = &q
	}
	channel := make([]int64, len(f.Ports))
	for i := range p.lo {
		for s := p.first[i]; s < p.first[i+1]; s++ {
			if l := p.segs[s].of; l >= firstChannel {
				channel[l-firstChannel] += int64(p.segs[s].hi - p.segs[s].lo)
			}
		}
	}
	for c := range f.Ports {
		f.Ports[c].Volume = p.volume(channel[c])
		f.Channels += f.Ports[c].Volume
	}
	p.extent(f)
}

// extent finds the cavity's lowest point and its top.
func (p *pour) extent(f *Fill) {
	low, high := int32(math.MaxInt32), int32(math.MinInt32)
	at := int32(-1)
	for _, i := range p.piece {
		for s := p.first[i]; s < p.first[i+1]; s++ {
			if p.segs[s].of != cavity {
				continue
			}
			if p.segs[s].lo < low {
				low, at = p.segs[s].lo, i
			}
			high = max(high, p.segs[s].hi)
		}
	}
	if at >= 0 {
		f.LowestCavityPoint = p.point(at, low)
		f.HighestPoint = p.lat.Height(high)
	}
}
