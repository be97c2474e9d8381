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

// Lines are the same whether or not they run along the border of two tiles.
func TestLinesAcrossTiles(t *testing.T) {
	const w, h = 1536, 64 // 12 tiles of 128 pixels, the middle on a border
	cut := PlaneThrough(geom.Vec{Y: 2}, geom.Vec{Y: -1})
	profile := func(side float64, body Body) (left, right [16]color.RGBA) {
		body.Mesh = geomtest.Box(geom.Vec{}, geom.Vec{X: side, Y: 10, Z: 100})
		p := draw(t, &Scene{Plain: true, Bodies: []Body{body}, Cut: cut, Camera: Camera{PixelsPerMM: 1}}, w, h)
		for i := range left {
			left[i] = p.Image.At(w/2-int(side)/2-8+i, h/2).(color.RGBA)
			right[i] = p.Image.At(w/2+int(side)/2-8+i, h/2).(color.RGBA)
		}
		return left, right
	}
	for _, body := range []Body{{Color: red}, {Color: red, Cut: true, Cap: CapSolid}} {
		left, right := profile(300, body)
		for side := 248.0; side <= 264; side += 2 { // edges within 4 pixels of the border
			onLeft, onRight := profile(side, body)
			assert.Equal(t, left, onLeft, "side %g", side)
			assert.Equal(t, right, onRight, "side %g", side)
		}
		assert.Equal(t, Paper, left[0])
		assert.NotEqual(t, Paper, left[7], "a line stands outside the edge too")
	}
}

func TestWhereLinesAreDrawn(t *testing.T) {
	// line reports whether the darkest pixel next to a place has lost at least a
	// third of the light of the surface.
	line := func(p *Picture, v geom.Vec) bool {
		x, y, _ := p.view.project(v)
		low, high := 1.0, 0.0
		for j := -4; j <= 4; j++ {
			for i := -4; i <= 4; i++ {
				l := luminance(p.Image.At(int(x)+i, int(y)+j).(color.RGBA))
				high = max(high, l)
				if i*i <= 1 && j*j <= 1 {
					low = min(low, l)
				}
			}
		}
		return low < 0.66*high
	}
	// edges where faces meet, but not the diagonals of faces
	p := draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: cube(10), Color: Rubber1}}, Camera: Isometric(geom.Vec{}, 0)}, 400, 400)
	for _, e := range []geom.Vec{{X: 5, Z: 10}, {Y: 5, Z: 10}, {Z: 5}} {
		assert.True(t, line(p, e), "edge at %v", e)
	}
	for _, face := range []geom.Vec{{X: 5, Y: 5, Z: 10}, {X: 5, Z: 5}, {Y: 5, Z: 5}} {
		assert.False(t, line(p, face), "diagonal at %v", face)
	}
	// a step in depth between parallel faces: a front block over a back one
	stairs := geomtest.Grid(geomtest.Add(geom.Vec{Y: 2}, geom.Vec{X: 10, Y: 5, Z: 10}), geomtest.Add(geom.Vec{}, geom.Vec{X: 5, Y: 5, Z: 10}))
	p = draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: stairs, Color: Rubber1}}}, 400, 400)
	assert.True(t, line(p, geom.Vec{X: 5, Z: 5}), "step")
	assert.False(t, line(p, geom.Vec{X: 4.5, Z: 5}))
	assert.False(t, line(p, geom.Vec{X: 5.5, Z: 5}))
	// no lines on a round body except its outline
	ball := geomtest.Icosphere(10, 4)
	p = draw(t, &Scene{Plain: true, Bodies: []Body{{Mesh: ball, Color: Rubber1}}}, 400, 400)
	for r := 0.0; r < 9.5; r += 0.1 {
		for a := 0.0; a < 6.28; a += 0.05 {
			require.False(t, line(p, geom.Vec{X: r * math.Cos(a), Z: r * math.Sin(a)}), "radius %g, angle %g", r, a)
		}
	}
	assert.True(t, line(p, geom.Vec{X: 10}))
}
