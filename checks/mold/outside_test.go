package mold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// TestOutsideIsAllItsBalls: a place lies outside where one of all balls whose centres the
// walk reaches holds it, every centre measured: places all over and around a mold with a
// gate, an open gap and a vent.
func TestOutsideIsAllItsBalls(t *testing.T) {
	m := storedSetup(t, "dome-vent3").close(t)
	o, f := m.fixed.outside, m.fixed
	exact := make([]float64, len(o.dist)) // below reach: a centre cannot be there
	for i := range o.n[0] {
		for j := range o.n[1] {
			for k := range o.n[2] {
				p, d := o.point(i, j, k), o.reach+o.slack()
				if h, ok := f.tree.Nearest(p, d); ok {
					d = h.Dist
				}
				if h, ok := f.partTree.Nearest(p, d); ok {
					d = h.Dist
				}
				exact[o.index(i, j, k)] = d
			}
		}
	}
	walked := map[int]bool{0: true}
	queue := [][3]int{{}}
	for len(queue) > 0 {
		c := queue[0]
		queue = queue[1:]
		for _, d := range [6][3]int{{1}, {-1}, {0, 1}, {0, -1}, {0, 0, 1}, {0, 0, -1}} {
			e := [3]int{c[0] + d[0], c[1] + d[1], c[2] + d[2]}
			if min(e[0], e[1], e[2]) < 0 || e[0] >= o.n[0] || e[1] >= o.n[1] || e[2] >= o.n[2] {
				continue
			}
			if x := o.index(e[0], e[1], e[2]); !walked[x] && exact[x] >= o.reach {
				walked[x] = true
				queue = append(queue, e)
			}
		}
	}
	for x := range o.dist {
		require.Equal(t, walked[x], o.dist[x].Load() >= reached, "%d", x)
	}
	rng := rand.New(rand.NewPCG(5, 6))
	around := f.box.Grow(3)
	size := around.Size()
	in := 0
	for range 2000 {
		p := around.Min.Add(geom.Vec{X: size.X * rng.Float64(), Y: size.Y * rng.Float64(), Z: size.Z * rng.Float64()})
		want := false
		for x := range walked {
			c := o.point(x/o.n[2]/o.n[1], x/o.n[2]%o.n[1], x%o.n[2])
			want = want || p.Dist(c) <= float64(float32(exact[x]))
		}
		if want {
			in++
		}
		require.Equal(t, want, o.holds(p), "%v", p)
	}
	assert.Greater(t, in, 100)
	assert.Less(t, in, 1900)
}

// No point is nearer than the bounds say, and beside the corner of a round block's box they
// say most of it.
func TestDiagonalsAreNoFartherThanPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Float64Range(-50, 50)
		place := func() geom.Vec { return xyz(coord.Draw(t, "x"), coord.Draw(t, "y"), coord.Draw(t, "z")) }
		var clouds [2][]geom.Vec
		for i := range clouds {
			for range rapid.IntRange(0, 9).Draw(t, "points") {
				clouds[i] = append(clouds[i], place())
			}
		}
		d, p := diagonalsOf(clouds[:]...), place()
		for _, q := range slices.Concat(clouds[:]...) {
			if p.Dist(q)*(1+1e-9) < d.beyond(p) {
				t.Fatalf("%v is %v mm away, not %v", q, p.Dist(q), d.beyond(p))
			}
		}
	})
	round := diagonalsOf(geomtest.Cylinder(40, 30, 64).Vertices)
	assert.InDelta(t, 40*(math.Sqrt2-1), round.beyond(xyz(40, 40, 15)), 1e-9)
	assert.Zero(t, round.beyond(xyz(10, 10, 15)))
}
