package mold

import (
	"math"

	"pourproof/geom"
)

// outline is a convex polygon, counter-clockwise and with z 0, whose sides stand in blocks.
type outline struct {
	corners []geom.Vec
	boxes   []geom.Box // of the sides from each outlineBlock-th corner on
}

// outlineBlock is how many sides share a box: few blocks and few sides are looked at
// where there are a thousand, the hull of a round block.
const outlineBlock = 24

func newOutline(corners []geom.Vec) *outline {
	o := &outline{corners: corners}
	for lo := 0; lo < len(corners); lo += outlineBlock {
		box := geom.EmptyBox()
		for i := lo; i < min(lo+outlineBlock, len(corners)); i++ {
			a, b := o.side(i)
			box = box.Include(a).Include(b)
		}
		o.boxes = append(o.boxes, box)
	}
	return o
}

func (o *outline) side(i int) (a, b geom.Vec) {
	if i+1 == len(o.corners) {
		return o.corners[i], o.corners[0]
	}
	return o.corners[i], o.corners[i+1]
}

// distance returns how far p lies outside, negative inside. A place outside lies to the
// right of a nearest side, and all of those are looked at.
func (o *outline) distance(p geom.Vec) float64 {
	first, least := 0, math.Inf(1)
	for i := range o.boxes {
		if d := squaredDistance(&o.boxes[i], p); d < least {
			first, least = i, d
		}
	}
	near, inside := math.Inf(1), len(o.corners) > 2
	look := func(block int) {
		for i := block * outlineBlock; i < min((block+1)*outlineBlock, len(o.corners)); i++ {
			a, b := o.side(i)
			near = min(near, geom.ClosestOnSegment(p, a, b).Sub(p).Norm2())
			if float64((b.X-a.X)*(p.Y-a.Y))-float64((b.Y-a.Y)*(p.X-a.X)) < 0 {
				inside = false
			}
		}
	}
	if len(o.boxes) > 0 {
		look(first)
	}
	for i := range o.boxes {
		if i != first && squaredDistance(&o.boxes[i], p) <= near*(1+1e-9)+1e-18 { // roundings of both
			look(i)
		}
	}
	if near = math.Sqrt(near); inside {
		return -near
	}
	return near
}

// squaredDistance returns the square of the distance from p to a box.
func squaredDistance(b *geom.Box, p geom.Vec) float64 {
	return b.Min.Sub(p).Max(p.Sub(b.Max)).Max(geom.Vec{}).Norm2()
}
