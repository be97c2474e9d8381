package proof

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// shapes holds bores, fit and volumes against closed forms.
func shapes(t *testing.T, b *bench) {
	bores := b.line("narrowest width of bores, 32-gons of 0.5, 0.8, 1.0 mm", "apothem of a regular polygon, d cos(180/n)", "mm", 0.02)
	for _, c := range []struct {
		mold string
		d    float64
	}{{"bore05", 0.5}, {"bore08", 0.8}, {"bore10", 1}} {
		for _, ch := range b.mold(t, c.mold).Channels {
			if ch.Role == mold.Vent {
				near(t, bores, ch.Diameter, c.d*math.Cos(math.Pi/32), "%s", c.mold)
			}
		}
	}
	require.Equal(t, 3, bores.Count)
	scale := b.line("scale of a cavity over its part, drawn 1.005 and 1.01 times as large", "as drawn", "", 3e-4)
	for name, want := range map[string]float64{"shrink-box-1005": 1.005, "shrink-box-101": 1.01, "shrink-box-101-origin": 1.01, "shrink-sphere-1005": 1.005, "shrink-sphere-101": 1.01, "b0": 1} {
		near(t, scale, b.mold(t, name).Fit.Scale, want, "%s", name)
	}
	gap := b.line("gap between halves drawn 0 and 0.3 mm apart", "as drawn", "mm", 0.005)
	for name, want := range map[string]float64{"b0": 0, "parting-gap03": 0.3} {
		c, err := b.mold(t, name).Closing()
		require.NoError(t, err)
		near(t, gap, c.GapMax, want, "%s", name)
	}
	seal := b.line("heights at which pockets are sealed", "geometry of the mouth; own calculation", "mm", 0.05)
	for _, k := range []struct {
		mold  string
		angle float64
		want  float64
	}{
		{"b0", 10, 31*math.Sin(rad(10)) + 20*math.Cos(rad(10))}, {"b0", 20, 31*math.Sin(rad(20)) + 20*math.Cos(rad(20))},
		{"sphere", 20, 20 * math.Cos(rad(20)-math.Asin(1.0/20))}, {"utube", 0, 5}, {"weir", 0, 17},
	} {
		f := pour(t, b.mold(t, k.mold), k.angle, 0)
		require.Len(t, f.Pockets, 1, k.mold)
		near(t, seal, f.Pockets[0].SealedAt, k.want, "%s at %v", k.mold, k.angle)
	}
	solids(t, b)
}

// solids compares volumes and areas of meshes with the closed forms of what they
// stand for: what is left is the facets' share.
func solids(t *testing.T, b *bench) {
	v := b.line("volume of fine meshes: sphere, cap, frustum, torus, cylinder", "handbook formulas", "%", 0.1)
	near(t, v, geomtest.Icosphere(10, 6).Volume(), 4.0/3*math.Pi*1000, "sphere R 10")
	near(t, v, geomtest.Cylinder(10, 50, 512).Volume(), math.Pi*100*50, "cylinder")
	near(t, v, geomtest.Torus(20, 7, 512, 256).Volume(), 2*math.Pi*math.Pi*20*49, "torus R 20 r 7 (Pappus)")
	near(t, v, geomtest.Revolve([]geomtest.Point{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 5, Y: 20}, {X: 0, Y: 20}}, 512).Volume(), 3665.191, "cone frustum 10/5/20")
	near(t, v, above(geomtest.Icosphere(10, 6), vec(0, 0, 1), 7), cap3(10, 3), "cap R 10 h 3")
	a := b.line("area of fine meshes: sphere, torus, cylinder", "handbook formulas", "%", 0.1)
	near(t, a, geomtest.Icosphere(10, 6).Area(), 400*math.Pi, "sphere R 10")
	near(t, a, geomtest.Torus(20, 7, 512, 256).Area(), 4*math.Pi*math.Pi*20*7, "torus R 20 r 7 (Pappus)")
	near(t, a, geomtest.Cylinder(10, 50, 512).Area(), 2*math.Pi*10*60, "cylinder")
}

// handbook holds the print and cure figures against textbook values.
func handbook(t *testing.T, b *bench) {
	suction(t, b)
	cusps(t, b)
	drop := b.line("pressure drop in a relief hole with its ends, kPa: 2 and 3 mm wide, 2 mm long, under a 30 mm cup at 1 mm/s, 1 Pa s", "Hagen-Poiseuille and Sampson 1891 (Dagan, Weinbaum and Pfeffer 1982), from memory", "%", 0.01)
	flow := math.Pi * 15 * 15
	near(t, drop, mold.PassageDrop(flow, 1000, 2, 2), 5.7206, "2 mm")
	near(t, drop, mold.PassageDrop(flow, 1000, 3, 2), 1.3394, "3 mm")
	boyle := b.line("volume left of a bubble at 30, 40, 50, 60 psi gauge, sea level", "Boyle; 1 psi = 6894.757293 Pa", "", 1e-5)
	for psi, want := range map[float64]float64{30: 0.32880, 40: 0.26868, 50: 0.22715, 60: 0.19674} {
		p := mold.Pot{Gauge: psi * 6.894757293, Ambient: 101.325}
		near(t, boyle, p.Shrink(), want, "%v psi", psi)
	}
	high := b.line("diameter left at 60 psi gauge at 1500 m", "Boyle; ISO 2533 atmosphere, 84 556 Pa", "", 1e-4)
	p := mold.Pot{Gauge: 60 * 6.894757293, Ambient: 84.556}
	near(t, high, math.Cbrt(p.Shrink()), 0.55365, "60 psi")
	rubber(t, b)
}

