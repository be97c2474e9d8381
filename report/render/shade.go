package render

import (
	"math"

	"pourproof/geom"
)

// light returns the direction to the light in the scene's axes: over the
// viewer's left shoulder, from above, in every picture.
func (v *view) light() unit32 {
	l := geom.Vec{}.AddScaled(v.right, -0.42).AddScaled(v.up, 0.62).AddScaled(v.look, -0.66).Unit()
	return unit32{float32(l.X), float32(l.Y), float32(l.Z)}
}

// maxShade is the lightest shade of a facet's corner, in quarter steps of the
// ramp.
const maxShade = 4*shades - 4

// shade turns the cosine to the light into a shade 0..maxShade. Half of the
// cosine is added to one half ("wrapped" diffuse light), so that faces turned
// away still show their shape.
func shade(cos float32) uint32 {
	i := float32(cos*0.5) + 0.5
	return uint32(float32(i*maxShade) + 0.5)
}

// shadeFacet returns the packed tone (hue, three corner shades) and the packed
// normal of a facet. A back face is lit as if turned to the viewer.
func (f *frame) shadeFacet(b *body, number, facet int, back bool, light unit32) (tone, norm uint32) {
	hue := b.hue
	if b.facetColor != nil {
		hue += int(b.facetColor[facet])
	}
	s := float32(1)
	if back {
		s = -1
	}
	n := b.facts.normal[facet]
	var l [3]uint32
	if b.flat {
		k := shade(s * dot32(n, light))
		l = [3]uint32{k, k, k}
	} else {
		for i, p := range b.facts.corner[facet] {
			c := unpack(p)
			len2 := dot32(c, c)
			l[i] = shade(float32(s*dot32(c, light)) / float32(math.Sqrt(float64(len2))))
		}
	}
	tone = uint32(hue) | l[0]<<8 | l[1]<<16 | l[2]<<24
	return tone, f.packNormal(n, s, number)
}

// packNormal stores a facet's normal in picture axes (x right, y down, z
// towards the viewer) in steps of 1/127, with the body's number.
func (f *frame) packNormal(n unit32, s float32, number int) uint32 {
	d := geom.Vec{X: float64(n.x), Y: float64(n.y), Z: float64(n.z)}
	q := func(t float64) uint32 { return uint32(uint8(int8(math.Floor(float64(t*127) + 0.5)))) }
	k := float64(s)
	return q(k*f.v.right.Dot(d)) | q(-k*f.v.up.Dot(d))<<8 | q(-k*f.v.look.Dot(d))<<16 | uint32(number)<<24
}

// shader gives the colours of one facet after the other: it keeps what it knows of the
// last, for samples beside each other mostly show the same.
type shader struct {
	id    uint32 // nothing at first
	even  bool   // the three corners have one shade
	color rgb    // that shade
	ramp  *[shades]rgb
	gradient
}

// gradient is the shade over a facet (Gouraud 1971): the corner shades weighted by a
// place's barycentric coordinates.
type gradient struct {
	p, q, r    snap
	area       float32
	l0, d1, d2 float32
}

func (s *shader) take(f *frame, id uint32) {
	t := f.tone[id]
	l0, l1, l2 := t>>8&0xff, t>>16&0xff, t>>24
	s.id, s.ramp, s.even = id, &f.ramps[t&0xff], l0 == l1 && l0 == l2
	if s.even {
		s.color = s.ramp[(l0+2)/4]
		return
	}
	b := &f.bodies[f.norm[id]>>24]
	c, snaps := b.facets[id-b.first], f.snaps[b.vertex:]
	p, q, r := snaps[c[0]], snaps[c[1]], snaps[c[2]]
	s.gradient = gradient{p, q, r, float32(area2(p, q, r)), float32(l0), float32(l1) - float32(l0), float32(l2) - float32(l0)}
}

// sample returns the colour of a facet at a sample of the picture.
func (s *shader) sample(f *frame, id uint32, gx, gy int) rgb {
	if id != s.id {
		s.take(f, id)
	}
	if s.even {
		return s.color
	}
	return s.ramp[s.at(gx, gy)]
}

// pixel returns the mean colour of a facet at a sample, the one on its right and the two
// below them.
func (s *shader) pixel(f *frame, id uint32, gx, gy int) rgb {
	if id != s.id {
		s.take(f, id)
	}
	if s.even {
		return s.color
	}
	return mean(s.ramp[s.at(gx, gy)], s.ramp[s.at(gx+1, gy)], s.ramp[s.at(gx, gy+1)], s.ramp[s.at(gx+1, gy+1)])
}

// at returns the step of the ramp at a sample of the picture.
func (g *gradient) at(gx, gy int) uint32 {
	at := snap{x: int32(gx*snapSteps + snapSteps/2), y: int32(gy*snapSteps + snapSteps/2)}
	w1 := float32(area2(g.r, g.p, at)) / g.area
	w2 := float32(area2(g.p, g.q, at)) / g.area
	v := g.l0 + float32(w1*g.d1) + float32(w2*g.d2)
	return min(uint32(float32(max(v, 0)*0.25)+0.5), shades-1)
}
