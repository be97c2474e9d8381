package measure

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
	"pourproof/testdata"
)

// raysProgram names the program of testdata/rays, built: an outside ray caster.
const raysProgram = "POURPROOF_RAYS"

// castOutside returns where each ray first meets the mesh, -1 for nowhere.
func castOutside(t *testing.T, program string, m *geom.Mesh, rays [][2]geom.Vec) []float64 {
	t.Helper()
	var in bytes.Buffer
	fmt.Fprintln(&in, len(m.Facets))
	for f := range m.Facets {
		tri := m.Triangle(f)
		for _, v := range [3]geom.Vec{tri.A, tri.B, tri.C} {
			fmt.Fprintln(&in, v.X, v.Y, v.Z)
		}
	}
	for _, r := range rays {
		fmt.Fprintln(&in, r[0].X, r[0].Y, r[0].Z, r[1].X, r[1].Y, r[1].Z)
	}
	cmd := exec.Command(program)
	cmd.Stdin = &in
	out, err := cmd.Output()
	require.NoError(t, err)
	var hits []float64
	for s := bufio.NewScanner(bytes.NewReader(out)); s.Scan(); {
		x, err := strconv.ParseFloat(s.Text(), 64)
		require.NoError(t, err)
		hits = append(hits, x)
	}
	require.Len(t, hits, len(rays))
	return hits
}

// Every thickness of an open data set's mesh, the bunny, against an outside ray
// caster: the line from each facet's place to where its ball touches meets that place
// first, and no line of a cone of half the widest wedge meets anything nearer, as a
// ball counts, but at the cone's rim. What a line cannot tell is counted as skipped:
// a contact that another piece of the surface hides from the facet's place, one on an
// inner edge that the line slips by, and one whose nearest place lies beyond the cone.
func TestOutsideRays(t *testing.T) {
	program := os.Getenv(raysProgram)
	if program == "" {
		t.Skip(raysProgram + " is not set: build testdata/rays/rays.c and name it there")
	}
	c, err := testdata.Case("bunny")
	require.NoError(t, err)
	file, err := meshio.Read(c.Part.Name, bytes.NewReader(c.Part.Data), int64(len(c.Part.Data)), meshio.Options{})
	require.NoError(t, err)
	part := file.Bodies[0].Mesh
	w := walls(t, part, Options{Most: 20})
	const off = 1e-3 // mm inside the surface: Embree counts in single precision
	half := w.Options.Wedge / 2
	var rays [][2]geom.Vec
	var facets []int
	const around, rings = 12, 5
	for f := range w.Least {
		if w.Contact[f] < 0 || w.Least[f] < 0.1 {
			continue
		}
		facets = append(facets, f)
		n := w.Normal[f].Neg()
		p := w.At[f].AddScaled(n, off)
		u, v := n.Perpendicular()
		rays = append(rays, [2]geom.Vec{p, w.Touch[f].Sub(p).Unit()})
		for r := 1; r <= rings; r++ {
			s, c := math.Sincos(half * float64(r) / rings)
			for k := range around {
				sk, ck := math.Sincos(2 * math.Pi * float64(k) / around)
				rays = append(rays, [2]geom.Vec{p, n.Scale(c).AddScaled(u, s*ck).AddScaled(v, s*sk)})
			}
		}
	}
	hits := castOutside(t, program, w.Mesh, rays)
	each := 1 + rings*around
	hidden, grazed, rim, thinner, compared := 0, 0, 0, 0, 0
	largest := 0.0
	for i, f := range facets {
		h := hits[i*each : (i+1)*each]
		chord := w.Touch[f].Dist(rays[i*each][0])
		if h[0] >= 0 && h[0] < chord-0.01 {
			hidden++
			continue
		}
		if (h[0] < 0 || h[0] > chord+0.01) && onAnEdge(w.Mesh.Triangle(int(w.Contact[f])), w.Touch[f]) {
			grazed++
			continue
		}
		compared++
		largest = max(largest, math.Abs(h[0]-chord))
		least, at := math.Inf(1), 0
		for k := 1; k < each; k++ {
			if h[k] > 0 {
				r := (k-1)/around + 1
				if x := h[k] / math.Cos(half*float64(r)/rings); x < least {
					least, at = x, r
				}
			}
		}
		switch {
		case least > w.Least[f]*0.98-2*off:
		case at >= rings-1:
			rim++
		default:
			thinner++
		}
	}
	t.Logf("bunny: %d facets, %d with a thickness compared with the outside caster's chord, largest difference %.5f mm; skipped: %d hidden, %d grazed edges, %d at the rim; the caster found thinner: %d",
		len(w.Least), compared, largest, hidden, grazed, rim, thinner)
	assert.Greater(t, compared, 1000)
	assert.Less(t, largest, 0.01)
	assert.LessOrEqual(t, hidden+grazed, len(facets)/20)
	assert.LessOrEqual(t, thinner, compared/100)
}

// onAnEdge tells whether a point of a triangle lies on its border.
func onAnEdge(t geom.Triangle, p geom.Vec) bool {
	return min(geom.ClosestOnSegment(p, t.A, t.B).Dist(p), geom.ClosestOnSegment(p, t.B, t.C).Dist(p), geom.ClosestOnSegment(p, t.C, t.A).Dist(p)) < 1e-6
}
