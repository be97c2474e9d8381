package mold

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/meshio"
	"pourproof/testdata"
)

func couponMeshes(t *testing.T) []*geom.Mesh {
	t.Helper()
	files, err := testdata.Coupon()
	require.NoError(t, err)
	require.Len(t, files, 2)
	var out []*geom.Mesh
	for _, f := range files {
		r, err := meshio.Read(f.Name, bytes.NewReader(f.Data), int64(len(f.Data)), meshio.Options{})
		require.NoError(t, err, f.Name)
		out = append(out, r.Merged())
	}
	return out
}

// polygonArea is that of a regular polygon around (true) or in a circle.
func polygonArea(d float64, around bool) float64 {
	const n = 64
	r := d / 2
	if around {
		r /= math.Cos(math.Pi / n)
	}
	return n / 2 * r * r * math.Sin(2*math.Pi/n)
}

// markVolume is that of raised marks: lit dots of each digit, 0.5 mm cubes.
func markVolume(rows ...string) float64 {
	lit := map[byte]float64{'0': 12, '1': 5, '2': 11, '3': 11, '5': 11, '8': 13}
	sum := 0.0
	for _, m := range rows {
		sum += (lit[m[0]] + lit[m[1]]) * 0.125
	}
	return sum
}

// The coupon's volume is the sum of its features in closed form, exact for polygons:
// prisms, frusta, cuboids and dots. So the sizes in Go are those of the model.
func TestCouponVolume(t *testing.T) {
	meshes := couponMeshes(t)
	frustum := func(a, b, h float64) float64 { return h / 3 * (a + b + math.Sqrt(a*b)) }
	plateBore := func(d float64) float64 {
		return frustum(polygonArea(d+2, true), polygonArea(d, true), 1) + 3.5*polygonArea(d, true)
	}
	want := 60*40*4.5 + 60*3.5*5.5 + 60*3.5*10.0
	for i := range couponRows {
		row := &couponRows[i]
		want += markVolume(row.Marks()...)
		for _, d := range row.Drawn {
			switch row.Table {
			case "upright":
				want -= plateBore(d)
			case "slanted":
				want -= polygonArea(d, true) * 3.5 * math.Sqrt2
			case "level":
				want -= polygonArea(d, true) * 3.5
			case "fins":
				want += d * 7 * 5
			case "keys":
				want -= plateBore(4 + 2*d)
			}
		}
	}
	assert.InDelta(t, want, meshes[0].Volume(), 1e-4*want)
	want = 14*9*5 + polygonArea(4, false)*3.6 + frustum(polygonArea(4, false), polygonArea(3.2, false), 0.4)
	assert.InDelta(t, want, meshes[1].Volume(), 1e-4*want)
}

// One closed shell with as many handles as bores and sockets: V - E + F = 2 - 2g.
func TestCouponIsOneShell(t *testing.T) {
	handles := 3*len(couponBores) + len(couponKeys)
	for i, m := range couponMeshes(t) {
		v, f := len(m.Vertices), len(m.Facets)
		assert.Equal(t, []int{2 - 2*handles, 2}[i], v-f/2, "closed: 3F = 2E")
	}
}

// Every bore is open along its axis, and the nearest wall is half its drawn width away.
func TestCouponBoresAreWhereTheyShould(t *testing.T) {
	m := couponMeshes(t)[0]
	tree := bvh.Build(m)
	slant := geom.Vec{Y: -math.Sqrt2 / 2, Z: math.Sqrt2 / 2}
	for i, d := range couponBores {
		x := 5.5 + 7*float64(i)
		for _, c := range []struct{ mid, dir geom.Vec }{
			{geom.Vec{X: x, Y: 7.2, Z: 2.75}, geom.Vec{Z: 1}},
			{geom.Vec{X: x, Y: 1.75, Z: 7}, geom.Vec{Y: 1}},
			{geom.Vec{X: x, Y: 38.25, Z: 9.5}, slant},
		} {
			near, ok := tree.Nearest(c.mid, 5)
			assert.True(t, ok)
			assert.InDelta(t, d/2, near.Dist, 1e-3, "%v at %v", d, c.mid)
			for _, way := range []geom.Vec{c.dir, c.dir.Scale(-1)} {
				_, blocked := tree.First(c.mid, way, 3)
				assert.False(t, blocked, "%v at %v is open", d, c.mid)
			}
		}
	}
}

