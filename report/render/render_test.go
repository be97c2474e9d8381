package render

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

var (
	red   = color.RGBA{0xc0, 0x20, 0x20, 0xff}
	green = color.RGBA{0x20, 0xa0, 0x40, 0xff}
	blue  = color.RGBA{0x20, 0x40, 0xc0, 0xff}
)

func draw(t *testing.T, s *Scene, w, h int) *Picture {
	t.Helper()
	p, err := Draw(s, w, h)
	require.NoError(t, err)
	return p
}

// at returns the colour of the pixel where a point in space lies.
func (p *Picture) at(v geom.Vec) color.RGBA {
	x, y, _ := p.view.project(v)
	return p.Image.At(int(x), int(y)).(color.RGBA)
}

// covered counts pixels that show a surface.
func (p *Picture) covered() int {
	n := 0
	for _, z := range p.depth {
		if z != far {
			n++
		}
	}
	return n
}

func cube(side float64) *geom.Mesh {
	return geomtest.Box(geom.Vec{}, geom.Vec{X: side, Y: side, Z: side})
}

func TestCubeFromTheFrontCoversExactPixels(t *testing.T) {
	for _, look := range []geom.Vec{{X: 1}, {Y: 1}, {X: -1}, {Y: -1}} {
		p := draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: cube(10), Color: red}},
			Camera: Camera{Look: look, PixelsPerMM: 10}}, 200, 160)
		assert.Equal(t, 100*100, p.covered())
		inside := p.Image.ColorIndexAt(100, 80)
		for y := range 160 {
			for x := range 200 {
				seen := p.depth[y*200+x] != far
				assert.Equal(t, x >= 50 && x < 150 && y >= 30 && y < 130, seen, "pixel %d, %d", x, y)
				switch {
				case x >= 51 && x < 149 && y >= 31 && y < 129: // inside the outline
					require.Equal(t, inside, p.Image.ColorIndexAt(x, y))
				case x < 49 || x > 150 || y < 29 || y > 130: // outside it
					require.Equal(t, Paper, p.Image.At(x, y))
				}
			}
		}
		assert.NotEqual(t, inside, p.Image.ColorIndexAt(50, 80), "no outline")
	}
}

func TestSphereSectionArea(t *testing.T) {
	// The cut face of a sphere of radius R at height d is a disc of area
	// pi (R^2 - d^2).
	const R = 10.0
	ball := geomtest.Icosphere(R, 5)
	for _, d := range []float64{-7, -0.3, 0, 2.5, 6, 9.5} {
		cut := PlaneThrough(geom.Vec{Z: d}, geom.Vec{Z: 1})
		p := draw(t, &Scene{Plain: true, Cut: cut, Camera: Facing(cut, geom.Vec{Y: 1}),
			Bodies: []Body{{Mesh: ball, Color: red, Cut: true, Cap: CapSolid}}}, 500, 500)
		level := p.view.look.Dot(geom.Vec{Z: d}.Sub(p.view.center))
		n := 0
		for _, z := range p.depth {
			if math.Abs(float64(z)-level) < 1e-4 {
				n++
			}
		}
		r := math.Sqrt(R*R - d*d)
		// A pixel counts with any of its four samples, so the perimeter adds up to
		// half a pixel, plus the chord error of the mesh (facets of 2 degrees).
		perimeter := 2 * math.Pi * r * p.Scale
		assert.InDelta(t, math.Pi*r*r*p.Scale*p.Scale, float64(n), perimeter, "cut at %g", d)
		assert.Equal(t, red, p.at(geom.Vec{Z: d}), "cut at %g", d)
	}
}

