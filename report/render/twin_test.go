package render

import (
	"fmt"
	"hash/fnv"
	"image/color"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// ray is the slow twin of the tiles: it meets one view ray with every facet.
type ray struct {
	s       *Scene
	v       *view
	corners [][]geom.Vec // per body: facet corners, x and y in pixels, z in mm
}

func newRay(s *Scene, v *view) *ray {
	r := &ray{s: s, v: v}
	for _, b := range s.Bodies {
		var c []geom.Vec
		for _, f := range b.Mesh.Facets {
			for _, i := range f {
				x, y, z := v.project(b.Mesh.Vertices[i])
				c = append(c, geom.Vec{X: x, Y: y, Z: z})
			}
		}
		r.corners = append(r.corners, c)
	}
	return r
}

// depth returns the depth of what is seen at a place in the picture, infinite
// for nothing.
func (r *ray) depth(px, py float64) float64 {
	best := math.Inf(1)
	for i, b := range r.s.Bodies {
		plane := math.Inf(-1) // depth where the kept side begins
		if b.Cut && r.s.Cut != nil {
			on := r.v.center.AddScaled(r.v.right, (px-r.v.cx)/r.v.scale).AddScaled(r.v.up, -(py-r.v.cy)/r.v.scale)
			plane = (r.s.Cut.Offset - r.s.Cut.Normal.Dot(on)) / r.s.Cut.Normal.Dot(r.v.look)
		}
		winding := 0
		for c := r.corners[i]; len(c) > 0; c = c[3:] {
			side := func(p, q geom.Vec) float64 { return (q.X-p.X)*(py-p.Y) - (q.Y-p.Y)*(px-p.X) }
			wa, wb, wc := side(c[1], c[2]), side(c[2], c[0]), side(c[0], c[1])
			front := wa <= 0 && wb <= 0 && wc <= 0
			if sum := wa + wb + wc; sum != 0 && (front || wa >= 0 && wb >= 0 && wc >= 0) {
				switch z := (wa*c[0].Z + wb*c[1].Z + wc*c[2].Z) / sum; {
				case z < plane:
				case front:
					winding--
					best = min(best, z)
				default:
					winding++
				}
			}
		}
		if winding >= 1 {
			best = min(best, plane)
		}
	}
	return best
}

func TestDepthAgainstRays(t *testing.T) {
	const w, h = 72, 60
	for seed := range uint64(24) {
		r := rand.New(rand.NewPCG(seed, 9))
		turn := geomtest.RandomTurn(seed)
		s := &Scene{Plain: true, Camera: Camera{Look: geom.Vec{X: r.Float64() - 0.5, Y: r.Float64() - 0.5, Z: r.Float64() - 0.5}}}
		for range 2 {
			s.Bodies = append(s.Bodies, Body{Mesh: geomtest.Transform(geomtest.Grid(geomtest.Blocks(r.Uint64())...), turn), Cut: r.IntN(3) > 0})
		}
		if seed%3 > 0 { // turned to the viewer by up to 60 degrees
			n := s.Camera.Look.Unit().Neg().Add(geom.Vec{X: r.Float64() - 0.5, Y: r.Float64() - 0.5, Z: r.Float64() - 0.5}.Unit().Scale(0.85))
			s.Cut = PlaneThrough(turn.Apply(geom.Vec{X: 4.3, Y: 4.1, Z: 4.7}), n)
		}
		p := draw(t, s, w, h)
		twin := make([]float64, w*h)
		slow := newRay(s, &p.view)
		for i := range twin {
			x, y := float64(i%w), float64(i/w)
			twin[i] = min(slow.depth(x+0.25, y+0.25), slow.depth(x+0.75, y+0.25), slow.depth(x+0.25, y+0.75), slow.depth(x+0.75, y+0.75))
		}
		edge := 0
		for i, z := range p.depth {
			// a quarter pixel of depth for rank and for snapping on slopes
			if agree(float64(z), twin[i], 0.25/p.Scale) {
				continue
			}
			// snapping may move an edge over a sample: then a neighbour agrees
			edge++
			found := false
			for j := max(i/w-1, 0); j <= min(i/w+1, h-1); j++ {
				for k := max(i%w-1, 0); k <= min(i%w+1, w-1); k++ {
					// a slope changes by up to some pixels on the way
					found = found || agree(float64(z), twin[j*w+k], 8/p.Scale)
				}
			}
			require.True(t, found, "seed %d, pixel %d, %d: depth %g, ray %g", seed, i%w, i/w, z, twin[i])
		}
		require.LessOrEqual(t, edge, 12, "seed %d: pixels of %d that differ", seed, w*h)
	}
}

func agree(a, b, slack float64) bool {
	return math.IsInf(a, 1) && math.IsInf(b, 1) || math.Abs(a-b) < slack
}

// A row's inside is the same found sample by sample and by division, and a
// point on an edge belongs to one of two neighbours.
func TestInsideByDivision(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Int32Range(-40*snapSteps, 300*snapSteps)
		v := func(n string) snap { return snap{x: coord.Draw(t, n+"x"), y: coord.Draw(t, n+"y")} }
		tl := &tile{side: 270}
		var j job
		a, b, c := v("a"), v("b"), v("c")
		if !j.setUp(tl, a, b, c) {
			t.Skip("outside the tile")
		}
		y := rapid.IntRange(j.y0, j.y1).Draw(t, "row")
		for range y - j.y0 {
			j.nextRow()
		}
		n := 0
		for k := 0; k <= j.x1-j.x0; k++ {
			if (j.e0+int64(k)*j.dx0)|(j.e1+int64(k)*j.dx1)|(j.e2+int64(k)*j.dx2) >= 0 {
				n++
			}
		}
		first, last := j.inside()
		require.Equal(t, n, max(last-first+1, 0))
		if n > 0 {
			require.GreaterOrEqual(t, (j.e0+int64(first)*j.dx0)|(j.e1+int64(first)*j.dx1)|(j.e2+int64(first)*j.dx2), int64(0))
		}
	})
}