func TestCouponArithmetic(t *testing.T) {
	c, err := ParseCoupon("r.toml", []byte("[upright]\n30 = 2.9\n05=0\n08 = 0.5\n10 = 0.8\n12=1.1\n[level]\n10 = 0\n12 = 0.9\n15=1.3\n[fins]\n08='fails'\n10='stands'\n"))
	require.NoError(t, err)
	loss, n := c.Loss("upright") // 0.3, 0.2, 0.1, 0.1: the middle two
	assert.Equal(t, 4, n)
	assert.Equal(t, 0.15, loss)
	loss, n = c.Loss("level") // 0.3, 0.2
	assert.Equal(t, 2, n)
	assert.Equal(t, 0.25, loss)
	_, n = c.Loss("slanted")
	assert.Zero(t, n)
	loss, attitude := c.BoreLoss()
	assert.Equal(t, 0.25, loss)
	assert.Equal(t, "level", attitude)
	least, ok := c.LeastBore()
	assert.True(t, ok)
	assert.Equal(t, Bound{1.2, 1.5, true, "level"}, least)
	fin, ok := c.LeastFin()
	assert.True(t, ok)
	assert.Equal(t, Bound{1, 1.2, true, "fins"}, fin)
	_, ok = c.LeastClearance()
	assert.False(t, ok)

	j := NewJob()
	require.NoError(t, j.Calibrate(c))
	assert.Equal(t, 0.25, j.Printer.BoreLoss)
	assert.Equal(t, "coupon r.toml", j.From("printer.bore_loss"))
	wide, err := ParseCoupon("r.toml", []byte("[level]\n30 = 0.5\n"))
	require.NoError(t, err)
	assert.ErrorContains(t, NewJob().Calibrate(wide), "2.5 mm narrower than drawn")
}

func TestCouponFaults(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"[upright]\n05 =\n", "r.toml:2"},
		{"[uprigth]\n05 = 1\n", "r.toml:1:2: [uprigth] is no table of a coupon's results; did you mean upright?"},
		{"[level]\n06 = 0.1\n", "r.toml:2:1: level.06 is no mark of the coupon; the bores here are marked 05, 08, 10, 12, 15, 20, 25, 30"},
		{"[level]\n05 = -1\n", "must be 0 to 10 mm, not -1"},
		{"[level]\n05 = nan\n", "must be a finite number"},
		{"[level]\n05 = \"x\"\n", "must be a number in mm"},
		{"[level]\n10 = 1.5\n", "is drawn 1 mm wide and cannot have come out 1.5 mm wide: measure it again or take the line out"},
		{"[level]\n10 = 0.5\n12 = 0\n", "r.toml:3:1: level.12 says 0, but the smaller 10 on line 2 says 0.5: measure both again"},
		{"[level]\n12 = 0\n10 = 0.5\n", "r.toml:2:1: level.12 says 0"},
		{"[fins]\n05 = \"stands\"\n20 = \"fails\"\n", `fins.20 says "fails", but the smaller 05 on line 2 says "stands"`},
		{"[keys]\n00 = \"loose\"\n30 = \"snug\"\n", "keys.30"},
		{"[keys]\n00 = true\n", "must be text in quotes, not true"},
		{"[keys]\n00 = \"yes\"\n", `must be one of outside, snug, loose, not "yes"`},
		{"[[keys]]\n", "write [keys]"},
		{"keys = {00 = \"snug\"}\n", "write [keys] and below it"},
		{"x = 1\n", "stands outside the tables"},
		{"[keys]\n00.a = 1\n", "is no result"},
		{"a\x00", "is not a text file"},
	} {
		got, err := ParseCoupon("r.toml", []byte(c.text))
		assert.Nil(t, got, c.text)
		assert.ErrorContains(t, err, c.want, c.text)
	}
}

// Nothing needs supports: above the platform, only crowns of level bores lie flatter
// than the default self-support angle.
func TestCouponPrintsWithoutSupports(t *testing.T) {
	flat := -math.Cos(NewJob().Printer.SelfSupport)
	for i, m := range couponMeshes(t) {
		crowns := 0
		for f := range m.Facets {
			tri := m.Triangle(f)
			n := tri.B.Sub(tri.A).Cross(tri.C.Sub(tri.A))
			if n.Z > flat*n.Norm() || max(tri.A.Z, tri.B.Z, tri.C.Z) < 1e-6 {
				continue
			}
			crowns++
			assert.Less(t, max(tri.A.Y, tri.B.Y, tri.C.Y), 3.5+1e-4, "facet %d", f)
			assert.InDelta(t, 7.75, min(tri.A.Z, tri.B.Z, tri.C.Z), 0.76, "facet %d", f)
		}
		assert.Equal(t, i == 0, crowns > 0)
	}
}
