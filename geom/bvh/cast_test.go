package bvh

import (
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"pourproof/geom"
	"pourproof/geom/geomtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// allByLoop tests every facet, without any box.
func allByLoop(m *geom.Mesh, origin, dir geom.Vec, limit float64) []Hit {
	r, ok := newRay(origin, dir, 0)
	hits := []Hit{}
	for f := range m.Facets {
		c := m.Triangle(f)
		at, sense := r.cross(&tri{c.A.X, c.A.Y, c.A.Z, c.B.X, c.B.Y, c.B.Z, c.C.X, c.C.Y, c.C.Z})
		if ok && sense != 0 && at >= 0 && at <= limit {
			hits = append(hits, r.hit(int32(f), at, sense))
		}
	}
	slices.SortStableFunc(hits, func(a, b Hit) int {
		if a.Dist < b.Dist {
			return -1
		}
		if a.Dist > b.Dist {
			return 1
		}
		return 0
	})
	return hits
}

// someRays are lines through the mesh: any, along the axes, at corners, along
// edges, in the planes of facets.
func someRays(m *geom.Mesh, n int, seed uint64) (rays [][2]geom.Vec) {
	r := rand.New(rand.NewPCG(seed, 11))
	axes := []geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}, {X: 0.6, Y: 0.8}, {X: -0.6, Z: 0.8}}
	points := somePoints(m, n, seed)
	for _, p := range points {
		dirs := []geom.Vec{
			{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()},
			axes[r.IntN(len(axes))],
			{X: float64(r.IntN(3) - 1), Y: float64(r.IntN(3) - 1), Z: float64(r.IntN(3) - 1)},
		}
		if len(m.Facets) > 0 {
			t := m.Triangle(r.IntN(len(m.Facets)))
			dirs = append(dirs, t.B.Sub(t.A), t.Centroid().Sub(t.C), t.A.Sub(p), t.B.Lerp(t.C, 0.5).Sub(p))
		}
		for _, d := range dirs {
			if d = d.Unit(); d != (geom.Vec{}) {
				rays = append(rays, [2]geom.Vec{p, d})
			}
		}
	}
	return rays
}

func TestCastsMatchLoop(t *testing.T) {
	var buf []Hit
	for name, m := range allMeshes() {
		tree := Build(m)
		for _, ray := range someRays(m, 12, 1) {
			o, d := ray[0], ray[1]
			for _, limit := range []float64{math.Inf(1), 3, 0, -1} {
				want := allByLoop(m, o, d, limit)
				buf = tree.All(o, d, limit, buf)
				require.Equal(t, want, append([]Hit{}, buf...), "%s, from %v along %v to %v", name, o, d, limit)
				first, ok := tree.First(o, d, limit)
				require.Equal(t, len(want) > 0, ok, "%s, from %v along %v to %v", name, o, d, limit)
				if ok {
					require.Equal(t, want[0], first, "%s, from %v along %v to %v", name, o, d, limit)
				}
			}
		}
	}
}

// A line that crosses the whole of a closed mesh enters as often as it leaves,
// through corners, along edges and in the planes of facets too.
func TestLinesThroughClosedMeshesBalance(t *testing.T) {
	for name, m := range closedMeshes() {
		tree := Build(m)
		back := m.Box().Diagonal() * 2
		for _, ray := range someRays(m, 60, 2) {
			d := ray[1]
			o := ray[0].AddScaled(d, -back)
			if m.Box().Contains(o) || ray[0].Norm() > 1e6 {
				continue
			}
			sum := 0
			for _, h := range tree.All(o, d, math.Inf(1), nil) {
				sum += int(h.Sense)
			}
			require.Zero(t, sum, "%s, from %v along %v", name, o, d)
		}
	}
}

// On whole numbers every sum is exact, so the count of walls passed says at each
// distance whether the ray is inside: never less than outside, never more than
// once inside.
func TestCornersOfBlocksNeverLeak(t *testing.T) {
	dirs := []geom.Vec{{X: 1}, {Y: -1}, {Z: 1}, {X: 1, Y: 1}, {X: -1, Z: 1}, {X: 1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: 1}, {X: 1, Y: 2, Z: 1}, {X: 3, Y: -1, Z: 2}}
	for seed := range uint64(12) {
		m := geomtest.Grid(geomtest.Blocks(seed)...)
		for _, m := range []*geom.Mesh{m, geomtest.OtherDiagonal(m), geomtest.Subdivide(m, 1)} {
			tree := Build(m)
			for i, v := range m.Vertices {
				for _, d := range dirs {
					checkInsideOrOut(t, tree, v.AddScaled(d, -32), d, "seed %d, vertex %d, along %v", seed, i, d)
				}
			}
		}
	}
}

