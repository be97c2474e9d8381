package meshio_test

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
	"pourproof/testdata"
)

// TestAgainstADMesh reads STL files with admesh, a checker of STL files in C: those
// of testdata/intake, made ones, and every one of testdata.
func TestAgainstADMesh(t *testing.T) {
	r := newReaders(t, "admesh")
	for _, c := range intake(t) {
		if c.refused == "" && strings.HasSuffix(c.file, ".stl") {
			r.compare(c.name, c.content, c.units, r.admesh)
		}
	}
	meshes := refereeMeshes()
	for _, name := range slices.Sorted(maps.Keys(meshes)) {
		r.compare(name+", binary", binarySTL(t, meshes[name], name), "", r.admesh)
		r.compare(name+", text", textSTL(t, meshes[name], name), "", r.admesh)
	}
	files := storedFiles(t)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		r.compare(name, files[name], "", r.admesh)
	}
	r.report("STL, admesh")
	require.Greater(t, r.whole, 150)
}

// TestAgainstAssimp lets assimp, a reader of many formats in C++, turn the OBJ and 3MF
// files of testdata/intake into STL, and admesh measure these.
func TestAgainstAssimp(t *testing.T) {
	for _, f := range []struct {
		ending string
		least  int
	}{{"obj", 15}, {"3mf", 15}} {
		r := newReaders(t, "admesh", "assimp")
		for _, c := range intake(t) {
			if c.refused == "" && strings.HasSuffix(c.file, "."+f.ending) {
				r.compare(c.name, c.content, c.units, func(path string) (figures, error) { return r.assimp(path, f.ending) })
			}
		}
		r.report(strings.ToUpper(f.ending) + ", assimp and admesh")
		require.Greater(t, r.whole, f.least)
	}
}

// otherwise lists the files that another reader reads, but as something else than
// their format says, and how.
var otherwise = map[string]string{
	"text, a facet on one line":      "admesh takes words for the names of solids and finds two facets",
	"support objects left out":       "assimp builds support objects",
	"comments, materials, smoothing": "assimp makes meshes of points and lines",
	"a corner twice in a face":       "assimp makes facets without area of it",
	"a warped quad":                  "assimp cuts it along the other diagonal",
}

// readers holds other programs' figures against ours and counts.
type readers struct {
	t       *testing.T
	dir     string
	whole   int      // files of which all was compared
	facets  []string // of which facets and open edges, for they were mended, which others do otherwise
	skipped []string // of which nothing, and why
	worst   float64  // relative difference of volume
}

// figures are what two readers can agree on; parts and volume hold for closed meshes.
type figures struct {
	facets, open, parts int // open edges
	volume              float64
}

// newReaders skips the test where a program is not installed, but not where CI is
// "true".
func newReaders(t *testing.T, programs ...string) *readers {
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			if os.Getenv("CI") == "true" {
				t.Fatalf("%s is not installed", p)
			}
			t.Skipf("%s is not installed: nothing compared", p)
		}
	}
	return &readers{t: t, dir: t.TempDir()}
}

func (r *readers) compare(name string, content []byte, units string, other func(path string) (figures, error)) {
	r.t.Helper()
	if why, ok := otherwise[name]; ok {
		r.skipped = append(r.skipped, name+": "+why)
		return
	}
	path := filepath.Join(r.dir, "m.stl")
	require.NoError(r.t, os.WriteFile(path, content, 0o644))
	theirs, err := other(path)
	if err != nil {
		r.skipped = append(r.skipped, name+": "+err.Error())
		return
	}
	ours, mended, crowded := ourFigures(r.t, content, units)
	assert.Equal(r.t, theirs.facets, ours.facets, "%s: facets", name)
	if !crowded && name != "binary, minus zeros" { // admesh pairs the facets of a crowded edge, and tells -0 from +0
		assert.Equal(r.t, theirs.open, ours.open, "%s: open edges", name)
	}
	if mended {
		r.facets = append(r.facets, name)
		return
	}
	r.whole++
	assert.Equal(r.t, theirs.parts, ours.parts, "%s: shells", name)
	d := math.Abs(ours.volume-theirs.volume) / max(math.Abs(ours.volume), 1e-9)
	r.worst = max(r.worst, d)
	assert.Less(r.t, d, 1e-4, "%s: volume %v against %v", name, ours.volume, theirs.volume) // admesh sums in float32
}

