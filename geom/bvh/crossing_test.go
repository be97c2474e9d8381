package bvh

import (
	"math/big"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// exactly counts the pairs of facets of which an edge of one pierces the inside of
// the other, in whole fractions: barycentric coordinates by Cramer's rule.
func exactly(m *geom.Mesh, shell []int32) (within, between int) {
	for f := range m.Facets {
		for g := range f {
			if !(piercedExactly(m.Triangle(f), m.Triangle(g)) || piercedExactly(m.Triangle(g), m.Triangle(f))) {
				continue
			}
			if shell[f] == shell[g] {
				within++
			} else {
				between++
			}
		}
	}
	return within, between
}

type ratVec [3]*big.Rat

func exact(v geom.Vec) ratVec {
	r := func(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }
	return ratVec{r(v.X), r(v.Y), r(v.Z)}
}

func (a ratVec) sub(b ratVec) (c ratVec) {
	for i := range c {
		c[i] = new(big.Rat).Sub(a[i], b[i])
	}
	return c
}

func det(a, b, c ratVec) *big.Rat {
	sum := new(big.Rat)
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		minor := new(big.Rat).Sub(new(big.Rat).Mul(b[j], c[k]), new(big.Rat).Mul(b[k], c[j]))
		sum.Add(sum, minor.Mul(minor, a[i]))
	}
	return sum
}

// piercedExactly asks of each edge p-q of a: p + s(q-p) = A + u(B-A) + v(C-A) with
// 0 < s < 1, u > 0, v > 0, u + v < 1?
func piercedExactly(a, b geom.Triangle) bool {
	A := exact(b.A)
	if x, y := a.Box(), b.Box(); x.Union(y).Size().Min(x.Size().Add(y.Size())) != x.Union(y).Size() {
		return false // apart, and fractions are slow
	}
	ab, ac := exact(b.B).sub(A), exact(b.C).sub(A)
	one := big.NewRat(1, 1)
	for _, e := range [3][2]geom.Vec{{a.A, a.B}, {a.B, a.C}, {a.C, a.A}} {
		back, ap := exact(e[0]).sub(exact(e[1])), exact(e[0]).sub(A)
		d := det(ab, ac, back)
		if d.Sign() == 0 {
			continue
		}
		u := new(big.Rat).Quo(det(ap, ac, back), d)
		v := new(big.Rat).Quo(det(ab, ap, back), d)
		s := new(big.Rat).Quo(det(ab, ac, ap), d)
		if s.Sign() > 0 && s.Cmp(one) < 0 && u.Sign() > 0 && v.Sign() > 0 && new(big.Rat).Add(u, v).Cmp(one) < 0 {
			return true
		}
	}
	return false
}

// least is far above what rounding moves a place by, and far below any depth here.
const least = 1e-9

