package render

import (
	"fmt"
	"testing"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// BenchmarkDraw draws 1600 x 1200 pixels, 2x2 samples, buffers and mesh facts
// warm; "fresh" pays for them too. The reference of the speed notes is a bare
// z-buffer with one sample a pixel and no lines.
func BenchmarkDraw(b *testing.B) {
	for _, size := range []int{100_000, 1_000_000} {
		n := 10
		for n*n < size {
			n++
		}
		ball := geomtest.Bumpy(25, 0.02, n, n/2)
		block := geomtest.Box(geom.Vec{X: -30, Y: -30, Z: -30}, geom.Vec{X: 30, Y: 30, Z: 30})
		cut := PlaneThrough(geom.Vec{Y: 1}, geom.Vec{Y: -1})
		scenes := map[string]*Scene{
			"whole": {Bodies: []Body{{Mesh: ball, Color: Part}}, Camera: Isometric(geom.Vec{}, 0)},
			"flat":  {Bodies: []Body{{Mesh: ball, Color: Part, Flat: true}}, Camera: Isometric(geom.Vec{}, 0)},
			"cut": {Bodies: []Body{{Mesh: block, Color: Rubber1, Cut: true}, {Mesh: ball, Color: Resin, Cut: true, Cap: CapSolid, Rank: 1}},
				Camera: Isometric(geom.Vec{}, 0), Cut: cut},
			"ghost": {Bodies: []Body{{Mesh: ball, Color: Rubber1, Style: Ghost}}, Camera: Isometric(geom.Vec{}, 0)},
		}
		for _, name := range []string{"whole", "flat", "cut", "ghost"} {
			s := scenes[name]
			b.Run(fmt.Sprintf("%s/%dk", name, len(ball.Facets)/1000), func(b *testing.B) {
				r := New()
				drawForBench(b, r, s)
				for b.Loop() {
					drawForBench(b, r, s)
				}
			})
			b.Run(fmt.Sprintf("%s-fresh/%dk", name, len(ball.Facets)/1000), func(b *testing.B) {
				for b.Loop() {
					drawForBench(b, New(), s)
				}
			})
		}
	}
}

func drawForBench(b *testing.B, r *Renderer, s *Scene) *Picture {
	p, err := r.Draw(s, 1600, 1200)
	if err != nil {
		b.Fatal(err)
	}
	return p
}

// BenchmarkDrawMesh draws one free-form shell, flat shaded.
func BenchmarkDrawMesh(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		s := &Scene{Bodies: []Body{{Mesh: m, Color: Part, Flat: true}}, Camera: Isometric(geom.Vec{}, 0), Plain: true}
		r := New()
		drawForBench(b, r, s)
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			drawForBench(b, r, s)
		}
		meter.Per("facet", len(m.Facets))
		meter.Per("pixel", 1600*1200)
	})
}

// BenchmarkPNG encodes a drawn picture.
func BenchmarkPNG(b *testing.B) {
	ball := geomtest.Bumpy(25, 0.02, 300, 150)
	p := drawForBench(b, New(), &Scene{Bodies: []Body{{Mesh: ball, Color: Part}}})
	var n int
	for b.Loop() {
		data, err := PNG(p.Image)
		if err != nil {
			b.Fatal(err)
		}
		n = len(data)
	}
	b.ReportMetric(float64(n), "bytes")
}
