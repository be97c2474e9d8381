package render

import "math"

// nothing is the facet number of a sample that no facet covers; capBit marks the
// cut face of the body whose number follows.
const (
	nothing = math.MaxUint32
	capBit  = 1 << 31
)

// far is the depth of a sample that no facet covers.
var far = float32(math.Inf(1))

// tile is one worker's square of samples, with a rim that overlaps its
// neighbours.
type tile struct {
	f        *frame
	ox, oy   int     // sample of the picture at the upper left of the rim
	side     int     // samples across, rim included
	pitch    float32 // mm between samples
	z        []float32
	id       []uint32
	gz       []float32 // the same for ghosts
	gid      []uint32
	wind     [][]int16 // per cut body: winding number where the ray meets the plane
	edge     []uint8   // line class found between samples
	line     []uint8   // line class after thickening
	touched  []int32   // samples with an edge
	hasGhost bool
	shader   shader  // of what shows
	veil     shader  // of ghosts
	windBox  []area  // per cut body: samples whose winding number was changed
	drawn    area    // samples that facets were drawn into
	capped   []int32 // per column: the last row with a cut face, from 1
}

// area is a rectangle of a tile's samples, from lo to before hi; the zero area is empty.
type area struct{ x0, y0, x1, y1 int }

func (a *area) empty() bool { return a.x0 >= a.x1 }

// include widens the area to hold another that is not empty.
func (a *area) include(b area) {
	if a.empty() {
		*a = b
		return
	}
	*a = area{min(a.x0, b.x0), min(a.y0, b.y0), max(a.x1, b.x1), max(a.y1, b.y1)}
}

// reset sizes the buffers for a frame.
func (t *tile) reset(f *frame) {
	t.f = f
	t.side, t.pitch = tileSide+2*f.halo, float32(f.pitch)
	n := t.side * t.side
	t.z, t.id = resize(t.z, n), resize(t.id, n)
	t.edge, t.line = resize(t.edge, n), resize(t.line, n)
	if f.ghosts {
		t.gz, t.gid = resize(t.gz, n), resize(t.gid, n)
	}
	for len(t.wind) < len(f.caps) {
		t.wind = append(t.wind, nil)
	}
	for i := range f.caps {
		t.wind[i] = resize(t.wind[i], n)
	}
	t.windBox = resize(t.windBox, len(f.caps))
	t.capped = resize(t.capped, t.side)
	t.shader.id, t.veil.id = nothing, nothing
}

// draw fills the pixels of tile (tx, ty).
func (t *tile) draw(tx, ty int) {
	f := t.f
	t.ox, t.oy = tx*tileSide-f.halo, ty*tileSide-f.halo
	k := ty*f.tilesX + tx
	list := f.bins[f.start[k]:f.start[k+1]]
	if len(list) == 0 {
		t.blank(tx, ty)
		return
	}
	t.clear()
	b := 0
	for _, id := range list {
		for id >= f.bodies[b].last {
			b++
		}
		t.facet(&f.bodies[b], id)
	}
	t.capFaces()
	t.findLines()
	t.thickenLines()
	t.paint(tx, ty)
}

func (t *tile) clear() {
	fill(t.z, far)
	fill(t.id, nothing)
	t.hasGhost = false
	t.drawn = area{}
	clear(t.windBox)
}

// fill sets every element, by copies of what is filled already.
func fill[T any](s []T, v T) {
	const block = 64
	for i := range s[:min(block, len(s))] {
		s[i] = v
	}
	for n := block; n < len(s); n *= 2 {
		copy(s[n:], s[:n])
	}
}

// job is one facet on its way into a tile: edge functions at the first sample
// of a row, their steps, and the depth as a function of two of them.
type job struct {
	e0, e1, e2       int64 // at (x0, y) of the present row, tie rule included
	dx0, dx1, dx2    int64
	dy0, dy1, dy2    int64
	tie1, tie2       int64 // what the tie rule took from e1 and e2
	x0, x1, y0, y1   int   // samples of the picture
	za, zb, zc, bias float32
	id               uint32
}

