package geom_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// split cuts a facet at a point of its first edge, on its own side only.
func split(m *geom.Mesh, f int, share float64) *geom.Mesh {
	out := &geom.Mesh{Vertices: append([]geom.Vec(nil), m.Vertices...), Facets: append([][3]int32(nil), m.Facets...)}
	t := out.Facets[f]
	n := int32(len(out.Vertices))
	out.Vertices = append(out.Vertices, m.Vertices[t[0]].Lerp(m.Vertices[t[1]], share))
	out.Facets[f] = [3]int32{t[0], n, t[2]}
	out.Facets = append(out.Facets, [3]int32{n, t[1], t[2]})
	return out
}

// Where a corner lies on another facet's edge nothing is missing: the seam is
// joined, and the solid is the same.
func TestSeamsAreJoined(t *testing.T) {
	m := cube(0, 2)
	for f := range 12 {
		m = split(m, f, 0.3)
	}
	require.Equal(t, 36, geom.Inspect(m).Open.Count, "three edges a seam")
	for seed := range uint64(4) {
		r := geom.Mend(shuffled(m, seed))
		assert.Equal(t, map[string]int{"open-seam": 12}, repairKinds(r))
		assert.Empty(t, r.Cautions)
		assert.True(t, r.Defects.Closed())
		assert.Len(t, r.Defects.Shells, 1)
		assert.InDelta(t, 8, r.Mesh.Volume(), 1e-12)
		assert.Len(t, r.Holes, 12)
		assert.True(t, r.Holes[0].Seam())
	}
}

// A face cut finer than its neighbours has seams all around that meet at its
// corners.
func TestSeamsAroundAFace(t *testing.T) {
	m := cube(0, 2)
	fine := geomtest.Subdivide(&geom.Mesh{Vertices: m.Vertices, Facets: m.Facets[:2]}, 8)
	mixed := &geom.Mesh{Vertices: append([]geom.Vec(nil), m.Vertices...), Facets: append([][3]int32(nil), m.Facets[2:]...)}
	mixed.Append(fine)
	mixed = weld(mixed)
	require.False(t, geom.Inspect(mixed).Closed())
	r := geom.Mend(mixed)
	assert.Equal(t, map[string]int{"open-seam": 4}, repairKinds(r))
	assert.True(t, r.Defects.Closed())
	assert.InDelta(t, 8, r.Mesh.Volume(), 1e-12)
	assert.Empty(t, r.Cautions)
}

// Holes are told one by one, the widest first, and two that meet at a vertex stay
// two.
func TestHolesOneByOne(t *testing.T) {
	ball := geomtest.Icosphere(10, 3) // 1280 facets
	volume := ball.Volume()
	at := map[int32][]int{}
	for f, c := range ball.Facets {
		for _, v := range c {
			at[v] = append(at[v], f)
		}
	}
	fan := at[ball.Facets[700][0]] // six facets around a vertex: the first and one two further on
	var apart int
	for _, f := range fan[1:] {
		shared := 0
		for _, v := range ball.Facets[f] {
			for _, u := range ball.Facets[fan[0]] {
				if u == v {
					shared++
				}
			}
		}
		if shared == 1 {
			apart = f
		}
	}
	wide := at[ball.Facets[0][0]] // a vertex of the icosahedron: all five facets around it
	require.Len(t, wide, 5)
	holed := without(ball, append([]int{fan[0], apart}, wide...)...)
	r := geom.Mend(holed)
	assert.Equal(t, map[string]int{"closed-hole": 3}, repairKinds(r))
	assert.Empty(t, r.Cautions)
	require.Len(t, r.Holes, 3)
	assert.Equal(t, []int{5, 3, 3}, []int{r.Holes[0].Edges, r.Holes[1].Edges, r.Holes[2].Edges})
	assert.True(t, r.Defects.Closed())
	// What is lost is the cap of five facets: less than its area times its height.
	assert.InDelta(t, volume, r.Mesh.Volume(), r.Holes[0].Area*1.0/3*(10-ball.Vertices[ball.Facets[0][1]].Norm()+1.5))
	assert.Less(t, r.Mesh.Volume(), volume)
	assert.Equal(t, r.Holes[0].Width, r.Repairs[0].Width)
	assert.Equal(t, r.Holes[0].At, r.Repairs[0].At)
}

