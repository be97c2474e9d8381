package report

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func TestSliceOfABox(t *testing.T) {
	m := geomtest.Box(geom.Vec{X: 0, Y: 0, Z: 0}, geom.Vec{X: 10, Y: 6, Z: 4})
	s := newSheet(geom.Vec{X: 2, Y: 3, Z: 1}, geom.Vec{Y: -1}, geom.Vec{Z: 1})
	assert.Equal(t, geom.Vec{X: 1}, s.right)
	o := s.slice(m)
	r := o.bounds()
	assert.InDelta(t, -2, r.lo.X, 1e-12)
	assert.InDelta(t, 8, r.hi.X, 1e-12)
	assert.InDelta(t, -1, r.lo.Y, 1e-12)
	assert.InDelta(t, 3, r.hi.Y, 1e-12)
	assert.InDelta(t, 10, o.width(), 1e-12)
	length := 0.0
	for _, e := range o {
		length += math.Hypot(e[1].X-e[0].X, e[1].Y-e[0].Y)
	}
	assert.InDelta(t, 28, length, 1e-9, "2 (10 + 4)")
	assert.True(t, o.holds(spot{0, 0}))
	assert.False(t, o.holds(spot{9, 0}))
	assert.InDelta(t, 1, o.clearance(spot{0, 0}, 0), 1e-12)
	assert.Equal(t, geom.Vec{X: 5, Y: 3, Z: 2}, s.point(spot{3, 1}))
	assert.Empty(t, newSheet(geom.Vec{Y: 9}, geom.Vec{Y: -1}, geom.Vec{Z: 1}).slice(m))

	p, room := roomiest(21, []outline{o}, nil)
	assert.InDelta(t, 2, room, 0.1, "half of the height")
	assert.InDelta(t, 1, p.Y, 0.1)
	left := newSheet(s.origin, geom.Vec{Y: -1}, geom.Vec{Z: 1}).slice(geomtest.Box(geom.Vec{X: -1, Y: 0, Z: -1}, geom.Vec{X: 7, Y: 6, Z: 5}))
	p, room = roomiest(60, []outline{o}, []outline{left})
	assert.InDelta(t, 1.5, room, 0.1, "half of what is left")
	assert.InDelta(t, 6.5, p.X, 0.1)
	_, room = roomiest(20, []outline{o}, []outline{o})
	assert.Zero(t, room)
}

// Cutting at a level changes neither the area nor the volume, and leaves no facet
// across the level.
func TestKnife(t *testing.T) {
	m := geomtest.Sphere(10, 24, 12)
	up := geom.Vec{X: 0.6, Z: 0.8}
	k := newKnife(m, up)
	for _, level := range []float64{3, 9.5, -4, 20} {
		k.cut(level)
		for _, f := range k.mesh.Facets {
			lo := min(k.height[f[0]], k.height[f[1]], k.height[f[2]])
			hi := max(k.height[f[0]], k.height[f[1]], k.height[f[2]])
			require.False(t, lo < level && hi > level, "facet across %g", level)
		}
	}
	assert.InDelta(t, m.Area(), k.mesh.Area(), 1e-9*m.Area())
	assert.InDelta(t, m.Volume(), k.mesh.Volume(), 1e-9*m.Volume())
	assert.True(t, geom.Inspect(k.mesh).Closed())
	assert.Greater(t, len(k.mesh.Facets), len(m.Facets))
}

func TestTube(t *testing.T) {
	c := &mold.Channel{Axis: geom.Vec{Z: 1}, Path: []geom.Vec{{}, {Z: 2}, {Z: 5}}, Radius: []float64{3, 3, 3}}
	m := tube(c, 1, 0)
	require.True(t, geom.Inspect(m).Closed())
	assert.InDelta(t, 24*9*math.Sin(2*math.Pi/24)/2*5, m.Volume(), 1e-9, "a 24-sided prism")
	assert.InDelta(t, 7, tube(c, 1, 2).Box().Size().Z, 1e-9, "begun 2 mm before the mouth")
	bent := &mold.Channel{Path: []geom.Vec{{}, {Z: 5}, {X: 5, Z: 5}, {X: 5, Z: -5}}, Radius: []float64{1, 1, 1, 1}}
	assert.True(t, geom.Inspect(tube(bent, 1, 0)).Closed())
	assert.Empty(t, tube(&mold.Channel{Path: []geom.Vec{{}}}, 1, 0).Facets)
}

// The section of the first page of the base mold runs along the tilt through gate
// and vent, and shows the pocket over the whole length of its wedge, 19 mm.
func TestWholeSectionOfTheBaseMold(t *testing.T) {
	s := newStudio(outcome(t, "b0", 10))
	v := s.whole()
	assert.InDelta(t, 1, math.Abs(v.plane.Normal.Y), 1e-9)
	assert.InDelta(t, 20, math.Abs(v.plane.Offset), 0.05)
	assert.Positive(t, v.right.X, "+X to the right")
	assert.Equal(t, []int{0}, v.pockets)
	assert.InDelta(t, 19/math.Cos(10*math.Pi/180), v.slice(s.air[0]).width(), 0.05, "the level from the vent's edge to the wall")
}

