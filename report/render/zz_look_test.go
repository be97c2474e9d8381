package render

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"image/color"
	"io"
	"math"
	"os"
	"testing"
	"time"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

func lookSTL(name string) *geom.Mesh {
	b, err := os.ReadFile("../../testdata/" + name + ".stl.gz")
	if err != nil {
		panic(err)
	}
	z, _ := gzip.NewReader(bytes.NewReader(b))
	d, _ := io.ReadAll(z)
	n := int(binary.LittleEndian.Uint32(d[80:]))
	w := geom.NewWelder(n)
	for i := range n {
		var v [3]geom.Vec
		for k := range v {
			o := 84 + 50*i + 12 + 12*k
			g := func(q int) float64 { return float64(math.Float32frombits(binary.LittleEndian.Uint32(d[q:]))) }
			v[k] = geom.Vec{X: g(o), Y: g(o + 4), Z: g(o + 8)}
		}
		w.Add(v[0], v[1], v[2])
	}
	return w.Mesh()
}

func lookSave(name string, p *Picture, t0 time.Time) {
	d := time.Since(t0)
	b, _ := PNG(p.Burned())
	c, _ := PNG(p.Image)
	fmt.Println(name, d, "png", len(b), len(c), "colours", len(p.Image.Palette), "scale", p.Scale)
	os.WriteFile("/tmp/pp/"+name+".png", b, 0o644)
}

func TestLook(t *testing.T) {
	bottom, top, part := lookSTL("demo/bottom"), lookSTL("demo/top-a"), lookSTL("demo/part")
	tilt := 15 * math.Pi / 180
	up := geom.Vec{X: math.Sin(tilt), Z: math.Cos(tilt)}
	cut := PlaneThrough(geom.Vec{Y: 0.0}, geom.Vec{Y: -1})
	halves := []Body{
		{Mesh: bottom, Color: Rubber1, Cut: true, Cap: CapHatch},
		{Mesh: top, Color: Rubber2, Cut: true, Cap: CapHatchBack},
		{Mesh: part, Color: Resin, Cut: true, Cap: CapSolid, Rank: 1}}
	marks := []Mark{
		{At: geom.Vec{X: 16.2, Z: 15.5}, Label: "1", Color: Strong, Weight: StrongMark},
		{At: geom.Vec{X: 4, Z: 17.2}, Label: "2", Color: Strong, Weight: StrongMark},
		{At: geom.Vec{X: -10, Z: 17}, Label: "3", Color: Medium, Weight: MediumMark},
		{At: geom.Vec{X: -20, Y: 3, Z: 0}, Label: "12", Color: Light, Weight: LightMark},
	}
	r := New()
	draw := func(name string, s *Scene) {
		t0 := time.Now()
		p, err := r.Draw(s, 1600, 1200)
		if err != nil {
			t.Fatal(err)
		}
		lookSave(name, p, t0)
	}
	draw("section", &Scene{Bodies: halves, Camera: Facing(cut, up), Cut: cut, Marks: marks, Up: up,
		Glyphs: []Glyph{{Kind: Axis, From: geom.Vec{X: 16.2, Z: 15}, To: geom.Vec{X: 16.2, Z: 26}}, {Kind: Cross, From: geom.Vec{X: -10, Z: 17}, Color: Strong}}})
	draw("iso", &Scene{Bodies: halves, Camera: Isometric(up, 0), Cut: cut, Marks: marks, Up: up})
	draw("half", &Scene{Bodies: []Body{{Mesh: bottom, Color: Rubber1}}, Camera: Isometric(geom.Vec{Z: 1}, 0), Up: geom.Vec{Z: 1}})
	draw("part", &Scene{Bodies: []Body{{Mesh: part, Color: Part}}, Camera: Isometric(geom.Vec{Z: 1}, 3), Up: geom.Vec{Z: 1}})
	draw("ghost", &Scene{Bodies: []Body{{Mesh: bottom, Color: Rubber1, Style: Ghost}, {Mesh: top, Color: Rubber2, Style: Ghost}, {Mesh: part, Color: Resin}}, Camera: Isometric(up, 1), Up: up})

	b0b, b0t, b0p := lookSTL("cases/b0/bottom"), lookSTL("cases/b0/top"), lookSTL("cases/b0/part")
	air := geomtest.Box(geom.Vec{X: 10, Y: 10, Z: 16.5}, geom.Vec{X: 29, Y: 30, Z: 20})
	c0 := PlaneThrough(geom.Vec{Y: 20}, geom.Vec{Y: -1})
	var many []Mark
	for i := range 40 {
		a := float64(i) * 2.39996
		rr := math.Sqrt(float64(i)) * 2
		many = append(many, Mark{At: geom.Vec{X: 30 + rr*math.Cos(a), Y: 20 + rr*math.Sin(a), Z: 30}, Label: fmt.Sprint(i + 1), Color: []color.RGBA{Strong, Medium, Light}[i%3], Weight: MarkWeight(i % 3)})
	}
	up10 := geom.Vec{X: math.Sin(-10 * math.Pi / 180), Z: math.Cos(10 * math.Pi / 180)}
	bodies := []Body{{Mesh: b0b, Color: Rubber1, Cut: true}, {Mesh: b0t, Color: Rubber2, Cut: true, Cap: CapHatchBack}, {Mesh: b0p, Color: Resin, Cut: true, Cap: CapSolid, Rank: 1}, {Mesh: air, Color: Air, Cut: true, Cap: CapDots, Rank: 2}}
	draw("b0", &Scene{Bodies: bodies, Camera: Facing(c0, up10), Cut: c0, Up: up10, Marks: many[:3]})
	bodies[3].Cap = CapCross
	draw("b0iso", &Scene{Bodies: bodies, Camera: Isometric(geom.Vec{Z: 1}, 0), Cut: c0, Up: up10, Marks: many[:9]})
	draw("many", &Scene{Bodies: []Body{{Mesh: b0t, Color: Rubber2}}, Camera: Isometric(geom.Vec{Z: 1}, 0), Up: up10, Marks: many})
	ghosts := []Body{{Mesh: bottom, Color: Rubber1, Style: Solid}, {Mesh: top, Color: Rubber2, Style: Ghost, Cut: true}, {Mesh: part, Color: Resin}}
	draw("ghostcut", &Scene{Bodies: ghosts, Camera: Oblique(geom.Vec{Z: 1}, 250, 30), Cut: cut, Up: up})
}