func checkInsideOrOut(t *testing.T, tree *Tree, o, d geom.Vec, msg string, args ...any) {
	t.Helper()
	inside := 0
	hits := tree.All(o, d, math.Inf(1), nil)
	for i, h := range hits {
		inside += int(h.Sense)
		if i+1 < len(hits) && hits[i+1].Dist == h.Dist {
			continue // passed together
		}
		require.Contains(t, []int{0, 1}, inside, msg, args)
	}
	require.Zero(t, inside, msg, args)
}

func TestSenseAndDistance(t *testing.T) {
	tree := Build(geomtest.Box(geom.Vec{X: 1, Y: 1, Z: 1}, geom.Vec{X: 3, Y: 4, Z: 5}))
	hits := tree.All(geom.Vec{X: -1, Y: 2, Z: 2}, geom.Vec{X: 1}, 100, nil)
	require.Len(t, hits, 2)
	assert.Equal(t, []float64{2, 4}, []float64{hits[0].Dist, hits[1].Dist})
	assert.Equal(t, []int8{1, -1}, []int8{hits[0].Sense, hits[1].Sense})
	assert.Equal(t, geom.Vec{X: 1, Y: 2, Z: 2}, hits[0].Point)
	inside := tree.All(geom.Vec{X: 2, Y: 2, Z: 2}, geom.Vec{Z: -1}, 100, nil)
	require.Len(t, inside, 1, "from inside a ray only leaves")
	assert.Equal(t, Hit{Facet: inside[0].Facet, Sense: -1, Point: geom.Vec{X: 2, Y: 2, Z: 1}, Dist: 1}, inside[0])
	_, ok := tree.First(geom.Vec{X: -1, Y: 2, Z: 2}, geom.Vec{X: 1}, 1.999)
	assert.False(t, ok)
	h, ok := tree.First(geom.Vec{X: -1, Y: 2, Z: 2}, geom.Vec{X: 1}, 2)
	assert.True(t, ok, "a facet exactly as far as asked is found")
	assert.Equal(t, 2.0, h.Dist)

	sphere := Build(geomtest.Icosphere(10, 5))
	r := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		d := geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Unit()
		h, ok := sphere.First(geom.Vec{}, d, 11)
		require.True(t, ok)
		require.InDelta(t, 10, h.Dist, 0.01)
		require.InDelta(t, 0, h.Point.Dist(d.Scale(h.Dist)), 1e-12)
	}
}

// crossByRational decides without rounding whether the line crosses the facet, by
// the signs of the volumes that the line makes with its edges, and where. sure is
// false where the line touches an edge's line.
func crossByRational(c geom.Triangle, o, d geom.Vec) (at float64, sense int, sure bool) {
	rat := func(v geom.Vec) [3]*big.Rat {
		return [3]*big.Rat{new(big.Rat).SetFloat64(v.X), new(big.Rat).SetFloat64(v.Y), new(big.Rat).SetFloat64(v.Z)}
	}
	sub := func(a, b [3]*big.Rat) (r [3]*big.Rat) {
		for i := range r {
			r[i] = new(big.Rat).Sub(a[i], b[i])
		}
		return r
	}
	cross := func(a, b [3]*big.Rat) (r [3]*big.Rat) {
		for i := range r {
			j, k := (i+1)%3, (i+2)%3
			r[i] = new(big.Rat).Sub(new(big.Rat).Mul(a[j], b[k]), new(big.Rat).Mul(a[k], b[j]))
		}
		return r
	}
	dot := func(a, b [3]*big.Rat) *big.Rat {
		s := new(big.Rat)
		for i := range a {
			s.Add(s, new(big.Rat).Mul(a[i], b[i]))
		}
		return s
	}
	from, along := rat(o), rat(d)
	p, q, s := sub(rat(c.A), from), sub(rat(c.B), from), sub(rat(c.C), from)
	u, v, w := dot(cross(p, q), along).Sign(), dot(cross(q, s), along).Sign(), dot(cross(s, p), along).Sign()
	if u == 0 || v == 0 || w == 0 {
		return 0, 0, false
	}
	if u != v || v != w {
		return 0, 0, true
	}
	n := cross(sub(q, p), sub(s, p))
	at, _ = new(big.Rat).Quo(dot(n, p), dot(n, along)).Float64()
	return at, -u, true
}

