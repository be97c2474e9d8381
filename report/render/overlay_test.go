package render

import (
	"bytes"
	"image/color"
	"image/png"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func TestRoundLength(t *testing.T) {
	for limit, want := range map[float64]float64{
		0: 0, -1: 0, 1: 1, 1.99: 1, 2: 2, 4.9: 2, 5: 5, 9.99: 5, 10: 10, 0.3: 0.2, 0.2: 0.2, 0.05: 0.05, 777: 500, 1e5: 1e5,
		math.Inf(1): 0,
	} {
		assert.Equal(t, want, RoundLength(limit), "limit %g", limit)
	}
	assert.Zero(t, RoundLength(math.NaN()))
}

func TestScaleBar(t *testing.T) {
	for side := 0.03; side < 3000; side *= 1.37 {
		p := draw(t, &Scene{Bodies: []Body{{Mesh: cube(side), Color: red}}}, 240, 180)
		bar := p.Overlay.Lines[0]
		px := bar.X1 - bar.X0
		label := ""
		for _, x := range p.Overlay.Texts {
			if s, ok := strings.CutSuffix(x.S, " mm"); ok {
				label = s
			}
		}
		mm, err := strconv.ParseFloat(label, 64)
		require.NoError(t, err)
		assert.InDelta(t, mm*p.Scale, px, 1e-9)
		assert.LessOrEqual(t, px, 0.25*240)
		assert.Greater(t, px, 0.0999*240)
		digits := strings.Trim(strings.ReplaceAll(label, ".", ""), "0")
		assert.Contains(t, []string{"1", "2", "5"}, digits)
	}
}

func TestIsometricShowsEqualAxes(t *testing.T) {
	// In isometric projection every unit axis has length sqrt(2/3) (ISO 5456-3;
	// from memory), and up is up.
	for turn := range 4 {
		for _, up := range []geom.Vec{{}, {Z: 1}, {X: 0.3, Y: -0.2, Z: 0.9}, {Z: -1}} {
			p := draw(t, &Scene{Bodies: []Body{{Mesh: cube(10)}}, Camera: Isometric(up, turn)}, 100, 100)
			f := geom.FrameFor(up)
			if up == (geom.Vec{}) {
				f = geom.Identity()
			}
			for _, e := range []geom.Vec{f.X, f.Y, f.Z} {
				d := p.view.turn(e)
				assert.InDelta(t, math.Sqrt(2.0/3), math.Hypot(d.X, d.Y), 1e-9)
			}
			d := p.view.turn(f.Z)
			assert.InDelta(t, 0, d.X, 1e-9)
			assert.Negative(t, d.Y, "up points up on paper")
			assert.Negative(t, d.Z, "seen from above")
			// the nearest upper corner goes around by quarter turns
			corner := f.X.Scale([]float64{-1, 1, 1, -1}[turn]).AddScaled(f.Y, []float64{-1, -1, 1, 1}[turn])
			assert.InDelta(t, -2/math.Sqrt(3), p.view.turn(corner).Z, 1e-9)
		}
	}
}

func TestFacingKeepsTrueLengths(t *testing.T) {
	turn := geomtest.RandomTurn(3)
	cut := PlaneThrough(turn.Apply(geom.Vec{Y: 5}), turn.Turn(geom.Vec{Y: -1}))
	up := turn.Turn(geom.Vec{X: 0.2, Y: 0.7, Z: 1})
	p := draw(t, &Scene{Bodies: []Body{{Mesh: geomtest.Transform(cube(10), turn), Cut: true}}, Cut: cut, Camera: Facing(cut, up)}, 300, 200)
	a, b := turn.Apply(geom.Vec{X: 1, Y: 5, Z: 2}), turn.Apply(geom.Vec{X: 7, Y: 5, Z: 9})
	ax, ay, _, seen := p.Project(a)
	bx, by, _, _ := p.Project(b)
	assert.True(t, seen)
	assert.InDelta(t, a.Dist(b)*p.Scale, math.Hypot(bx-ax, by-ay), 1e-6)
	assert.InDelta(t, 0, p.view.turn(up).X, 1e-9, "up has no sideways part")
	assert.Negative(t, p.view.turn(up).Y)
}

func TestUpAlongTheView(t *testing.T) {
	for _, look := range []geom.Vec{{Z: 1}, {Z: -1}, {X: 1}, {Y: -1}, {X: 1, Y: 1, Z: 1}} {
		s := &Scene{Bodies: []Body{{Mesh: cube(10)}}, Camera: Camera{Look: look, Up: look.Scale(-3)}, Up: look}
		v := draw(t, s, 100, 100).view
		for _, a := range []geom.Vec{v.right, v.up, v.look} {
			assert.InDelta(t, 1, a.Norm(), 1e-9)
		}
		assert.InDelta(t, 1, v.right.Dot(v.up.Cross(v.look.Neg())), 1e-9, "right-handed")
	}
}

func TestGravityArrow(t *testing.T) {
	up := geom.Vec{X: 0.5, Z: 1}
	s := &Scene{Bodies: []Body{{Mesh: cube(10)}}, Up: up, Camera: Camera{Look: geom.Vec{Y: 1}, Up: geom.Vec{Z: 1}}}
	o := draw(t, s, 400, 300).Overlay
	a := o.Arrows[len(o.Arrows)-1]
	assert.InDelta(t, -0.5/1, (a.X1-a.X0)/(a.Y1-a.Y0)*1, 1e-9, "against up: left and down")
	assert.Positive(t, a.Y1-a.Y0)
	arrows := len(o.Arrows)
	s.Up = geom.Vec{Y: 1} // along the view
	assert.Len(t, draw(t, s, 400, 300).Overlay.Arrows, arrows-1)
	s.Up = geom.Vec{}
	for _, x := range draw(t, s, 400, 300).Overlay.Texts {
		assert.NotEqual(t, "gravity", x.S)
	}
}

// The triad, the bar and the arrow stay in the strip at the foot, clear of the
// drawing and of each other.
func TestFurnitureKeepsClear(t *testing.T) {
	for turn := range 4 {
		for _, size := range [][2]int{{1600, 1200}, {800, 600}, {1000, 400}} {
			s := &Scene{Bodies: []Body{{Mesh: cube(10)}}, Up: geom.Vec{X: 0.3, Z: 1}, Camera: Isometric(geom.Vec{}, turn)}
			if turn == 1 {
				s.PrintWidth = 82 // half a page
			}
			p := draw(t, s, size[0], size[1])
			assert.LessOrEqual(t, p.view.drawing.y1, p.view.foot)
			inStrip := func(x, y float64) {
				assert.GreaterOrEqual(t, y, p.view.foot)
				assert.LessOrEqual(t, y, float64(size[1]))
				assert.GreaterOrEqual(t, x, 0.0)
				assert.LessOrEqual(t, x, float64(size[0]))
			}
			triadRight := 0.0
			for i, a := range p.Overlay.Arrows {
				inStrip(a.X0, a.Y0)
				inStrip(a.X1, a.Y1)
				if i < len(p.Overlay.Arrows)-1 {
					triadRight = max(triadRight, a.X1)
				}
			}
			for _, x := range p.Overlay.Texts {
				inStrip(x.X, x.Y-x.Size/2)
				inStrip(x.X, x.Y+x.Size/2)
				if len(x.S) == 1 { // X, Y, Z
					triadRight = max(triadRight, x.X+x.Size/2)
				}
			}
			assert.Greater(t, p.Overlay.Lines[0].X0, triadRight)
			for _, l := range p.Overlay.Lines {
				inStrip(l.X0, l.Y0)
				inStrip(l.X1, l.Y1)
			}
		}
	}
}

func TestGlyphs(t *testing.T) {
	seen, behind := geom.Vec{X: 5, Y: 0, Z: 5}, geom.Vec{X: 5, Y: 10, Z: 5}
	glyph := func(k GlyphKind, from, to geom.Vec) Overlay {
		s := &Scene{Plain: true, Bodies: []Body{{Mesh: cube(10), Color: red}}, Glyphs: []Glyph{{Kind: k, From: from, To: to, Color: blue}}}
		return draw(t, s, 200, 200).Overlay
	}
	assert.Greater(t, glyph(Cross, seen, seen).Lines[0].Width, glyph(Cross, behind, behind).Lines[0].Width)
	assert.Equal(t, blue, glyph(Dot, seen, seen).Circles[0].Fill)
	assert.Equal(t, Paper, glyph(Dot, behind, behind).Circles[0].Fill)
	assert.Empty(t, glyph(Segment, seen, behind).Lines[0].Dash)
	assert.NotEmpty(t, glyph(Segment, behind, seen).Lines[0].Dash)
	a := glyph(Pointer, geom.Vec{}, geom.Vec{X: 10}).Arrows[0]
	assert.Greater(t, a.X1, a.X0)
	axis := glyph(Axis, geom.Vec{X: 5, Z: 2}, geom.Vec{X: 5, Z: 8}).Lines[0]
	assert.Len(t, axis.Dash, 4, "dash-dotted")
	plain := glyph(Segment, geom.Vec{X: 5, Z: 2}, geom.Vec{X: 5, Z: 8}).Lines[0]
	assert.Greater(t, axis.Y0, plain.Y0, "stands out at both ends")
	assert.Less(t, axis.Y1, plain.Y1)
}

func TestBurned(t *testing.T) {
	s := busyScene()
	p := draw(t, s, 2000, 1500) // leaders nearly two pixels wide
	img := p.Burned()
	assert.LessOrEqual(t, len(img.Palette), 256)
	assert.Equal(t, p.Image.Bounds(), img.Bounds())
	near := func(want color.RGBA, x, y float64) {
		t.Helper()
		c := img.At(int(x), int(y)).(color.RGBA)
		for _, d := range [3]int{int(c.R) - int(want.R), int(c.G) - int(want.G), int(c.B) - int(want.B)} {
			assert.InDelta(t, 0, d, 40, "at %g, %g: %v, want %v", x, y, c, want)
		}
	}
	for i, c := range p.Callouts {
		if s.Marks[i].Weight == StrongMark {
			near(Strong, c.X, c.Y-0.8*c.R)
		} else {
			near(Paper, c.X, c.Y-0.7*c.R)
		}
		if !c.Hidden { // the middle of a leader is ink
			near(Ink, (c.PortX+c.AnchorX)/2, (c.PortY+c.AnchorY)/2)
		}
	}
	bar := p.Overlay.Lines[len(p.Overlay.Lines)-4]
	near(Ink, (3*bar.X0+bar.X1)/4, bar.Y0)

	data, err := PNG(img)
	require.NoError(t, err)
	back, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	for _, at := range [][2]int{{0, 0}, {400, 300}, {123, 456}, {1999, 1499}} {
		assert.Equal(t, img.At(at[0], at[1]), back.At(at[0], at[1]))
	}
}

// Odd overlays neither hang nor reach outside the picture.
func TestCanvasSurvives(t *testing.T) {
	c := canvas{px: make([]rgb, 50*40), w: 50, h: 40}
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{-1e9, -3, 0, 20, 60, 1e9, 1e300, nan, inf} {
		c.overlay(&Overlay{
			Lines:   []Line{{X1: v, Y1: 5, Width: 3, Halo: 5}, {X0: v, Y0: v, X1: 7, Y1: 9, Width: 1, Dash: []float64{2, 1}}, {X1: 9, Width: v}, {X1: 30, Width: 2, Dash: []float64{v, -1, 0}}},
			Arrows:  []Arrow{{X1: v, Y1: 3, Width: 2, Head: 5, Halo: 2}, {X1: 8, Y1: 8, Width: 2, Head: v}},
			Circles: []Circle{{X: v, Y: 4, R: 6, Width: 2, Fill: red}, {X: 9, Y: 9, R: v, Width: 1, Fill: red}},
			Texts:   []Text{{X: v, Y: 3, Size: 8, S: "né 12 µm\x00\U0001F600", Halo: true}, {X: 4, Y: 4, Size: v, S: "a"}},
		})
	}
}

func TestPrintWidthSizesTheDrawing(t *testing.T) {
	// The same picture at half the width has everything twice as large in pixels,
	// so that it is equally large on paper.
	s := &Scene{Bodies: []Body{{Mesh: cube(10)}}, Up: geom.Vec{Z: 1}, Marks: []Mark{{Label: "1"}}}
	wide := draw(t, s, 800, 600)
	s.PrintWidth = 85
	narrow := draw(t, s, 800, 600)
	assert.InDelta(t, 2*wide.Callouts[0].R, narrow.Callouts[0].R, 1e-9)
	assert.InDelta(t, 2*wide.Overlay.Texts[0].Size, narrow.Overlay.Texts[0].Size, 1e-9)
	for _, mm := range []float64{-1, 1e-300, math.NaN(), math.Inf(1)} { // no harm
		s.PrintWidth = mm
		u := draw(t, s, 80, 60).view.unit
		assert.True(t, u >= 0.4 && u <= 8, "unit %g", u)
	}
}
