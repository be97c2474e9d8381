package proof

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// kept is the closed form of the air that one pour keeps.
type kept struct {
	mold        string
	angle, side float64
	want        float64 // mm3
}

// round cups and domes of literature on gravity casting: what stays above the rim.

// tiltedCup is the air in an inverted round cup: a whole cylinder less its wedge, or
// a cylindrical wedge (ungula; any handbook of solid geometry).
func tiltedCup(r, l, deg float64) float64 {
	if l >= 2*r*tan(deg) {
		return math.Pi * r * r * (l - r*tan(deg))
	}
	a := r - l/tan(deg)
	return tan(deg) * (2.0/3*math.Pow(r*r-a*a, 1.5) - a*(r*r*math.Acos(a/r)-a*math.Sqrt(r*r-a*a)))
}

// tiltedDome is the air in an inverted hemisphere: a cap.
func tiltedDome(r, deg float64) float64 { return cap3(r, r-r*math.Sin(rad(deg))) }

// sphereCap is the air above the highest point of the mouth of a vent of radius v in
// the top of a sphere.
func sphereCap(r, v, deg float64) float64 {
	return cap3(r, r*(1-math.Cos(rad(deg)-math.Asin(v/r))))
}

// wedge is the air below a level ceiling of width w that is raised, beyond a vent at
// a distance a from the raised wall.
func wedge(a, w, deg float64) float64 { return 0.5 * a * a * tan(deg) * w }

func air(t *testing.T, b *bench) {
	const own = "own calculation, by hand"
	for _, f := range []struct {
		what, source string
		allowed      float64
		unit         string
		list         []kept
	}{
		{"inverted cup R 10 L 30, tilted", "cylindrical wedge, checked by quadrature", 2, "%", cupTilts()},
		{"inverted hemisphere R 10, tilted", "spherical cap (Archimedes)", 2, "%", domeTilts()},
		{"vent 3 mm below the top of a dome R 10; spheres with a vent at the top, tilted", "spherical cap (Archimedes)", 2, "%", []kept{
			{"dome-vent3", 0, 0, cap3(10, 3)}, {"sphere", 30, 0, sphereCap(20, 1, 30)},
			{"shrink-sphere-1005", 40, 0, cube(1.005) * sphereCap(12, 1, 40)}, {"shrink-sphere-101", 40, 0, cube(1.01) * sphereCap(12, 1, 40)}}},
		{"small caps above the vent of a sphere R 20, tilted", "spherical cap (Archimedes)", 0.5, "mm3", []kept{
			{"sphere", 0, 0, 0}, {"sphere", 10, 0, sphereCap(20, 1, 10)}, {"sphere", 20, 0, sphereCap(20, 1, 20)}}},
		{"level ceilings that are tilted: vent in the middle, at the edge, tangent to it, narrow, gate that lets no air out", "wedge; " + own, 2, "%", ceilings()},
		{"level ceilings at rest", own, 1, "mm3", []kept{{"b0", 0, 0, 0}, {"ceiling-edge", 0, 0, 0}, {"membrane01", 0, 0, 0}, {"sheet", 0, 0, 0}}},
		{"U-tubes with a closed shaft, a side vent level, rising, downhill, over a dip", "hydrostatics; " + own, 2, "%", []kept{
			{"utube", 0, 0, 16 * 15}, {"utube-level", 0, 0, 16 * 8}, {"utube-rising", 0, 0, 16 * 8}, {"utube-downhill", 0, 0, 16 * 10}, {"dip-vent", 0, 0, 30 * 20 * 2}}},
		{"basins that fill by spilling over weirs; a comb of teeth", "hydrostatics; " + own, 2, "%", []kept{
			{"weir", 0, 0, 28 * 20 * 3}, {"weir2", 0, 0, 18*20*5 + 18*20*2}, {"comb", 0, 0, 6 * 12 * (6 + 8 + 10 + 12 + 14)}}},
		{"walls of 0.1 to 0.3 mm that must not leak, a gap of 0.02 mm that is closed", "wedge; " + own, 2, "%", membranes()},
	} {
		l := b.line("trapped air: "+f.what, f.source, f.unit, f.allowed)
		for _, k := range f.list {
			got := pour(t, b.mold(t, k.mold), k.angle, k.side).Trapped
			near(t, l, got, k.want, "%s at %v@%v", k.mold, k.angle, k.side)
		}
	}
	shortCups(t, b)
}

func cupTilts() (out []kept) {
	for _, a := range []float64{0, 10, 30, 45, 60, 75} {
		out = append(out, kept{"cup", a, 0, tiltedCup(10, 30, a)})
	}
	return out
}

func domeTilts() (out []kept) {
	for _, a := range []float64{0, 10, 30, 60} {
		out = append(out, kept{"dome-cup", a, 0, tiltedDome(10, a)})
	}
	return out
}

