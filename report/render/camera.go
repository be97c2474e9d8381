package render

import (
	"fmt"
	"math"

	"pourproof/geom"
)

// Camera looks along Look with Up upright on paper. Parallel projection: a
// millimetre has the same length everywhere in the picture.
type Camera struct {
	Look geom.Vec // from the viewer into the scene; the zero vector looks along +y
	Up   geom.Vec // shown upright; the zero vector is +z. Parallel to Look: replaced by a fixed choice

	// Frame lists the boxes that must be seen whole. Empty: the boxes of all bodies,
	// of cut bodies what the cut leaves.
	Frame []geom.Box
	// Margin is the part of the shorter side left free all around; 0 is 0.04.
	Margin float64
	// PixelsPerMM, when positive, fixes the scale (the frame is only centred), so
	// that two pictures can be compared.
	PixelsPerMM float64
}

// Isometric returns the camera that looks down on the scene along a space
// diagonal of a frame whose z is up; turn (0..3) picks which of the four upper
// corners is nearest, counter-clockwise by quarter turns from the corner -x -y.
// Gravity points down on paper.
func Isometric(up geom.Vec, turn int) Camera {
	return Oblique(up, 225+90*float64(turn), math.Atan(math.Sqrt2/2)*180/math.Pi)
}

// Oblique returns the camera that stands at the given azimuth (degrees about up,
// counter-clockwise from the side that +x takes in the frame of up) and looks
// down from the given elevation (degrees, 90 is straight from above).
func Oblique(up geom.Vec, azimuth, elevation float64) Camera {
	if up == (geom.Vec{}) {
		up = geom.Vec{Z: 1}
	}
	f := geom.FrameFor(up)
	sa, ca := math.Sincos(azimuth * math.Pi / 180)
	se, ce := math.Sincos(elevation * math.Pi / 180)
	back := f.TurnBack(geom.Vec{X: ce * ca, Y: ce * sa, Z: se})
	screenUp := f.TurnBack(geom.Vec{X: -se * ca, Y: -se * sa, Z: ce})
	return Camera{Look: back.Neg(), Up: screenUp}
}

// Facing returns the camera that looks straight at the section plane from its
// removed side, with up upright on paper as far as the plane allows.
func Facing(p *Plane, up geom.Vec) Camera {
	return Camera{Look: p.Normal.Neg(), Up: up}
}

// view is a camera fitted to a picture.
type view struct {
	right, up, look geom.Vec // unit, orthogonal; look away from the viewer
	center          geom.Vec // shown at (cx, cy)
	scale           float64  // pixels per mm, 0 when nothing is framed
	cx, cy          float64
	unit            float64 // pixels of one line-weight unit, see lineUnit
	extent          float64 // diagonal of the framed boxes, mm
	drawing         rect    // what the framed boxes cover, pixels
	area            rect    // where callouts may stand, pixels
	foot            float64 // top of the strip for scale bar, triad, arrow
}

// rect is a rectangle in picture pixels, y down.
type rect struct{ x0, y0, x1, y1 float64 }

// viewQuantum: view axes are rounded to this step (2^-40, as in geom.Rigid), so
// that a last bit of Sincos that differs between CPUs does not reach the picture.
const viewQuantum = 1.0 / (1 << 40)

func roundAxis(v geom.Vec) geom.Vec {
	q := func(x float64) float64 { return math.Round(x/viewQuantum) * viewQuantum }
	return geom.Vec{X: q(v.X), Y: q(v.Y), Z: q(v.Z)}
}

// lineUnit is the length in pixels of one line-weight unit: a picture printed
// 170 mm wide, the text width of a page, has 1600 units across, about 0.1 mm each.
// The limits keep lines visible on screen and shorter than a tile is wide.
func lineUnit(s *Scene, w, h int) float64 {
	long, mm := float64(max(w, h)), 170.0
	if s.PrintWidth > 0 {
		long, mm = float64(w), s.PrintWidth
	}
	return clamp(long/mm*170/1600, 0.4, 8)
}

