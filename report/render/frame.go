package render

import (
	"fmt"
	"math"

	"pourproof/geom"
)

// Sampling. A pixel holds subPixel x subPixel samples; corners are snapped to
// 1/snapSteps of a sample.
const (
	subPixel  = 2
	snapSteps = 16
	tileSide  = 256 // samples; a tile with its depth and facet numbers stays in a core's second-level cache
)

// maxSnap bounds snapped coordinates, so that products of two differences stay
// within int64: 2^27 is about 4 million pixels.
const maxSnap = 1 << 27

// snap is a projected vertex: samples/snapSteps to the right and down, and mm
// along the view.
type snap struct {
	x, y int32
	z    float32
}

// frame is what all tiles of one picture share.
type frame struct {
	v              view
	w, h           int // pixels
	tilesX, tilesY int
	halo           int // samples by which tiles overlap, so that lines are complete
	radius         [4]int
	pitch          float64 // mm between samples

	bodies []body
	ghosts bool
	caps   []int32 // bodies with cut faces, in falling rank
	cut    *cutter
	ramps  [][shades]rgb

	snaps []snap
	gone  []bool   // vertex lies on the removed side of a cut body
	tone  []uint32 // per facet: hue and the shades of the three corners
	norm  []uint32 // per facet: normal in picture axes and body
	span  []uint32 // per facet: first and last tile in x and y; first > last for none

	chunks []chunk
	counts []int32 // per chunk and tile
	start  []int32 // per tile: its part of bins
	bins   []uint32

	rgb   []rgb
	depth []float32
}

// body is a Body as the tiles see it.
type body struct {
	first, last  uint32 // facets, numbered through the scene
	vertex       int32  // first vertex
	facets       [][3]int32
	hue          int
	ghost, cut   bool
	open, flat   bool
	wind         int // index into frame.caps, -1 for none
	bias         float32
	cap          capPaint
	facts        *facts
	facetColor   []uint8
	order        int // position by rank
	sourceNumber int
}

// chunk is a run of facets of one body, the unit of parallel work. Its size
// does not depend on the number of threads.
type chunk struct {
	body   int
	lo, hi int
}

const chunkFacets = 1 << 14

// prepare fills the frame: it projects the vertices and sorts the facets into
// tiles.
func (f *frame) prepare(r *Renderer, s *Scene, v view, w, h int) error {
	f.v, f.w, f.h = v, w, h
	f.tilesX = (w*subPixel + tileSide - 1) / tileSide
	f.tilesY = (h*subPixel + tileSide - 1) / tileSide
	f.lineRadii()
	f.rgb = resize(f.rgb, w*h)
	f.depth = resize(f.depth, w*h)
	f.pitch = 0
	if v.scale > 0 {
		f.pitch = 1 / (subPixel * v.scale)
	}
	if err := f.addBodies(r, s); err != nil {
		return err
	}
	if err := f.projectAll(s); err != nil {
		return err
	}
	f.sortFacets()
	return nil
}

// resize returns a slice of n elements, reusing the old one's memory. The
// content is not cleared.
func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// addBodies copies what drawing needs of the scene's bodies.
func (f *frame) addBodies(r *Renderer, s *Scene) error {
	f.bodies, f.ramps, f.caps, f.chunks = f.bodies[:0], f.ramps[:0], f.caps[:0], f.chunks[:0]
	f.ghosts = false
	var err error
	if f.cut, err = f.newCutter(s.Cut); err != nil {
		return err
	}
	facets, vertices := 0, 0
	for i := range s.Bodies {
		b := &s.Bodies[i]
		if b.Mesh == nil || len(b.Mesh.Facets) == 0 || f.v.scale == 0 {
			continue
		}
		if err := checkColors(b, i); err != nil {
			return err
		}
		if r.facts[b.Mesh] == nil { // else it was drawn before
			if err := checkMesh(b.Mesh, i); err != nil {
				return err
			}
		}
		n := len(b.Mesh.Facets)
		if facets+n > math.MaxInt32 || len(f.bodies) >= maxBodies {
			return fmt.Errorf("scene with more than %d facets or %d bodies", math.MaxInt32, maxBodies)
		}
		cut := b.Cut && f.cut != nil
		k := body{first: uint32(facets), last: uint32(facets + n), vertex: int32(vertices), facets: b.Mesh.Facets,
			hue: len(f.ramps), ghost: b.Style == Ghost, cut: cut, open: b.Open, flat: b.Flat, wind: -1,
			cap: capPaintOf(b, f.v.unit), facts: r.factsOf(b.Mesh), facetColor: b.FacetColor, sourceNumber: i}
		if !k.flat {
			k.facts.corners(b.Mesh)
		}
		f.ghosts = f.ghosts || k.ghost
		// what lies behind the section plane is paler than the cut faces
		behind := f.cut != nil && f.cut.caps && cut
		f.ramps = append(f.ramps, ramp(pack(b.Color), behind))
		for _, c := range b.Palette {
			f.ramps = append(f.ramps, ramp(pack(c), behind))
		}
		if len(f.ramps) > 255 {
			return fmt.Errorf("scene with more than 255 surface colours")
		}
		for lo := 0; lo < n; lo += chunkFacets {
			f.chunks = append(f.chunks, chunk{len(f.bodies), lo, min(lo+chunkFacets, n)})
		}
		f.bodies = append(f.bodies, k)
		facets, vertices = facets+n, vertices+len(b.Mesh.Vertices)
	}
	f.rank(s)
	f.snaps, f.gone = resize(f.snaps, vertices), resize(f.gone, vertices)
	f.tone, f.norm, f.span = resize(f.tone, facets), resize(f.norm, facets), resize(f.span, facets)
	return nil
}

