package bvh

import (
	"math"

	"pourproof/geom"
)

// Which facets a ray crosses is decided so that a closed mesh stays closed:
// a line that passes through an edge or a corner, or runs along a facet, crosses
// as often inward as outward. The mesh is sheared so that the ray becomes the z
// axis (Woop, Benthin and Wald, JCGT 2(1), 2013); each corner moves by itself, so
// facets that share a corner keep sharing it. In the plane the facet's three
// edges are counted where they cross the half line y = 0, x > 0 (the crossing
// rule of point-in-polygon tests, Shimrat 1962): a facet is hit when its edges
// wind once around the origin. A corner with y = 0 counts as below and an edge
// through the origin as not right of it, which is what moving the origin by an
// infinitely small step would do. An edge counts once up and once down for the two
// facets that share it, so the crossings of a closed mesh sum to zero whatever
// the roundings were; the sign of an edge is also exact for the sheared corners.
type ray struct {
	kx, ky, kz int // axes; z the one the ray runs along most
	ox, oy, oz float64
	sx, sy     float64 // shear
	dz         float64

	origin, dir geom.Vec

	// Boxes are tested in single precision, grown by e: the side where the ray goes
	// in against in = origin + e, where it comes out against out = origin - e, both
	// along the ray. high is 1 where the ray goes in at the box's high end.
	in, out, inv [3]float32
	high         [3]uint8
}

// boxSlack is by how much boxes are grown for a ray, a part of the largest
// distance between the origin and a corner, per axis. In (box-(o+e))/d the
// origin, the difference, the reciprocal and the product each round by at most
// 2^-24 of that distance; the point of a hit itself lies within 2^-48 of it.
// Twice their sum is 2^-21.
const boxSlack = 0x1p-21

// steep is the largest reciprocal of a direction's component. A ray that moves
// less than 1e-30 mm a mm stays inside boxSlack for any length.
const steep = 1e30

func axisOf(v geom.Vec, k int) float64 {
	switch k {
	case 0:
		return v.X
	case 1:
		return v.Y
	}
	return v.Z
}

func largest(v geom.Vec) float64 { return max(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)) }

// newRay prepares a ray for a mesh whose coordinates reach this far. It reports
// false where dir has no direction.
func newRay(origin, dir geom.Vec, reach float64) (r ray, ok bool) {
	x, y, z := math.Abs(dir.X), math.Abs(dir.Y), math.Abs(dir.Z)
	size := max(x, y, z)
	if !(size > 0) || math.IsInf(size, 1) || !origin.Finite() {
		return r, false
	}
	switch size {
	case x:
		r.kz = 0
	case y:
		r.kz = 1
	default:
		r.kz = 2
	}
	r.kx, r.ky = (r.kz+1)%3, (r.kz+2)%3
	r.dz = axisOf(dir, r.kz)
	if r.dz < 0 { // keep the frame right-handed seen along the ray
		r.kx, r.ky = r.ky, r.kx
	}
	r.ox, r.oy, r.oz = axisOf(origin, r.kx), axisOf(origin, r.ky), axisOf(origin, r.kz)
	r.sx, r.sy = axisOf(dir, r.kx)/r.dz, axisOf(dir, r.ky)/r.dz
	r.origin, r.dir = origin, dir
	e := float64(boxSlack * (reach + largest(origin)))
	for k := range r.inv {
		o, d := axisOf(origin, k), axisOf(dir, k)
		grown := math.Copysign(e, d)
		r.in[k], r.out[k] = float32(o+grown), float32(o-grown)
		r.inv[k] = float32(min(max(1/d, -steep), steep))
		if math.Signbit(d) {
			r.high[k] = 1
		}
	}
	return r, true
}

// bitsOf orders distances as whole numbers, which the processor compares and picks
// in fewer steps than floats: for floats of at least 0 the order is the same, and
// any below 0 stays below 0.
func bitsOf(x float32) int32 { return int32(math.Float32bits(x)) }

// miss is farther than any ray reaches.
const miss = 0x7f800000 // infinity

// reachOf returns the bound for enter of a ray that ends at x >= 0 mm.
func reachOf(x float64) int32 { return bitsOf(min(roundUp(x), math.MaxFloat32)) }