// units returns a length of n line-weight units in pixels, rounded.
func (v *view) units(n float64) float64 { return float64(n * v.unit) }

// Parts of the layout, in line-weight units.
const (
	footUnits    = 92 // strip for scale bar, triad, gravity arrow
	calloutUnits = 20 // radius of a callout circle
	gapUnits     = 26 // between the drawing and the callout circles
)

// fit places the camera for a picture of w x h pixels.
func fit(s *Scene, w, h int) (view, error) {
	c := s.Camera
	var v view
	if !c.Look.Finite() || !c.Up.Finite() {
		return v, fmt.Errorf("camera direction is not finite: look %v, up %v", c.Look, c.Up)
	}
	v.look, v.up, v.right = axes(c.Look, c.Up)
	v.unit = lineUnit(s, w, h)
	area := v.layout(s, w, h)
	v.cx, v.cy = (area.x0+area.x1)/2, (area.y0+area.y1)/2
	box, lo, hi := v.bounds(s)
	if box.Empty() || lo.X > hi.X { // nothing there, or all of it cut away
		v.drawing = rect{v.cx, v.cy, v.cx, v.cy}
		return v, nil
	}
	if !box.Min.Finite() || !box.Max.Finite() {
		return v, fmt.Errorf("the framed box %v is not finite", box)
	}
	v.extent = box.Diagonal()
	v.center = geom.Vec{}.AddScaled(v.right, (lo.X+hi.X)/2).AddScaled(v.up, (lo.Y+hi.Y)/2).AddScaled(v.look, (lo.Z+hi.Z)/2)
	dx, dy := hi.X-lo.X, hi.Y-lo.Y
	v.scale = c.PixelsPerMM
	if !(v.scale > 0) {
		v.scale = math.Inf(1)
		if dx > 0 {
			v.scale = (area.x1 - area.x0) / dx
		}
		if dy > 0 {
			v.scale = min(v.scale, (area.y1-area.y0)/dy)
		}
		if math.IsInf(v.scale, 1) { // a single point or a line along the view
			v.scale = 1
		}
	}
	rx, ry := float64(v.scale*dx/2), float64(v.scale*dy/2)
	v.drawing = rect{v.cx - rx, v.cy - ry, v.cx + rx, v.cy + ry}
	return v, nil
}

// axes returns the rounded view axes for a look and an up direction.
func axes(look, up geom.Vec) (l, u, r geom.Vec) {
	l = look.Unit()
	if l == (geom.Vec{}) {
		l = geom.Vec{Y: 1}
	}
	u = up.Unit()
	if u == (geom.Vec{}) {
		u = geom.Vec{Z: 1}
	}
	r = l.Cross(u)
	if r.Norm() < 1e-6 { // parallel within the digits that unit vectors of rounded input keep
		u, _ = l.Perpendicular()
		if math.Abs(l.Z) > 0.5 {
			u = geom.Vec{Y: 1}
		}
		r = l.Cross(u)
	}
	r = r.Unit()
	return roundAxis(l), roundAxis(r.Cross(l)), roundAxis(r)
}

// layout returns the area the framed boxes may fill, and sets the area of the
// callouts and the foot strip.
func (v *view) layout(s *Scene, w, h int) rect {
	margin := s.Camera.Margin
	if margin <= 0 {
		margin = 0.04
	}
	m := float64(min(margin, 0.4) * float64(min(w, h)))
	a := rect{m, m, float64(w) - m, float64(h) - m}
	v.foot = float64(h)
	if !s.Plain {
		v.foot = float64(h) - min(v.units(footUnits), float64(0.35*float64(h)))
		a.y1 = max(a.y0+1, min(a.y1, v.foot-m/4))
	}
	edge := v.units(4)
	v.area = rect{edge, edge, float64(w) - edge, v.foot - edge}
	if len(s.Marks) > 0 {
		side := min(v.units(2*calloutUnits+gapUnits+8), float64(0.3*float64(w)))
		a.x0, a.x1 = max(a.x0, side), min(a.x1, float64(w)-side)
	}
	a.x1, a.y1 = max(a.x1, a.x0+1), max(a.y1, a.y0+1)
	return a
}