func TestCrossingsMatchExactCount(t *testing.T) {
	turn := geomtest.RandomTurn(5)
	turn.T = geom.Vec{X: 0.3, Y: 0.2, Z: 0.1}
	box := geomtest.Transform(geomtest.Subdivide(geomtest.Box(geom.Vec{X: -3, Y: -3, Z: -3}, geom.Vec{X: 4, Y: 5, Z: 6}), 1), turn)
	ball := geomtest.Icosphere(5, 1)
	folded := ball.Map(func(v geom.Vec) geom.Vec { // a cap pushed through the far side
		if v.Z > 3.1 {
			v = v.Add(geom.Vec{X: 0.137, Y: 0.171, Z: -9.3}) // off the mirror image
		}
		return v
	})
	soup := looseMeshes()["soup"]
	tiny := geomtest.Box(geom.Vec{X: 4, Y: 0.01, Z: 0.02}, geom.Vec{X: 6, Y: 0.7, Z: 0.9})
	for name, c := range map[string]struct {
		mesh            *geom.Mesh
		within, between bool
	}{
		"clean ball":          {ball, false, false},
		"clean bumps":         {geomtest.Bumpy(10, 0.2, 16, 8), false, false},
		"box through ball":    {geomtest.Join(ball, box), false, true},
		"three bodies":        {geomtest.Join(ball, box, tiny), false, true},
		"folded":              {folded, true, false},
		"folded, box":         {geomtest.Join(folded, box), true, true},
		"boxes that touch":    {geomtest.Join(geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 1, Z: 1}), geomtest.Box(geom.Vec{X: 1}, geom.Vec{X: 2, Y: 1, Z: 1})), false, false},
		"box in a socket":     {geomtest.Join(geomtest.Grid(geomtest.Add(geom.Vec{}, geom.Vec{X: 9, Y: 9, Z: 9}), geomtest.Cut(geom.Vec{X: 3, Y: 3, Z: 3}, geom.Vec{X: 6, Y: 6, Z: 9})), geomtest.Box(geom.Vec{X: 3, Y: 3, Z: 3}, geom.Vec{X: 6, Y: 6, Z: 9})), false, false},
		"the same body twice": {geomtest.Join(ball, ball), false, false},
		"nested":              {geomtest.Join(ball, geomtest.Icosphere(2, 1)), false, false},
		"no facets":           {&geom.Mesh{}, false, false},
		"one facet":           {&geom.Mesh{Vertices: tiny.Vertices, Facets: tiny.Facets[:1]}, false, false},
		"loose facets":        {&geom.Mesh{Vertices: soup.Vertices[:300], Facets: soup.Facets[:100]}, false, true},
	} {
		t.Run(name, func(t *testing.T) {
			d := geom.Inspect(c.mesh)
			got := FindCrossings(c.mesh, d, least)
			assert.False(t, got.Partial)
			within, between := exactly(c.mesh, d.ShellOf)
			assert.Equal(t, []int{within, between}, []int{got.Within.Count, got.Between.Count})
			assert.Equal(t, []bool{c.within, c.between}, []bool{within > 0, between > 0}, "the case shows what it is for")
			if within > 0 { // on the surface of both
				p := got.Within.At[0]
				hit, _ := Build(c.mesh).Nearest(p, 1)
				assert.Less(t, hit.Dist, 1e-9)
			}
			for seed := range uint64(3) {
				s := geomtest.ShuffleFacets(c.mesh, seed)
				assert.Equal(t, got, FindCrossings(s, geom.Inspect(s), least), "facet order does not matter")
			}
		})
	}
}

// What crosses by less than asked for is not told.
func TestCrossingsDeeper(t *testing.T) {
	a := geomtest.Box(geom.Vec{}, geom.Vec{X: 10, Y: 10, Z: 10})
	for _, c := range []struct {
		deep float64
		want bool
	}{{0.0005, false}, {0.002, true}} {
		b := geomtest.Box(geom.Vec{X: 3.1, Y: 2.3, Z: 10 - c.deep}, geom.Vec{X: 5.2, Y: 4.7, Z: 20})
		m := geomtest.Join(a, b)
		got := FindCrossings(m, geom.Inspect(m), 0.001)
		assert.Equal(t, c.want, got.Between.Count > 0, "%+v", c)
		if c.want {
			assert.InDelta(t, 10, got.Between.At[0].Z, 1e-12)
		}
	}
}

// Needles that all cross each other: the search ends at its budget and says so, and
// what it found until then does not depend on the processors.
func TestCrossingsAreBounded(t *testing.T) {
	m := &geom.Mesh{}
	for i := range 2000 {
		x := float64(i) * 0.01
		n := int32(len(m.Vertices))
		m.Vertices = append(m.Vertices, geom.Vec{X: x, Y: 0, Z: -1}, geom.Vec{X: 20 - x, Y: 20, Z: -1.1}, geom.Vec{X: 10, Y: 10 + x, Z: 30 + x})
		m.Facets = append(m.Facets, [3]int32{n, n + 1, n + 2})
	}
	d := geom.Inspect(m)
	all := FindCrossings(m, d, least)
	require.False(t, all.Partial)
	require.Greater(t, all.Between.Count, 100_000)
	sides, boxes := survey(m)
	terrain := terrains(m, d.Mates(), sides)
	facets := contested(terrain, boxes)
	require.Len(t, facets, 2000)
	some := findCrossings(m, d, terrain, facets, 0, 50_000)
	assert.True(t, some.Partial)
	assert.Positive(t, some.Between.Count)
	assert.Less(t, some.Between.Count, 50_000+manyPieces*blockFacets*blockFacets)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	assert.Equal(t, some, findCrossings(m, d, terrain, facets, 0, 50_000))
}

func BenchmarkCrossings(b *testing.B) {
	m := geomtest.Bumpy(40, 0.05, 1000, 501) // 1 M facets
	d := geom.Inspect(m)
	for b.Loop() {
		require.False(b, FindCrossings(m, d, 0.001).Partial)
	}
}
