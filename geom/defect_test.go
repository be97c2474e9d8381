package geom_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
)

// slowMates is the twin of Mates: every half-edge against every other.
func slowMates(m *geom.Mesh) []int32 {
	type edge struct{ a, b int32 }
	var edges []edge
	for _, t := range m.Facets {
		for k := range t {
			a, b := t[k], t[(k+1)%3]
			edges = append(edges, edge{min(a, b), max(a, b)})
		}
	}
	out := make([]int32, len(edges))
	for h, e := range edges {
		out[h] = geom.Open
		for g, o := range edges {
			if g == h || e != o || e.a == e.b {
				continue
			}
			if out[h] == geom.Open {
				out[h] = int32(g)
			} else {
				out[h] = geom.Crowded
			}
		}
	}
	return out
}

func TestMatesEqualTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "vertices")
		vertex := rapid.Int32Range(0, int32(n-1))
		m := &geom.Mesh{Vertices: make([]geom.Vec, n)}
		for range rapid.IntRange(0, 40).Draw(t, "facets") {
			m.Facets = append(m.Facets, [3]int32{vertex.Draw(t, "a"), vertex.Draw(t, "b"), vertex.Draw(t, "c")})
		}
		require.Equal(t, slowMates(m), append(make([]int32, 0), m.Mates()...))
	})
}

func TestMatesOfLargeFan(t *testing.T) {
	m := prism(200, 10, 5) // two hubs of 200 facets, sorted by another way than small buckets
	mates := m.Mates()
	assert.Equal(t, slowMates(m), mates)
}

func TestInspectClean(t *testing.T) {
	m := prism(30, 10, 7)
	d := geom.Inspect(m)
	assert.True(t, d.Closed())
	require.Len(t, d.Shells, 1)
	s := d.Shells[0]
	assert.Equal(t, 120, s.Facets)
	assert.True(t, s.Even)
	assert.False(t, s.Flat())
	assert.False(t, s.Inward())
	assert.InDelta(t, 30.0/2*100*math.Sin(2*math.Pi/30)*7, s.Volume, 1e-9) // N/2 r^2 sin(2 pi/N) h
	assert.InDelta(t, m.Area(), s.Area, 1e-9)
	assert.InDelta(t, s.Volume, d.SolidVolume(), 1e-12)
	assert.Equal(t, m.Box(), s.Box)
	for _, p := range []geom.Places{d.Open, d.Crowded, d.Opposed, d.Duplicate, d.Repeated, d.Degenerate, d.Unused} {
		assert.Zero(t, p.Count)
	}
}

func TestInspectOpen(t *testing.T) {
	d := geom.Inspect(without(cube(0, 2), 0))
	assert.False(t, d.Closed())
	assert.Equal(t, 3, d.Open.Count)
	// facet 0 of the cube is (0,0,0), (0,2,0), (2,2,0)
	assert.Equal(t, []geom.Vec{{X: 0, Y: 1, Z: 0}, {X: 1, Y: 1, Z: 0}, {X: 1, Y: 2, Z: 0}}, d.Open.At)
	require.Len(t, d.Shells, 1)
	assert.False(t, d.Shells[0].Closed)
}

func TestInspectEmpty(t *testing.T) {
	d := geom.Inspect(&geom.Mesh{})
	assert.Empty(t, d.Shells)
	assert.False(t, d.Closed())
}

func TestInspectKeepsEightPlacesInOrder(t *testing.T) {
	m := ball(8, 5)
	var drop []int
	for f := 0; f < len(m.Facets); f += 3 {
		drop = append(drop, f)
	}
	d := geom.Inspect(without(m, drop...))
	require.Greater(t, d.Open.Count, 8)
	require.Len(t, d.Open.At, 8)
	for i := 1; i < 8; i++ {
		assert.False(t, d.Open.At[i].Less(d.Open.At[i-1]))
	}
	e := geom.Inspect(shuffled(without(m, drop...), 5))
	assert.Equal(t, d.Open, e.Open)
}

