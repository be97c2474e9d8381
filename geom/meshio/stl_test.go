package meshio_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"math"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// TestSTLRoundTrip: any mesh of float32 corners comes back facet for facet, from
// both forms of STL.
func TestSTLRoundTrip(t *testing.T) {
	number := rapid.Map(rapid.Float32Range(-1e6, 1e6), func(x float32) float64 { return float64(x) + 0 })
	rapid.Check(t, func(t *rapid.T) {
		var vertices []geom.Vec
		for range rapid.IntRange(3, 20).Draw(t, "vertices") {
			vertices = append(vertices, geom.Vec{X: number.Draw(t, "x"), Y: number.Draw(t, "y"), Z: number.Draw(t, "z")})
		}
		w := geom.NewWelder(0)
		pick := rapid.SampledFrom(vertices)
		w.Add(geom.Vec{X: 1}, geom.Vec{Y: 1}, geom.Vec{Z: 1}) // so that one facet has an area
		for range rapid.IntRange(0, 40).Draw(t, "facets") {
			w.Add(pick.Draw(t, "a"), pick.Draw(t, "b"), pick.Draw(t, "c"))
		}
		want := w.Mesh()
		var text, binary bytes.Buffer
		require.NoError(t, meshio.WriteTextSTL(&text, want, "a facet named solid"))
		require.NoError(t, meshio.WriteBinarySTL(&binary, want, "solid"))
		for format, b := range map[meshio.Format][]byte{meshio.STLBinary: binary.Bytes(), meshio.STLText: text.Bytes()} {
			f, err := read(b, meshio.Options{})
			require.NoError(t, err)
			require.Equal(t, format, f.Format)
			require.Len(t, f.Bodies, 1)
			require.Equal(t, want.Vertices, f.Bodies[0].Mesh.Vertices)
			require.Equal(t, want.Facets, f.Bodies[0].Mesh.Facets)
		}
	})
}

func TestReadReportsTheFile(t *testing.T) {
	b := binarySTL(t, cube(0, 20), "part")
	sum := sha256.Sum256(b)
	for _, o := range []meshio.Options{{}, {Units: "cm"}} {
		f, err := read(b, o)
		require.NoError(t, err)
		assert.Equal(t, hex.EncodeToString(sum[:]), f.SHA256)
		assert.Equal(t, int64(684), f.Size)
		assert.Equal(t, o.Units == "", f.Assumed)
		assert.Equal(t, 12, f.Facets())
		assert.Len(t, f.Bodies[0].Mesh.Vertices, 8)
		want := map[string]float64{"": 8000, "cm": 8e6}[o.Units]
		assert.InDelta(t, want, f.Bodies[0].Mesh.Volume(), 1e-6)
		assert.Empty(t, f.Warnings)
	}
}

func TestReadHashesLongFiles(t *testing.T) {
	// several pieces, and a last one that the parser does not need
	m := &geom.Mesh{}
	for i := range 3000 {
		m.Append(cube(float64(i%37), 1+float64(i)/3000))
	}
	b := binarySTL(t, m, "")
	b = append(b, bytes.Repeat([]byte{7}, 700_001)...)
	sum := sha256.Sum256(b)
	f, err := read(b, meshio.Options{})
	require.NoError(t, err)
	assert.Equal(t, hex.EncodeToString(sum[:]), f.SHA256)
	assert.Equal(t, 36000, f.Facets())
	require.Len(t, f.Warnings, 1)
	assert.Equal(t, "trailing-bytes", f.Warnings[0].Kind)
}

// TestSTLCutShort: a file that ends early is never read as something else.
func TestSTLCutShort(t *testing.T) {
	m := boxMesh(geom.Vec{X: -1, Y: -2.5, Z: 0.1}, geom.Vec{X: 12.25, Y: 7, Z: 30})
	want := m.Volume()
	for name, whole := range map[string][]byte{"binary": binarySTL(t, m, "solid part"), "text": textSTL(t, m, "part")} {
		for n := range len(whole) {
			f, err := read(whole[:n], meshio.Options{})
			if err != nil {
				var e *meshio.ReadError
				require.ErrorAs(t, err, &e, "%s cut at %d", name, n)
				require.NotEmpty(t, e.Remedy)
				continue
			}
			require.Equal(t, "text", name, "binary cut at %d was read", n)
			require.InDelta(t, want, f.Bodies[0].Mesh.Volume(), 1e-3, "cut at %d", n)
			require.Greater(t, n, bytes.LastIndex(whole, []byte("vertex")), "a facet is missing")
		}
	}
}

func TestWriteRefusesWhatFloat32CannotHold(t *testing.T) {
	m := cube(0, 1e39)
	assert.ErrorContains(t, meshio.WriteBinarySTL(&bytes.Buffer{}, m, ""), "facet 0")
	assert.ErrorContains(t, meshio.WriteTextSTL(&bytes.Buffer{}, m, ""), "facet 0")
	m = cube(0, 1)
	m.Vertices[0].Y = math.NaN()
	assert.ErrorContains(t, meshio.WriteBinarySTL(&bytes.Buffer{}, m, ""), "float32")
}

func TestReadFile(t *testing.T) {
	fsys := fstest.MapFS{"in/part.stl": {Data: binarySTL(t, cube(0, 10), "")}}
	f, err := meshio.ReadFile(fsys, "in/part.stl", meshio.Options{})
	require.NoError(t, err)
	assert.Equal(t, "in/part.stl", f.Name)

	for name, want := range map[string]string{
		"in":         "in: is a folder; name a mesh file",
		"absent.stl": "absent.stl: does not exist; check the name and the folder",
	} {
		_, err = meshio.ReadFile(fsys, name, meshio.Options{})
		assert.EqualError(t, err, want)
	}
	_, err = meshio.ReadFile(fsys, "in/part.stl", meshio.Options{Units: "furlong"})
	assert.ErrorContains(t, err, `unknown unit "furlong"; use one of mm, cm, m, in, ft, um`)
}

// shrinking is a file that loses bytes while it is read.
type shrinking struct{ *bytes.Reader }

func (s shrinking) ReadAt(b []byte, off int64) (int, error) {
	if off > 0 {
		b = b[:len(b)/2]
	}
	return s.Reader.ReadAt(b, off)
}

func TestReadNoticesAVanishingFile(t *testing.T) {
	b := binarySTL(t, cube(0, 10), "")
	_, err := meshio.Read("m.stl", shrinking{bytes.NewReader(b)}, int64(len(b)), meshio.Options{})
	assert.ErrorContains(t, err, "became shorter while it was read")
}
