package bvh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// sheet is a surface of n by m quadrilaterals, each cut in two, but for those left out.
func sheet(n, m int, at func(i, k int) geom.Vec, out func(i, k int) bool) *geom.Mesh {
	s := &geom.Mesh{}
	for i := range n + 1 {
		for k := range m + 1 {
			s.Vertices = append(s.Vertices, at(i, k))
		}
	}
	for i := range n {
		for k := range m {
			if out != nil && out(i, k) {
				continue
			}
			a := int32(i*(m+1) + k)
			b := a + int32(m) + 1
			s.Facets = append(s.Facets, [3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
		}
	}
	return s
}

// overlap tells whether two facets seen from the side share more than a line: no edge of
// either has the other on its right.
func overlap(m *geom.Mesh, s side, f, g int32) bool {
	for range 2 {
		for k := range int32(3) {
			a, b := s.seen(m.Vertices[start(m, 3*f+k)]), s.seen(m.Vertices[end(m, 3*f+k)])
			apart := true
			for j := range int32(3) {
				apart = apart && a.turn(b, s.seen(m.Vertices[start(m, 3*g+j)])) <= 0
			}
			if apart {
				return false
			}
		}
		f, g = g, f
	}
	return true
}

// Of a crumpled sheet with holes, in whole numbers, so that no rounding enters: no two
// facets of one terrain lie over each other, and what is refused does so, or touches
// itself.
func TestTerrainsCoverOnce(t *testing.T) {
	taken, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n, wild := rapid.IntRange(3, 9).Draw(t, "n"), rapid.IntRange(0, 7).Draw(t, "wild")
		jitter := rapid.IntRange(-wild, wild)
		m := sheet(n, n, func(i, k int) geom.Vec {
			return geom.Vec{X: float64(8*i + jitter.Draw(t, "x")), Y: float64(8*k + jitter.Draw(t, "y")), Z: float64(jitter.Draw(t, "z")) / 8}
		}, func(_, _ int) bool { return rapid.IntRange(0, 9).Draw(t, "hole") == 0 })
		mates := m.Mates()
		sides, _ := survey(m)
		got := terrains(m, mates, sides)
		piece, sizes := connected(m, mates, sides)
		twice := make([]bool, len(sizes))
		for f := range piece {
			for g := range f {
				if p := piece[f]; p >= 0 && p == piece[g] && overlap(m, sides[f], int32(f), int32(g)) {
					twice[p] = true
				}
			}
		}
		for f, p := range piece {
			if got[f] == noTerrain {
				continue
			}
			if got[f] != p || twice[p] {
				t.Fatalf("facet %d is of terrain %d, piece %d", f, got[f], p)
			}
		}
		seen := make([]bool, len(sizes))
		for f, p := range piece {
			if p < 0 || seen[p] || sizes[p] < leastTerrain {
				continue
			}
			seen[p] = true
			if got[f] == noTerrain {
				refused++
				if wild < 2 { // no facet is turned over, none touches another
					t.Fatalf("a sheet that lies flat is refused")
				}
			} else {
				taken++
			}
		}
	})
	if !testing.Short() { // which draws a fifth as many
		assert.Greater(t, taken, 20, "of some 58") // 100 draws took 48 to 66 and refused 20 to 39
		assert.Greater(t, refused, 5)
	}
}

// A ramp that winds around once and a half nearly, its facets all facing up, and passes through
// itself where it comes round again.
func TestTerrainsOfRamp(t *testing.T) {
	ramp := func(turns float64) *geom.Mesh {
		return sheet(40, 2, func(i, k int) geom.Vec {
			a, r := -float64(i)/40*turns*2*math.Pi, 10+float64(k)
			return geom.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: 0.9*math.Sin(float64(i)/40*4*math.Pi) + float64(i*i)/3e3} // no two edges meet by symmetry
		}, nil)
	}
	for _, c := range []struct {
		turns   float64
		terrain bool
	}{{0.9, true}, {1.47, false}} {
		m := ramp(c.turns)
		d := geom.Inspect(m)
		sides, _ := survey(m)
		for f, p := range terrains(m, d.Mates(), sides) {
			require.Equal(t, sides[0], sides[f], "all face one way")
			require.Equal(t, c.terrain, p != noTerrain)
		}
		within, _ := exactly(m, d.ShellOf)
		assert.Equal(t, c.terrain, within == 0)
		assert.Equal(t, within, FindCrossings(m, d, least).Within.Count)
	}
}

// Six of them make up a ball, whatever the order of facets.
func TestTerrainsOfBall(t *testing.T) {
	m := geomtest.ShuffleFacets(geomtest.Transform(geomtest.Icosphere(10, 4), geomtest.RandomTurn(3)), 1)
	numbers := map[int32]int{}
	sides, _ := survey(m)
	for _, p := range terrains(m, m.Mates(), sides) {
		numbers[p]++
	}
	assert.Zero(t, numbers[noTerrain])
	assert.Len(t, numbers, 6)
}