func TestInspectFacetFaults(t *testing.T) {
	m := cube(0, 1)
	m.Facets = append(m.Facets,
		[3]int32{1, 2, 2}, // a vertex twice
		m.Facets[3],       // exact repeat
		[3]int32{m.Facets[5][2], m.Facets[5][0], m.Facets[5][1]}, // exact repeat, begun elsewhere
	)
	m.Vertices = append(m.Vertices, geom.Vec{X: 9})
	d := geom.Inspect(m)
	assert.Equal(t, 1, d.Repeated.Count)
	assert.Equal(t, 2, d.Duplicate.Count)
	assert.Equal(t, geom.Places{Count: 1, At: []geom.Vec{{X: 9}}}, d.Unused)
	assert.Equal(t, 6, d.Crowded.Count, "three edges of each repeated facet, none shared, and no edge of the degenerate one")
}

func TestInspectOppositePairIsNoDuplicate(t *testing.T) {
	m := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 1}, {Y: 1}}, Facets: [][3]int32{{0, 1, 2}, {2, 1, 0}}}
	d := geom.Inspect(m)
	assert.Zero(t, d.Duplicate.Count)
	require.Len(t, d.Shells, 1)
	assert.True(t, d.Shells[0].Closed)
	assert.True(t, d.Shells[0].Flat())
}

func TestInspectZeroArea(t *testing.T) {
	// a cube whose edge is split on one side only and closed by a facet without area
	m := cube(0, 2)
	m.Vertices = append(m.Vertices, geom.Vec{X: 1})
	for f, tri := range m.Facets {
		if tri == [3]int32{0, 1, 5} {
			m.Facets[f] = [3]int32{0, 8, 5}
			m.Facets = append(m.Facets, [3]int32{8, 1, 5}, [3]int32{0, 1, 8})
		}
	}
	d := geom.Inspect(m)
	assert.True(t, d.Closed())
	assert.Equal(t, 1, d.Degenerate.Count)
	assert.Equal(t, geom.Vec{X: 1}, d.Degenerate.At[0])
	assert.InDelta(t, 8, d.Shells[0].Volume, 1e-12)

	// the bound is relative: a sliver that float32 can express is not degenerate
	sliver := geom.Triangle{B: geom.Vec{X: 100}, C: geom.Vec{X: 50, Y: 1e-6}}
	assert.False(t, sliver.Degenerate())
}

func TestShellsThatTouch(t *testing.T) {
	edge := weld(together(cube(0, 1), boxMesh(geom.Vec{X: 1, Y: 1}, geom.Vec{X: 2, Y: 2, Z: 1})))
	d := geom.Inspect(edge)
	assert.Equal(t, 1, d.Crowded.Count, "the shared edge")
	require.Len(t, d.Shells, 2)
	for _, s := range d.Shells {
		assert.True(t, s.Closed && s.Even)
		assert.InDelta(t, 1, s.Volume, 1e-12)
	}

	// a wing hung on an edge is a shell of its own and leaves the cube closed
	wing := cube(0, 1)
	wing.Vertices = append(wing.Vertices, geom.Vec{X: -1, Y: -1, Z: 0.5})
	wing.Facets = append(wing.Facets, [3]int32{0, 4, 8})
	d = geom.Inspect(wing)
	require.Len(t, d.Shells, 2)
	assert.True(t, d.Shells[0].Closed)
	assert.False(t, d.Shells[1].Closed)
	assert.Equal(t, 1, d.Crowded.Count)
	assert.Equal(t, 2, d.Open.Count)

	// three sheets that meet at one edge are one open shell
	sheets := &geom.Mesh{Vertices: []geom.Vec{{}, {Z: 1}, {X: 1}, {Y: 1}, {X: -1}},
		Facets: [][3]int32{{0, 1, 2}, {0, 1, 3}, {0, 1, 4}}}
	d = geom.Inspect(sheets)
	require.Len(t, d.Shells, 1)
	assert.False(t, d.Shells[0].Closed)
}