func rubber(t *testing.T, b *bench) {
	gent := b.line("modulus of Shore A 20 to 80, MPa", "Gent 1958, from memory", "", 1e-3)
	for s, want := range map[float64]float64{20: 0.7319, 30: 1.1424, 40: 1.6896, 50: 2.4558, 60: 3.6051, 80: 9.3514} {
		near(t, gent, mold.Modulus(s), want, "Shore A %v", s)
	}
	flaw := b.line("critical flaw of Shore A 30 and 50, 300 and 1000 J/m2, stretch 1.1 to 2, mm", "Rivlin and Thomas 1953; Greensmith 1963; neo-Hookean", "%", 0.1)
	stretches := []float64{1.1, 1.3, 1.5, 2}
	for _, r := range []struct {
		shore, tear float64
		want        []float64
	}{
		{30, 300, []float64{9.333, 1.2515, 0.5265, 0.1773}}, {30, 1000, []float64{31.11, 4.172, 1.755, 0.5911}},
		{50, 300, []float64{4.341, 0.5822, 0.2449, 0.0825}}, {50, 1000, []float64{14.47, 1.941, 0.8164, 0.2750}},
	} {
		for i, l := range stretches {
			near(t, flaw, mold.CriticalFlaw(r.tear, mold.Modulus(r.shore), l), r.want[i], "Shore A %v, %v J/m2, %v", r.shore, r.tear, l)
		}
	}
}

// suction closes molds whose lower half is a plain cup, gate and vent above, and
// prints that half.
func suction(t *testing.T, b *bench) {
	bound := b.line("suction bound of cups 30 mm round and 20 x 30 mm, N", "p0 A", "%", 0.1)
	area := b.line("their sealed area, mm2", "area of a 256-gon, of a rectangle", "%", 0.01)
	volume := b.line("their volume, mm3", "area times depth", "%", 1)
	disc := geomtest.Circle(geomtest.Point{}, 15, 256)
	for _, c := range []struct {
		loop  []geomtest.Point
		area  float64
		bound float64
	}{{disc, geomtest.CircleArea(15, 256), 71.622}, {geomtest.Rect(-10, -15, 10, 15), 600, 60.795}} {
		block := geomtest.Rect(-22, -22, 22, 22)
		bottom := geomtest.Prism(0, layer(5, block), layer(8, block, c.loop))
		top := geomtest.Prism(13, layer(4, block, c.loop), layer(6, block, geomtest.Rect(-6, -2, -2, 2), geomtest.Rect(4, -1, 6, 1)))
		m := setup{part: body("part", geomtest.Prism(5, layer(12, c.loop))), halves: halves(bottom, top)}.close(t)
		p, err := m.Print(0, vec(0, 0, 1), mold.PrintOptions{NoHoles: true, Printer: &mold.NewJob().Printer})
		require.NoError(t, err)
		require.Len(t, p.Cups, 1)
		near(t, bound, p.Cups[0].Bound, c.bound, "%v mm2", c.area)
		near(t, area, p.Cups[0].Area, c.area, "%v mm2", c.area)
		near(t, volume, p.Cups[0].Volume, c.area*8, "%v mm2", c.area)
	}
}

// cusps prints a half whose cavity has walls at 10, 45 and 60 deg: layer times the
// share of the normal along the build direction.
func cusps(t *testing.T, b *bench) {
	l := b.line("layer steps of 50 um layers on faces 10, 45 and 60 deg off level, um", "layer times the normal's share along the build (Dolenc and Makela 1994)", "", 0.01)
	s10, c10 := math.Sincos(rad(10))
	// A ridge along y: up 10 deg, up 45 deg, down 60 deg; closed below.
	profile := []geomtest.Point{{X: 0, Y: 0}, {X: 40, Y: 0}, {X: 40, Y: 2}}
	x, y := 40.0, 2.0
	for _, leg := range []struct{ dx, dy float64 }{{-4 * math.Cos(rad(60)), 4 * math.Sin(rad(60))}, {-14 * c10, 14 * s10}} {
		x, y = x+leg.dx, y+leg.dy
		profile = append(profile, geomtest.Point{X: x, Y: y})
	}
	profile = append(profile, geomtest.Point{X: x - (y - 1), Y: 1}, geomtest.Point{X: 0, Y: 1})
	flip := func(m *geom.Mesh) *geom.Mesh { // (x, y, z) to (x, -z, y): the prism lies along y
		return m.Map(func(v geom.Vec) geom.Vec { return vec(v.X, -v.Z, v.Y) })
	}
	block := geomtest.Rect(-6, -6, 46, 14)
	front := flip(geomtest.Prism(0, layer(5, block), layer(10, block, profile)))
	back := flip(geomtest.Prism(15, layer(10, block, profile), layer(5, block, geomtest.Rect(2, 0.2, 2.6, 0.8), geomtest.Rect(35, 1, 37, 3))))
	m := setup{part: body("part", flip(geomtest.Prism(5, layer(20, profile)))), halves: halves(front, back)}.close(t)
	printer := mold.NewJob().Printer
	printer.Layer = 0.05
	p, err := m.Print(0, vec(0, 0, 1), mold.PrintOptions{NoHoles: true, Printer: &printer})
	require.NoError(t, err)
	seen := map[float64]bool{}
	for f, step := range p.Step.Facets {
		n := math.Abs(m.Halves[0].Mesh.Triangle(f).Normal().Z)
		for _, w := range []struct{ deg, want float64 }{{10, 49.240}, {45, 35.355}, {60, 25}} {
			if math.Abs(n-math.Cos(rad(w.deg))) < 1e-9 && step > 0 {
				seen[w.deg] = true
				near(t, l, float64(step)*1000, w.want, "%v deg", w.deg)
			}
		}
	}
	require.Len(t, seen, 3)
}