// ourFigures reads a file; its volume is in the file's own unit. mended: the mesh is
// open or something was changed; crowded: edges are used by more than two facets, or
// by two that face opposite sides.
func ourFigures(t *testing.T, content []byte, units string) (ours figures, mended, crowded bool) {
	f, err := read(content, meshio.Options{Units: units})
	require.NoError(t, err)
	mm := map[string]float64{"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "ft": 304.8, "um": 0.001}[f.Units]
	for _, b := range f.Bodies {
		raw := geom.Inspect(b.Mesh)
		ours.open += raw.Open.Count
		crowded = crowded || raw.Crowded.Count+raw.Opposed.Count > 0
		m := geom.Mend(b.Mesh)
		mended = mended || len(m.Repairs) > 0 || !m.Defects.Closed()
		ours.parts += len(m.Defects.Shells)
		for _, s := range m.Defects.Shells {
			ours.volume += s.Volume / (mm * mm * mm)
		}
	}
	ours.facets = f.Facets()
	return ours, mended, crowded
}

func (r *readers) report(what string) {
	r.t.Logf("%s: %d files agree in facets, shells and volume (largest difference %.1e), %d in facets and open edges, %d skipped", what, r.whole, r.worst, len(r.facets), len(r.skipped))
	r.t.Logf("no shells and volume, for the mesh is open or was mended:\n  %s", strings.Join(r.facets, "\n  "))
	r.t.Logf("skipped:\n  %s", strings.Join(r.skipped, "\n  "))
}

// output runs a program for at most a few seconds: some loop on what they cannot read.
func output(name string, args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	out, err := exec.CommandContext(ctx, name, args...).CombinedOutput()
	switch {
	case ctx.Err() != nil:
		return "", fmt.Errorf("%s hangs", name)
	case err != nil:
		return "", fmt.Errorf("%s: %w", name, err)
	}
	return string(bytes.ReplaceAll(out, []byte("\r"), nil)), nil
}

// admesh returns what it says of the file as it is; of parts and volume after its
// repairs, which leave a clean file alone.
func (r *readers) admesh(path string) (f figures, err error) {
	out, err := output("admesh", path)
	if err != nil {
		return f, err
	}
	find := func(pattern string) float64 {
		found := regexp.MustCompile(pattern).FindStringSubmatch(out)
		if found == nil {
			err = fmt.Errorf("admesh does not tell %q", pattern)
			return 0
		}
		x, bad := strconv.ParseFloat(found[1], 64)
		if bad != nil {
			err = bad
		}
		return x
	}
	f.facets = int(find(`Number of facets\s*:\s*(\d+)`))
	for n, edges := range []string{"1 disconnected edge", "2 disconnected edges", "3 disconnected edges"} {
		f.open += (n + 1) * int(find(`Facets with `+edges+`\s*:\s*(\d+)`))
	}
	f.parts = int(find(`Number of parts\s*:\s*(\d+)`))
	f.volume = find(`Volume\s*:\s*([-\d.]+)`)
	return f, err
}

// assimp writes the file's build as one STL.
func (r *readers) assimp(path, ending string) (f figures, err error) {
	named, stl := filepath.Join(r.dir, "m."+ending), filepath.Join(r.dir, "out.stl")
	if err := os.Rename(path, named); err != nil {
		return f, err
	}
	os.Remove(stl)
	if _, err := output("assimp", "export", named, stl, "-fstlb"); err != nil {
		return f, err
	}
	if _, err := os.Stat(stl); err != nil {
		return f, fmt.Errorf("assimp writes nothing")
	}
	return r.admesh(stl)
}

// storedFiles returns every STL of testdata.
func storedFiles(t *testing.T) map[string][]byte {
	out := map[string][]byte{}
	names, err := testdata.Cases()
	require.NoError(t, err)
	for _, name := range names {
		m, err := testdata.Case(name)
		require.NoError(t, err)
		for _, f := range append([]testdata.File{m.Part}, m.Halves...) {
			out[name+"/"+f.Name] = f.Data
		}
	}
	for from, list := range map[string]func() ([]testdata.File, error){"demo": testdata.Demo, "coupon": testdata.Coupon} {
		files, err := list()
		require.NoError(t, err)
		for _, f := range files {
			if strings.HasSuffix(f.Name, ".stl") {
				out[from+"/"+f.Name] = f.Data
			}
		}
	}
	return out
}

func refereeMeshes() map[string]*geom.Mesh {
	r := rand.New(rand.NewPCG(5, 6))
	meshes := map[string]*geom.Mesh{
		"cube":             cube(0, 20),
		"far cube":         moved(cube(0, 20), 500),
		"two cubes":        joined(cube(0, 20), moved(cube(0, 5), 40)),
		"cube in a cube":   joined(cube(0, 20), cube(5, 3)),
		"ball":             ball(30, 12.5),
		"ball and cubes":   joined(ball(20, 10), moved(cube(0, 3), 20), moved(cube(0, 4), 30)),
		"cube with a hole": withoutFacet(cube(0, 20), 4),
	}
	bumpy := ball(40, 10).Map(func(v geom.Vec) geom.Vec {
		return v.Scale(1 + 0.1*r.Float64()).Add(geom.Vec{X: 30, Y: 30, Z: 30})
	})
	meshes["bumpy ball"] = bumpy
	shuffled := &geom.Mesh{Vertices: bumpy.Vertices}
	for _, f := range r.Perm(len(bumpy.Facets)) {
		shuffled.Facets = append(shuffled.Facets, bumpy.Facets[f])
	}
	meshes["bumpy ball, shuffled"] = shuffled
	return meshes
}
