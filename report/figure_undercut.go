package report

import (
	"fmt"
	"image/color"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/render"
)

// Pictures of a half as it leaves the part.

// opened shows a half cut open through its deepest undercut, seen a little from the side
// it leaves by, so that the faces in red can be seen: they look away from the part.
func (s *studio) opened(r *mold.Release, width float64) *shot {
	sh := s.released(r, width)
	normal := acrossUndercut(r, &r.Undercuts[0])
	sh.scene.Cut = render.PlaneThrough(r.Undercuts[0].At, normal)
	sh.scene.Camera = upright(readable(r.Pull, normal))
	sh.scene.Bodies[0].Cut, sh.scene.Bodies[0].Cap = true, rubberOf(r.Half).hatch
	return sh
}

// upright turns a picture by half a turn where the CAD axis nearest to its upward
// direction would point down.
func upright(c render.Camera) render.Camera {
	x, y, z := math.Abs(c.Up.X), math.Abs(c.Up.Y), math.Abs(c.Up.Z)
	if x > max(y, z) && c.Up.X < 0 || y >= x && y > z && c.Up.Y < 0 || z >= max(x, y) && c.Up.Z < 0 {
		c.Up = c.Up.Neg()
	}
	return c
}

// acrossUndercut returns the normal of the section along the pull and the way that an
// undercut must move.
func acrossUndercut(r *mold.Release, u *mold.Undercut) geom.Vec {
	if u.Side.Norm() < 0.5 {
		n, _ := r.Pull.Perpendicular()
		return n
	}
	return u.Side.Cross(r.Pull).Unit()
}

// released looks into a half from the part's side: rubber with the part ahead in red,
// walls without draft in amber, the pull and the way of the opening as arrows.
func (s *studio) released(r *mold.Release, width float64) *shot {
	half := s.mold.Halves[r.Half].Mesh
	paint := make([]uint8, len(half.Facets))
	for i := range r.Walls {
		for _, f := range r.Walls[i].Facets {
			paint[f] = 1
		}
	}
	for i := range r.Undercuts {
		for _, f := range r.Undercuts[i].Facets {
			paint[f] = 2
		}
	}
	scene := render.Scene{Camera: render.Oblique(r.Pull.Neg(), 245, 42), Bodies: []render.Body{{Mesh: half, Color: rubberOf(r.Half).color, FacetColor: paint, Palette: []color.RGBA{render.Medium, render.Strong}}}}
	sh := s.newShot(scene, width, width)
	sh.frame = []geom.Box{half.Box()}
	sh.still = true
	s.addPulls(sh, r)
	for i := range r.Undercuts {
		if i == 0 {
			sh.labels = append(sh.labels, label{at: r.Undercuts[i].At, toward: r.Pull.Neg(), text: fmt.Sprint(r.Undercuts[i].ID), ink: render.Strong})
		}
		if i < maxMarks {
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: r.Undercuts[i].At, Color: render.Strong, Weight: 3})
		}
	}
	return sh
}

// addPulls adds the arrows of the pull, from the outer side of the half, and of the
// opening.
func (s *studio) addPulls(sh *shot, r *mold.Release) {
	box := s.mold.Halves[r.Half].Mesh.Box()
	size := box.Diagonal()
	from := box.Center()
	low := from.Dot(r.Pull)
	for _, c := range box.Corners() {
		low = max(low, c.Dot(r.Pull))
	}
	from = from.AddScaled(r.Pull, low-from.Dot(r.Pull))
	to := from.AddScaled(r.Pull, 0.16*size)
	sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Pointer, From: from, To: to, Color: render.Ink, Weight: 6})
	back := r.Peel.At.AddScaled(r.Peel.Toward, -0.14*size)
	sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Pointer, From: back, To: r.Peel.At, Color: render.Gate, Weight: 6})
	b := box
	for _, p := range []geom.Vec{to, back} {
		b = b.Include(p)
	}
	sh.frame = []geom.Box{b}
}

// closeUpMM is the least that a section shows to each side of an undercut.
const closeUpMM = 7.0

// lockedSection cuts half and part open through an undercut, along the pull and the way
// that its rubber must move, near the undercut. The pull runs upright on paper.
func (s *studio) lockedSection(r *mold.Release, u *mold.Undercut, width float64) *shot {
	normal := acrossUndercut(r, u)
	half := s.mold.Halves[r.Half].Mesh
	look := rubberOf(r.Half)
	camera := render.Camera{Look: normal.Neg(), Up: r.Pull}
	if axesApart(camera.Look, camera.Up) < 0.5 { // two of the CAD axes lie over each other: their letters would
		camera = readable(r.Pull, normal)
	}
	camera = upright(camera)
	scene := render.Scene{Cut: render.PlaneThrough(u.At, normal), Camera: camera, Bodies: []render.Body{
		{Mesh: s.mold.FittedPart(), Color: render.Resin, Cut: true, Cap: render.CapSolid, Rank: 1},
		{Mesh: half, Color: look.color, Cut: true, Cap: look.hatch, Rank: 3},
	}}
	scene.Glyphs = append(scene.Glyphs, render.Glyph{Kind: render.Segment, From: u.At, To: u.At.AddScaled(u.Side, u.Depth), Color: render.Strong, Weight: 5})
	sh := s.newShot(scene, width, width)
	reach := max(closeUpMM, 3*u.Depth)
	sh.frame = []geom.Box{geom.EmptyBox().Include(u.At).Grow(reach)}
	sh.still = true
	from := u.At.AddScaled(u.Side, -0.6*reach)
	sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Pointer, From: from.AddScaled(r.Pull, -0.2*reach), To: from.AddScaled(r.Pull, 0.2*reach), Color: render.Ink, Weight: 6})
	sh.labels = append(sh.labels, label{at: u.At, toward: r.Pull.Neg(), text: Length(u.Depth), ink: render.Strong})
	return sh
}
