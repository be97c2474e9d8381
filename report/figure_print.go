package report

import (
	"image/color"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/render"
)

// Pictures of a half as it is printed: the build direction points up on paper, the
// platform lies below.

// plate is the ink of the build platform.
var plate = color.RGBA{0x9a, 0xa2, 0xab, 0xff}

// platformUnder returns the build platform under a half laid with a build direction:
// a slab larger than the half seen from above by a rim, the gap of the supports
// between.
func platformUnder(m *geom.Mesh, build geom.Vec, gap, rim float64) *geom.Mesh {
	f := geom.FrameFor(build)
	b := geom.EmptyBox()
	for _, v := range m.Vertices {
		b = b.Include(f.Turn(v))
	}
	s := b.Size()
	thick := 0.02 * max(s.X, s.Y, s.Z)
	top := b.Min.Z - gap
	slab := geom.Box{Min: geom.Vec{X: b.Min.X - rim, Y: b.Min.Y - rim, Z: top - thick}, Max: geom.Vec{X: b.Max.X + rim, Y: b.Max.Y + rim, Z: top}}
	out := &geom.Mesh{}
	for _, v := range slab.Corners() {
		out.Vertices = append(out.Vertices, f.TurnBack(v))
	}
	out.Facets = [][3]int32{{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4}, {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}}
	return out
}

// gapUnder is the space that supports keep under a half.
func gapUnder(p *mold.Printed) float64 { return p.Height - p.Extent }

// asPrinted begins a picture of half i and its platform. There is no gravity arrow:
// such printers hang the half upside down.
func (s *studio) asPrinted(i int, build geom.Vec, gap, rim float64, scene render.Scene, width float64) *shot {
	m := s.mold.Halves[i].Mesh
	slab := platformUnder(m, build, gap, rim)
	scene.Bodies = append(scene.Bodies, render.Body{Mesh: slab, Color: plate, Cut: true, Cap: render.CapSolid, Rank: 1, Flat: true})
	sh := s.newShot(scene, width, width)
	sh.frame = []geom.Box{m.Box(), slab.Box()}
	sh.still = true
	return sh
}

// printedCut cuts the half open through the middle of its largest cup, seen a little
// from above and aside.
func (s *studio) printedCut(i int, p *mold.Printed, width float64) *shot {
	half := s.mold.Halves[i].Mesh
	at := half.Box().Center()
	if len(p.Cups) > 0 {
		at = p.Cups[0].Middle
	}
	normal := acrossThin(half, p.Build)
	plane := render.PlaneThrough(at, normal)
	r := rubberOf(i)
	scene := render.Scene{Cut: plane, Camera: readable(p.Build, normal)}
	for n := range p.Cups {
		if c := &p.Cups[n]; c.Into == 0 && n < mostCups {
			scene.Bodies = append(scene.Bodies, render.Body{Mesh: p.CupMesh(c.ID), Color: render.Medium, Cut: true, Cap: render.CapDots, Rank: 2, Flat: true})
		}
	}
	scene.Bodies = append(scene.Bodies, render.Body{Mesh: half, Color: r.color, Cut: true, Cap: r.hatch, Rank: 3})
	return s.asPrinted(i, p.Build, gapUnder(p), 0, scene, width)
}

// readable returns a camera that looks at a section a little from above and aside, on
// the side from which the axes of the CAD frame lie farthest apart on paper, so that
// their letters do.
func readable(build, normal geom.Vec) render.Camera {
	side := build.Cross(normal)
	var best render.Camera
	most := -1.0
	for n, aside := range [8]float64{0.3, -0.3, 0.5, -0.5, 0.8, -0.8, 1.1, -1.1} {
		if n >= 4 && most > 0.45 { // the letters are clear of each other already
			break
		}
		look := normal.Neg().AddScaled(build, -0.3).AddScaled(side, aside).Unit()
		if apart := axesApart(look, build); apart > most+1e-9 {
			best, most = render.Camera{Look: look, Up: build}, apart
		}
	}
	return best
}

