package geom_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
)

func repairKinds(r *geom.Mended) map[string]int {
	out := map[string]int{}
	for _, p := range r.Repairs {
		out[p.Kind] += p.Count
	}
	return out
}

func cautionKinds(r *geom.Mended) map[string]int {
	out := map[string]int{}
	for _, c := range r.Cautions {
		out[c.Kind] += c.Count
	}
	return out
}

func TestMend(t *testing.T) {
	none := map[string]int{}
	repeat := cube(0, 2)
	repeat.Facets = append(repeat.Facets, repeat.Facets[1], [3]int32{4, 4, 5})
	everyOther := flipped(ball(6, 10), 0, 2, 4, 6, 8, 10, 12)
	doubled := together(cube(0, 2), cube(0, 2))
	for _, c := range []struct {
		name     string
		mesh     *geom.Mesh
		volume   float64
		repairs  map[string]int
		cautions map[string]int
	}{
		{"clean", cube(0, 2), 8, none, none},
		{"inside-out", cube(0, 2).Reversed(), 8, map[string]int{"inside-out": 1}, none},
		{"one face inside-out", flipped(cube(0, 2), 4, 5), 8, map[string]int{"turned-facet": 2}, none},
		{"most faces inside-out", flipped(cube(0, 2), 0, 1, 2, 3, 4, 5, 6, 7), 8,
			map[string]int{"turned-facet": 4, "inside-out": 1}, none},
		{"facets turned here and there", everyOther, ball(6, 10).Volume(), map[string]int{"turned-facet": 7}, none},
		{"repeated facet and corner", repeat, 8, map[string]int{"duplicate-facet": 1, "repeated-corner": 1}, none},
		{"every facet twice", weld(doubled), 8, map[string]int{"duplicate-facet": 12}, none},
		{"sealed void", together(cube(0, 10), cube(3, 2).Reversed()), 992, none, map[string]int{"sealed-void": 1}},
		{"sealed void, inside-out", together(cube(0, 10), cube(3, 2).Reversed()).Reversed(), 992,
			map[string]int{"inside-out": 2}, map[string]int{"sealed-void": 1}},
		{"every shell inward", together(cube(0, 10), cube(3, 2)).Reversed(), 1008,
			map[string]int{"inside-out": 2}, map[string]int{"nested-solid": 1}},
		{"solid in solid", together(cube(0, 10), cube(3, 2)), 1008, none, map[string]int{"nested-solid": 1}},
		{"solid in a void", together(cube(0, 10), cube(2, 6).Reversed(), cube(3, 2)), 792, none, map[string]int{"sealed-void": 1}},
		{"void in a void", together(cube(0, 10), cube(2, 6).Reversed(), cube(3, 2).Reversed()), 776, none,
			map[string]int{"sealed-void": 1, "stray-void": 1}},
		{"one of two lumps inside-out", together(cube(0, 3), cube(10, 2).Reversed()), 35, map[string]int{"inside-out": 1}, none},
		{"one facet missing", without(cube(0, 2), 3), 8, map[string]int{"closed-hole": 1}, none},
		{"one missing, and inward", without(cube(0, 2).Reversed(), 3), 8, map[string]int{"closed-hole": 1, "inside-out": 1}, none},
		{"one missing, one turned", flipped(without(cube(0, 2), 3), 9), 8, map[string]int{"closed-hole": 1, "turned-facet": 1}, none},
		{"open", without(cube(0, 2), 2, 3), math.NaN(), none, map[string]int{"open-edge": 4}},
		{"open and inward", without(cube(0, 2).Reversed(), 2, 3), math.NaN(), none,
			map[string]int{"open-edge": 4, "open-inward": 1}},
		{"open with a turned facet", flipped(without(cube(0, 2), 2, 3), 9), math.NaN(), map[string]int{"turned-facet": 1},
			map[string]int{"open-edge": 4}},
		{"sheet of two sides", together(without(cube(0, 2), 2, 3, 4, 5, 6, 7, 8, 9, 10, 11).Map(func(v geom.Vec) geom.Vec { return v })),
			math.NaN(), none, map[string]int{"open-edge": 4}},
		{"empty", &geom.Mesh{}, 0, none, map[string]int{"no-facets": 0}},
		{"nothing but repeated corners", &geom.Mesh{Vertices: []geom.Vec{{}, {X: 1}}, Facets: [][3]int32{{0, 0, 1}}}, 0,
			map[string]int{"repeated-corner": 1}, map[string]int{"no-facets": 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(3) {
				in := c.mesh
				if seed > 0 {
					in = shuffled(in, seed)
				}
				before := append([][3]int32(nil), in.Facets...)
				r := geom.Mend(in)
				if !math.IsNaN(c.volume) {
					assert.InDelta(t, c.volume, r.Mesh.Volume(), 1e-9*(1+c.volume))
				}
				assert.Equal(t, c.repairs, repairKinds(r))
				assert.Equal(t, c.cautions, cautionKinds(r))
				assert.Equal(t, before, append([][3]int32(nil), in.Facets...), "the mesh given was changed")
			}
		})
	}
}