// An open sheet is not closed by its own back, nor are loose facets.
func TestSheetsAreNotClosed(t *testing.T) {
	sheet := without(cube(0, 2), 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
	r := geom.Mend(sheet)
	assert.Empty(t, r.Repairs)
	assert.Len(t, r.Mesh.Facets, 2)
	loose := &geom.Mesh{}
	for f := range 12 {
		c := cube(0, 2).Triangle(f)
		n := int32(len(loose.Vertices))
		e := geom.Vec{X: 1e-2 * float64(f+1)}
		loose.Vertices = append(loose.Vertices, c.A.Add(e), c.B.Add(e), c.C.Add(e))
		loose.Facets = append(loose.Facets, [3]int32{n, n + 1, n + 2})
	}
	r = geom.Mend(loose)
	assert.Empty(t, r.Repairs)
	assert.Len(t, r.Mesh.Facets, 12)
	require.Len(t, r.Holes, 12)
	assert.False(t, r.Holes[0].Closed)
}

// leastPatch is the least area over all triangulations of a loop, tried one by one.
func leastPatch(p []geom.Vec) float64 {
	if len(p) < 3 {
		return 0
	}
	least := math.Inf(1)
	for j := 1; j < len(p)-1; j++ {
		a := geom.Triangle{A: p[0], B: p[j], C: p[len(p)-1]}.Area()
		least = min(least, a+leastPatch(p[:j+1])+leastPatch(p[j:]))
	}
	return least
}

// The patch over a ragged hole has the least area of all, and its edges are the
// hole's.
func TestPatchIsTheFlattest(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	for range 200 {
		// A funnel: a rim of n corners at random, joined to a far point by n facets.
		// Its shell is far larger than the hole.
		n := 3 + r.IntN(6)
		m := &geom.Mesh{Vertices: []geom.Vec{{Z: -100}}}
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			k := 1 + r.Float64()
			m.Vertices = append(m.Vertices, geom.Vec{X: k * c, Y: k * s, Z: r.Float64()})
		}
		for i := range n {
			m.Facets = append(m.Facets, [3]int32{0, int32(1 + (i+1)%n), int32(1 + i)})
		}
		got := geom.Mend(m)
		require.Len(t, got.Holes, 1)
		require.True(t, got.Holes[0].Closed)
		require.True(t, got.Defects.Closed())
		require.Positive(t, got.Mesh.Volume())
		assert.InDelta(t, leastPatch(m.Vertices[1:]), got.Holes[0].Area, 1e-9)
	}
}

// A flat hole of any outline is closed as it was: the patch has the outline's area.
func TestConcaveHole(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	star := make([]geomtest.Point, 40)
	for i := range star {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 40)
		k := 1 + 3*r.Float64()
		star[i] = geomtest.Point{X: k * c, Y: k * s}
	}
	m := geomtest.Prism(0, geomtest.Layer{Height: 100, Loops: [][]geomtest.Point{star}})
	volume := m.Volume()
	var lid []int
	for f := range m.Facets {
		if c := m.Triangle(f); c.A.Z == 100 && c.B.Z == 100 && c.C.Z == 100 {
			lid = append(lid, f)
		}
	}
	require.NotEmpty(t, lid)
	got := geom.Mend(without(m, lid...))
	require.Len(t, got.Holes, 1)
	assert.Equal(t, 40, got.Holes[0].Edges)
	assert.InDelta(t, geomtest.PolygonArea(star), got.Holes[0].Area, 1e-9)
	assert.InDelta(t, volume, got.Mesh.Volume(), 1e-9*volume)
}

// Corners of open edges that a program computed in two ways are one.
func TestNearCornersAreStitched(t *testing.T) {
	m := cube(0, 2)
	own := func(f int, off float64) { // gives a facet corners of its own
		for k, v := range m.Facets[f] {
			m.Vertices = append(m.Vertices, m.Vertices[v].Add(geom.Vec{X: off, Y: -off, Z: off / 2}))
			m.Facets[f][k] = int32(len(m.Vertices) - 1)
		}
	}
	own(3, 2e-4)
	own(8, -3e-4)
	for seed := range uint64(3) {
		r := geom.Mend(shuffled(m, seed))
		assert.Equal(t, map[string]int{"stitched-corner": 6}, repairKinds(r))
		assert.Empty(t, r.Cautions)
		assert.True(t, r.Defects.Closed())
		assert.InDelta(t, 8, r.Mesh.Volume(), 0.004)
		assert.Len(t, r.Mesh.Facets, 12)
	}
	own(5, 0.002) // too far: left as it is
	assert.False(t, geom.Mend(m).Defects.Closed())
	// Corners of closed shells are not joined, however near.
	near := together(cube(0, 2), cube(0, 2).Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: 2.0005}) }))
	assert.Empty(t, geom.Mend(near).Repairs)
}

// A shell that lies on another and shares some of its facets needs them twice.
func TestDuplicatesThatCloseAShellStay(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 1))
		a := geomtest.Grid(geomtest.ManifoldBlocks(seed)...)
		b := geomtest.OtherDiagonal(a)
		mixed := &geom.Mesh{Vertices: a.Vertices, Facets: append([][3]int32(nil), a.Facets...)}
		for f := 0; f+1 < len(b.Facets); f += 2 { // quad by quad, some cut otherwise
			quad := [][3]int32{b.Facets[f], b.Facets[f+1]}
			if r.IntN(2) == 0 {
				quad = [][3]int32{a.Facets[f], a.Facets[f+1]}
			}
			mixed.Facets = append(mixed.Facets, quad...)
		}
		got := geom.Mend(shuffled(weld(mixed), seed))
		assert.True(t, got.Defects.Closed(), seed)
		assert.Zero(t, got.Defects.Open.Count)
		assert.InDelta(t, 2*a.Volume(), got.Mesh.Volume(), 1e-9*a.Volume(), "wound around twice")
		assert.Positive(t, cautionKinds(got)["coincident"])
	}
}