// bounds returns the union of the framed boxes and their extent along right, up
// and look.
func (v *view) bounds(s *Scene) (box geom.Box, lo, hi geom.Vec) {
	box = geom.EmptyBox()
	seen := geom.EmptyBox()
	include := func(b geom.Box, cut *Plane) {
		if b.Empty() {
			return
		}
		box = box.Union(b)
		for _, p := range remaining(b, cut) {
			seen = seen.Include(geom.Vec{X: v.right.Dot(p), Y: v.up.Dot(p), Z: v.look.Dot(p)})
		}
	}
	for _, b := range s.Camera.Frame {
		include(b, nil)
	}
	if len(s.Camera.Frame) > 0 {
		return box, seen.Min, seen.Max
	}
	for i := range s.Bodies {
		b := &s.Bodies[i]
		if b.Mesh == nil || len(b.Mesh.Facets) == 0 {
			continue
		}
		var cut *Plane
		if b.Cut {
			cut = s.Cut
		}
		include(b.Mesh.Box(), cut)
	}
	return box, seen.Min, seen.Max
}

// remaining returns the corners of what a cut leaves of a box.
func remaining(b geom.Box, cut *Plane) []geom.Vec {
	c := b.Corners()
	if cut == nil {
		return c[:]
	}
	n := cut.Normal.Unit()
	var out []geom.Vec
	for i, p := range c {
		dp := n.Dot(p) - cut.Offset
		if dp <= 0 {
			out = append(out, p)
		}
		for bit := 1; bit < 8; bit <<= 1 { // the edges to the corners that differ in one bit
			if i&bit != 0 {
				continue
			}
			q := c[i|bit]
			if dq := n.Dot(q) - cut.Offset; dp <= 0 != (dq <= 0) {
				out = append(out, p.Lerp(q, dp/(dp-dq)))
			}
		}
	}
	return out
}

// project returns pixel coordinates and the depth in mm along the view.
func (v *view) project(p geom.Vec) (x, y, depth float64) {
	d := p.Sub(v.center)
	return v.cx + float64(v.scale*v.right.Dot(d)), v.cy - float64(v.scale*v.up.Dot(d)), v.look.Dot(d)
}

// turn returns a direction in picture axes: x to the right, y down, z away from
// the viewer.
func (v *view) turn(d geom.Vec) geom.Vec {
	return geom.Vec{X: v.right.Dot(d), Y: -v.up.Dot(d), Z: v.look.Dot(d)}
}

// Project returns where the point p lies in the picture, in pixels from the top
// left corner, its depth in mm along the view (0 in the middle of the frame),
// and whether it is seen: inside the picture, not cut away, and not behind a
// solid surface by more than two pixels' length.
func (p *Picture) Project(at geom.Vec) (x, y, depth float64, visible bool) {
	x, y, depth = p.view.project(at)
	if !(x >= 0 && y >= 0 && x < float64(p.w) && y < float64(p.h)) || p.Scale == 0 {
		return x, y, depth, false
	}
	slack := 2 / p.Scale
	near := math.Inf(-1)
	if p.cut != nil && p.cut.plane.Normal.Dot(at)-p.cut.plane.Offset > slack {
		near = -slack // on the removed side only what is still drawn there is seen
	}
	px, py := int(x), int(y)
	for j := max(py-1, 0); j <= min(py+1, p.h-1); j++ {
		for i := max(px-1, 0); i <= min(px+1, p.w-1); i++ {
			if d := depth - float64(p.depth[j*p.w+i]); d <= slack && d >= near {
				return x, y, depth, true
			}
		}
	}
	return x, y, depth, false
}
