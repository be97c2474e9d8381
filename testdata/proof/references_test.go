package proof

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/distance"
	"pourproof/geom/geomtest"
	"pourproof/testdata"
)

// references holds the kernels against general-purpose programs.
func references(t *testing.T, b *bench) {
	dir, names := everyMesh(t)
	readers(t, b, dir, names)
	sums(t, b, dir, names)
	if python() == "" {
		l := b.line("winding numbers, nearest distances, rays, convex hulls, distance transform, fit", "numpy and scipy", "", 0)
		needs(t, l, "python3 with scipy", false)
		return
	}
	places(t, b, dir)
	hulls(t, b, dir, names)
	plane(t, b)
	fits(t, b)
}

// everyMesh writes all stored case meshes and the example's into one folder.
func everyMesh(t *testing.T) (dir string, names []string) {
	t.Helper()
	dir = t.TempDir()
	put := func(name string, data []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o666))
		names = append(names, name)
	}
	cases, err := testdata.Cases()
	require.NoError(t, err)
	for _, name := range cases {
		c, err := testdata.Case(name)
		require.NoError(t, err)
		for _, f := range append([]testdata.File{c.Part}, c.Halves...) {
			put(name+"-"+f.Name, f.Data)
		}
	}
	demo, err := testdata.Demo()
	require.NoError(t, err)
	for _, f := range demo {
		if filepath.Ext(f.Name) == ".stl" {
			put("demo-"+f.Name, f.Data)
		}
	}
	return dir, names
}

// load reads a mesh as the intake does.
func load(t *testing.T, dir, name string) mold.Input {
	t.Helper()
	in, err := mold.LoadFile(os.DirFS(dir), name, "mm", "test")
	require.NoError(t, err, name)
	return in
}

var (
	admeshVolume = regexp.MustCompile(`Volume *: *([0-9.]+)`)
	admeshParts  = regexp.MustCompile(`Number of parts *: *([0-9]+)`)
)

// readers compares volume and shells of every stored mesh with admesh.
func readers(t *testing.T, b *bench, dir string, names []string) {
	v := b.line("volume of every stored mesh", "admesh", "%", 0.01)
	s := b.line("shells of every stored mesh", "admesh, number of parts", "", 0)
	_, err := exec.LookPath("admesh")
	if first, second := needs(t, v, "admesh", err == nil), needs(t, s, "admesh", err == nil); !first || !second {
		return
	}
	for _, name := range names {
		in := load(t, dir, name)
		out, err := exec.Command("admesh", filepath.Join(dir, name)).Output()
		require.NoError(t, err, name)
		number := func(r *regexp.Regexp) float64 {
			m := r.FindSubmatch(out)
			require.NotNil(t, m, "%s: %s", name, out)
			x, err := strconv.ParseFloat(string(m[1]), 64)
			require.NoError(t, err)
			return x
		}
		near(t, v, in.Volume, number(admeshVolume), "%s", name)
		near(t, s, float64(in.Shells), number(admeshParts), "%s", name)
	}
}

// sums compares volume, area and shells with numpy and scipy.
func sums(t *testing.T, b *bench, dir string, names []string) {
	v := b.line("volume of every stored mesh", "numpy, sum of tetrahedra", "%", 1e-4)
	a := b.line("area of every stored mesh", "numpy, sum of cross products", "%", 1e-4)
	s := b.line("shells of every stored mesh", "scipy.sparse.csgraph, connected components", "", 0)
	found := python() != ""
	for _, l := range []*Line{v, a, s} {
		needs(t, l, "python3 with scipy", found)
	}
	if !found {
		return
	}
	job := map[string]any{"task": "mesh"}
	var files []string
	for _, name := range names {
		files = append(files, filepath.Join(dir, name))
	}
	job["files"] = files
	var got [][]struct {
		Volume, Area float64
		Shells       int
	}
	ask(t, "reference.py", []any{job}, &got)
	for i, name := range names {
		in, g := load(t, dir, name), got[0][i]
		near(t, v, in.Volume, g.Volume, "%s", name)
		near(t, a, in.Area, g.Area, "%s", name)
		near(t, s, float64(in.Shells), float64(g.Shells), "%s", name)
	}
}

