package mold

import (
	"pourproof/geom"
	"pourproof/geom/flood"
)

// Pour fills the mold with up pointing away from gravity.
func (m *Mold) Pour(up geom.Vec) (*Fill, error) {
	p, err := m.newPour(up, m.Cell)
	if err != nil {
		return nil, err
	}
	if p.flow, err = flood.Run(&p.graph); err != nil {
		return nil, err
	}
	return p.fill(up), nil
}

func (p *pour) fill(up geom.Vec) *Fill {
	t := TiltOf(p.m.Rest, up)
	f := &Fill{Up: up, TiltAngle: t.Angle, TiltSide: t.Side, Cell: p.lat.Pitch()}
	p.balance(f)
	return f
}

// area is the cross-section of a column in mm2.
func (p *pour) area() float64 { h := p.lat.Pitch(); return h * h }

// volume turns a height sum in quanta into mm3.
func (p *pour) volume(quanta int64) float64 { return float64(quanta) * p.lat.Q * p.area() }

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

// balance sums cavity = filled + trapped + unreached.
func (p *pour) balance(f *Fill) {
	coarse := make([]float64, len(p.flow.Seals))
	for r, i := range p.piece {
		if k := p.flow.Pocket[r]; k >= 0 && p.flow.Reached[r] {
			a, b := p.inLabel(i, p.flow.Level(int32(r), flood.Never), p.hi[i])
			coarse[k] += p.volume(a + b)
		}
	}
	lv := p.sharpen(coarse, least)
	var total, channels, trapped, unreached int64
	type sum struct{ cav, chn int64 }
	pockets := make([]sum, len(p.flow.Seals))
	for r, i := range p.piece {
		cav, chn := p.inLabel(i, p.lo[i], p.hi[i])
		total += cav
		channels += chn
		switch {
		case !p.flow.Reached[r]:
			unreached += cav
		case p.flow.Pocket[r] >= 0:
			a, b := p.inLabel(i, lv.of(int32(r)), p.hi[i])
			trapped += a
			k := p.flow.Pocket[r]
			pockets[k].cav += a
			pockets[k].chn += b
		}
	}
	f.Cavity, f.Channels = p.volume(total), p.volume(channels)
	f.Trapped, f.Unreached = p.volume(trapped), p.volume(unreached)
	f.Filled = f.Cavity - f.Trapped - f.Unreached
	for k, s := range pockets {
		if v := p.volume(s.cav); v > 0.01 {
			f.Pockets = append(f.Pockets, Pocket{ID: len(f.Pockets) + 1, Volume: v, ChannelVolume: p.volume(s.chn), Depth: lv.moved[int32(k)],
				SealedAt: p.lat.Height(lv.seal[int32(k)])})
		}
	}
}
