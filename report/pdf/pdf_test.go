package pdf

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/color/palette"
	"image/draw"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom/geomtest"
)

func TestSameCallsSameBytes(t *testing.T) {
	make20 := func() []byte {
		d := sample(t, "letter")
		for i := range 20 { // equal widths: the library alone would shuffle them
			img := striped(120, 80)
			img.SetColorIndex(i, 0, 2)
			d.Figure(Picture{Image: img, Height: 20})
		}
		for _, name := range []string{"b.csv", "a.csv", "ä.txt"} {
			d.Attach(name, "text/plain", []byte(name))
		}
		data, err := d.Bytes()
		require.NoError(t, err)
		again, err := d.Bytes()
		require.NoError(t, err)
		require.Equal(t, data, again, "a second call gives the same")
		return data
	}
	first := make20()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 2, 4} {
		runtime.GOMAXPROCS(n)
		require.True(t, bytes.Equal(first, make20()), "%d threads", n)
	}
}

func TestSamplePlacesEverythingSoundly(t *testing.T) {
	for _, paper := range []string{"", "a4", "letter"} {
		d := sample(t, paper)
		_, err := d.Bytes()
		require.NoError(t, err)
		requireSound(t, d)
		for _, kind := range []string{"heading", "paragraph", "bullet", "table head", "row", "picture", "label", "caption", "chart", "disc", "panel", "box", "number", "pair", "running"} {
			assert.Positive(t, kinds(d, kind), kind)
		}
	}
}

func TestSamePictureOnce(t *testing.T) {
	size := func(pictures ...image.Image) int {
		d := empty(t)
		for _, p := range pictures {
			d.Figure(Picture{Image: p, Height: 20})
		}
		data, err := d.Bytes()
		require.NoError(t, err)
		require.Equal(t, len(pictures), kinds(d, "picture"))
		return bytes.Count(data, []byte("/Subtype /Image"))
	}
	other := shaded(50, 40)
	other.SetRGBA(3, 3, color.RGBA{R: 1, A: 255})
	assert.Equal(t, 1, size(shaded(50, 40), shaded(50, 40)))
	assert.Equal(t, 2, size(shaded(50, 40), other))
	assert.Equal(t, 2, size(image.NewGray(image.Rect(0, 0, 20, 10)), image.NewGray(image.Rect(0, 0, 10, 20))), "same bytes, other shape")
}

// TestUpdateAtAnyNumberOfObjects: 9 to 10 and 99 to 100 objects change the
// width of numbers in the file.
func TestUpdateAtAnyNumberOfObjects(t *testing.T) {
	for pages := range 50 {
		d := empty(t)
		for i := range pages {
			d.Figure(Picture{Image: image.NewGray(image.Rect(0, 0, 10+i, 10)), Height: 20})
			d.PageBreak()
		}
		d.Attach("a", "text/plain", []byte("a"))
		data, err := d.Bytes()
		require.NoError(t, err, "%d pages", pages)
		require.Equal(t, pages, bytes.Count(data, []byte("/Subtype /Image")))
	}
}

// bomb is a figure that breaks while it is drawn.
type bomb struct{ Picture }

func (bomb) draw(*Doc, float64, float64, float64, float64) {
	var none []int
	_ = none[3]
}

