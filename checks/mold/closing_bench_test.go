package mold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom/geomtest"
)

// BenchmarkClosing: the example mold with every facet split in 64, 1.2 million in
// all.
func BenchmarkClosing(b *testing.B) {
	s := demoSetup(b)
	n := 0
	s.part.Mesh = geomtest.Subdivide(s.part.Mesh, 3)
	for i := range s.halves {
		s.halves[i].Mesh = geomtest.Subdivide(s.halves[i].Mesh, 3)
		n += len(s.halves[i].Mesh.Facets)
	}
	m := s.measured().close(b)
	b.ReportMetric(float64(n), "facets")
	for b.Loop() {
		_, err := m.Closing()
		require.NoError(b, err)
	}
}

// BenchmarkPlacement: the same files where they belong.
func BenchmarkPlacement(b *testing.B) {
	s := demoSetup(b)
	for b.Loop() {
		require.True(b, s.placement().Together)
	}
}
