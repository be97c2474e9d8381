package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/report/pdf"
	"pourproof/report/render"
)

// segment is a leader in a picture, pixels.
type segment struct{ x1, y1, x2, y2 float64 }

// crosses tells whether two segments meet at an inner point of both, by the signs
// of the four triangles.
func (s segment) crosses(o segment) bool {
	side := func(a segment, x, y float64) float64 {
		return (a.x2-a.x1)*(y-a.y1) - (a.y2-a.y1)*(x-a.x1)
	}
	const eps = 1e-6
	return side(s, o.x1, o.y1)*side(s, o.x2, o.y2) < -eps && side(o, s.x1, s.y1)*side(o, s.x2, s.y2) < -eps
}

func TestSegmentsCross(t *testing.T) {
	a := segment{0, 0, 10, 10}
	assert.True(t, a.crosses(segment{0, 10, 10, 0}))
	assert.False(t, a.crosses(segment{0, 1, 10, 11}))
	assert.False(t, a.crosses(segment{0, 0, 10, 0}), "ends may meet")
}

// watchLeaders collects the leaders of every picture that a book takes.
func watchLeaders(b *book) *[][]segment {
	all := &[][]segment{}
	if b.studio == nil {
		return all
	}
	b.studio.onTake = func(p *render.Picture, _ pdf.Overlay) {
		var list []segment
		for _, c := range p.Callouts {
			list = append(list, segment{c.X, c.Y, c.AnchorX, c.AnchorY})
		}
		*all = append(*all, list)
	}
	return all
}

// soundPages writes a document and fails where something leaves its page, boxes
// overlap, leaders cross, a page holds more than two pictures or the file is 8 MB
// and more.
func soundPages(t *testing.T, d *Document) *book {
	t.Helper()
	b, err := newBook(d)
	require.NoError(t, err)
	leaders := watchLeaders(b)
	require.NoError(t, b.write())
	data, err := b.pdf.Bytes()
	require.NoError(t, err)
	assert.Less(t, len(data), 8<<20)
	requireOnPaper(t, b.pdf)
	if d.Outcome.Mold != nil {
		assert.NotEmpty(t, *leaders, "pictures were watched")
	}
	for n, list := range *leaders {
		for i := range list {
			for k := range i {
				assert.False(t, list[i].crosses(list[k]), "picture %d: leader %d crosses leader %d", n, i, k)
			}
		}
	}
	on := map[int]int{}
	for _, it := range b.pdf.Placed() {
		if it.Kind == "picture" {
			on[it.Page]++
			assert.LessOrEqual(t, on[it.Page], 2, "page %d", it.Page)
		}
	}
	return b
}

// Without findings, with one and with two hundred, on either paper.
func TestLayoutOfFewAndManyFindings(t *testing.T) {
	for _, n := range []int{0, 1, 12, 200} {
		for _, paper := range []string{"a4", "letter"} {
			d := document(t, n)
			d.Paper = paper
			b := soundPages(t, d)
			if n == 200 {
				assert.Greater(t, b.pdf.Pages(), 15, paper)
			}
		}
	}
}

// Findings that lie at one place, or one behind the other, keep their leaders
// apart.
func TestLeadersOfCrowdedFindings(t *testing.T) {
	for name, place := range map[string]func(i int) geom.Vec{
		"one place": func(int) geom.Vec { return geom.Vec{X: 30, Y: 20, Z: 15} },
		"a column":  func(i int) geom.Vec { return geom.Vec{X: 30, Y: 20, Z: 5 + 2*float64(i)} },
		"a ring": func(i int) geom.Vec {
			sin, cos := math.Sincos(float64(i))
			return geom.Vec{X: 30 + 15*cos, Y: 20, Z: 15 + 8*sin}
		},
		"depth": func(i int) geom.Vec {
			return geom.Vec{X: 10 + float64(i*17%40), Y: float64(i * 3), Z: 12 + float64(i*5%9)}
		},
	} {
		d := document(t, 12)
		for i := range d.Outcome.Findings {
			at := place(i)
			d.Outcome.Findings[i].Where.At = &at
			d.Outcome.Findings[i].Check, d.Outcome.Findings[i].Pocket = "edges", 0
		}
		t.Run(name, func(t *testing.T) {
			b, err := newBook(d)
			require.NoError(t, err)
			leaders := watchLeaders(b)
			require.NoError(t, b.verdictPage())
			require.Len(t, (*leaders)[0], 12, "every finding has its leader")
			soundPages(t, d)
		})
	}
}