// setUp fills the job for the part of the facet inside the tile; false when
// there is none. Orientation does not matter.
func (j *job) setUp(t *tile, a, b, c snap) bool {
	area := area2(a, b, c)
	if area < 0 {
		b, c, area = c, b, -area
	}
	x0, x1 := samples(min(a.x, b.x, c.x), max(a.x, b.x, c.x))
	y0, y1 := samples(min(a.y, b.y, c.y), max(a.y, b.y, c.y))
	j.x0, j.x1 = max(x0, t.ox), min(x1, t.ox+t.side-1)
	j.y0, j.y1 = max(y0, t.oy), min(y1, t.oy+t.side-1)
	if j.x0 > j.x1 || j.y0 > j.y1 {
		return false
	}
	px, py := int64(j.x0*snapSteps+snapSteps/2), int64(j.y0*snapSteps+snapSteps/2)
	j.e0, j.dx0, j.dy0, _ = edgeFunction(b, c, px, py)
	j.e1, j.dx1, j.dy1, j.tie1 = edgeFunction(c, a, px, py)
	j.e2, j.dx2, j.dy2, j.tie2 = edgeFunction(a, b, px, py)
	w, h := int64(j.x1-j.x0), int64(j.y1-j.y0)
	if outside(j.e0, j.dx0*w, j.dy0*h) || outside(j.e1, j.dx1*w, j.dy1*h) || outside(j.e2, j.dx2*w, j.dy2*h) {
		return false
	}
	inv := 1 / float32(area)
	j.za, j.zb, j.zc = a.z, float32((b.z-a.z)*inv), float32((c.z-a.z)*inv)
	return true
}

// edgeFunction returns the value of the edge p-q at a point, its steps per
// sample, and 1 where the tie rule gives samples exactly on the edge to the
// neighbour: only edges that run up, or level to the right, own their samples.
// A neighbour runs along the same edge the other way, so exactly one owns it.
func edgeFunction(p, q snap, px, py int64) (e, dx, dy, tie int64) {
	ux, uy := int64(q.x-p.x), int64(q.y-p.y)
	e = ux*(py-int64(p.y)) - uy*(px-int64(p.x))
	if !(uy < 0 || uy == 0 && ux > 0) {
		tie = 1
	}
	return e - tie, -uy * snapSteps, ux * snapSteps, tie
}

// outside reports whether an edge function is negative on a whole rectangle,
// given its value at one corner and its change to the others.
func outside(e, ex, ey int64) bool { return e+max(ex, 0)+max(ey, 0) < 0 }

// scanLimit: rows up to this many samples are tested one by one; longer ones get
// their inside computed by division, so that slivers across a tile stay cheap.
const scanLimit = 12

// inside returns the first and last offset from x0 in the present row where all
// three edge functions are non-negative; first > last for none.
func (j *job) inside() (first, last int) {
	last = j.x1 - j.x0
	if last < scanLimit {
		e0, e1, e2 := j.e0, j.e1, j.e2
		for first <= last && (e0|e1|e2) < 0 {
			first++
			e0, e1, e2 = e0+j.dx0, e1+j.dx1, e2+j.dx2
		}
		end := first
		for end <= last && (e0|e1|e2) >= 0 {
			end++
			e0, e1, e2 = e0+j.dx0, e1+j.dx1, e2+j.dx2
		}
		return first, end - 1
	}
	lo, hi := int64(0), int64(last)
	lo, hi = clipSpan(j.e0, j.dx0, lo, hi)
	lo, hi = clipSpan(j.e1, j.dx1, lo, hi)
	lo, hi = clipSpan(j.e2, j.dx2, lo, hi)
	return int(lo), int(hi)
}

// clipSpan keeps the offsets k in [lo, hi] with e + k d >= 0.
func clipSpan(e, d, lo, hi int64) (int64, int64) {
	switch {
	case d > 0:
		if e < 0 {
			lo = max(lo, (-e+d-1)/d)
		}
	case e < 0:
		return 1, 0
	case d < 0:
		hi = min(hi, e/-d)
	}
	return lo, hi
}

// area returns the tile's samples that the job covers at most.
func (j *job) area(t *tile) area {
	return area{j.x0 - t.ox, j.y0 - t.oy, j.x1 + 1 - t.ox, j.y1 + 1 - t.oy}
}

// nextRow moves the edge functions one row down.
func (j *job) nextRow() { j.e0, j.e1, j.e2 = j.e0+j.dy0, j.e1+j.dy1, j.e2+j.dy2 }

// depths returns what a row's loop needs: the two edge functions at offset k,
// without their tie rule.
func (j *job) depths(k int) (w1, w2 int64) {
	return j.e1 + j.tie1 + int64(k)*j.dx1, j.e2 + j.tie2 + int64(k)*j.dx2
}