// axesApart returns the least distance on paper between the ends of the CAD axes.
func axesApart(look, up geom.Vec) float64 {
	right := look.Cross(up).Unit()
	up = right.Cross(look)
	least := math.Inf(1)
	var ends []spot
	for _, a := range [3]geom.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		e := spot{right.Dot(a), up.Dot(a)}
		for _, o := range ends {
			dx, dy := e.X-o.X, e.Y-o.Y
			least = min(least, math.Sqrt(float64(dx*dx)+float64(dy*dy)))
		}
		ends = append(ends, e)
	}
	return least
}

// acrossThin returns the level direction in which the half is thinnest, of the frame
// that its build direction gives: a section square to it shows most.
func acrossThin(m *geom.Mesh, build geom.Vec) geom.Vec {
	u, v := build.Perpendicular()
	extent := func(d geom.Vec) float64 {
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range m.Vertices {
			low, high = min(low, p.Dot(d)), max(high, p.Dot(d))
		}
		return high - low
	}
	if extent(u) <= extent(v) {
		return u
	}
	return v
}

// printedBelow shows the half from the platform's side, with the faces that need
// supports in colour.
func (s *studio) printedBelow(i int, p *mold.Printed, width float64) *shot {
	half := s.mold.Halves[i].Mesh
	r := rubberOf(i)
	paint := make([]uint8, len(half.Facets))
	for n := range p.Scars.Patches {
		c := &p.Scars.Patches[n]
		for _, f := range c.Facets {
			paint[f] = 1
			if c.Molding {
				paint[f] = 2
			}
		}
	}
	scene := render.Scene{Camera: render.Oblique(p.Build, 245, -35), Bodies: []render.Body{{Mesh: half, Color: r.color, FacetColor: paint, Palette: []color.RGBA{render.Medium, render.Strong}}}}
	sh := s.newShot(scene, width, width)
	sh.frame = []geom.Box{half.Box()}
	sh.still = true
	for n := range p.Starts {
		if n < maxMarks {
			sh.scene.Glyphs = append(sh.scene.Glyphs, render.Glyph{Kind: render.Cross, From: p.Starts[n].At, Color: render.Strong, Weight: 3})
		}
	}
	return sh
}

// posed shows the half laid with another build direction.
func (s *studio) posed(i int, p *mold.Printed, build geom.Vec, width float64) *shot {
	scene := render.Scene{Plain: true, Camera: render.Isometric(build, 0), Bodies: []render.Body{{Mesh: s.mold.Halves[i].Mesh, Color: rubberOf(i).color}}}
	return s.asPrinted(i, build, p.Printer.Raise, 3, scene, width)
}

// stepInks colour the layer steps by quarters of the layer, each darker than the one
// before, so that grey print tells them apart too; the first is for faces without.
var stepInks = [5]color.RGBA{{0xf4, 0xf2, 0xe6, 0xff}, {0xdd, 0xd4, 0xa8, 0xff}, {0xb9, 0xa8, 0x63, 0xff}, {0x86, 0x74, 0x33, 0xff}, {0x4d, 0x40, 0x16, 0xff}}

// stepInk returns the number in stepInks, counted from 1, of a layer step; 0 for a
// facet that shapes no part.
func stepInk(step, layer float64) uint8 {
	switch {
	case step < 0:
		return 0
	case !(step > 1e-6): // 1e-3 um: an upright face, to rounding
		return 1
	}
	return uint8(2 + max(0, min(3, int(math.Ceil(4*step/layer-1e-6))-1)))
}

// stepped looks into half i from the part's side, the faces that shape the part
// coloured by the height of their layer steps.
func (s *studio) stepped(i int, p *mold.Printed, width float64) *shot {
	half := s.mold.Halves[i].Mesh
	paint := make([]uint8, len(half.Facets))
	for f, c := range p.Step.Facets {
		paint[f] = stepInk(float64(c), p.Printer.Layer)
	}
	scene := render.Scene{Camera: render.Oblique(s.mold.Pulls[i].Neg(), 245, 50), Bodies: []render.Body{{Mesh: half, Color: rubberOf(i).color, FacetColor: paint, Palette: stepInks[:]}}}
	if p.Step.Worst > 0 {
		scene.Glyphs = append(scene.Glyphs, render.Glyph{Kind: render.Cross, From: p.Step.WorstAt, Color: render.Strong, Weight: 3})
	}
	sh := s.newShot(scene, width, width)
	sh.frame = []geom.Box{half.Box()}
	sh.still = true
	return sh
}