func TestCapGoesToTheRightBody(t *testing.T) {
	left := geomtest.Box(geom.Vec{}, geom.Vec{X: 10, Y: 10, Z: 10})
	right := geomtest.Box(geom.Vec{X: 10}, geom.Vec{X: 20, Y: 10, Z: 10})
	both := geomtest.Box(geom.Vec{X: 8, Y: 2, Z: 4}, geom.Vec{X: 12, Y: 8, Z: 6})
	cut := PlaneThrough(geom.Vec{Y: 5}, geom.Vec{Y: -1})
	bodies := []Body{
		{Mesh: left, Color: red, Cut: true, Cap: CapSolid},
		{Mesh: right, Color: green, Cut: true, Cap: CapSolid},
		{Mesh: both, Color: blue, Cut: true, Cap: CapSolid, Rank: 1},
	}
	for name, c := range map[string]Camera{"facing": Facing(cut, geom.Vec{Z: 1}), "oblique": Isometric(geom.Vec{}, 0)} {
		for turn := range 3 { // the order of the bodies must not matter where ranks differ
			s := &Scene{Bodies: []Body{bodies[turn], bodies[(turn+1)%3], bodies[(turn+2)%3]}, Cut: cut, Camera: c, Plain: true}
			p := draw(t, s, 400, 300)
			assert.Equal(t, red, p.at(geom.Vec{X: 4, Y: 5, Z: 5}), name)
			assert.Equal(t, green, p.at(geom.Vec{X: 16, Y: 5, Z: 5}), name)
			assert.Equal(t, blue, p.at(geom.Vec{X: 9, Y: 5, Z: 5}), name)
			assert.Equal(t, blue, p.at(geom.Vec{X: 11, Y: 5, Z: 5}), name)
			// beyond the small body the plane meets the big ones again
			assert.Equal(t, red, p.at(geom.Vec{X: 9, Y: 5, Z: 2}), name)
		}
	}
	bodies[2].Rank = -1 // now the small body hides in the others
	p := draw(t, &Scene{Bodies: bodies, Cut: cut, Camera: Facing(cut, geom.Vec{Z: 1})}, 400, 300)
	assert.Equal(t, red, p.at(geom.Vec{X: 9, Y: 5, Z: 5}))
	assert.Equal(t, green, p.at(geom.Vec{X: 11, Y: 5, Z: 5}))
}

func TestCapOfNestedAndOverlappingShells(t *testing.T) {
	// A mesh of two overlapping boxes is solid in both; an inward box in a box is a
	// void.
	overlap := geomtest.Join(cube(10), geomtest.Box(geom.Vec{X: 5}, geom.Vec{X: 15, Y: 10, Z: 10}))
	hollow := geomtest.Join(cube(10), geomtest.Box(geom.Vec{X: 3, Y: 3, Z: 3}, geom.Vec{X: 7, Y: 7, Z: 7}).Reversed())
	cut := PlaneThrough(geom.Vec{Y: 5}, geom.Vec{Y: -1})
	s := &Scene{Bodies: []Body{{Mesh: overlap, Color: red, Cut: true, Cap: CapSolid}}, Cut: cut, Camera: Facing(cut, geom.Vec{})}
	p := draw(t, s, 300, 300)
	for _, x := range []float64{2, 7, 12} {
		assert.Equal(t, red, p.at(geom.Vec{X: x, Y: 5, Z: 5}))
	}
	s.Bodies[0].Mesh = hollow
	p = draw(t, s, 300, 300)
	assert.Equal(t, red, p.at(geom.Vec{X: 1.5, Y: 5, Z: 5}))
	assert.NotEqual(t, red, p.at(geom.Vec{X: 5, Y: 5, Z: 5}), "a void has no cut face")
	_, _, depth := p.view.project(geom.Vec{X: 5, Y: 7, Z: 5})
	x, y, _ := p.view.project(geom.Vec{X: 5, Y: 5, Z: 5})
	assert.InDelta(t, depth, p.depth[int(y)*300+int(x)], 0.01, "the void's far wall is seen")
}

func TestCutThroughAFaceInThePlane(t *testing.T) {
	// The plane runs along the joint of two boxes: the far one is shown cut, the
	// near one is gone, without speckle.
	near, farBox := geomtest.Box(geom.Vec{}, geom.Vec{X: 10, Y: 5, Z: 10}), geomtest.Box(geom.Vec{Y: 5}, geom.Vec{X: 10, Y: 10, Z: 10})
	turn := geom.AxisTurn(geom.Vec{X: 0.36, Y: 0.48, Z: 0.8}, 0.7)
	cut := PlaneThrough(turn.Apply(geom.Vec{Y: 5}), turn.Turn(geom.Vec{Y: -1}))
	for _, c := range []Camera{Facing(cut, geom.Vec{}), {Look: turn.Turn(geom.Vec{X: 0.3, Y: 0.8, Z: -0.5})}} {
		p := draw(t, &Scene{Plain: true, Cut: cut, Camera: c, Bodies: []Body{
			{Mesh: geomtest.Transform(near, turn), Color: red, Cut: true, Cap: CapSolid},
			{Mesh: geomtest.Transform(farBox, turn), Color: green, Cut: true, Cap: CapSolid}}}, 400, 400)
		for x := 0.5; x < 10; x += 0.25 {
			for z := 0.5; z < 10; z += 0.25 {
				require.Equal(t, green, p.at(turn.Apply(geom.Vec{X: x, Y: 5, Z: z})), "at %g, %g", x, z)
			}
		}
	}
}

