package render

import "math"

// Line classes, thicker ones higher. A line is found between two neighbouring
// samples and marks both.
const (
	noLine      = 0
	featureLine = 1 // edge where facets meet at an angle
	outline     = 2 // silhouette, or step in depth, or border of a body
	cutLine     = 3 // border of a cut face
)

// lineWeight is the width of each class in line-weight units: about 0.1, 0.2 and
// 0.35 mm on paper, the 1:2 steps of thin and thick lines in technical drawings
// (ISO 128; from memory).
var lineWeight = [4]float64{0, 1, 2, 3.3}

// lineRadii turns the weights into the number of samples by which a found line,
// two samples wide, must grow on each side.
func (f *frame) lineRadii() {
	f.halo = 0
	for i, w := range lineWeight {
		f.radius[i] = max(0, int(math.Round(w*f.v.unit))-1)
		f.halo = max(f.halo, f.radius[i])
	}
	f.halo++ // a line is found between a sample and its neighbour
}

// featureDot is featureCos for normals in steps of 1/127: products of these are whole.
var featureDot = int32(math.Ceil(featureCos * 127 * 127))

// findLines compares every sample with its right and lower neighbour. Where nothing is
// drawn there is no line, but for the one around what is.
func (t *tile) findLines() {
	clear(t.edge)
	t.touched = t.touched[:0]
	n := t.side
	x0, x1 := max(t.drawn.x0-1, 0), t.drawn.x1
	for y := max(t.drawn.y0-1, 0); y < t.drawn.y1; y++ {
		o := y * n
		id, below := t.id[o:o+n], t.id[o:o+n]
		if y+1 < n {
			below = t.id[o+n : o+2*n]
		}
		for x := x0; x < min(x1, n-1); x++ {
			a := id[x]
			if a != id[x+1] {
				t.compare(o+x, o+x+1, 0)
			}
			if a != below[x] {
				t.compare(o+x, o+n+x, 8)
			}
		}
		if x1 == n && id[n-1] != below[n-1] {
			t.compare(o+n-1, o+n+n-1, 8)
		}
	}
}

// compare marks two samples if there is a line between them.
func (t *tile) compare(i, k int, axis uint) {
	if class := t.lineBetween(t.id[i], t.id[k], t.z[i], t.z[k], axis); class != noLine {
		t.mark(i, class)
		t.mark(k, class)
	}
}

func (t *tile) mark(i int, class uint8) {
	if t.edge[i] == noLine {
		t.touched = append(t.touched, int32(i))
	}
	t.edge[i] = max(t.edge[i], class)
}

// lineBetween returns the class of the line between two samples; axis is the
// shift of the normal's component along the step: 0 for x, 8 for y.
func (t *tile) lineBetween(a, b uint32, za, zb float32, axis uint) uint8 {
	if isCap(a) || isCap(b) {
		return cutLine
	}
	if a == nothing || b == nothing {
		return outline
	}
	na, nb := t.f.norm[a], t.f.norm[b]
	if na>>24 != nb>>24 {
		return outline
	}
	if dz := abs32(za - zb); dz > t.pitch && t.stepBetween(na, nb, dz, axis) {
		return outline
	}
	if comp(na, 0)*comp(nb, 0)+comp(na, 8)*comp(nb, 8)+comp(na, 16)*comp(nb, 16) < featureDot {
		return featureLine
	}
	return noLine
}

func isCap(id uint32) bool { return id >= capBit && id != nothing }

// comp returns a component of a packed normal, in steps of 1/127.
func comp(n uint32, shift uint) int32 { return int32(int8(n >> shift)) }

// stepBetween reports whether two samples of one body, dz apart in depth and by more
// than a sample, are too far apart for the surface to run on between them: further than
// the slopes of both facets carry it over one sample, with half as much again for
// curvature and one sample for what lies between. Facets seen nearly edge-on are left
// to the angle test: their slope has no digits.
func (t *tile) stepBetween(na, nb uint32, dz float32, axis uint) bool {
	za, zb := comp(na, 16), comp(nb, 16)
	if za < 4 || zb < 4 {
		return dz > 60*t.pitch
	}
	slope := abs32(float32(comp(na, axis)))/float32(za) + abs32(float32(comp(nb, axis)))/float32(zb)
	return dz > float32(t.pitch*(1.5+float32(1.5*slope)))
}

// thickenLines grows the found lines to their weight.
func (t *tile) thickenLines() {
	f := t.f
	clear(t.line)
	for _, i := range t.touched {
		k := t.edge[i]
		r := f.radius[k]
		if r == 0 {
			t.line[i] = max(t.line[i], k)
			continue
		}
		x, y := int(i)%t.side, int(i)/t.side
		for dy := -r; dy <= r; dy++ {
			yy := y + dy
			if yy < 0 || yy >= t.side {
				continue
			}
			for dx := -r; dx <= r; dx++ {
				xx := x + dx
				// r (r+1) instead of r^2 rounds the smallest discs
				if xx < 0 || xx >= t.side || dx*dx+dy*dy > r*(r+1) {
					continue
				}
				o := yy*t.side + xx
				t.line[o] = max(t.line[o], k)
			}
		}
	}
}