// shaped is the base mold with every coordinate multiplied.
func shaped(t *testing.T, by geom.Vec, cell float64) *checks.Outcome {
	t.Helper()
	files, part, halves := meshes(t, "b0")
	job := mold.NewJob()
	job.Part, job.Halves, job.Cell = part, halves, cell
	job.Tilt = &mold.Tilt{Angle: 10 * math.Pi / 180}
	in, err := mold.Load(files, job)
	require.NoError(t, err)
	stretch := func(v geom.Vec) geom.Vec { return geom.Vec{X: v.X * by.X, Y: v.Y * by.Y, Z: v.Z * by.Z} }
	in.Part.Mesh = in.Part.Mesh.Map(stretch)
	for i := range in.Halves {
		in.Halves[i].Mesh = in.Halves[i].Mesh.Map(stretch)
	}
	for i := range in.Inputs {
		b := &in.Inputs[i].Box
		b.Min, b.Max = stretch(b.Min), stretch(b.Max)
	}
	m, err := mold.Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	return checks.Run(checks.Input{Job: job, Inputs: in.Inputs, Mold: m, Fill: f})
}

// A mold as flat as a sheet, one as tall as a tower, one half a metre long.
func TestLayoutOfFlatTallAndLargeMolds(t *testing.T) {
	for name, c := range map[string]struct {
		by   geom.Vec
		cell float64
	}{
		"flat":  {geom.Vec{X: 4, Y: 4, Z: 0.3}, 1},
		"tall":  {geom.Vec{X: 1, Y: 1, Z: 8}, 1},
		"large": {geom.Vec{X: 9, Y: 9, Z: 9}, 3},
		"long":  {geom.Vec{X: 12, Y: 1, Z: 1}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			d := New(shaped(t, c.by, c.cell), "0.1")
			b := soundPages(t, d)
			assert.Equal(t, 5, count(b.pdf, "strip"))
		})
	}
}

// Names that are long, of other scripts, or full of signs, in every place where a
// name may stand.
func TestLayoutOfOddNames(t *testing.T) {
	for name, text := range map[string]string{
		"long":      strings.Repeat("very-long-name_", 20),
		"unbroken":  strings.Repeat("W", 300),
		"words":     strings.Repeat("long name of many words ", 20),
		"Chinese":   "壳体_左半模_修订版",
		"Greek":     "Καλούπι μπροστινό μισό",
		"Arabic":    "قالب النصف الأيمن",
		"brackets":  `(half) \ [a] {b} <c> & "d"`,
		"combining": "Geha\u0308use \u200b\u202e Ø8 – ½ µm €",
	} {
		t.Run(name, func(t *testing.T) {
			d := document(t, 3)
			d.Title, d.Revision, d.Author, d.Date = text, text[:min(len(text), 60)], text, "2026-01-15"
			d.Outcome.Inputs = append([]mold.Input{}, d.Outcome.Inputs...)
			for i := range d.Outcome.Inputs {
				d.Outcome.Inputs[i].File, d.Outcome.Inputs[i].Name = fmt.Sprint(text, i, ".stl"), fmt.Sprint(text, i)
			}
			for i := range d.Outcome.Findings {
				d.Outcome.Findings[i].Title, d.Outcome.Findings[i].Advice = text, text
				d.Outcome.Findings[i].Where.Body = text
			}
			soundPages(t, d)
		})
	}
}