func TestPlaneSeenFromBehindOrEdgeOn(t *testing.T) {
	// From behind the cut face is out of sight: only the removed part is missing.
	cut := PlaneThrough(geom.Vec{Y: 4}, geom.Vec{Y: 1})
	s := &Scene{Plain: true, Cut: cut, Bodies: []Body{{Mesh: cube(10), Color: red, Cut: true}},
		Camera: Camera{Look: geom.Vec{Y: 1}, PixelsPerMM: 10, Frame: []geom.Box{cube(10).Box()}}}
	assert.Equal(t, 100*100, draw(t, s, 200, 200).covered())
	s.Camera.Look = geom.Vec{X: 1} // edge-on: y from 4 to 10 is gone
	assert.Equal(t, 40*100, draw(t, s, 200, 200).covered())
	s.Bodies[0].Cut = false // a body that is not to be cut stays whole
	assert.Equal(t, 100*100, draw(t, s, 200, 200).covered())
	s.Bodies[0].Cut, s.Cut = true, PlaneThrough(geom.Vec{Y: -1}, geom.Vec{Y: 1})
	assert.Zero(t, draw(t, s, 200, 200).covered(), "everything is cut away")
}

func TestCoincidentSurfacesFollowRank(t *testing.T) {
	// Two meshes of one cube, triangulated differently and turned, so that their
	// depths differ in the last bits.
	turn := geomtest.RandomTurn(7)
	a := geomtest.Transform(cube(10), turn)
	b := geomtest.Transform(geomtest.Subdivide(cube(10), 3), turn)
	for _, rank := range []int{-1, 1} {
		p := draw(t, &Scene{Plain: true, Camera: Isometric(turn.Turn(geom.Vec{Z: 1}), 0),
			Bodies: []Body{{Mesh: a, Color: red, Flat: true}, {Mesh: b, Color: green, Rank: rank, Flat: true}}}, 300, 300)
		reds, greens := 0, 0
		for _, i := range p.Image.Pix {
			c := p.Image.Palette[i].(color.RGBA)
			switch d := int(c.R) - int(c.G); {
			case d > 20:
				reds++
			case d < -20:
				greens++
			}
		}
		if rank < 0 {
			reds, greens = greens, reds
		}
		assert.Greater(t, greens, 10000)
		assert.Zero(t, reds)
	}
}

func TestOpenBody(t *testing.T) {
	// One square facing away from the viewer: not seen as the side of a solid, seen
	// when the body is declared open.
	m := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 10}, {X: 10, Z: 10}, {Z: 10}}, Facets: [][3]int32{{0, 2, 1}, {0, 3, 2}}}
	s := &Scene{Plain: true, Bodies: []Body{{Mesh: m, Color: red}}, Camera: Camera{PixelsPerMM: 10}}
	assert.Zero(t, draw(t, s, 200, 200).covered())
	s.Bodies[0].Open = true
	assert.Equal(t, 100*100, draw(t, s, 200, 200).covered())
}

func TestFacetColors(t *testing.T) {
	m := cube(10)
	s := &Scene{Plain: true, Bodies: []Body{{Mesh: m, Color: red, Palette: []color.RGBA{green, blue}, FacetColor: make([]uint8, len(m.Facets))}},
		Camera: Isometric(geom.Vec{}, 0)}
	for f := range m.Facets {
		if n := m.Triangle(f).Normal(); n.Z > 0.5 {
			s.Bodies[0].FacetColor[f] = 1
		} else if n.X < -0.5 {
			s.Bodies[0].FacetColor[f] = 2
		}
	}
	p := draw(t, s, 300, 300)
	top, side, front := p.at(geom.Vec{X: 5, Y: 5, Z: 10}), p.at(geom.Vec{Y: 5, Z: 5}), p.at(geom.Vec{X: 5, Z: 5})
	assert.Greater(t, top.G, max(top.R, top.B))
	assert.Greater(t, side.B, max(side.R, side.G))
	assert.Greater(t, front.R, max(front.B, front.G))
}