func TestNestedShells(t *testing.T) {
	// 20 mm cube, void 10 mm, solid 6 mm in the void, void 2 mm in that; a stray
	// cube beside, and one that overlaps the first
	m := together(cube(0, 20), cube(5, 10).Reversed(), cube(7, 6), cube(9, 2).Reversed(),
		cube(30, 5), boxMesh(geom.Vec{X: 18, Y: 1, Z: 1}, geom.Vec{X: 22, Y: 4, Z: 4}))
	for seed := range uint64(4) {
		d := geom.Inspect(shuffled(m, seed))
		require.False(t, d.NestingUnknown)
		require.Len(t, d.Shells, 6)
		parents, around := map[float64]int{}, map[float64]int{}
		for _, s := range d.Shells {
			v := math.Round(s.Volume)
			parents[v], around[v] = s.Parent, s.Around
		}
		assert.Equal(t, map[float64]int{8000: -1, -1000: 0, 216: 1, 125: -1, 36: -1, -8: 2}, parents)
		assert.Equal(t, map[float64]int{8000: 0, -1000: 1, 216: 0, 125: 0, 36: 0, -8: 1}, around)
		assert.InDelta(t, 8000-1000+216+125+36-8, d.SolidVolume(), 1e-6) // the last two overlap: counted twice
	}
}

// TestNestingEqualsSolidAngles compares with the winding number by solid angles
// (Van Oosterom & Strackee 1983) at the inner shell's vertices.
func TestNestingEqualsSolidAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		var parts []*geom.Mesh
		for range rapid.IntRange(2, 6).Draw(t, "shells") {
			b := ball(4, 0.5+6*r.Float64())
			at := geom.Vec{X: 8 * r.Float64(), Y: 8 * r.Float64(), Z: 8 * r.Float64()}
			b = b.Map(func(v geom.Vec) geom.Vec { return v.Add(at) })
			if r.IntN(2) == 0 {
				b = b.Reversed()
			}
			parts = append(parts, b)
		}
		d := geom.Inspect(together(parts...))
		require.Len(t, d.Shells, len(parts))
		for i, s := range d.Shells {
			want, parent := 0, -1
			for j, o := range d.Shells[:i] {
				inside, vertices := 0, shellMesh(parts, s).Vertices
				for _, v := range vertices {
					if math.Abs(solidAngle(shellMesh(parts, o), v)) > 6 {
						inside++
					}
				}
				if inside == len(vertices) {
					parent = j
					want += int(math.Copysign(1, o.Volume))
				} else if inside > 0 {
					t.Skip("shells that cross are neither inside nor outside")
				}
			}
			require.Equal(t, parent, s.Parent)
			require.Equal(t, want, s.Around)
		}
	})
}

func shellMesh(parts []*geom.Mesh, s geom.Shell) *geom.Mesh {
	for _, p := range parts {
		if p.Box() == s.Box {
			return p
		}
	}
	panic("no part has these bounds")
}

// solidAngle is the angle the mesh covers seen from p: 4 pi inside.
func solidAngle(m *geom.Mesh, p geom.Vec) float64 {
	sum := 0.0
	for f := range m.Facets {
		t := m.Triangle(f)
		a, b, c := t.A.Sub(p), t.B.Sub(p), t.C.Sub(p)
		la, lb, lc := a.Norm(), b.Norm(), c.Norm()
		sum += 2 * math.Atan2(a.Dot(b.Cross(c)), la*lb*lc+a.Dot(b)*lc+b.Dot(c)*la+c.Dot(a)*lb)
	}
	return sum
}

func TestInspectSameShuffled(t *testing.T) {
	m := together(prism(12, 10, 5), cube(30, 4).Reversed(), without(cube(50, 3), 4), flipped(cube(60, 1), 2))
	want := geom.Inspect(m)
	for seed := range uint64(10) {
		got := geom.Inspect(shuffled(m, seed))
		assert.Equal(t, want.Open, got.Open)
		assert.Equal(t, want.Opposed, got.Opposed)
		require.Len(t, got.Shells, len(want.Shells))
		for i, s := range got.Shells {
			w := want.Shells[i]
			assert.Equal(t, []any{w.Facets, w.Closed, w.Even, w.Box, w.At, w.Parent}, []any{s.Facets, s.Closed, s.Even, s.Box, s.At, s.Parent})
			assert.InDelta(t, w.Volume, s.Volume, 1e-9)
		}
	}
}