// Every sample inside a closed mesh's outline meets as many front as back faces,
// however the corners snap: no cut face leaks.
func TestClosedMeshesAreWatertight(t *testing.T) {
	for seed := range uint64(6) {
		m := geomtest.Transform(geomtest.Bumpy(20, 0.1, 40, 20), geomtest.RandomTurn(seed))
		// removes nothing: the plane lies in front of the mesh
		cut := PlaneThrough(m.Box().Center().Sub(geom.Vec{Y: 60}), geom.Vec{Y: -1})
		s := &Scene{Plain: true, Cut: cut, Bodies: []Body{{Mesh: m, Color: red, Cut: true, Cap: CapSolid}}}
		p := draw(t, s, 260, 260)
		level := p.view.look.Dot(geom.Vec{Y: cut.Offset * -1}.Sub(p.view.center))
		for i, z := range p.depth {
			require.Greater(t, float64(z), level+1, "seed %d, pixel %d", seed, i)
		}
	}
}

// busyScene uses every feature.
func busyScene() *Scene {
	ball := geomtest.Bumpy(12, 0.05, 160, 80)
	lower := geomtest.Box(geom.Vec{X: -20, Y: -20, Z: -20}, geom.Vec{X: 20, Y: 20})
	upper := geomtest.Box(geom.Vec{X: -20, Y: -20}, geom.Vec{X: 20, Y: 20, Z: 20})
	s := &Scene{Up: geom.Vec{X: 0.2, Z: 1}, Camera: Isometric(geom.Vec{}, 0), Cut: PlaneThrough(geom.Vec{Y: 0.7}, geom.Vec{Y: -1, X: 0.1}),
		Bodies: []Body{
			{Mesh: lower, Color: Rubber1, Cut: true}, {Mesh: upper, Color: Rubber2, Style: Ghost, Cut: true},
			{Mesh: ball, Color: Resin, Cut: true, Cap: CapDots, Rank: 1, FacetColor: make([]uint8, len(ball.Facets)), Palette: []color.RGBA{Air, Gate}}},
		Glyphs: []Glyph{{Kind: Axis, To: geom.Vec{Z: 20}}, {Kind: Pointer, To: geom.Vec{X: 9}}, {Kind: Cross}, {Kind: Dot}, {Kind: Segment, To: geom.Vec{Y: 5}}},
		Labels: []Caption{{Text: "here"}}}
	for i := range ball.Facets {
		s.Bodies[2].FacetColor[i] = uint8(i / 1000 % 3)
	}
	for i := range 12 {
		s.Marks = append(s.Marks, Mark{At: geom.Vec{X: float64(i%5)*3 - 6, Z: float64(i%7) - 3}, Label: fmt.Sprint(i + 1), Weight: MarkWeight(i % 3), Color: Strong})
	}
	return s
}

func TestSameBytesForAnyThreads(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	s := busyScene()
	var want *Picture
	warm := New()
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		for _, r := range []*Renderer{New(), warm} { // fresh and used buffers
			p, err := r.Draw(s, 640, 480)
			require.NoError(t, err)
			if want == nil {
				want = p
			}
			require.Equal(t, want.Image.Palette, p.Image.Palette)
			require.Equal(t, want.Image.Pix, p.Image.Pix, "%d threads", n)
			require.Equal(t, want.Overlay, p.Overlay)
			// another scene between the two, to leave other content in the buffers
			_, err = r.Draw(&Scene{Bodies: []Body{{Mesh: cube(3), Color: blue}}}, 700, 300)
			require.NoError(t, err)
		}
	}
	assert.Equal(t, want.Burned().Pix, want.Burned().Pix)
}

func TestShuffledFacetsGiveTheSamePicture(t *testing.T) {
	// Only where two facets are equally near may their order decide; flat shading
	// of a convex body has no such place.
	m := geomtest.Icosphere(10, 3)
	sum := func(m *geom.Mesh) uint64 {
		p := draw(t, &Scene{Bodies: []Body{{Mesh: m, Color: red, Flat: true}}}, 300, 300)
		h := fnv.New64a()
		_, _ = h.Write(p.Image.Pix)
		return h.Sum64()
	}
	assert.Equal(t, sum(m), sum(geomtest.ShuffleFacets(m, 5)))
}