func TestMendNamesPlaces(t *testing.T) {
	r := geom.Mend(together(cube(0, 10), cube(3, 2)))
	require.Len(t, r.Cautions, 1)
	assert.Equal(t, geom.Vec{X: 3, Y: 3, Z: 3}, r.Cautions[0].At)
	assert.Contains(t, r.Cautions[0].Text, "12 facets from (3.000, 3.000, 3.000) to (5.000, 5.000, 5.000) faces outward inside solid")
	assert.Contains(t, r.Cautions[0].Text, "turn its facets inward if it is meant as a void")

	r = geom.Mend(without(cube(0, 2), 0, 1))
	assert.Contains(t, r.Cautions[0].Text, "4 open edges (used by one facet only), the first at (0.000, 1.000, 0.000). "+
		"Not closed, for a flat patch would be a guess: 1 hole (4 edges, 2.83 mm wide, at (1.000, 1.000, 0.000))")
	r = geom.Mend(without(cube(0, 2), 0))
	assert.Equal(t, "1 hole closed flat: 3 edges, 2.83 mm wide, at (1.000, 1.000, 0.000)", r.Repairs[0].Text)

	r = geom.Mend(cube(0, 2).Reversed())
	assert.Equal(t, "the mesh was inside-out and has been turned", r.Repairs[0].Text)
}

func TestMendOneSidedSurface(t *testing.T) {
	// the projective plane on six vertices: closed, every edge used by two facets, no
	// consistent winding
	m := &geom.Mesh{Facets: [][3]int32{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}, {0, 4, 5}, {0, 5, 1},
		{1, 2, 4}, {2, 3, 5}, {3, 4, 1}, {4, 5, 2}, {5, 1, 3}}}
	for i := range 6 {
		x := float64(i)
		m.Vertices = append(m.Vertices, geom.Vec{X: x, Y: x * x, Z: x * x * x})
	}
	r := geom.Mend(m)
	assert.Empty(t, r.Repairs)
	assert.Positive(t, cautionKinds(r)["opposed-facet"])
	assert.Equal(t, 0, r.Defects.Open.Count)
	assert.Equal(t, 0, r.Defects.Crowded.Count)
}

func TestMendNamesOnlyAFewShells(t *testing.T) {
	m := cube(0, 100)
	for i := range 50 {
		x := float64(2*i) + 0.5
		m.Append(boxMesh(geom.Vec{X: x, Y: 1, Z: 1}, geom.Vec{X: x + 1, Y: 2, Z: 2}))
	}
	r := geom.Mend(m)
	assert.Len(t, r.Cautions, 5)
	assert.Equal(t, map[string]int{"nested-solid": 50}, cautionKinds(r))
	assert.Equal(t, "46 smaller shells likewise", r.Cautions[4].Text)
}

// TestMendUndoesDirt turns, repeats and degenerates facets of closed solids at
// random and asks for the same solid back.
func TestMendUndoesDirt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clean := together(ball(5, 10), prism(9, 3, 8).Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: 30}) }))
		want := clean.Volume()
		dirty := flipped(clean, rapid.SliceOfNDistinct(rapid.IntRange(0, len(clean.Facets)-1), 0, 8, rapid.ID[int]).Draw(t, "turn")...)
		for range rapid.IntRange(0, 5).Draw(t, "repeats") {
			f := rapid.IntRange(0, len(dirty.Facets)-1).Draw(t, "facet")
			tri := dirty.Facets[f]
			dirty.Facets = append(dirty.Facets, tri, [3]int32{tri[0], tri[1], tri[1]})
		}
		r := geom.Mend(shuffled(dirty, rapid.Uint64().Draw(t, "seed")))
		require.True(t, r.Defects.Closed())
		require.InDelta(t, want, r.Mesh.Volume(), 1e-9*want)
		require.Len(t, r.Defects.Shells, 2)
		require.Empty(t, r.Cautions)
	})
}