// random is a sequence of numbers from 0 to 1, the same everywhere.
type random uint64

func (r *random) next() float64 {
	*r = *r*6364136223846793005 + 1442695040888963407
	return float64(*r>>11) / (1 << 53)
}

// places asks about points in and around the bunny: inside or not, the nearest
// surface, the first facet of a ray, and how much wall lies behind a facet.
func places(t *testing.T, b *bench, dir string) {
	inside := b.line("inside or outside, 400 points around the bunny", "numpy, winding number by solid angles (van Oosterom and Strackee 1983)", "", 0)
	far := b.line("distance to the nearest surface point, 400 points", "numpy, all facets", "mm", 1e-6)
	first := b.line("first facet that a ray meets, 400 rays", "numpy, all facets (Moeller and Trumbore 1997)", "mm", 1e-6)
	thick := b.line("thickness along the inward normal, 400 facets", "numpy, all facets (Moeller and Trumbore 1997)", "mm", 1e-6)
	file := filepath.Join(dir, "bunny-part.stl")
	mesh := stored(t, "bunny").part.Mesh
	tree := bvh.Build(mesh)
	box := mesh.Box()
	r := random(1)
	var points, ways, starts, inward [][]float64
	for range 400 {
		s := box.Size()
		points = append(points, coords(vec(box.Min.X+s.X*r.next(), box.Min.Y+s.Y*r.next(), box.Min.Z+s.Z*r.next())))
		ways = append(ways, coords(vec(r.next()-0.5, r.next()-0.5, r.next()-0.5).Unit()))
		tri := mesh.Triangle(int(r.next() * float64(len(mesh.Facets))))
		n := tri.Normal().Neg()
		starts, inward = append(starts, coords(tri.Centroid().AddScaled(n, 1e-4))), append(inward, coords(n))
	}
	ask4 := func(task string, p, w [][]float64) (out []*float64) {
		var got [][]*float64
		ask(t, "reference.py", []any{map[string]any{"task": task, "file": file, "points": p, "ways": w}}, &got)
		require.Len(t, got[0], len(p))
		return got[0]
	}
	wind, dist := ask4("winding", points, nil), ask4("nearest", points, nil)
	hits, walls := ask4("rays", points, ways), ask4("rays", starts, inward)
	at := func(p []float64) geom.Vec { return vec(p[0], p[1], p[2]) }
	ray := func(l *Line, want *float64, p, d []float64) {
		hit, ok := tree.First(at(p), at(d), 1e3)
		if assert.Equal(t, want != nil, ok, "%s from %v along %v", l.What, p, d) && ok {
			near(t, l, hit.Dist, *want, "from %v along %v", p, d)
		}
	}
	in := 0
	for i, p := range points {
		sum := 0
		for _, h := range tree.All(at(p), at(ways[i]), 1e3, nil) {
			sum -= int(h.Sense) // out of the mesh counts 1
		}
		in += sum
		near(t, inside, float64(sum), math.Round(*wind[i]), "%v", p)
		hit, ok := tree.Nearest(at(p), math.Inf(1))
		require.True(t, ok)
		near(t, far, hit.Dist, *dist[i], "%v", p)
		ray(first, hits[i], p, ways[i])
		ray(thick, walls[i], starts[i], inward[i])
	}
	assert.True(t, in > 50 && in < 350, "%d inside", in)
}