func TestGhostLetsTheInsideShow(t *testing.T) {
	outer := geomtest.Box(geom.Vec{X: -10, Y: -10, Z: -10}, geom.Vec{X: 20, Y: 20, Z: 20})
	s := &Scene{Plain: true, Bodies: []Body{{Mesh: outer, Color: Rubber1, Style: Ghost}, {Mesh: cube(10), Color: red}},
		Camera: Isometric(geom.Vec{}, 0), Marks: []Mark{{At: geom.Vec{X: 5, Z: 5}, Label: "1"}}}
	p := draw(t, s, 400, 400)
	seen := p.at(geom.Vec{X: 5, Z: 5})
	assert.Greater(t, int(seen.R), int(seen.G)+40, "the cube shows through")
	assert.False(t, p.Callouts[0].Hidden, "a ghost hides nothing")
	// all nine edges of the ghost's outline and the three behind it are drawn
	for _, e := range [][2]geom.Vec{{{X: -10, Y: -10, Z: -10}, {X: -10, Y: -10, Z: 20}}, {{X: 20, Y: 20, Z: -10}, {X: 20, Y: 20, Z: 20}}, {{X: -10, Y: 20, Z: -10}, {X: 20, Y: 20, Z: -10}}} {
		c := p.at(e[0].Lerp(e[1], 0.1))
		assert.Less(t, c.G, uint8(0xc0), "edge from %v to %v", e[0], e[1])
	}
	s.Bodies[0].Style = Solid
	p = draw(t, s, 400, 400)
	assert.True(t, p.Callouts[0].Hidden)

	// a round ghost has no edges, but a contour
	ball := draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: geomtest.Icosphere(10, 4), Color: Rubber1, Style: Ghost}}}, 400, 400)
	for _, v := range []geom.Vec{{X: 9.98}, {X: -9.98}, {Z: 9.98}, {Z: -9.98}} {
		assert.Less(t, ball.at(v).G, uint8(0xc0), "contour at %v", v)
	}
	assert.Greater(t, ball.at(geom.Vec{X: 5, Z: 3}).G, uint8(0xe0))
}