// enter returns where the ray enters the two boxes of the node, and miss where it
// does not before far, as bitsOf.
func (r *ray) enter(n *node, far int32) (int32, int32) {
	hx, hy, hz := r.high[0]&1, r.high[1]&1, r.high[2]&1
	b, c := &n.box[0], &n.box[1]
	x0, x1 := bitsOf((b.x[hx]-r.in[0])*r.inv[0]), bitsOf((c.x[hx]-r.in[0])*r.inv[0])
	y0, y1 := bitsOf((b.y[hy]-r.in[1])*r.inv[1]), bitsOf((c.y[hy]-r.in[1])*r.inv[1])
	z0, z1 := bitsOf((b.z[hz]-r.in[2])*r.inv[2]), bitsOf((c.z[hz]-r.in[2])*r.inv[2])
	d0, d1 := max(x0, y0, z0, 0), max(x1, y1, z1, 0)
	x0, x1 = bitsOf((b.x[hx^1]-r.out[0])*r.inv[0]), bitsOf((c.x[hx^1]-r.out[0])*r.inv[0])
	y0, y1 = bitsOf((b.y[hy^1]-r.out[1])*r.inv[1]), bitsOf((c.y[hy^1]-r.out[1])*r.inv[1])
	z0, z1 = bitsOf((b.z[hz^1]-r.out[2])*r.inv[2]), bitsOf((c.z[hz^1]-r.out[2])*r.inv[2])
	if d0 > min(x0, y0, z0, far) {
		d0 = miss
	}
	if d1 > min(x1, y1, z1, far) {
		d1 = miss
	}
	return d0, d1
}

// cross returns the parameter at which the ray's line crosses the facet and in
// which sense, 0 for not at all.
func (r *ray) cross(c *tri) (float64, int8) {
	az, bz, cz := c[r.kz]-r.oz, c[3+r.kz]-r.oz, c[6+r.kz]-r.oz
	ay := (c[r.ky] - r.oy) - float64(r.sy*az)
	by := (c[3+r.ky] - r.oy) - float64(r.sy*bz)
	cy := (c[6+r.ky] - r.oy) - float64(r.sy*cz)
	a, b := ay > 0, by > 0
	if a == b && b == (cy > 0) {
		return 0, 0
	}
	ax := (c[r.kx] - r.ox) - float64(r.sx*az)
	bx := (c[3+r.kx] - r.ox) - float64(r.sx*bz)
	cx := (c[6+r.kx] - r.ox) - float64(r.sx*cz)
	// One corner lies alone on its side of y = 0; its two edges cross. Turned
	// so that it is the first, p -> q -> s is the facet's own order.
	var w int8
	switch {
	case a == b:
		w = winding(cx, cy, ax, ay, bx, by)
	case b == (cy > 0):
		w = winding(ax, ay, bx, by, cx, cy)
	default:
		w = winding(bx, by, cx, cy, ax, ay)
	}
	if w == 0 {
		return 0, 0
	}
	// The areas opposite the corners weigh their heights. Computed without loss
	// (Kahan), all of one sign, they give a height between the corners' and a
	// point within roundings of the facet however thin it is.
	wa, wb, wc := minor(bx, by, cx, cy), minor(cx, cy, ax, ay), minor(ax, ay, bx, by)
	sum := wa + wb + wc
	if sum == 0 { // areas below the smallest number
		return az/r.dz + 0, -w
	}
	h := (float64(wa*az) + float64(wb*bz) + float64(wc*cz)) / sum
	return min(max(h, min(az, bz, cz)), max(az, bz, cz))/r.dz + 0, -w // no -0
}

// winding returns how often p -> q -> s runs around the origin, where p alone
// lies on its side of y = 0. Each edge is looked at from its lower end to its
// upper, so that the facets beside it see the same.
func winding(px, py, qx, qy, sx, sy float64) int8 {
	var q, s bool
	var up int8 = 1
	if py > 0 {
		q, s = rightOfOrigin(qx, qy, px, py), rightOfOrigin(sx, sy, px, py)
		up = -1
	} else {
		q, s = rightOfOrigin(px, py, qx, qy), rightOfOrigin(px, py, sx, sy)
	}
	if q == s {
		return 0
	}
	if q {
		return up
	}
	return -up
}

// rightOfOrigin reports whether the edge from l, not above y = 0, to u above it
// crosses y = 0 at x > 0. Rounding keeps order, so unequal products decide; equal
// ones are decided by what the rounding took off, which a fused multiply-add
// gives exactly.
func rightOfOrigin(lx, ly, ux, uy float64) bool {
	p, q := float64(lx*uy), float64(ly*ux)
	if p != q {
		return p > q
	}
	return math.FMA(lx, uy, -p) > math.FMA(ly, ux, -q)
}

// minor returns ax*by - ay*bx to within 2 units in the last place (Kahan;
// analysed by Jeannerod, Louvet and Muller, Math. Comp. 82, 2013).
func minor(ax, ay, bx, by float64) float64 {
	p := float64(ay * bx)
	e := math.FMA(-ay, bx, p)
	return math.FMA(ax, by, -p) + e
}