// hulls compares the outline of every stored mesh seen from above, which cradles and
// resting faces are made of, as it lies and turned at random.
func hulls(t *testing.T, b *bench, dir string, names []string) {
	area := b.line("area of the convex hull of every stored mesh, seen from three sides", "scipy.spatial.ConvexHull (Qhull)", "%", 1e-6)
	length := b.line("the same: length of its outline", area.Source, "%", 1e-6)
	var clouds [][][2]float64
	var own [][]geom.Vec
	for i, name := range names {
		data, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		mesh := readSTL(t, data)
		for k := range 3 {
			points := mesh.Vertices
			if k > 0 {
				turn := geomtest.RandomTurn(uint64(3*i + k))
				points = mesh.Map(turn.Turn).Vertices
			}
			var flat [][2]float64
			for _, p := range points {
				flat = append(flat, [2]float64{p.X, p.Y})
			}
			clouds, own = append(clouds, flat), append(own, geom.HullAbove(points))
		}
	}
	var got [][]struct {
		Area, Length float64
	}
	ask(t, "reference.py", []any{map[string]any{"task": "hull", "clouds": clouds}}, &got)
	for i, want := range got[0] {
		twice, around := 0.0, 0.0
		for k, p := range own[i] {
			q := own[i][(k+1)%len(own[i])]
			twice += p.Cross(q).Z
			around += p.Dist(q)
		}
		near(t, area, twice/2, want.Area, "%s, side %d", names[i/3], i%3)
		near(t, length, around, want.Length, "%s, side %d", names[i/3], i%3)
	}
}

// plane compares the distance transform.
func plane(t *testing.T, b *bench) {
	l := b.line("squared distances of a 97 x 61 lattice, sets of 1 to 600 nodes", "scipy.ndimage.distance_transform_edt", "", 0)
	r := random(7)
	for _, n := range []int{1, 5, 60, 600} {
		const nu, nv = 97, 61
		set := make([]bool, nu*nv)
		for range n {
			set[int(r.next()*nu*nv)] = true
		}
		rows := make([][]bool, nu)
		for u := range rows {
			rows[u] = set[u*nv : (u+1)*nv]
		}
		var got [][]int
		ask(t, "reference.py", []any{map[string]any{"task": "plane", "set": rows}}, &got)
		var p distance.Plane
		p.Measure(nu, nv, func(i int) bool { return set[i] })
		for i, want := range got[0] {
			near(t, l, float64(p.Square[i]), float64(want), "%d nodes, %d", n, i)
		}
	}
}

// fits compares scale and shift of part and cavity with a least-squares fit of their
// corners, which the program does not have: it sees surfaces only.
func fits(t *testing.T, b *bench) {
	scale := b.line("scale of a cavity over its part, found from surfaces", "scipy.optimize.least_squares on the corners of both", "", 3e-4)
	shift := b.line("shift of the cavity's middle", scale.Source, "mm", 0.02)
	part := geomtest.Bumpy(9, 0.12, 160, 120)
	for k, c := range []struct {
		factor float64
		by     geom.Vec
	}{{1.005, vec(0, 0, 0)}, {1.008, vec(0.05, -0.03, 0.02)}, {1.01, vec(-0.04, 0.05, 0)}} {
		cavity := part.Map(func(v geom.Vec) geom.Vec { return v.Scale(c.factor).Add(c.by) })
		var from, to [][]float64
		for i := 0; i < len(part.Vertices); i += 40 {
			from, to = append(from, coords(part.Vertices[i])), append(to, coords(cavity.Vertices[i]))
		}
		var got [][]float64
		ask(t, "reference.py", []any{map[string]any{"task": "fit", "source": from, "target": to}}, &got)
		m := around(t, part, cavity)
		near(t, scale, m.Fit.Scale, got[0][0], "%d", k)
		middle := part.Box().Center()
		want := middle.Scale(got[0][0] - 1).Add(vec(got[0][1], got[0][2], got[0][3]))
		near(t, shift, m.Fit.Offset.Dist(want), 0, "%d", k)
	}
}

// around closes a mold whose cavity is a whole shell, shared by two blocks that lie
// side by side, gate and vent standing in it.
func around(t *testing.T, part, cavity *geom.Mesh) *mold.Mold {
	t.Helper()
	outer := geomtest.Grid(geomtest.Add(vec(-16, -16, -16), vec(16, 16, 16)))
	inner := cavity.Reversed()
	lid := geomtest.Grid(geomtest.Add(vec(-16, -16, 16), vec(16, 16, 20)))
	m, err := mold.Close(mold.Job{Cell: 0.5}, body("part", part), []mold.Body{body("block", geomtest.Join(outer, inner)), body("lid", lid)})
	require.NoError(t, err)
	return m
}
