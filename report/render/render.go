// Package render draws triangle meshes as technical pictures: orthographic,
// flat or smoothly shaded, with outlines, section cuts with hatched faces,
// numbered callouts, a scale bar, an axes triad and a gravity arrow.
//
// A Scene goes in, a Picture comes out: a paletted image of at most 256
// colours, and an Overlay of vector lines, arrows, circles and texts in picture
// pixels, which a page may draw sharp over the image or Picture.Burned may
// paint into it.
//
// The method is a z-buffer (Catmull 1974) of 2x2 samples a pixel, filled in
// square tiles. Corners are snapped to 1/16 sample and edges tested in integers
// with a tie rule, so that a sample on a shared edge belongs to one facet: the
// faces a view ray meets then sum to the winding number of the point where it
// pierces the section plane, and a cut face (cap) is drawn where that number is
// at least 1. Every tile depends on the scene alone, so the bytes are the same
// for any number of threads and on any CPU.
//
// The package knows nothing of molds: colours, hatches and marks are given by
// the caller.
package render

import (
	"fmt"
	"image"
	"image/color"
	"runtime"
	"sync"
	"sync/atomic"

	"pourproof/geom"
)

// MaxSide is the largest width or height of a picture, in pixels: more than a
// large page at 300 dots an inch. A square one takes about 220 MB to draw.
const MaxSide = 4096

// Scene is what a picture shows. The zero Scene is an empty white page.
type Scene struct {
	Bodies []Body
	Camera Camera
	Cut    *Plane    // section plane; nil for none. Only bodies with Cut set are cut.
	Marks  []Mark    // numbered callouts
	Glyphs []Glyph   // crosses, dots, arrows, axis lines and segments in space
	Up     geom.Vec  // away from gravity; the zero vector leaves the gravity arrow out
	Plain  bool      // leave out scale bar, triad and gravity arrow, and their strip
	Labels []Caption // free texts at points in space

	// PrintWidth is the width in mm at which the picture will be printed; lines,
	// hatches, circles and texts are sized for it. 0: the longer side is 170 mm.
	PrintWidth float64
}

// Body is one mesh of a Scene.
type Body struct {
	Mesh  *geom.Mesh  // nil draws nothing
	Color color.RGBA  // surface colour; alpha is ignored
	Style Style       // Solid or Ghost
	Cut   bool        // the scene's section plane cuts this body
	Cap   CapStyle    // how the cut face is filled
	Fill  *color.RGBA // ground colour of the cut face; nil derives it from Color

	// Rank decides where bodies lie in one place: the higher rank shows, on cut
	// faces and on coincident surfaces; of equals the later body.
	Rank int

	// Open says that the mesh does not enclose a solid: both sides of its facets
	// are drawn and it gets no cut face.
	Open bool

	// Flat switches off the smoothing of shades across soft edges.
	Flat bool

	// FacetColor, when not nil, has one entry a facet: 0 is Color, k is
	// Palette[k-1].
	FacetColor []uint8
	Palette    []color.RGBA
}

// Style says how a body's surface is drawn.
type Style uint8

const (
	Solid Style = iota // opaque
	Ghost              // a light tint with all its edges, hidden ones too
)

// CapStyle is the pattern of a cut face. The patterns differ without colour.
type CapStyle uint8

const (
	CapHatch     CapStyle = iota // lines rising to the right at 45 degrees
	CapHatchBack                 // lines falling to the right at 45 degrees
	CapSolid                     // plain colour
	CapCross                     // both hatches
	CapDots                      // staggered dots
)

// Plane is the set of points p with Normal . p = Offset. The normal points to
// the side that a cut removes; it need not have unit length, and Offset (mm)
// belongs to the unit normal.
type Plane struct {
	Normal geom.Vec
	Offset float64
}

// PlaneThrough returns the plane through p that removes the side normal points
// to.
func PlaneThrough(p, normal geom.Vec) *Plane {
	n := normal.Unit()
	return &Plane{Normal: n, Offset: n.Dot(p)}
}