// A pocket's body is the part above the spill level: its volume is the pocket's,
// and what it touches of a sphere is a cap, 2 pi R h (Archimedes).
func TestAirAsDrawn(t *testing.T) {
	s := newStudio(outcome(t, "b0", 10))
	require.NotNil(t, s.stained.patches[0].air)
	assert.InDelta(t, 636.5, s.stained.patches[0].air.Volume(), 2, "the wedge, half of 19^2 tan 10 deg times 20")

	o := outcome(t, "sphere", 20)
	s = newStudio(o)
	p := &o.Fill.Pockets[0]
	require.NotNil(t, s.stained.patches[0].air)
	assert.InDelta(t, p.Volume, s.stained.patches[0].air.Volume(), p.Error+0.5)
	area := 0.0
	for f, c := range s.stained.color {
		if c == 1 {
			area += s.stained.mesh.Triangle(f).Area()
		}
	}
	cap := 2 * math.Pi * 20 * p.Depth
	assert.InDelta(t, cap, area, 0.02*cap)
}

// Every pocket of a group lies in the frame of its section, and every pocket has a
// group unless there are too many.
func TestGroups(t *testing.T) {
	for name, tilt := range map[string]float64{"b0": 10, "comb": 0, "demo": 15} {
		o := outcome(t, name, tilt)
		s := newStudio(o)
		groups := s.groups()
		seen := map[int]bool{}
		for _, g := range groups {
			require.NotEmpty(t, g.pockets)
			around := s.airFrame(g.sheet, g.pockets[0]).grown()
			for _, i := range g.pockets {
				assert.False(t, seen[i])
				seen[i] = true
				assert.True(t, around.holds(s.airFrame(g.sheet, i)), name)
				assert.InDelta(t, 0, g.off(s.peaks[g.pockets[0]]), 0.5*o.Fill.Pockets[g.pockets[0]].Depth+3)
			}
			assert.InDelta(t, 0, g.plane.Normal.Dot(s.up), 1e-9, "the section holds up")
		}
		if len(groups) < maxGroups {
			assert.Len(t, seen, len(o.Fill.Pockets), name)
		}
	}
}

func TestEveryMarkOfAPictureIsInsideIt(t *testing.T) {
	d := document(t, 40)
	b, err := newBook(d)
	require.NoError(t, err)
	v := b.studio.whole()
	sh := b.studio.wholeMold(v, d.Outcome.Findings, 110)
	assert.Len(t, sh.marks, maxMarks)
	p, err := b.studio.take(sh, nil)
	require.NoError(t, err)
	size := p.Image.Bounds()
	assert.InDelta(t, fullWidth*pixelsPerMM, size.Dx(), 1)
	assert.Len(t, p.Over.Circles, maxMarks)
	r := 6.6 * pointMM * pixelsPerMM // a callout as set on the page
	for i, c := range p.Over.Circles {
		assert.True(t, c.X >= r && c.Y >= r && c.X <= float64(size.Dx())-r && c.Y <= float64(size.Dy())-r)
		for _, e := range p.Over.Circles[:i] {
			assert.GreaterOrEqual(t, math.Hypot(c.X-e.X, c.Y-e.Y), 2*r-1, "callouts overlap")
		}
	}
	for i, a := range p.Over.Labels {
		for _, c := range p.Over.Labels[:i] {
			assert.False(t, a.X == c.X && a.Y == c.Y, "%q stands on %q", a.Text, c.Text)
		}
	}
}

// luminance is the relative luminance of a colour (WCAG 2.1).
func luminance(c color.RGBA) float64 {
	f := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.03928 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
}

func contrast(a, b color.RGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Words in the inks of severities, and numbers in callouts, read on their ground
// (WCAG 2.1, 1.4.3: 4.5), and callouts of two severities differ in grey or shape.
func TestInksRead(t *testing.T) {
	white := color.RGBA{255, 255, 255, 255}
	reason := "ok"
	var looks []look
	for _, f := range []checks.Finding{{Severity: checks.Stop}, {Severity: checks.Discuss}, {Severity: checks.Note}, {Severity: checks.Stop, Accepted: &reason}} {
		l := lookOf(&f)
		assert.GreaterOrEqual(t, contrast(l.ink, white), 4.5)
		assert.GreaterOrEqual(t, contrast(l.text, l.fill), 4.5)
		for _, o := range looks {
			assert.NotEqual(t, o.mark, l.mark)
			assert.False(t, o.fill == l.fill && o.text == l.text, "callouts alike")
		}
		looks = append(looks, l)
	}
	assert.Greater(t, contrast(looks[0].fill, looks[1].fill), 3.0)
	for _, v := range []checks.Verdict{checks.DoNotPrint, checks.Talk, checks.Ready, checks.NoJudgement} {
		_, ink := verdictLook(v)
		assert.GreaterOrEqual(t, contrast(ink, white), 4.5)
	}
}
