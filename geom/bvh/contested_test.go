package bvh

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Whatever is held for terrains: of two facets whose boxes touch and that are not of one
// terrain, both are contested.
func TestContestedHoldsAllThatTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := geomtest.Bumpy(10, rapid.Float64Range(0, 2).Draw(t, "bump"), 20, rapid.IntRange(3, 17).Draw(t, "rings"))
		if rapid.Bool().Draw(t, "twice") {
			m = geomtest.Join(m, geomtest.Box(geom.Vec{X: -3, Y: -3, Z: -30}, geom.Vec{X: 3, Y: 3, Z: rapid.Float64Range(-20, 20).Draw(t, "top")}))
		}
		if rapid.Bool().Draw(t, "shuffled") {
			m = geomtest.ShuffleFacets(m, 1)
		}
		terrain, last := make([]int32, len(m.Facets)), int32(0)
		for f := range terrain {
			if rapid.IntRange(0, 60).Draw(t, "change") == 0 {
				last = rapid.Int32Range(noTerrain, 2).Draw(t, "terrain")
			}
			terrain[f] = last
		}
		_, boxes := survey(m)
		in := make([]bool, len(terrain))
		for _, f := range contested(terrain, boxes) {
			in[f] = true
		}
		for f := range terrain {
			for g := range f {
				if (terrain[f] != terrain[g] || terrain[f] == noTerrain) && m.Triangle(f).Box().Touches(m.Triangle(g).Box()) && !(in[f] && in[g]) {
					t.Fatalf("facets %d and %d may meet", f, g)
				}
			}
		}
	})
}

// Of a smooth surface few facets are contested, in the order in which it was made.
func TestContestedAreFew(t *testing.T) {
	m := geomtest.Bumpy(40, 0.05, 300, 151)
	sides, boxes := survey(m)
	some := contested(terrains(m, m.Mates(), sides), boxes)
	assert.NotEmpty(t, some)
	assert.Less(t, len(some), len(m.Facets)/3)
}