// maxBodies: the body's number is kept in eight bits.
const maxBodies = 250

func checkColors(b *Body, i int) error {
	m := b.Mesh
	if b.FacetColor != nil && len(b.FacetColor) != len(m.Facets) {
		return fmt.Errorf("body %d: %d facet colours for %d facets", i, len(b.FacetColor), len(m.Facets))
	}
	for k, c := range b.FacetColor {
		if int(c) > len(b.Palette) {
			return fmt.Errorf("body %d, facet %d: colour %d of a palette of %d", i, k, c, len(b.Palette))
		}
	}
	return nil
}

func checkMesh(m *geom.Mesh, i int) error {
	n := int32(len(m.Vertices))
	for k := range m.Facets {
		for _, v := range m.Facets[k] {
			if v < 0 || v >= n {
				return fmt.Errorf("body %d, facet %d: vertex %d of %d", i, k, v, n)
			}
		}
	}
	return nil
}

// rank orders the bodies: coincident surfaces are decided by moving the higher
// rank towards the viewer by a quarter sample a step, more than snapping moves a
// surface of moderate slope and far less than is seen.
func (f *frame) rank(s *Scene) {
	for i := range f.bodies {
		b := &f.bodies[i]
		for j := range f.bodies {
			ri, rj := s.Bodies[b.sourceNumber].Rank, s.Bodies[f.bodies[j].sourceNumber].Rank
			if rj < ri || rj == ri && j < i {
				b.order++
			}
		}
		b.bias = float32(float64(b.order) * f.pitch / 4)
	}
	if f.cut == nil || !f.cut.caps {
		return
	}
	for o := len(f.bodies) - 1; o >= 0; o-- {
		for i := range f.bodies {
			if b := &f.bodies[i]; b.order == o && b.cut && !b.open && !b.ghost {
				b.wind = len(f.caps)
				f.caps = append(f.caps, int32(i))
			}
		}
	}
}

// projectAll snaps every vertex.
func (f *frame) projectAll(s *Scene) error {
	for i := range f.bodies {
		b := &f.bodies[i]
		vs := s.Bodies[b.sourceNumber].Mesh.Vertices
		const block = 1 << 14
		bad := make([]int, (len(vs)+block-1)/block)
		parallel(len(bad), func(k int) {
			bad[k] = f.projectBlock(b, vs, k*block, min((k+1)*block, len(vs)))
		})
		for _, v := range bad {
			if v >= 0 {
				return fmt.Errorf("body %d, vertex %d at %v: not finite, or too far outside the picture's frame", b.sourceNumber, v, vs[v])
			}
		}
	}
	return nil
}

// projectBlock returns the first vertex that cannot be snapped, or -1.
func (f *frame) projectBlock(b *body, vs []geom.Vec, lo, hi int) int {
	v := &f.v
	k := float64(subPixel * snapSteps)
	ks, kx, ky := k*v.scale, k*v.cx, k*v.cy
	for i := lo; i < hi; i++ {
		d := vs[i].Sub(v.center)
		x := math.Floor(kx + float64(ks*v.right.Dot(d)) + 0.5)
		y := math.Floor(ky - float64(ks*v.up.Dot(d)) + 0.5)
		z := v.look.Dot(d)
		if !(x > -maxSnap && x < maxSnap && y > -maxSnap && y < maxSnap) || math.IsNaN(z-z) {
			return i
		}
		f.snaps[int(b.vertex)+i] = snap{int32(x), int32(y), float32(z)}
		if b.cut {
			f.gone[int(b.vertex)+i] = f.cut.plane.Normal.Dot(vs[i])-f.cut.plane.Offset > -f.cut.eps
		}
	}
	return -1
}

