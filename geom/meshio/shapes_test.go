package meshio_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// boxMesh is a closed box of 12 facets, outward.
func boxMesh(min, max geom.Vec) *geom.Mesh {
	c := geom.Box{Min: min, Max: max}.Corners()
	return &geom.Mesh{Vertices: c[:], Facets: [][3]int32{
		{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6},
		{0, 1, 5}, {0, 5, 4}, {2, 6, 7}, {2, 7, 3},
		{0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5},
	}}
}

func cube(min, size float64) *geom.Mesh {
	return boxMesh(geom.Vec{X: min, Y: min, Z: min}, geom.Vec{X: min + size, Y: min + size, Z: min + size})
}

// binarySTL and textSTL return a mesh as file content.
func binarySTL(t testing.TB, m *geom.Mesh, title string) []byte {
	var b bytes.Buffer
	require.NoError(t, meshio.WriteBinarySTL(&b, m, title))
	return b.Bytes()
}

func textSTL(t testing.TB, m *geom.Mesh, name string) []byte {
	var b bytes.Buffer
	require.NoError(t, meshio.WriteTextSTL(&b, m, name))
	return b.Bytes()
}

func read(b []byte, o meshio.Options) (*meshio.File, error) {
	return meshio.Read("m.stl", bytes.NewReader(b), int64(len(b)), o)
}
