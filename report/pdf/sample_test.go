package pdf

import (
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	red   = color.RGBA{R: 0xb0, G: 0x3a, B: 0x2e, A: 0xff}
	amber = color.RGBA{R: 0x9a, G: 0x6a, B: 0x00, A: 0xff}
)

// shaded draws a made-up block with a step, as a renderer would.
func shaded(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{R: 255, G: 255, B: 255, A: 255}
			if x > w/6 && x < 5*w/6 && y > h/5 && y < 4*h/5 {
				g := uint8(180 + 50*x/w - 30*y/h)
				c = color.RGBA{R: g, G: g, B: g + 10, A: 255}
			}
			if x > w/3 && x < 2*w/3 && y > 2*h/5 && y < 3*h/5 {
				c = color.RGBA{R: 120, G: 170, B: 190, A: 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func striped(w, h int) *image.Paletted {
	img := image.NewPaletted(image.Rect(0, 0, w, h), color.Palette{color.White, color.RGBA{R: 200, G: 210, B: 215, A: 255}, color.RGBA{R: 60, G: 90, B: 110, A: 255}})
	for y := range h {
		for x := range w {
			if x > w/5 && x < 4*w/5 && y > h/5 && y < 4*h/5 {
				img.SetColorIndex(x, y, uint8(1+(x+y)/9%2))
			}
		}
	}
	return img
}

func mapOfTilts() Disc {
	m := Disc{Sectors: 72, Label: "trapped, mm³", Size: 58,
		Caption: Runs{Strong("Figure 3 "), Text("Air left at each tilt. Raised side counted from +x.")},
		Marks:   []DiscMark{{Angle: 15, Azimuth: 90, Text: "chosen", Solid: true}, {Angle: 22, Azimuth: 205, Text: "best"}}}
	for i := range 18 {
		m.Rings = append(m.Rings, float64(i+1)*60/18)
		for s := range 72 {
			a, z := (float64(i)+0.5)*60/18, float64(s)*5*math.Pi/180
			v := 640 * math.Abs(math.Sin(z-0.4)) * (1 - math.Exp(-a/18))
			if i == 17 && s < 5 {
				v = math.NaN()
			}
			m.Values = append(m.Values, v)
		}
	}
	return m
}

// sample is a whole report in small, with everything the package can set.
func sample(t testing.TB, paper string) *Doc {
	t.Helper()
	d, err := New(Options{Paper: paper, Title: "Mold review: pump cover", Revision: "revision C", Author: "A. Weiß",
		Subject: "Two-part mold, 62 × 44 × 31 mm", Date: "2025-03-14", Footer: "pourproof 0.1 · geometry and closed formulas only"})
	require.NoError(t, err)
	d.Title()
	d.Banner(Full, red, "Do not print: 2 stop, 3 discuss, 4 notes",
		Text("Air stays in the cavity at this tilt and one vent is blocked. "), To("See the actions", "actions"), Ref(" on page ", "actions"), Text("."))
	d.Numbers(Number{"636", "mm³", "air trapped, 8 % of the part"}, Number{"15", "°", "tilt, raised at 90°"}, Number{"9.2", "ml", "resin to mix"},
		Number{"3.8", "°", "margin before more air stays"}, Number{"0.25", "mm", "column pitch"})
	d.Figure(Picture{Image: shaded(1200, 700), Height: 82, Caption: Runs{Strong("Figure 1 "), Text("The closed mold cut open at the pour tilt. Look at pocket 1 under the left shoulder: air stays here, 636 mm³.")},
		Over: Overlay{
			Lines: []Stroke{{X1: 300, Y1: 180, X2: 430, Y2: 320, Dashed: true}, {X1: 1100, Y1: 120, X2: 1100, Y2: 300, Arrow: true, Weight: 1.4},
				{X1: 60, Y1: 660, X2: 260, Y2: 660, Weight: 1.6}},
			Circles: []Circle{{X: 300, Y: 170, Text: "1", Link: "finding-1"}, {X: 1195, Y: 690, Text: "12"}},
			Labels:  []Label{{X: 1100, Y: 90, Text: "gravity", Align: Center}, {X: 160, Y: 640, Text: "10 mm", Align: Center}},
		}})
	d.Fields(Field{Label: "Decision", Options: []string{"print", "print after changes", "redo and review again"}, Weight: 1.7}, Field{Label: "Owner"}, Field{Label: "Date", Weight: 0.7}, Field{Label: "Signature", Weight: 1.3})

	d.Heading(1, "Actions")
	d.Anchor("actions")
	d.Table(actionTable())
	d.Caution("Pressure vessel", Text("Never exceed the rating on the pot. The makers' data sheets, local codes and qualified practice come first."))

	d.Heading(1, "Air")
	d.Heading(2, "Pockets")
	d.Anchor("air")
	d.Para(Text("A pocket is air cut off from every opening. At the chosen tilt "), Strong("one pocket"), Text(" of more than 50 mm³ stays; its high point is at "), Code("(12.50, 20.00, 19.98) mm"),
		Text(". Pressure shrinks a pocket and never fills it: Boyle, V·p₀/(p₀+p)."))
	d.Bullets(Plain("Vent at the top of pocket 1, ⌀ 2.0 mm, along the pull of the upper half: frees 634 ± 4 mm³."),
		Runs{Text("Or tilt by 22° at 205°: "), Tag(Open, "note", ink), Text(" the margin is then 2.1° and the syringe must stay in until the resin stands at every vent, which takes a little longer than before.")},
		Plain("Signs: ≤ ≥ ± × µ ° ³ ² Ø θ ∠ ⊥ ✓ ⚠ € ½ – é č ř ž Ä Кириллица Ελληνικά."))
	d.Figure(Picture{Image: shaded(800, 600), Caption: Runs{Strong("Figure 2a "), Text("Half A as printed.")}},
		Picture{Image: striped(800, 500), Caption: Runs{Strong("Figure 2b "), Text("Half A as closed, same camera; hatched faces shape the part.")}})
	d.Figure(mapOfTilts())
	d.Figure(Chart{X: Axis{Label: "height above the platform, mm"}, Y: Axis{Label: "sealed area, mm²"}, Height: 55,
		Bars:    Series{Name: "layers", X: []float64{1, 2, 3, 4, 5, 6, 7}, Y: []float64{0, 4, 20, 85, 110, 60, 12}},
		Lines:   []Series{{Name: "largest cup", X: []float64{1, 2.5, 4, 5.5, 7}, Y: []float64{0, 10, 80, 100, 10}, Steps: true}, {Name: "before", X: []float64{1, 7}, Y: []float64{20, 95}, Dashed: true, Ink: amber}},
		Limits:  []Limit{{At: 95, Label: "20 N", Ink: red}, {At: 4.4, Label: "step", Vertical: true}},
		Caption: Runs{Strong("Figure 4 "), Text("Sealed area over the height of the print.")}})

	d.Heading(1, "Inputs")
	d.Pairs(2, Pair{"part", Runs{Code(d.Name("Gehäuse Ø8 – ½ µm €.stl"))}}, Pair{"units", Plain("mm, taken from the size")},
		Pair{"lower half", Runs{Code(d.Name(`half (a) \ 1.stl`))}}, Pair{"SHA-256", Runs{Code("9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08")}},
		Pair{"upper half", Runs{Code(d.Name("外壳 上.stl"))}})
	d.Note(Text("Sources: Boyle's law; orifices after common practice, no source."))
	d.Attach("report.json", "application/json", []byte(`{"schema":"pourproof/1"}`))
	return d
}

func actionTable() Table {
	t := Table{Columns: []Column{{Title: "No.", Align: Right}, {Title: "Severity"}, {Title: "What", Width: 48}, {Title: "Where, mm"}, {Title: "Value", Align: Right}, {Title: "Limit", Align: Right}, {Title: "Page"}}}
	rows := []struct {
		tag                       Run
		what, where, value, limit string
	}{
		{Tag(Full, "stop", red), "air stays under the left shoulder", "12.5, 20.0, 20.0", "636 mm³", "10 mm³"},
		{Tag(Full, "stop", red), "vent 2 ends inside the half", "30.0, 20.0, 24.1", "blind", "open"},
		{Tag(Half, "discuss", amber), "wall beside the core may tear at the first demold", "44.1, 8.2, 12.0", "1.4 mm", "2 mm"},
		{Tag(Open, "note", ink), "key sockets hold 80 mm³ while printing, 4 alike", "5.0, 5.0, 15.0", "3 N", "10 N"},
		{Tag(Dash, "not judged", muted), "shrink against the declared value: no liquid given", "", "", ""},
	}
	for i, r := range rows {
		row := Row{Link: "air", Cells: []Runs{Formatted("%d", i+1), {r.tag}, Plain(r.what), {Code(r.where)}, Plain(r.value), Plain(r.limit), {Ref("", "air")}}}
		if i == 0 {
			row.Anchor = "finding-1"
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// save writes a document into a fresh folder, or into the one PDF_SAMPLE names.
func save(t testing.TB, data []byte) string {
	t.Helper()
	dir := os.Getenv("PDF_SAMPLE")
	if dir == "" {
		dir = t.TempDir()
	}
	path := filepath.Join(dir, "sample.pdf")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func TestSample(t *testing.T) {
	data, err := sample(t, "a4").Bytes()
	require.NoError(t, err)
	save(t, data)
}