func TestFaultsBecomeErrorsNamingThePage(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	img := image.NewGray(image.Rect(0, 0, 40, 20))
	cases := map[string]func(d *Doc){
		"overlay line":     func(d *Doc) { d.Figure(Picture{Image: img, Over: Overlay{Lines: []Stroke{{X1: nan, X2: 3}}}}) },
		"overlay infinite": func(d *Doc) { d.Figure(Picture{Image: img, Over: Overlay{Lines: []Stroke{{X1: inf, X2: 3}}}}) },
		"callout":          func(d *Doc) { d.Figure(Picture{Image: img, Over: Overlay{Circles: []Circle{{X: 1, Y: nan}}}}) },
		"label":            func(d *Doc) { d.Figure(Picture{Image: img, Over: Overlay{Labels: []Label{{X: nan, Text: "a"}}}}) },
		"label size":       func(d *Doc) { d.Figure(Picture{Image: img, Over: Overlay{Labels: []Label{{Text: "a", Size: nan}}}}) },
		"picture width":    func(d *Doc) { d.Figure(Picture{Image: img, Width: nan}) },
		"flat picture":     func(d *Doc) { d.Figure(Picture{Image: image.NewGray(image.Rect(0, 0, 900, 3))}) },
		"no image":         func(d *Doc) { d.Figure(Picture{}) },
		"space":            func(d *Doc) { d.Space(nan) },
		"keep":             func(d *Doc) { d.Para(Text("a")); d.Keep(inf) },
		"column":           func(d *Doc) { d.Table(Table{Columns: []Column{{Width: nan}}}) },
		"type size":        func(d *Doc) { d.Table(Table{Columns: []Column{{}}, Size: nan, Rows: []Row{R("a")}}) },
		"wide columns":     func(d *Doc) { d.Table(Table{Columns: []Column{{Width: 100}, {Width: 100}}}) },
		"cells":            func(d *Doc) { d.Table(Table{Columns: []Column{{}}, Rows: []Row{R("a", "b")}}) },
		"no columns":       func(d *Doc) { d.Table(Table{}) },
		"chart value":      func(d *Doc) { d.Figure(Chart{Bars: Series{X: []float64{1, 2}, Y: []float64{1, nan}}}) },
		"chart x":          func(d *Doc) { d.Figure(Chart{Lines: []Series{{X: []float64{1, inf}, Y: []float64{1, 2}}}}) },
		"chart limit":      func(d *Doc) { d.Figure(Chart{Limits: []Limit{{At: nan}}}) },
		"chart lengths":    func(d *Doc) { d.Figure(Chart{Lines: []Series{{X: []float64{1}, Y: nil}}}) },
		"chart height":     func(d *Doc) { d.Figure(Chart{Height: nan}) },
		"disc value":       func(d *Doc) { d.Figure(Disc{Rings: []float64{1}, Sectors: 3, Values: []float64{1, inf, 2}}) },
		"disc mark": func(d *Doc) {
			d.Figure(Disc{Rings: []float64{1}, Sectors: 3, Values: make([]float64, 3), Marks: []DiscMark{{Azimuth: nan}}})
		},
		"disc rings":   func(d *Doc) { d.Figure(Disc{Rings: []float64{2, 1}, Sectors: 3, Values: make([]float64, 6)}) },
		"field weight": func(d *Doc) { d.Fields(Field{Weight: nan}) },
		"level":        func(d *Doc) { d.Heading(4, "deep") },
		"lost link":    func(d *Doc) { d.Para(To("see", "nowhere")) },
		"twice": func(d *Doc) {
			for range 2 {
				d.Anchor("a")
				d.Para(Text("x"))
			}
		},
		"panic":          func(d *Doc) { d.Figure(bomb{Picture{Image: img}}) },
		"attached twice": func(d *Doc) { d.Attach("a", "text/plain", nil); d.Attach("a", "text/plain", nil) },
		"attached path":  func(d *Doc) { d.Attach("../a", "text/plain", nil) },
		"media type":     func(d *Doc) { d.Attach("a", "text plain", nil) },
	}
	for name, spoil := range cases {
		t.Run(name, func(t *testing.T) {
			d := empty(t)
			d.Para(Text("first page"))
			d.PageBreak()
			spoil(d)
			data, err := d.Bytes()
			require.ErrorContains(t, err, "page 2: ")
			assert.Nil(t, data)
			d.Para(Text("later calls do nothing"))
			_, again := d.Bytes()
			assert.Equal(t, err, again, "the first fault is kept")
		})
	}
}

func TestNothingAfterBytes(t *testing.T) {
	d := empty(t)
	_, err := d.Bytes()
	require.NoError(t, err)
	d.Para(Text("late"))
	_, err = d.Bytes()
	require.ErrorContains(t, err, "closed")
}