// Renderer draws pictures and keeps its buffers and what it learned of meshes
// (normals, edges) from one picture to the next. A mesh must not change between
// pictures. A Renderer is not safe for concurrent use; it uses all CPUs itself.
//
// Memory: about 55 bytes a facet of the scene (25 more for ghosts) and 13 a
// pixel, besides 1.5 MB a thread.
type Renderer struct {
	facts map[*geom.Mesh]*facts
	clock int // pictures drawn so far, to drop the facts of meshes long unused
	frame frame
	tiles []*tile // one per worker
	quant quantizer
	mask  []uint8
}

// New returns an empty Renderer.
func New() *Renderer { return &Renderer{facts: map[*geom.Mesh]*facts{}} }

// Draw draws the scene with a fresh Renderer; see Renderer.Draw.
func Draw(s *Scene, w, h int) (*Picture, error) { return New().Draw(s, w, h) }

// Draw draws the scene as a picture of w x h pixels. It refuses sizes outside
// 1..MaxSide, coordinates that are not finite or lie absurdly far outside the
// frame, lists of facet colours that do not fit their mesh, and scenes with more
// than 255 surface colours. The scene is not changed.
//
// Cost: linear in facets and pixels; a million facets at 1600x1200 with a cut
// take about 0.2 s on two cores, 0.5 s with a fresh Renderer.
func (r *Renderer) Draw(s *Scene, w, h int) (*Picture, error) {
	if w < 1 || h < 1 || w > MaxSide || h > MaxSide {
		return nil, fmt.Errorf("picture of %d x %d pixels: both sides must be 1 to %d", w, h, MaxSide)
	}
	v, err := fit(s, w, h)
	if err != nil {
		return nil, err
	}
	r.clock++
	f := &r.frame
	if err := f.prepare(r, s, v, w, h); err != nil {
		return nil, err
	}
	r.forget()
	r.runTiles()
	r.ghostLines(s)
	p := &Picture{Image: r.quant.image(f.rgb, w, h), Scale: v.scale, view: v, w: w, h: h}
	p.depth = append([]float32(nil), f.depth...)
	p.cut = f.cut
	p.annotate(s)
	return p, nil
}

// runTiles fills all tiles; workers take the next free one. A tile writes only
// its own pixels, so the order does not matter.
func (r *Renderer) runTiles() {
	f := &r.frame
	n := min(workers(), f.tilesX*f.tilesY)
	for len(r.tiles) < n {
		r.tiles = append(r.tiles, &tile{})
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() {
			t := r.tiles[i]
			t.reset(f)
			for k := int(next.Add(1)) - 1; k < f.tilesX*f.tilesY; k = int(next.Add(1)) - 1 {
				t.draw(k%f.tilesX, k/f.tilesX)
			}
		})
	}
	wg.Wait()
}

// maxWorkers bounds the tile buffers (about 1.5 MB each).
const maxWorkers = 16

func workers() int { return min(max(runtime.GOMAXPROCS(0), 1), maxWorkers) }

// parallel calls do for the parts 0..n-1, several at a time.
func parallel(n int, do func(part int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers(), n) {
		wg.Go(func() {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				do(k)
			}
		})
	}
	wg.Wait()
}

// Picture is a drawn Scene. It keeps a depth map of 4 bytes a pixel for Project;
// who keeps many pictures should keep their Image and Overlay only.
type Picture struct {
	Image    *image.Paletted // at most 256 colours, opaque
	Scale    float64         // pixels per mm; 0 when the scene framed nothing
	Overlay  Overlay         // callouts, glyphs, scale bar, triad, gravity arrow
	Callouts []Callout       // where the marks' circles stand, in the order of Scene.Marks

	view  view
	w, h  int
	depth []float32 // nearest surface per pixel, mm along the view from the frame's middle
	cut   *cutter
}
