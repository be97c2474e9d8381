package meshio_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// TestAgainstADMesh reads the same files with admesh, an STL checker in C, and
// compares facets, shells, volume and open edges. It counts what it could not
// compare. Without the program the test is skipped, but not where CI is "true".
func TestAgainstADMesh(t *testing.T) {
	program, err := exec.LookPath("admesh")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("admesh is not installed; apt-get install admesh")
		}
		t.Skip("admesh is not installed: nothing compared (apt-get install admesh)")
	}
	dir := t.TempDir()
	compared, skipped := 0, 0
	for name, m := range refereeMeshes() {
		for form, content := range map[string][]byte{"binary": binarySTL(t, m, name), "text": textSTL(t, m, name)} {
			path := filepath.Join(dir, "m.stl")
			require.NoError(t, os.WriteFile(path, content, 0o644))
			out, err := exec.Command(program, path).CombinedOutput()
			if err != nil {
				t.Logf("skipped %s, %s: admesh says %v", name, form, err)
				skipped++
				continue
			}
			f, err := read(content, meshio.Options{})
			require.NoError(t, err)
			d := geom.Inspect(f.Bodies[0].Mesh)
			what := fmt.Sprintf("%s, %s", name, form)
			assert.Equal(t, figure(t, out, `Number of facets\s*:\s*(\d+)`), float64(f.Facets()), what)
			open := figure(t, out, `Facets with 1 disconnected edge\s*:\s*(\d+)`) +
				2*figure(t, out, `Facets with 2 disconnected edges\s*:\s*(\d+)`) +
				3*figure(t, out, `Facets with 3 disconnected edges\s*:\s*(\d+)`)
			assert.Equal(t, open, float64(d.Open.Count), what)
			if open == 0 { // admesh closes holes before it counts parts
				sum := 0.0
				for _, s := range d.Shells {
					sum += s.Volume
				}
				assert.Equal(t, figure(t, out, `Number of parts\s*:\s*(\d+)`), float64(len(d.Shells)), what)
				assert.InEpsilon(t, figure(t, out, `Volume\s*:\s*([-\d.]+)`), sum, 1e-4, what) // it sums in float32
			}
			compared++
		}
	}
	t.Logf("admesh: %d files compared, %d skipped", compared, skipped)
	require.Greater(t, compared, 10)
}

// figure finds a number in admesh's report: of the original file where it gives
// two.
func figure(t *testing.T, out []byte, pattern string) float64 {
	found := regexp.MustCompile(pattern).FindSubmatch(bytes.ReplaceAll(out, []byte("\r"), nil))
	require.NotNil(t, found, "%s is not in the report:\n%s", pattern, out)
	x, err := strconv.ParseFloat(string(found[1]), 64)
	require.NoError(t, err)
	return x
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
