package geom

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// slowChords works out the angle at every edge, and sagittas facet by facet.
func slowChords(m *Mesh) []float64 {
	mates := m.Mates()
	faces, bends := newForest(len(m.Facets)), make([]float64, len(mates))
	for h, mate := range mates {
		if int32(h) > mate || m.from(int32(h)) == m.from(mate) {
			continue
		}
		f, g := int32(h/3), mate/3
		switch a := m.bendAngle(m.Triangle(int(f)).Normal(), m.Triangle(int(g)).Normal(), int32(h)); {
		case math.Abs(a) <= flatAngle:
			faces.join(f, g)
		case math.Abs(a) < smoothAngle:
			bends[h] = a
		}
	}
	type way struct {
		face   int32
		hollow bool
	}
	beside := map[way]map[int32]bool{} // faces that a face bends to
	note := func(w way, g int32) {
		if beside[w] == nil {
			beside[w] = map[int32]bool{}
		}
		beside[w][g] = true
	}
	for h, a := range bends {
		if a != 0 {
			f, g := faces.root(int32(h/3)), faces.root(mates[h]/3)
			note(way{f, a < 0}, g)
			note(way{g, a < 0}, f)
		}
	}
	out := make([]float64, len(m.Facets))
	for h, a := range bends {
		f, g := int32(h/3), mates[h]/3
		if a == 0 || len(beside[way{faces.root(f), a < 0}]) < 2 || len(beside[way{faces.root(g), a < 0}]) < 2 {
			continue
		}
		long := m.Vertices[m.from(int32(h))].Dist(m.Vertices[m.to(int32(h))])
		w := min(2*m.Triangle(int(f)).Area()/long, 2*m.Triangle(int(g)).Area()/long)
		e := math.Round(w/2*math.Tan(math.Abs(a)/4)*1e6) / 1e6
		out[f], out[g] = max(out[f], e), max(out[g], e)
	}
	return out
}

// On sheets that are flat, bent and broken by turns, some of whose edges bend by next to
// the angles that tell these apart, in long and in low facets.
func TestChordsLikeSlow(t *testing.T) {
	some, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(t, "n")
		turns := rapid.SampledFrom([]float64{0, 0, flatAngle / 2, flatAngle, -flatAngle, 0.01, -0.02, 0.3, smoothAngle, -smoothAngle, 0.7})
		off := rapid.SampledFrom([]float64{0, 1e-10, -1e-9, 1e-9, 1e-8, -1e-7, 1e-6})
		width := rapid.SampledFrom([]float64{1, 1, 3, 0.1, 1e-4})
		m, at, way := &Mesh{}, Vec{}, 0.0
		for range n {
			for k := range n {
				y := float64(k)
				if k%2 == 1 {
					y += 1e-3 * rapid.Float64Range(-1, 1).Draw(t, "y")
				}
				m.Vertices = append(m.Vertices, Vec{at.X, y, at.Z + rapid.SampledFrom([]float64{0, 0, 0, 1e-4, 0.02}).Draw(t, "lift")})
			}
			way += turns.Draw(t, "turn") + off.Draw(t, "off")
			s, c := math.Sincos(way)
			at = at.AddScaled(Vec{c, 0, s}, width.Draw(t, "width"))
		}
		for i := range n - 1 {
			for k := range n - 1 {
				a := int32(i*n + k)
				b := a + int32(n)
				m.Facets = append(m.Facets, [3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
			}
		}
		if rapid.Bool().Draw(t, "one turned") {
			m.Facets[0][0], m.Facets[0][1] = m.Facets[0][1], m.Facets[0][0]
		}
		want, got := slowChords(m), m.Chords()
		worst := 0.0
		for f, e := range want {
			if worst = max(worst, e); got.Of(int32(f)) != e {
				t.Fatalf("facet %d: %v, not %v", f, got.Of(int32(f)), e)
			}
		}
		if got.Largest != worst {
			t.Fatalf("%v, not %v", got.Largest, worst)
		}
		if worst > 0 {
			some++
		} else {
			none++
		}
	})
	assert.Greater(t, some, 10)
	assert.Greater(t, none, 5)
}

// Of most of a ball, where nearly every edge counts, its facets in any order.
func TestChordsOfBallLikeSlow(t *testing.T) {
	m := &Mesh{}
	for i := range 20 {
		for k := range 40 {
			s, c := math.Sincos(0.1 + 0.13*float64(i))
			t, d := math.Sincos(0.15 * float64(k))
			m.Vertices = append(m.Vertices, Vec{20 * s * d, 20 * s * t, 20 * c})
			if a := int32(i*40 + k); i < 19 && k < 39 {
				m.Facets = append(m.Facets, [3]int32{a, a + 40, a + 41}, [3]int32{a, a + 41, a + 1})
			}
		}
	}
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(m.Facets), func(i, k int) { m.Facets[i], m.Facets[k] = m.Facets[k], m.Facets[i] })
	want := slowChords(m)
	assert.Equal(t, want, m.Chords().All())
	assert.Equal(t, slices.Max(want), m.Chords().Largest)
	flat := 0
	for _, e := range want {
		if e == 0 {
			flat++
		}
	}
	assert.LessOrEqual(t, flat, 2, "those at corners of the sheet")
}
