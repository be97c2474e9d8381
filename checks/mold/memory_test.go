package mold

import (
	"bytes"
	"runtime"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
	"pourproof/geom/meshio"
)

// TestIntakeMemory holds the intake of a large binary STL to four times the file's
// size, 200 bytes a facet. What is in use at any moment is at most the mesh, what was
// found of it and all that one step asks for, and the collector lets that double before
// it looks: so each may reach 100. Bytes asked for are counted, which do not depend on
// when it looks.
func TestIntakeMemory(t *testing.T) {
	ball := geomtest.Bumpy(40, 0.05, 500, 251) // 250,000 facets
	facets := float64(len(ball.Facets))
	var file bytes.Buffer
	require.NoError(t, meshio.WriteBinarySTL(&file, ball, ""))
	files := fstest.MapFS{"big.stl": {Data: file.Bytes()}}

	var f *meshio.File
	reading := asked(func() {
		var err error
		f, err = meshio.ReadFile(files, "big.stl", meshio.Options{})
		require.NoError(t, err)
	}) / facets
	m := f.Merged()
	var r *geom.Mended
	mending := asked(func() { r = geom.Mend(m) }) / facets
	require.Empty(t, r.Repairs)
	crossings := asked(func() { bvh.FindCrossings(m, r.Defects, 0.001) }) / facets
	chord := asked(func() { r.Defects.Chords(m) }) / facets
	const (
		mesh    = 24/2 + 12 // half as many vertices as facets
		defects = 12 + 4    // mates and shells
	)
	t.Logf("bytes a facet: reading %.0f, mending %.0f, crossings %.0f, chord error %.0f", reading, mending, crossings, chord)
	for step, most := range map[string]float64{
		"reading":     reading,
		"mending":     mesh + mending,
		"crossings":   mesh + defects + crossings,
		"chord error": mesh + defects + chord,
	} {
		assert.Less(t, most, 100.0, "%s: bytes a facet", step)
	}
}

// asked returns how many bytes were asked for.
func asked(do func()) float64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	return float64(after.TotalAlloc - before.TotalAlloc)
}