func TestEmptyScenes(t *testing.T) {
	for name, s := range map[string]*Scene{
		"zero":      {},
		"nil mesh":  {Bodies: []Body{{Color: red}}},
		"no facets": {Bodies: []Body{{Mesh: &geom.Mesh{}}}, Marks: []Mark{{Label: "1"}}, Glyphs: []Glyph{{}}},
		"no frame":  {Bodies: []Body{{Mesh: cube(1)}}, Camera: Camera{Frame: []geom.Box{geom.EmptyBox()}}},
		"all away":  {Bodies: []Body{{Mesh: cube(1), Cut: true}}, Cut: PlaneThrough(geom.Vec{X: -1}, geom.Vec{X: 1})},
	} {
		s.Plain = true
		p := draw(t, s, 64, 48)
		assert.Zero(t, p.Scale, name)
		assert.Equal(t, Overlay{}, p.Overlay, name)
		for _, i := range p.Image.Pix {
			require.Equal(t, Paper, p.Image.Palette[i], name)
		}
		_, _, _, seen := p.Project(geom.Vec{})
		assert.False(t, seen, name)
	}
	// a point and a line have no size to fit, and must not divide by zero
	point := &geom.Mesh{Vertices: []geom.Vec{{X: 3}}, Facets: [][3]int32{{0, 0, 0}}}
	assert.Equal(t, 1.0, draw(t, &Scene{Bodies: []Body{{Mesh: point}}}, 64, 48).Scale)
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	tri := func(v geom.Vec) *geom.Mesh {
		return &geom.Mesh{Vertices: []geom.Vec{{}, {X: 1}, {Z: 1}, v}, Facets: [][3]int32{{0, 1, 2}, {0, 1, 3}}}
	}
	frame := Camera{Frame: []geom.Box{cube(1).Box()}}
	palette := make([]color.RGBA, 200)
	for name, c := range map[string]struct {
		s    Scene
		w, h int
		want string
	}{
		"no width":        {Scene{}, 0, 10, "1 to 4096"},
		"too high":        {Scene{}, 10, 4097, "1 to 4096"},
		"nan vertex":      {Scene{Bodies: []Body{{Mesh: tri(geom.Vec{X: nan})}}, Camera: frame}, 10, 10, "body 0, vertex 3"},
		"far vertex":      {Scene{Bodies: []Body{{}, {Mesh: tri(geom.Vec{X: 1e15})}}, Camera: frame}, 10, 10, "body 1, vertex 3"},
		"infinite box":    {Scene{Bodies: []Body{{Mesh: tri(geom.Vec{X: math.Inf(1)})}}}, 10, 10, "not finite"},
		"nan look":        {Scene{Camera: Camera{Look: geom.Vec{X: nan}}}, 10, 10, "camera"},
		"zero plane":      {Scene{Cut: &Plane{}}, 10, 10, "section plane"},
		"nan plane":       {Scene{Cut: &Plane{Normal: geom.Vec{X: 1}, Offset: nan}}, 10, 10, "section plane"},
		"colour count":    {Scene{Bodies: []Body{{Mesh: cube(1), FacetColor: []uint8{0}}}}, 10, 10, "1 facet colours for 12"},
		"colour number":   {Scene{Bodies: []Body{{Mesh: tri(geom.Vec{Y: 1}), FacetColor: []uint8{0, 1}}}}, 10, 10, "facet 1: colour 1"},
		"vertex number":   {Scene{Bodies: []Body{{Mesh: &geom.Mesh{Vertices: []geom.Vec{{}}, Facets: [][3]int32{{0, 0, 7}}}}}}, 10, 10, "vertex 7 of 1"},
		"too many colors": {Scene{Bodies: []Body{{Mesh: cube(1), Palette: palette}, {Mesh: cube(2), Palette: palette}}}, 10, 10, "255"},
	} {
		p, err := Draw(&c.s, c.w, c.h)
		require.Error(t, err, name)
		assert.Nil(t, p, name)
		assert.Contains(t, err.Error(), c.want, name)
	}
}

func TestNoCapForInwardMesh(t *testing.T) {
	cut := PlaneThrough(geom.Vec{Y: 5}, geom.Vec{Y: -1})
	s := &Scene{Plain: true, Cut: cut, Camera: Facing(cut, geom.Vec{}), Bodies: []Body{{Mesh: cube(10).Reversed(), Color: red, Cut: true, Cap: CapSolid}}}
	assert.NotEqual(t, red, draw(t, s, 100, 100).at(geom.Vec{X: 5, Y: 5, Z: 5}))
	s.Bodies[0].Mesh = cube(10)
	assert.Equal(t, red, draw(t, s, 100, 100).at(geom.Vec{X: 5, Y: 5, Z: 5}))
}

func TestGhostIsCut(t *testing.T) {
	cut := PlaneThrough(geom.Vec{Z: 5}, geom.Vec{Z: 1})
	box := geomtest.Grid(geomtest.Add(geom.Vec{}, geom.Vec{X: 10, Y: 10, Z: 10}), geomtest.Add(geom.Vec{X: 2, Y: 2, Z: 10}, geom.Vec{X: 4, Y: 4, Z: 12}))
	p := draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: box, Color: Rubber1, Style: Ghost, Cut: true}}, Cut: cut,
		Camera: Camera{Frame: []geom.Box{box.Box()}}}, 200, 200)
	_, level, _ := p.view.project(geom.Vec{Z: 5})
	ink := 0
	for y := range 200 {
		for x := range 200 {
			c := p.Image.At(x, y).(color.RGBA)
			if float64(y) < level-2 {
				require.Equal(t, Paper, c, "above the cut at %d, %d", x, y)
			} else if float64(y) < level+2 && c.G < 0xa0 {
				ink++
			}
		}
	}
	assert.Greater(t, float64(ink), 9*p.Scale, "the cut is drawn as a line")
}