// facet draws one facet.
func (t *tile) facet(b *body, id uint32) {
	c := b.facets[id-b.first]
	s := t.f.snaps[b.vertex:]
	p, q, r := s[c[0]], s[c[1]], s[c[2]]
	var j job
	if !j.setUp(t, p, q, r) {
		return
	}
	t.drawn.include(j.area(t))
	j.id, j.bias = id, b.bias
	clip := false
	if b.cut {
		g := t.f.gone[b.vertex:]
		clip = g[c[0]] || g[c[1]] || g[c[2]]
	}
	back := area2(p, q, r) > 0
	to := target{z: t.z, id: t.id}
	if b.ghost {
		to = target{z: t.gz, id: t.gid}
		if !t.hasGhost {
			t.hasGhost = true
			fill(t.gz, far)
			fill(t.gid, nothing)
		}
	}
	if b.wind >= 0 {
		to.wind, to.step = t.wind[b.wind], -1
		if t.windBox[b.wind].empty() {
			clear(to.wind)
		}
		t.windBox[b.wind].include(j.area(t))
		if back {
			to.step, to.z = 1, nil
		}
	}
	t.fill(&j, &to, clip)
}

// target is what a facet is drawn into. The winding numbers are those of the points where
// the view rays meet the section plane: on the way from there to infinity a back face
// leaves the solid (+1) and a front face enters it (-1).
type target struct {
	z    []float32 // nil for a back face
	id   []uint32
	wind []int16 // nil for a body that is not cut
	step int16
}

// fill draws a facet row by row; clip says that the section plane may cut it.
func (t *tile) fill(j *job, to *target, clip bool) {
	for y := j.y0; y <= j.y1; y++ {
		if first, last := j.inside(); first <= last {
			o := (y-t.oy)*t.side + j.x0 - t.ox
			if clip {
				t.clipRow(j, to, y, o, first, last)
			} else {
				j.wholeRow(to, o, first, last)
			}
		}
		j.nextRow()
	}
}

// wholeRow draws the samples from first to last of a row that begins at o.
func (j *job) wholeRow(to *target, o, first, last int) {
	if to.wind != nil {
		w := to.wind[o+first : o+last+1]
		for k := range w {
			w[k] += to.step
		}
	}
	if to.z == nil {
		return
	}
	z, id := to.z[o+first:o+last+1], to.id[o+first:o+last+1]
	w1, w2 := j.depths(first)
	for k := range z {
		d := j.za + float32(float32(w1)*j.zb) + float32(float32(w2)*j.zc) - j.bias
		if d < z[k] {
			z[k], id[k] = d, j.id
		}
		w1 += j.dx1
		w2 += j.dx2
	}
}

// clipRow is the same with the section plane tested at every sample of row y.
func (t *tile) clipRow(j *job, to *target, y, o, first, last int) {
	eps := -float32(t.f.cut.eps)
	s0, sx, sz := t.f.cut.row(y)
	w1, w2 := j.depths(first)
	for k := first; k <= last; k++ {
		d := j.za + float32(float32(w1)*j.zb) + float32(float32(w2)*j.zc)
		if s0+float32(sx*float32(j.x0+k))+float32(sz*d) < eps {
			if to.wind != nil {
				to.wind[o+k] += to.step
			}
			if to.z != nil && d-j.bias < to.z[o+k] {
				to.z[o+k], to.id[o+k] = d-j.bias, j.id
			}
		}
		w1 += j.dx1
		w2 += j.dx2
	}
}

// capFaces puts the cut faces in: where a body's winding number is at least 1
// the plane runs through its material. Bodies of higher rank come first.
func (t *tile) capFaces() {
	var all area
	for i := range t.windBox {
		if b := t.windBox[i]; !b.empty() {
			all.include(b)
		}
	}
	clear(t.capped)
	for y := all.y0; y < all.y1; y++ {
		for i := range t.windBox {
			if b := &t.windBox[i]; y >= b.y0 && y < b.y1 {
				t.capRow(i, y, b.x0, b.x1)
			}
		}
	}
}

// capRow puts in a row of one body's cut face, from x0 to before x1, but where there is
// one already.
func (t *tile) capRow(body, y, x0, x1 int) {
	f := t.f
	reach := float32(float64(len(f.bodies)) * f.pitch / 4) // largest bias
	s0, sx, sz := f.cut.row(t.oy + y)
	o := y * t.side
	wind, z, id, capped := t.wind[body][o+x0:o+x1], t.z[o+x0:o+x1], t.id[o+x0:o+x1], t.capped[x0:x1]
	row := int32(y) + 1
	for k, w := range wind {
		if w < 1 || capped[k] == row {
			continue
		}
		capped[k] = row
		d := -(s0 + float32(sx*float32(t.ox+x0+k))) / sz
		if d <= z[k]+reach {
			z[k], id[k] = d, capBit|uint32(f.caps[body])
		}
	}
}
