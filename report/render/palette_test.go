package render

import (
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// linear undoes the sRGB transfer curve (IEC 61966-2-1).
func linear(v uint8) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// lab converts linear sRGB (D65) to CIE 1976 L*a*b*.
func lab(r, g, b float64) [3]float64 {
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124564*r + 0.3575761*g + 0.1804375*b) / 0.95047)
	y := f(0.2126729*r + 0.7151522*g + 0.0721750*b)
	z := f((0.0193339*r + 0.1191920*g + 0.9503041*b) / 1.08883)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// vision is a way of seeing: a matrix on linear sRGB. The three deficiencies are
// those of Machado, Oliveira, Fernandes, IEEE Trans. Vis. Comput. Graph. 15(6),
// 2009, table of severity 1 (from memory).
var vision = map[string][9]float64{
	"common":       {1, 0, 0, 0, 1, 0, 0, 0, 1},
	"protanopia":   {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
	"deuteranopia": {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881},
	"tritanopia":   {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900},
	"no colours":   {0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722, 0.2126, 0.7152, 0.0722},
}

func seenAs(c color.RGBA, m [9]float64) [3]float64 {
	r, g, b := linear(c.R), linear(c.G), linear(c.B)
	ch := func(i int) float64 { return min(max(m[i]*r+m[i+1]*g+m[i+2]*b, 0), 1) }
	return lab(ch(0), ch(3), ch(6))
}

func TestLabKnownValues(t *testing.T) {
	// White is L* 100; sRGB mid grey 119 is L* 50 (from memory: 50.03).
	assert.InDelta(t, 100, seenAs(Paper, vision["common"])[0], 0.01)
	assert.InDelta(t, 50.0, seenAs(color.RGBA{119, 119, 119, 255}, vision["common"])[0], 0.1)
	assert.InDelta(t, 0, seenAs(color.RGBA{}, vision["common"])[0], 1e-9)
}

func TestPaletteHoldsApart(t *testing.T) {
	colors := map[string]color.RGBA{"rubber 1": Rubber1, "rubber 2": Rubber2, "resin": Resin, "air": Air, "part": Part,
		"gate": Gate, "vent": Vent, "ink": Ink, "paper": Paper}
	marks := map[string]color.RGBA{"strong": Strong, "medium": Medium, "light": Light, "ink": Ink, "paper": Paper}
	for _, set := range []map[string]color.RGBA{colors, marks} {
		for eyes, m := range vision {
			if eyes == "no colours" {
				continue
			}
			for a, ca := range set {
				for b, cb := range set {
					if a >= b {
						continue
					}
					p, q := seenAs(ca, m), seenAs(cb, m)
					d := math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
					assert.Greater(t, d, 10.0, "%s and %s seen with %s", a, b, eyes)
				}
			}
		}
	}
	light := func(c color.RGBA) float64 { return seenAs(c, vision["no colours"])[0] }
	for name, c := range colors {
		t.Logf("%s %.1f", name, light(c))
	}
	for name, c := range marks {
		t.Logf("%s %.1f", name, light(c))
	}
	order := []color.RGBA{Paper, Rubber1, Rubber2, Resin, Part, Air, Ink}
	for i := range order[1:] {
		assert.Greater(t, light(order[i])-light(order[i+1]), 7.0, "lightness step %d", i)
	}
	assert.Greater(t, light(Medium)-light(Light), 15.0)
	assert.Greater(t, light(Light)-light(Strong), 15.0)
}

func TestInkIsOneColour(t *testing.T) {
	assert.Equal(t, pack(Ink), ink)
}

// The five patterns of cut faces differ in grey even for one colour.
func TestCapPatternsDifferInGrey(t *testing.T) {
	const n = 400
	for _, unit := range []float64{0.4, 1, 2} {
		var grey [5][n * n]float64
		for style := CapHatch; style <= CapDots; style++ {
			paint := capPaintOf(&Body{Color: Air, Cap: style}, unit)
			for i := range grey[style] {
				grey[style][i] = luminance(paint.at(i%n-n/2, i/n-n/2).color())
			}
		}
		for a := range grey {
			for b := range a {
				apart := 0
				for i := range grey[a] {
					if math.Abs(grey[a][i]-grey[b][i]) > 0.15 {
						apart++
					}
				}
				assert.Greater(t, apart, n*n/20, "patterns %d and %d at unit %g", a, b, unit)
			}
		}
	}
}

func TestHatchRunsAt45Degrees(t *testing.T) {
	rising := capPaintOf(&Body{Color: Rubber1, Cap: CapHatch}, 1)
	falling := capPaintOf(&Body{Color: Rubber1, Cap: CapHatchBack}, 1)
	for i := range 200 {
		x, y := i*7-600, i*i%331-150
		// one sample right and one up (y points down) stays on a rising line
		require.Equal(t, rising.at(x, y), rising.at(x+1, y-1))
		require.Equal(t, falling.at(x, y), falling.at(x+1, y+1))
		require.Equal(t, rising.at(x, y), rising.at(x+rising.period, y))
	}
	line, n := 0, 100*rising.period
	for x := range n {
		if rising.at(x-n/2, 3) == rising.ink {
			line++
		}
	}
	assert.Equal(t, 100*rising.width, line)
}

func TestQuantizerKeepsFewColoursExactly(t *testing.T) {
	px := make([]rgb, 40*40)
	r := rand.New(rand.NewPCG(1, 2))
	var set [255]rgb
	for i := range set {
		set[i] = rgb(r.Uint32() & 0xffffff)
	}
	for i := range px {
		px[i] = set[r.IntN(len(set))]
	}
	var q quantizer
	img := q.image(px, 40, 40)
	assert.Equal(t, Paper, img.Palette[0])
	for i, c := range px {
		require.Equal(t, c.color(), img.Palette[img.Pix[i]])
	}
}

func TestQuantizerManyColours(t *testing.T) {
	// Large areas of 100 colours stay exact; 60000 others are met closely, each by
	// the nearest entry.
	const w, h = 400, 300
	px := make([]rgb, w*h)
	r := rand.New(rand.NewPCG(3, 4))
	for i := range px {
		if i < w*h/2 {
			px[i] = rgb(0x10203 * (i / (w * h / 200)))
		} else {
			px[i] = rgb(r.Uint32() & 0xffffff)
		}
	}
	var q quantizer
	img := q.image(px, w, h)
	require.LessOrEqual(t, len(img.Palette), 256)
	dist := func(a, b color.RGBA) int {
		dr, dg, db := int(a.R)-int(b.R), int(a.G)-int(b.G), int(a.B)-int(b.B)
		return dr*dr + dg*dg + db*db
	}
	worst, sum := 0, 0
	for i, c := range px {
		got := dist(c.color(), img.Palette[img.Pix[i]].(color.RGBA))
		if i < w*h/2 {
			require.Zero(t, got)
			continue
		}
		sum += got
		worst = max(worst, got)
		if i%97 == 0 {
			for _, e := range img.Palette {
				require.LessOrEqual(t, got, dist(c.color(), e.(color.RGBA)))
			}
		}
	}
	// 95 free entries over the cube of 256^3: cells of about 56, mean squared
	// distance to a cell's middle 3 * 56^2/12 = 784, in the worst corner some times
	// that.
	assert.Less(t, sum/(w*h/2), 1000)
	assert.Less(t, worst, 8000)
}

func TestPicturesArePaletted(t *testing.T) {
	p := draw(t, busyScene(), 500, 400)
	assert.LessOrEqual(t, len(p.Image.Palette), 256)
	assert.Equal(t, Paper, p.Image.Palette[0])
	for _, c := range p.Image.Palette {
		_, _, _, a := c.RGBA()
		assert.Equal(t, uint32(0xffff), a)
	}
	for _, i := range p.Image.Pix {
		require.Less(t, int(i), len(p.Image.Palette))
	}
}

func TestMixAndMean(t *testing.T) {
	assert.Equal(t, rgb(0x123456), rgb(0x123456).mix(0xffffff, 0))
	assert.Equal(t, rgb(0xfedcba), rgb(0x123456).mix(0xfedcba, 256))
	assert.Equal(t, rgb(0x808080), rgb(0).mix(0xffffff, 128))
	assert.Equal(t, rgb(0x404040), mean(0xffffff, 0, 0, 0))
	assert.Equal(t, rgb(0x804020), mean(0xff8040, 0xff8040, 0, 0))
	assert.Equal(t, rgb(0xfefefe), mean(0xffffff, 0xfefefe, 0xfefefe, 0xfdfdfd))
}

func TestNormalsPackClosely(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 20000 {
		v := geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Unit()
		u := unpack(unit32{float32(v.X), float32(v.Y), float32(v.Z)}.pack())
		w := geom.Vec{X: float64(u.x), Y: float64(u.y), Z: float64(u.z)}.Unit()
		require.Less(t, v.Sub(w).Norm(), 1e-4)
	}
	for _, v := range []unit32{{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}} {
		assert.InDelta(t, 1, float64(dot32(v, unpack(v.pack()))), 1e-4)
	}
}

func TestCornerNormals(t *testing.T) {
	// On a fine sphere they are the radii; on a cube the facets' own normals.
	ball := geomtest.Icosphere(10, 4)
	k := &facts{normal: facetNormals(ball)}
	k.corners(ball)
	for f, t3 := range ball.Facets {
		for c, v := range t3 {
			u := unpack(k.corner[f][c])
			n := geom.Vec{X: float64(u.x), Y: float64(u.y), Z: float64(u.z)}.Unit()
			require.InDelta(t, 1, n.Dot(ball.Vertices[v].Unit()), 1e-5)
		}
	}
	box := cube(10)
	k = &facts{normal: facetNormals(box)}
	k.corners(box)
	for f := range box.Facets {
		for c := range 3 {
			u := unpack(k.corner[f][c])
			n := geom.Vec{X: float64(u.x), Y: float64(u.y), Z: float64(u.z)}.Unit()
			require.InDelta(t, 1, n.Dot(box.Triangle(f).Normal()), 1e-6)
		}
	}
}

func TestEdges(t *testing.T) {
	box := cube(10)
	k := &facts{normal: facetNormals(box)}
	k.findEdges(box)
	require.Len(t, k.edges, 12, "the diagonals of the faces are no edges")
	for _, e := range k.edges {
		assert.True(t, e.sharp)
		assert.GreaterOrEqual(t, e.g, int32(0))
		assert.InDelta(t, 10, box.Vertices[e.a].Dist(box.Vertices[e.b]), 1e-12)
	}
	ball := geomtest.Icosphere(10, 3)
	k = &facts{normal: facetNormals(ball)}
	k.findEdges(ball)
	assert.Len(t, k.edges, len(ball.Facets)*3/2)
	for _, e := range k.edges {
		assert.False(t, e.sharp)
	}
	open := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 1}, {Z: 1}}, Facets: [][3]int32{{0, 1, 2}}}
	k = &facts{normal: facetNormals(open)}
	k.findEdges(open)
	assert.Len(t, k.edges, 3)
	assert.Equal(t, int32(-1), k.edges[0].g)
}

// A pixel of a cut face is the mean of its four samples.
func TestCapPixel(t *testing.T) {
	for style := CapHatch; style <= CapDots; style++ {
		p := capPaintOf(&Body{Color: Rubber1, Cap: style}, 1.3)
		for gy := -60; gy < 60; gy++ {
			for gx := -60; gx < 60; gx++ {
				require.Equal(t, mean(p.at(gx, gy), p.at(gx+1, gy), p.at(gx, gy+1), p.at(gx+1, gy+1)), p.pixel(gx, gy), "style %d at %d, %d", style, gx, gy)
			}
		}
	}
}