func TestCrossMatchesRational(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	crossed, skipped := 0, 0
	for name, m := range allMeshes() {
		for i := range 200 {
			if len(m.Facets) == 0 {
				continue
			}
			f := r.IntN(len(m.Facets))
			c := m.Triangle(f)
			// Aim at a point near the facet, off its edges by a part of its size.
			aim := c.A.AddScaled(c.B.Sub(c.A), r.Float64()).AddScaled(c.C.Sub(c.A), r.Float64())
			o := aim.Add(geom.Vec{X: 9 * r.NormFloat64(), Y: 9 * r.NormFloat64(), Z: 9 * r.NormFloat64()})
			d := aim.Sub(o).Unit()
			if i%5 == 0 {
				d = geom.Vec{Z: 1}
			}
			at, sense, sure := crossByRational(c, o, d)
			if !sure || c.Area() < 1e-9 { // rounding of the corners may decide there
				skipped++
				continue
			}
			ray, ok := newRay(o, d, 0)
			require.True(t, ok)
			got, gotSense := ray.cross(&tri{c.A.X, c.A.Y, c.A.Z, c.B.X, c.B.Y, c.B.Z, c.C.X, c.C.Y, c.C.Z})
			require.Equal(t, sense, int(gotSense), "%s, facet %d, from %v along %v", name, f, o, d)
			if sense != 0 {
				crossed++
				require.InDelta(t, at, got, 1e-6*(1+math.Abs(at)), "%s, facet %d, from %v along %v", name, f, o, d)
			}
		}
	}
	assert.Greater(t, crossed, 500)
	t.Logf("%d crossings compared, %d skipped", crossed, skipped)
}

func TestBlockedMatchesLoop(t *testing.T) {
	blocked := 0
	for name, m := range allMeshes() {
		tree := Build(m)
		points := somePoints(m, 40, 6)
		for i, a := range points[3:] {
			b := points[3+(i*7+1)%(len(points)-3)]
			if b.Less(a) {
				a, b = b, a
			}
			length := a.Dist(b)
			end := 0x1p-44 * (tree.reach + largest(a) + length)
			want := false
			for _, h := range allByLoop(m, a, b.Sub(a).Unit(), length) {
				want = want || (h.Dist > end && h.Dist < length-end)
			}
			require.Equal(t, want, tree.Blocked(a, b), "%s, %v to %v", name, a, b)
			require.Equal(t, want, tree.Blocked(b, a), "%s, %v to %v", name, b, a)
			if want {
				blocked++
			}
		}
	}
	assert.Greater(t, blocked, 100)
}

func TestBlockedSeesTheThinnestWallAndNotItsEnds(t *testing.T) {
	wall := Build(geomtest.Box(geom.Vec{}, geom.Vec{X: 0.001, Y: 50, Z: 50}))
	at := func(x float64) geom.Vec { return geom.Vec{X: x, Y: 20, Z: 20} }
	assert.True(t, wall.Blocked(at(-1), at(1)))
	assert.True(t, wall.Blocked(at(-1e-6), at(0.001+1e-6)))
	assert.False(t, wall.Blocked(at(-1), at(0)), "ends on the wall")
	assert.False(t, wall.Blocked(at(0.001), at(3)), "starts on the wall")
	assert.False(t, wall.Blocked(at(0), at(0.001)), "from face to face")
	assert.False(t, wall.Blocked(at(-1), at(-2)))
	assert.False(t, wall.Blocked(at(0.0005), at(0.0005)), "no length")

	// Points of the surface as Nearest gives them see each other across a cavity.
	hole := Build(geomtest.Icosphere(10, 3).Reversed())
	r := rand.New(rand.NewPCG(2, 2))
	for range 500 {
		p, _ := hole.Nearest(geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}, 20)
		q, _ := hole.Nearest(geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}, 20)
		if p.Point.Dist(q.Point) > 1 {
			require.False(t, hole.Blocked(p.Point, q.Point), "%v to %v", p.Point, q.Point)
		}
	}
}

func TestRightOfOriginIsExact(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	ties := 0
	for range 50000 {
		lx, ly := r.NormFloat64(), -math.Abs(r.NormFloat64())
		k := -r.Float64() * 3
		ux, uy := lx*k, ly*k // nearly in line with the origin
		if uy <= 0 {
			continue
		}
		exact := new(big.Rat).Sub(
			new(big.Rat).Mul(new(big.Rat).SetFloat64(lx), new(big.Rat).SetFloat64(uy)),
			new(big.Rat).Mul(new(big.Rat).SetFloat64(ly), new(big.Rat).SetFloat64(ux)))
		require.Equal(t, exact.Sign() > 0, rightOfOrigin(lx, ly, ux, uy))
		if lx*uy == ly*ux {
			ties++
		}
	}
	assert.Greater(t, ties, 2500, "the fused step was hardly needed")
	assert.False(t, rightOfOrigin(0, -1, 0, 1), "through the origin is not right of it")
}