func TestOptionsAreChecked(t *testing.T) {
	_, err := New(Options{Paper: "a3"})
	require.ErrorContains(t, err, "a4 or letter")
	_, err = New(Options{Language: "en)/Evil"})
	require.ErrorContains(t, err, "language")
	for paper, want := range map[string][2]float64{"a4": {210, 297}, "Letter": {215.9, 279.4}} {
		d, err := New(Options{Paper: paper})
		require.NoError(t, err)
		w, h := d.PaperSize()
		assert.InDelta(t, want[0], w, 0.01)
		assert.InDelta(t, want[1], h, 0.01)
	}
}

func TestOpaqueOnWhite(t *testing.T) {
	in := image.NewNRGBA(image.Rect(0, 0, 2, 1))
	in.SetNRGBA(0, 0, color.NRGBA{R: 255, A: 128})
	rgba := image.NewRGBA(in.Bounds())
	rgba.Set(0, 0, in.At(0, 0))
	want := []byte{2, 255, 127, 127, 255, 255, 255} // half red and nothing, on white; led by the filter's number
	assert.Equal(t, want, pack(in).data)
	assert.Equal(t, want, pack(rgba).data, "the quick path agrees with the general one")
	sub := shaded(60, 40).SubImage(image.Rect(7, 5, 31, 22))
	assert.Equal(t, pack(generic{sub}).data, pack(sub).data)
}

// generic hides the type of an image.
type generic struct{ image.Image }

func TestPaletteIsKept(t *testing.T) {
	img := image.NewPaletted(image.Rect(0, 0, 3, 1), color.Palette{color.White, color.Black})
	copy(img.Pix, []byte{0, 1, 7})
	r := pack(img)
	assert.Equal(t, []byte{0, 0, 1, 1}, r.data, "a number beyond the palette is the last colour")
	assert.Equal(t, "[/Indexed /DeviceRGB 1 <FFFFFF000000>]", r.space)
}

func TestHeatFallsInGrey(t *testing.T) {
	last := math.Inf(1)
	for i := range 101 {
		c := heatAt(float64(i) / 100)
		grey := 0.2126*float64(c.R) + 0.7152*float64(c.G) + 0.0722*float64(c.B) // ITU-R BT.709
		assert.Less(t, grey, last, "step %d", i)
		last = grey
	}
	assert.Equal(t, heat[0], heatAt(-1))
	assert.Equal(t, heat[8], heatAt(2))
	assert.Equal(t, heat[4], heatAt(0.5))
}

func TestTicks(t *testing.T) {
	for span, want := range map[float64]float64{1: 0.2, 10: 2, 9: 2, 640: 200, 0.03: 0.01, 26: 10, 25: 5} {
		assert.InDelta(t, want, tickStep(span, 5), 1e-12, "%g", span)
	}
	assert.Zero(t, tickStep(math.NaN(), 5))
	var got []string
	ticks(-0.4, 0.6, 5, func(_ float64, text string) { got = append(got, text) })
	assert.Equal(t, []string{"-0.4", "-0.2", "0.0", "0.2", "0.4", "0.6"}, got)
}

// BenchmarkThirtyPages writes thirty pages with twenty pictures of 1600 x 1200, in
// full colour and, as the program's are, with a palette.
func BenchmarkThirtyPages(b *testing.B) {
	for _, kind := range []string{"colour", "palette"} {
		pictures := make([]image.Image, 20)
		for i := range pictures {
			m := shaded(1600, 1200)
			m.SetRGBA(i, 0, color.RGBA{A: 255})
			pictures[i] = m
			if kind == "palette" {
				flat := image.NewPaletted(m.Bounds(), palette.Plan9)
				draw.Draw(flat, m.Bounds(), m, image.Point{}, draw.Src)
				pictures[i] = flat
			}
		}
		b.Run(kind, func(b *testing.B) {
			var data []byte
			meter := geomtest.NewMeter(b)
			for meter.Loop() {
				d := sample(b, "a4")
				for i, p := range pictures {
					d.Heading(1, fmt.Sprint("Picture ", i))
					d.Figure(Picture{Image: p, Caption: Plain("a caption")})
					d.PageBreak()
				}
				var err error
				data, err = d.Bytes()
				require.NoError(b, err)
			}
			meter.Per("pixel", 20*1600*1200)
			b.ReportMetric(float64(len(data)), "bytes")
		})
	}
}