func TestSolidVolumeCountsSpaceOnce(t *testing.T) {
	for want, m := range map[float64]*geom.Mesh{
		1000: together(cube(0, 10), cube(3, 2), cube(6, 1)),
		992:  together(cube(0, 10), cube(3, 2).Reversed()),
		1001: together(cube(0, 10), cube(2, 5), cube(3, 2).Reversed(), cube(20, 1)), // void in doubly covered space
		0:    without(cube(0, 2), 3),
	} {
		assert.InDelta(t, want, geom.Inspect(m).SolidVolume(), 1e-9)
	}
}

// TestShellsThatShareFaces: what fills a hole, lies on a face or lies in the same
// place is told apart.
func TestShellsThatShareFaces(t *testing.T) {
	other := cube(0, 2) // the other diagonal on every face
	other.Facets = [][3]int32{{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
		{2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}}
	require.InDelta(t, 8, other.Volume(), 1e-12)
	for name, c := range map[string]struct {
		mesh   *geom.Mesh
		volume float64
	}{
		"the same twice, cut otherwise": {together(cube(0, 2), other), 8},
		"side by side":                  {together(cube(0, 2), boxMesh(geom.Vec{X: 2}, geom.Vec{X: 4, Y: 2, Z: 2})), 16},
		"on top":                        {together(cube(0, 2), boxMesh(geom.Vec{Z: 2}, geom.Vec{X: 2, Y: 2, Z: 3})), 12},
		"a core that fills a void":      {together(cube(-2, 6), cube(0, 2).Reversed(), other), 216},
		"from the floor of a box up":    {together(cube(0, 4), boxMesh(geom.Vec{X: 1, Y: 1}, geom.Vec{X: 2, Y: 2, Z: 3})), 64},
	} {
		for seed := range uint64(4) {
			d := geom.Inspect(shuffled(c.mesh, seed))
			assert.InDelta(t, c.volume, d.SolidVolume(), 1e-9, name)
		}
	}
}

// TestSameBitsShuffled: the order of the facets changes no figure.
func TestSameBitsShuffled(t *testing.T) {
	m := together(ball(9, 10), prism(7, 3, 20).Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: 0.1, Y: 37}) }))
	want := geom.Inspect(m)
	for seed := range uint64(10) {
		r := rand.New(rand.NewPCG(seed, 2))
		s := &geom.Mesh{Vertices: m.Vertices}
		for _, f := range r.Perm(len(m.Facets)) {
			s.Facets = append(s.Facets, m.Facets[f])
		}
		got := geom.Inspect(s)
		require.Equal(t, want.SolidVolume(), got.SolidVolume())
		for i := range want.Shells {
			require.Equal(t, want.Shells[i].Volume, got.Shells[i].Volume)
			require.Equal(t, want.Shells[i].Area, got.Shells[i].Area)
		}
	}
}

func TestNestingGivesUpInBoundedWork(t *testing.T) {
	// plates that all overlap in plan, so that every facet meets every sample
	m := &geom.Mesh{}
	for i := range 8000 {
		z := float64(i)
		m.Append(boxMesh(geom.Vec{Z: z}, geom.Vec{X: 1000 + z/100, Y: 1000, Z: z + 0.5}))
	}
	d := geom.Inspect(m)
	assert.True(t, d.NestingUnknown)
	require.Len(t, d.Shells, 8000)
	assert.Equal(t, -1, d.Shells[17].Parent)
}

func BenchmarkInspect(b *testing.B) {
	m := ball(500, 40)
	for _, c := range []struct {
		name string
		mesh *geom.Mesh
	}{{"ordered-1M", m}, {"shuffled-1M", shuffled(m, 1)}, {"dirty-1M", flipped(without(m, 7, 9, 11), 500, 501, 502)}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				geom.Inspect(c.mesh)
			}
		})
	}
}
