package mold

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkRubber measures the halves of the example mold.
func BenchmarkRubber(b *testing.B) {
	s := demoSetup(b)
	m, err := Close(s.job, s.part, s.halves)
	require.NoError(b, err)
	for b.Loop() {
		_, err := m.Rubber(RubberOptions{})
		require.NoError(b, err)
	}
}