func ceilings() (out []kept) {
	for _, a := range []float64{5, 10, 20, -10} {
		out = append(out, kept{"b0", a, 0, wedge(19, 20, math.Abs(a))})
	}
	for _, a := range []float64{5, 10} {
		out = append(out, kept{"ceiling-edge", a, 0, wedge(40, 30, a)}, kept{"ceiling-tangent", a, 0, wedge(38, 30, a)})
	}
	for name, d := range map[string]float64{"bore05": 0.5, "bore08": 0.8, "bore10": 1} {
		out = append(out, kept{name, 10, 0, wedge(20-d/2, 20, 10)})
	}
	return append(out, kept{"gate-top", -10, 0, wedge(36, 20, 10)},
		kept{"shrink-box-1005", 10, 0, cube(1.005) * wedge(19, 20, 10)}, kept{"shrink-box-101", 10, 0, cube(1.01) * wedge(19, 20, 10)})
}

func membranes() (out []kept) {
	for _, name := range []string{"membrane01", "membrane02", "membrane03"} {
		for _, side := range []float64{90, 270} {
			out = append(out, kept{name, 10, side, wedge(9, 30, 10)})
		}
		out = append(out, kept{name, 10, 0, wedge(14, 20, 10)})
	}
	return append(out, kept{"parting-gap002", 10, 90, wedge(9, 30, 10)}, kept{"parting-vertical", 10, 90, wedge(9, 30, 10)})
}

// shortCups are cups R 10 L 10 on a slab that is vented along its raised edge: from
// 26.6 deg on the air is a cylindrical wedge; at 45 deg two thirds of R R L.
func shortCups(t *testing.T, b *bench) {
	l := b.line("trapped air: inverted cup R 10 L 10, tilted so far that its end is wetted", "cylindrical wedge (2/3 R R L at 45 deg)", "%", 2)
	m := cupOnSlab(10).close(t)
	for _, a := range []float64{30, 45, 60} {
		near(t, l, pour(t, m, a, 0).Trapped, tiltedCup(10, 10, a), "%v deg", a)
	}
	assert.InDelta(t, 2.0/3*1000, tiltedCup(10, 10, 45), 1e-9)
}

// cupOnSlab is a blind round boss of radius 10 on a slab 50 x 26 x 4, vented along
// its raised edge by a slot that goes straight up.
func cupOnSlab(height float64) setup {
	block, slab := geomtest.Rect(0, 0, 62, 38), geomtest.Rect(6, 6, 56, 32)
	boss := geomtest.Circle(geomtest.Point{X: 24, Y: 19}, 10, 256)
	slot, gate := geomtest.Rect(52, 6.5, 56, 31.5), geomtest.Rect(6.5, 17, 10.5, 21)
	layer := func(h float64, loops ...[]geomtest.Point) geomtest.Layer {
		return geomtest.Layer{Height: h, Loops: loops}
	}
	// The slot's outer edge is the slab's own: its corners must not touch the slab's
	// outline, so the slab ends where the slot does.
	slab[1].X, slab[2].X = 56.5, 56.5
	bottom := geomtest.Prism(0, layer(6, block, gate), layer(2, block, slab))
	top := geomtest.Prism(8, layer(2, block, slab), layer(height, block, boss, slot), layer(6, block, slot))
	part := geomtest.Prism(6, layer(4, slab), layer(height, boss))
	return setup{part: body("part", part), halves: halves(bottom, top)}
}

func vents(t *testing.T, b *bench) {
	theory := "one vent a local maximum of the cavity (Bose, van Kreveld and Toussaint 1998)"
	ups := []geom.Vec{up(7, 20), up(12, 100), up(17, 190), up(9, 280), up(25, 333)}
	for _, c := range []struct {
		what, mold string
		want       int
	}{
		{"high points of a convex body: a box", "b0", 1},
		{"high points of a convex body: a sphere", "sphere", 1},
		{"high points of a ring, in generic directions", "torus", 1},
	} {
		l := b.line(c.what, theory, "", 0)
		for _, u := range ups {
			f, err := b.mold(t, c.mold).Pour(u)
			assert.NoError(t, err)
			near(t, l, float64(len(f.HighPoints)), float64(c.want), "%v", u)
		}
	}
	l := b.line("pockets of a comb with five closed teeth", theory, "", 0)
	for _, deg := range []float64{0, 3, 6} {
		near(t, l, float64(len(pour(t, b.mold(t, "comb"), deg, 0).Pockets)), 5, "%v deg", deg)
	}
	indices(t, b)
}

// indices sums the indices of the critical points of closed shells over many
// directions: the Euler characteristic, 2 for a ball and 0 for a ring.
func indices(t *testing.T, b *bench) {
	for _, c := range []struct {
		what string
		mesh *geom.Mesh
		want float64
	}{
		{"a ring of 960 corners", geomtest.Torus(20, 7, 40, 24), 0},
		{"a free-form shell", geomtest.Bumpy(10, 0.3, 36, 24), 2},
		{"a geodesic sphere", geomtest.Icosphere(10, 3), 2},
		{"the Stanford bunny", stored(t, "bunny").part.Mesh, 2},
	} {
		l := b.line("sum of critical-point indices of "+c.what+", 200 directions", "Euler characteristic (Banchoff 1967, from memory)", "", 0)
		mates := c.mesh.Mates()
		for k := range 200 {
			d := geomtest.RandomTurn(uint64(k) + 1).Turn(geom.Vec{Z: 1})
			sum, _, ok := c.mesh.CriticalIndices(d, mates)
			assert.True(t, ok, "closed")
			near(t, l, float64(sum), c.want, "%s", fmt.Sprint(d))
		}
	}
}
