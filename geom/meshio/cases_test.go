package meshio_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// fileCase is a small input and what must come of it.
type fileCase struct {
	name    string
	content []byte
	units   string

	// read: the volume after mending, in mm3; NaN where an open surface has none
	volume float64
	bodies string // names, joined by "|"; one nameless body where empty
	notes  string // kinds of warnings, repairs and cautions, joined by blanks

	refused string // or a part of the message; the file is then not read
}

// open marks a case whose surface has no volume.
var open = math.NaN()

func runCases(t *testing.T, cases []fileCase) {
	seen := map[string]bool{}
	for _, c := range cases {
		require.False(t, seen[c.name], "two cases are named %q", c.name)
		seen[c.name] = true
		t.Run(c.name, func(t *testing.T) { c.run(t) })
	}
}

func (c *fileCase) run(t *testing.T) {
	f, err := read(c.content, meshio.Options{Units: c.units})
	if c.refused != "" {
		var e *meshio.ReadError
		require.ErrorAs(t, err, &e)
		assert.Contains(t, err.Error(), c.refused)
		assert.Equal(t, "m.stl", e.File)
		assert.NotEmpty(t, e.Remedy)
		assert.NotContains(t, err.Error(), "\n")
		assert.NotContains(t, err.Error(), "%!", "a message's format and values disagree")
		return
	}
	require.NoError(t, err)
	var names, notes []string
	volume := 0.0
	for _, w := range f.Warnings {
		notes = append(notes, w.Kind)
		assert.NotContains(t, w.Text, "%!")
	}
	for _, b := range f.Bodies {
		names = append(names, b.Name)
		m := geom.Mend(b.Mesh)
		volume += m.Defects.SolidVolume()
		for _, r := range m.Repairs {
			notes = append(notes, r.Kind)
		}
		for _, q := range m.Cautions {
			notes = append(notes, q.Kind)
		}
	}
	if !math.IsNaN(c.volume) {
		assert.InDelta(t, c.volume, volume, 1e-6*c.volume)
	}
	assert.Equal(t, c.bodies, strings.Join(names, "|"))
	assert.Equal(t, c.notes, strings.Join(notes, " "))
}

// TestCasesAreEnough keeps the tables from shrinking.
func TestCasesAreEnough(t *testing.T) {
	n := len(stlCases(t)) + len(objCases()) + len(threeMFCases(t)) + len(foreignCases(t))
	assert.GreaterOrEqual(t, n, 80)
}

// edit replaces the only occurrence of a text.
func edit(t testing.TB, content []byte, from, to string) []byte {
	s := string(content)
	require.Equal(t, 1, strings.Count(s, from), "%q occurs elsewhere or not at all", from)
	return []byte(strings.Replace(s, from, to, 1))
}

// tri is a lone facet as text STL.
func tri(corners ...string) string {
	return "facet normal 0 0 0\nouter loop\nvertex " + strings.Join(corners, "\nvertex ") + "\nendloop\nendfacet\n"
}

// moved returns a mesh shifted along x.
func moved(m *geom.Mesh, x float64) *geom.Mesh {
	return m.Map(func(v geom.Vec) geom.Vec { return v.Add(geom.Vec{X: x}) })
}

// joined returns meshes as one.
func joined(meshes ...*geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{}
	for _, m := range meshes {
		out.Append(m)
	}
	return out
}

// withoutFacet leaves out one facet.
func withoutFacet(m *geom.Mesh, f int) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices}
	out.Facets = append(append(out.Facets, m.Facets[:f]...), m.Facets[f+1:]...)
	return out
}

// turnFacet turns some facets around.
func turnFacet(m *geom.Mesh, turn ...int) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices, Facets: append([][3]int32(nil), m.Facets...)}
	for _, f := range turn {
		t := out.Facets[f]
		out.Facets[f] = [3]int32{t[0], t[2], t[1]}
	}
	return out
}

// numbers formats coordinates with the given verb.
func numbers(verb string, v geom.Vec) string {
	return fmt.Sprintf(verb+" "+verb+" "+verb, v.X, v.Y, v.Z)
}
