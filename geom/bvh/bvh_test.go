package bvh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"pourproof/geom"
	"pourproof/geom/geomtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// closedMeshes are solids that queries must get right, upright and turned.
func closedMeshes() map[string]*geom.Mesh {
	m := map[string]*geom.Mesh{
		"box":        geomtest.Box(geom.Vec{X: -1, Y: -2, Z: -3}, geom.Vec{X: 4, Y: 5, Z: 6}),
		"cube":       geomtest.Subdivide(geomtest.Box(geom.Vec{}, geom.Vec{X: 8, Y: 8, Z: 8}), 3),
		"icosphere":  geomtest.Icosphere(7, 3),
		"torus":      geomtest.Torus(9, 3, 40, 17),
		"bumpy":      geomtest.Bumpy(10, 0.3, 50, 31),
		"needles":    geomtest.Cylinder(5, 1000, 300),
		"two shells": geomtest.Join(geomtest.Icosphere(5, 2), geomtest.Icosphere(3, 2).Reversed()),
	}
	for seed := range uint64(6) {
		b := geomtest.Grid(geomtest.Blocks(seed)...)
		m[fmt.Sprint("blocks ", seed)] = b
		m[fmt.Sprint("turned blocks ", seed)] = geomtest.Transform(b, geomtest.RandomTurn(seed))
	}
	return m
}

