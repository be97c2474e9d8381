package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is measured ahead is what is measured when it is asked for, and is let go.
func TestMeasureAhead(t *testing.T) {
	job := jobOf("part.stl", "bottom.stl", "top.stl")
	in, err := Load(b0Files(t), job)
	require.NoError(t, err)
	m, err := Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	o := RubberOptions{Around: 4}
	want, err := m.Rubber(o)
	require.NoError(t, err)
	in.MeasureAhead(o)
	got, err := m.Rubber(o)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	for i := range in.Halves {
		assert.Nil(t, in.Halves[i].index.ahead.t)
	}
	again, err := m.Rubber(o) // measured anew
	require.NoError(t, err)
	assert.Equal(t, want, again)
	in.MeasureAhead(RubberOptions{Around: 3}) // for others
	again, err = m.Rubber(o)
	require.NoError(t, err)
	assert.Equal(t, want, again)
}
