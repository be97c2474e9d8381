package proof

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/testdata"
)

var write = flag.Bool("write", false, "rewrite ../PROOF.md")

const pageFile = "../PROOF.md"

// TestProof makes every comparison and holds the page against them. Groups run in
// the order of the page.
func TestProof(t *testing.T) {
	p := &bench{page: &Page{}, molds: map[string]*mold.Mold{}}
	for _, g := range []struct {
		name string
		run  func(*testing.T, *bench)
	}{
		{"Air: closed forms", air},
		{"How many vents: theory", vents},
		{"Bores, seals and the fit: closed forms", shapes},
		{"Printing, curing, tearing: handbook values", handbook},
		{"Convergence: the true error against the stated one", convergence},
		{"A slow flood and a slow layer sweep, written a second time", slow},
		{"General-purpose programs", references},
	} {
		p.group = g.name
		t.Run(g.name, func(t *testing.T) { g.run(t, p) })
	}
	if t.Failed() || flag.Lookup("test.run").Value.String() != "" {
		return // some groups only: nothing to hold the page against
	}
	comparePage(t, p.page)
}

// comparePage rewrites the page or tells what of it is stale. Without the programs of
// some lines it compares the others.
func comparePage(t *testing.T, page *Page) {
	got := page.String()
	fmt.Print(got)
	if *write {
		require.NoError(t, os.WriteFile(pageFile, []byte(got), 0o666))
		return
	}
	stored, err := os.ReadFile(pageFile)
	require.NoError(t, err, "write it with make proof")
	const stale = "PROOF.md is stale: run make proof and read the difference"
	whole := true
	for _, l := range page.Lines {
		if l.Skipped != "" {
			whole = false
			fmt.Printf("SKIPPED: %s: %s\n", l.What, l.Skipped)
			continue
		}
		assert.Contains(t, string(stored), l.row()+"\n", stale)
	}
	if whole {
		assert.Equal(t, string(stored), got, stale)
	}
}

// bench collects the lines of the page.
type bench struct {
	page  *Page
	group string
	molds map[string]*mold.Mold
}

// mold returns a stored mold, closed once.
func (b *bench) mold(t *testing.T, name string) *mold.Mold {
	t.Helper()
	if b.molds[name] == nil {
		b.molds[name] = stored(t, name).close(t)
	}
	return b.molds[name]
}

func halves(bottom, top *geom.Mesh) []mold.Body {
	return []mold.Body{body("bottom", bottom), body("top", top)}
}

// line begins a comparison.
func (b *bench) line(what, source, unit string, allowed float64) *Line {
	l := &Line{Group: b.group, What: what, Source: source, Unit: unit, Allowed: allowed}
	b.page.Lines = append(b.page.Lines, l)
	return l
}

// near takes one pair into a line and fails where it is too far off.
func near(t *testing.T, l *Line, got, want float64, label string, args ...any) {
	t.Helper()
	assert.True(t, l.Add(got, want), "%s, %s: got %.6g, want %.6g (allowed %s)", l.What, fmt.Sprintf(label, args...), got, want, amount(l.Allowed, l.Unit))
}

// needs tells whether a program is there; where it is not, the line is skipped,
// and in CI that fails.
func needs(t *testing.T, l *Line, name string, found bool) bool {
	l.Program = name
	if !found {
		require.NotEqual(t, "true", os.Getenv("CI"), "%s is needed here", name)
		l.Skipped = name + " is not installed"
	}
	return found
}

// python returns an interpreter that has scipy, or an empty name.
func python() string {
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import numpy, scipy.ndimage, scipy.spatial, scipy.optimize").Run() == nil {
			return name
		}
	}
	return ""
}

// setup is a mold that is not closed yet.
type setup struct {
	job    mold.Job
	part   mold.Body
	halves []mold.Body
}

func (s setup) close(t *testing.T) *mold.Mold {
	t.Helper()
	m, err := mold.Close(s.job, s.part, s.halves)
	require.NoError(t, err)
	return m
}

// stored returns a mold of the case folders.
func stored(t *testing.T, name string) setup {
	t.Helper()
	c, err := testdata.Case(name)
	require.NoError(t, err)
	s := setup{part: body("part", readSTL(t, c.Part.Data))}
	for _, h := range c.Halves {
		s.halves = append(s.halves, body(strings.TrimSuffix(h.Name, ".stl"), readSTL(t, h.Data)))
	}
	return s
}

// body takes a mesh with its estimated chord error, as the intake does.
func body(name string, m *geom.Mesh) mold.Body {
	return mold.Body{Name: name, Mesh: m, ChordError: m.ChordError()}
}

// readSTL reads a binary STL and welds equal corners.
func readSTL(t *testing.T, data []byte) *geom.Mesh {
	t.Helper()
	n := int(binary.LittleEndian.Uint32(data[80:]))
	require.Len(t, data, 84+50*n)
	w := geom.NewWelder(n)
	for i := range n {
		var v [12]float32
		require.NoError(t, binary.Read(bytes.NewReader(data[84+50*i:]), binary.LittleEndian, &v))
		p := func(k int) geom.Vec {
			return geom.Vec{X: float64(v[k]), Y: float64(v[k+1]), Z: float64(v[k+2])}
		}
		w.Add(p(3), p(6), p(9))
	}
	return w.Mesh()
}

// pour fills a mold that rests on its -z side, the side facing an azimuth raised.
func pour(t *testing.T, m *mold.Mold, angle, side float64) *mold.Fill {
	t.Helper()
	f, err := m.Pour(up(angle, side))
	require.NoError(t, err)
	return f
}

func up(angle, side float64) geom.Vec {
	return mold.UpFor(geom.Vec{Z: 1}, mold.Tilt{Angle: rad(angle), Side: rad(side)})
}

func rad(deg float64) float64      { return deg * math.Pi / 180 }
func tan(deg float64) float64      { return math.Tan(rad(deg)) }
func vec(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }
func square(x float64) float64     { return x * x }
func cube(x float64) float64       { return x * x * x }
func cap3(r, h float64) float64    { return math.Pi * h * h * (3*r - h) / 3 }
