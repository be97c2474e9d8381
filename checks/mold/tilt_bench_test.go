package mold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom/geomtest"
)

// BenchmarkTilts: a quick search on the example mold.
func BenchmarkTilts(b *testing.B) {
	m := demoSetup(b).close(b)
	for b.Loop() {
		s, err := m.SearchTilts(TiltOptions{})
		require.NoError(b, err)
		b.ReportMetric(float64(len(s.Points)), "tilts")
	}
}

// BenchmarkTiltsOfManyFacets: a quick search on the example with every facet split
// in 64.
func BenchmarkTiltsOfManyFacets(b *testing.B) {
	s := demoSetup(b)
	s.part.Mesh = geomtest.Subdivide(s.part.Mesh, 3)
	n := 0
	for i := range s.halves {
		s.halves[i].Mesh = geomtest.Subdivide(s.halves[i].Mesh, 3)
		n += len(s.halves[i].Mesh.Facets)
	}
	m := s.close(b)
	b.ReportMetric(float64(n), "facets")
	for b.Loop() {
		s, err := m.SearchTilts(TiltOptions{})
		require.NoError(b, err)
		b.ReportMetric(float64(len(s.Points)), "tilts")
	}
}

// BenchmarkTiltsFull: a full search at the cell of a mold of 183k facets, the example
// with every facet split in 16.
func BenchmarkTiltsFull(b *testing.B) {
	s := demoSetup(b)
	n := 0
	s.part.Mesh = geomtest.Subdivide(s.part.Mesh, 2)
	for i := range s.halves {
		s.halves[i].Mesh = geomtest.Subdivide(s.halves[i].Mesh, 2)
		n += len(s.halves[i].Mesh.Facets)
	}
	m := s.close(b)
	b.ReportMetric(float64(n), "facets")
	require.Greater(b, n, 100000)
	for b.Loop() {
		s, err := m.SearchTilts(TiltOptions{Cell: m.Cell, Rings: 8})
		require.NoError(b, err)
		b.ReportMetric(float64(len(s.Points)), "tilts")
	}
}
