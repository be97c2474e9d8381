package mold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/testdata"
)

// demoSetup is the example mold, revision B.
func demoSetup(t testing.TB) setup {
	t.Helper()
	files, err := testdata.Demo()
	require.NoError(t, err)
	var s setup
	for _, f := range files {
		switch f.Name {
		case "part.stl":
			s.part = Body{Name: "part", Mesh: readSTL(t, f.Data)}
		case "bottom.stl", "top-b.stl":
			s.halves = append(s.halves, Body{Name: f.Name[:len(f.Name)-len(".stl")], Mesh: readSTL(t, f.Data)})
		}
	}
	require.Len(t, s.halves, 2)
	return s
}