// looseMeshes are the ones nobody should draw.
func looseMeshes() map[string]*geom.Mesh {
	r := rand.New(rand.NewPCG(5, 5))
	spread := func() geom.Vec { return geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()} }
	m := map[string]*geom.Mesh{"no facet": {}}
	single := &geom.Mesh{Vertices: []geom.Vec{{}, {X: 1}, {Y: 1}}, Facets: [][3]int32{{0, 1, 2}}}
	m["one facet"] = single
	twice := geomtest.Box(geom.Vec{}, geom.Vec{X: 1, Y: 1, Z: 1})
	for range 3 {
		twice = geomtest.Join(twice, twice)
	}
	m["eight times the same"] = twice
	soup, slivers := &geom.Mesh{}, &geom.Mesh{}
	for i := range int32(300) {
		c := spread().Scale(5)
		soup.Vertices = append(soup.Vertices, c, c.Add(spread()), c.Add(spread()))
		d := spread()
		slivers.Vertices = append(slivers.Vertices, c, c.Add(d), c.AddScaled(d, r.Float64()).AddScaled(spread(), math.Pow(10, -15*r.Float64())))
		soup.Facets = append(soup.Facets, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	slivers.Facets = soup.Facets
	m["soup"], m["slivers"] = soup, slivers
	points := &geom.Mesh{Vertices: []geom.Vec{{X: 1}, {Y: 2}, {Z: 3}}}
	for range 30 {
		points.Facets = append(points.Facets, [3]int32{0, 0, 0}, [3]int32{1, 1, 2}, [3]int32{0, 1, 0})
	}
	m["points and segments"] = points
	// Each facet half the size and half as far: every plane cuts off a few.
	deep := &geom.Mesh{}
	for i := range int32(900) {
		s := math.Ldexp(1, -int(i))
		deep.Vertices = append(deep.Vertices, geom.Vec{X: s}, geom.Vec{X: 1.5 * s}, geom.Vec{X: s, Y: s / 4})
		deep.Facets = append(deep.Facets, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	m["halving"] = deep
	return m
}

func allMeshes() map[string]*geom.Mesh {
	m := closedMeshes()
	for name, l := range looseMeshes() {
		m[name] = l
	}
	return m
}

// somePoints are places in and around the mesh, corners and middles among them.
func somePoints(m *geom.Mesh, n int, seed uint64) []geom.Vec {
	r := rand.New(rand.NewPCG(seed, 9))
	b := m.Box()
	if b.Empty() {
		b = geom.Box{}
	}
	b = b.Grow(0.3*b.Diagonal() + 0.1)
	size := b.Size()
	points := []geom.Vec{{}, b.Center(), {X: 1e9, Y: -1e9, Z: 3}}
	for range n {
		p := geom.Vec{X: b.Min.X + r.Float64()*size.X, Y: b.Min.Y + r.Float64()*size.Y, Z: b.Min.Z + r.Float64()*size.Z}
		points = append(points, p, geom.Vec{X: math.Round(p.X), Y: math.Round(p.Y), Z: math.Round(p.Z)})
		if len(m.Facets) > 0 {
			t := m.Triangle(r.IntN(len(m.Facets)))
			points = append(points, t.A, t.A.Lerp(t.B, 0.5), t.Centroid(), t.Centroid().AddScaled(t.Normal(), 0.01))
		}
	}
	return points
}

func TestAudit(t *testing.T) {
	for name, m := range allMeshes() {
		require.NoError(t, Build(m).Audit(), name)
	}
	sphere := geomtest.Icosphere(10, 4)
	breaks := map[string]func(*Tree){
		"is in no leaf":            func(t *Tree) { cutLeaf(t) },
		"is in two leaves":         func(t *Tree) { repeatInLeaf(t) },
		"leaf of 11 facets":        func(t *Tree) { t.nodes[0].kids[0] = child{0, maxLeaf + 1} },
		"was copied wrongly":       func(t *Tree) { t.corner[7][2]++ },
		"sticks out of its leaf":   func(t *Tree) { shrinkLeaf(t) },
		"sticks out of the node's": func(t *Tree) { t.nodes[0].box[0].x[1] = -20 },
		"is node":                  func(t *Tree) { t.nodes[0].kids[1].first = 0 },
	}
	for want, spoil := range breaks {
		tree := Build(sphere)
		spoil(tree)
		assert.ErrorContains(t, tree.Audit(), want)
	}
}

func cutLeaf(t *Tree) {
	for i := range t.nodes {
		for k := range t.nodes[i].kids {
			if t.nodes[i].kids[k].count > 0 {
				t.nodes[i].kids[k].count--
				return
			}
		}
	}
}

func repeatInLeaf(t *Tree) {
	for i := range t.nodes {
		for _, c := range t.nodes[i].kids {
			if c.count > 1 {
				t.facet[c.first], t.corner[c.first] = t.facet[c.first+1], t.corner[c.first+1]
				return
			}
		}
	}
}

func shrinkLeaf(t *Tree) {
	for i := range t.nodes {
		for k := range t.nodes[i].kids {
			if t.nodes[i].kids[k].count > 0 {
				t.nodes[i].box[k].y[1] = t.nodes[i].box[k].y[0]
				return
			}
		}
	}
}

func TestSameTreeOnAnyProcessor(t *testing.T) {
	m := geomtest.Bumpy(30, 0.2, 200, 100)
	require.Greater(t, len(m.Facets), 2*forkAbove)
	before := runtime.GOMAXPROCS(1)
	one := Build(m)
	runtime.GOMAXPROCS(4)
	four := Build(m)
	runtime.GOMAXPROCS(before)
	require.NoError(t, one.Audit())
	assert.Equal(t, one.nodes, four.nodes)
	assert.Equal(t, one.facet, four.facet)
	assert.Equal(t, one.corner, four.corner)
}

// Below sahDepth ranges are halved, which keeps the queries' stacks bounded.
func TestDepthIsBounded(t *testing.T) {
	m := geomtest.Bumpy(30, 0.2, 64, 33)
	require.Len(t, m.Facets, 1<<12)
	b := builder{lattice: latticeOf(m.Box(), 40), prims: make([]prim, len(m.Facets))}
	for f := range b.prims {
		b.prims[f] = prim{b.cells(m.Triangle(f).Box()), int32(f), 1}
	}
	var nodes []node
	mids := middles(b.prims)
	root := b.grow(&nodes, &mids, &mids, 0, len(b.prims), sahDepth)
	var depth func(c child) int
	depth = func(c child) int {
		if c.count != inner {
			return 0
		}
		return 1 + max(depth(nodes[c.first].kids[0]), depth(nodes[c.first].kids[1]))
	}
	assert.Equal(t, 9, depth(root), "2^12 facets in leaves of 8")
}

func TestQueriesDoNotAllocate(t *testing.T) {
	m := geomtest.Bumpy(10, 0.3, 50, 31)
	tree := Build(m)
	buf := make([]Hit, 0, 64)
	p, d := geom.Vec{X: 1, Y: 2, Z: 3}, geom.Vec{X: 0.36, Y: 0.48, Z: 0.8}
	seen := 0
	count := func(int32) { seen++ }
	odd := func(f int32) bool { return f%2 == 1 }
	assert.Zero(t, testing.AllocsPerRun(20, func() {
		tree.Nearest(p, math.Inf(1))
		tree.Within(p, 20)
		tree.NearestWhere(p, 20, odd)
		tree.First(p, d, 100)
		buf = tree.All(p, d, 100, buf)
		tree.Blocked(p, d)
		tree.Overlapping(geom.Box{Min: p, Max: p.Scale(4)}, count)
	}))
	assert.NotEmpty(t, buf)
	assert.Positive(t, seen)
}

func TestNoMeaningNoCrash(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	m := geomtest.Icosphere(3, 1)
	m.Vertices[3] = geom.Vec{X: nan, Y: inf, Z: -inf}
	m.Vertices[5].X = 1e300
	m.Vertices[9].Y = -math.MaxFloat64
	for _, m := range []*geom.Mesh{m, geomtest.Icosphere(3, 1), {}} {
		tree := Build(m)
		values := []float64{0, 1, -1, nan, inf, -inf, 1e300, 1e-320}
		r := rand.New(rand.NewPCG(1, 1))
		pick := func() float64 { return values[r.IntN(len(values))] }
		vec := func() geom.Vec { return geom.Vec{X: pick(), Y: pick(), Z: pick()} }
		for range 3000 {
			tree.Nearest(vec(), pick())
			tree.First(vec(), vec(), pick())
			tree.All(vec(), vec(), pick(), nil)
			tree.Blocked(vec(), vec())
			tree.Overlapping(geom.Box{Min: vec(), Max: vec()}, func(int32) {})
		}
	}
	tree := Build(geomtest.Icosphere(3, 1))
	_, ok := tree.Nearest(geom.Vec{X: nan}, inf)
	assert.False(t, ok)
	_, ok = tree.Nearest(geom.Vec{}, nan)
	assert.False(t, ok)
	_, ok = tree.First(geom.Vec{}, geom.Vec{}, inf)
	assert.False(t, ok, "a ray without direction")
}

// overlap_test

func TestOverlappingMatchesLoop(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for name, m := range allMeshes() {
		tree := Build(m)
		for i, p := range somePoints(m, 8, 4) {
			box := geom.Box{Min: p, Max: p}
			if i%3 > 0 {
				box = box.Grow(r.Float64() * 3)
			}
			want := []int32{}
			for f := range m.Facets {
				if m.Triangle(f).Box().Touches(box) {
					want = append(want, int32(f))
				}
			}
			got := []int32{}
			tree.Overlapping(box, func(f int32) { got = append(got, f) })
			require.ElementsMatch(t, want, got, "%s, box %v", name, box)
		}
		tree.Overlapping(geom.EmptyBox(), func(int32) { require.Fail(t, "an empty box touches nothing") })
	}
}

// The nearest float32 on either side, at zero, at the ends and in between.
func TestRoundOutward(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 1e-60, -1e-60, 1e300, -1e300, 0.1, -0.1, math.MaxFloat32, 1 << 24, 1<<24 + 1})).Draw(t, "x")
		f := float32(x)
		down, up := f, f
		if float64(f) > x {
			down = math.Nextafter32(f, float32(math.Inf(-1)))
		}
		if float64(f) < x {
			up = math.Nextafter32(f, float32(math.Inf(1)))
		}
		if roundDown(x) != down || roundUp(x) != up {
			t.Fatalf("%v: %v %v, not %v %v", x, roundDown(x), roundUp(x), down, up)
		}
	})
}