// sortFacets shades the facets and lists those of each tile, in the order of
// the scene.
func (f *frame) sortFacets() {
	tiles := f.tilesX * f.tilesY
	f.counts = resize(f.counts, len(f.chunks)*tiles)
	clear(f.counts)
	light := f.v.light()
	parallel(len(f.chunks), func(k int) {
		f.shadeChunk(&f.chunks[k], f.counts[k*tiles:(k+1)*tiles], light)
	})
	f.start = resize(f.start, tiles+1)
	sum := int32(0)
	for t := range tiles {
		f.start[t] = sum
		for k := range f.chunks {
			c := &f.counts[k*tiles+t]
			sum, *c = sum+*c, sum
		}
	}
	f.start[tiles] = sum
	f.bins = resize(f.bins, int(sum))
	parallel(len(f.chunks), func(k int) {
		c := &f.chunks[k]
		b := &f.bodies[c.body]
		next := f.counts[k*tiles : (k+1)*tiles]
		for g := int(b.first) + c.lo; g < int(b.first)+c.hi; g++ {
			s := f.span[g]
			for ty := s >> 8 & 0xff; ty <= s>>24; ty++ {
				for tx := s & 0xff; tx <= s>>16&0xff; tx++ {
					t := int(ty)*f.tilesX + int(tx)
					f.bins[next[t]] = uint32(g)
					next[t]++
				}
			}
		}
	})
}

// noTile is the span of a facet that no tile draws: first row 1, last row 0.
const noTile = 1 << 8

// shadeChunk decides which facets of a chunk are drawn, where and how light.
func (f *frame) shadeChunk(c *chunk, count []int32, light unit32) {
	b := &f.bodies[c.body]
	snaps := f.snaps[b.vertex:]
	for i := c.lo; i < c.hi; i++ {
		g := int(b.first) + i
		f.span[g] = noTile
		t := b.facets[i]
		if b.cut && f.gone[b.vertex+t[0]] && f.gone[b.vertex+t[1]] && f.gone[b.vertex+t[2]] {
			continue
		}
		p, q, r := snaps[t[0]], snaps[t[1]], snaps[t[2]]
		area := area2(p, q, r)
		back := area > 0 // y points down, so counter-clockwise facets have negative area
		if area == 0 || back && !b.open && b.wind < 0 {
			continue
		}
		s, ok := f.tilesOf(p, q, r)
		if !ok {
			continue
		}
		f.span[g] = s
		for ty := s >> 8 & 0xff; ty <= s>>24; ty++ {
			for tx := s & 0xff; tx <= s>>16&0xff; tx++ {
				count[int(ty)*f.tilesX+int(tx)]++
			}
		}
		if !back || b.open {
			f.tone[g], f.norm[g] = f.shadeFacet(b, c.body, i, back, light)
		}
	}
}

// area2 is twice the signed area in snap units, exact.
func area2(p, q, r snap) int64 {
	return int64(q.x-p.x)*int64(r.y-p.y) - int64(q.y-p.y)*int64(r.x-p.x)
}

// tilesOf returns the tiles, halo included, whose samples the facet's bounding
// box holds; ok is false when there is none.
func (f *frame) tilesOf(p, q, r snap) (span uint32, ok bool) {
	x0, x1 := samples(min(p.x, q.x, r.x), max(p.x, q.x, r.x))
	y0, y1 := samples(min(p.y, q.y, r.y), max(p.y, q.y, r.y))
	if x0 > x1 || y0 > y1 {
		return 0, false
	}
	tx0, tx1 := (x0-f.halo)>>tileShift, (x1+f.halo)>>tileShift
	ty0, ty1 := (y0-f.halo)>>tileShift, (y1+f.halo)>>tileShift
	if tx1 < 0 || ty1 < 0 || tx0 >= f.tilesX || ty0 >= f.tilesY {
		return 0, false
	}
	tx0, tx1 = max(tx0, 0), min(tx1, f.tilesX-1)
	ty0, ty1 = max(ty0, 0), min(ty1, f.tilesY-1)
	return uint32(tx0) | uint32(ty0)<<8 | uint32(tx1)<<16 | uint32(ty1)<<24, true
}

const tileShift = 8 // log2 of tileSide

// samples returns the first and last sample whose middle lies in [lo, hi].
func samples(lo, hi int32) (first, last int) {
	return int(lo+snapSteps/2-1) >> 4, int(hi-snapSteps/2) >> 4
}
