package mold

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/column"
)

// sortedFromStart is the mold with its bores sorted from the start.
func sortedFromStart(t *testing.T, m *Mold) *Mold {
	t.Helper()
	n := *m
	n.before, n.labels, n.walked, n.Channels = nil, nil, nil, nil
	n.space = column.NewSpace(column.Snap(m.space.Lattice, m.fixed.halves, m.cuts()), m.Seal, n.openWay)
	require.NoError(t, n.label())
	n.measureChannels()
	n.assignRoles()
	return &n
}

// TestBoredAsFromTheStart: with one bore after the other, askew, beside each other and
// beside channels that are there, labels, channels and their nodes are the same as when
// the space is sorted from the start.
func TestBoredAsFromTheStart(t *testing.T) {
	bored := 0
	for n, name := range []string{"b0", "utube", "comb", "dome-vent3", "parting-gap03", "blind1", "keys"} {
		s := storedSetup(t, name)
		s.job.Cell = 0.4
		m := s.close(t)
		r := rand.New(rand.NewPCG(uint64(n), 1))
		for k := range 5 {
			f := r.IntN(len(s.part.Mesh.Facets))
			tri := s.part.Mesh.Triangle(f)
			spec := BoreSpec{At: tri.Centroid(), Diameter: 1 + r.Float64()}
			if k == 3 && len(m.Channels) > 0 {
				c := &m.Channels[r.IntN(len(m.Channels))]
				spec.At = c.Mouth.AddScaled(geom.Vec{X: r.Float64(), Y: r.Float64()}, 2)
			}
			d := tri.Normal().Add(geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Scale(0.4))
			spec.Direction = &d
			with, err := m.With([]BoreSpec{spec})
			if err != nil {
				continue
			}
			msg := fmt.Sprintf("%s, bore %d", name, k)
			again := *with
			ok, err := again.relabel([2]int{}, [2]int{m.space.N[0] - 1, m.space.N[1] - 1})
			require.NoError(t, err)
			require.True(t, ok, msg)
			require.True(t, slices.Equal(again.labels.of, with.labels.of), msg)
			want := sortedFromStart(t, with)
			require.True(t, slices.Equal(want.labels.of, with.labels.of), msg)
			assert.Equal(t, want.labels.free, with.labels.free, msg)
			assert.Equal(t, want.Channels, with.Channels, msg)
			assert.Equal(t, want.nodes, with.nodes, msg)
			for _, lists := range [][2][]int32{{want.walked.skins, with.walked.skins}, {slices.Concat(want.walked.rough...), slices.Concat(with.walked.rough...)}} {
				assert.Equal(t, slices.Sorted(slices.Values(lists[0])), slices.Sorted(slices.Values(lists[1])), msg)
			}
			assert.Len(t, with.walked.rough, len(want.walked.rough), msg)
			m = with
			bored++
		}
	}
	assert.Greater(t, bored, 20)
}

// TestBlindGateStaysBlind: a blind channel that the job names as the gate is blind again
// once a bore lies nearer to the place that was named.
func TestBlindGateStaysBlind(t *testing.T) {
	s := storedSetup(t, "blind1")
	s.job.Cell = 0.5
	mouth := only(t, s.close(t), Blind).Mouth
	beside := mouth.Add(geom.Vec{X: 4})
	s.job.Gates = []geom.Vec{beside}
	m := s.close(t)
	gate := slices.IndexFunc(m.Channels, func(c Channel) bool { return c.Role == Gate })
	require.Equal(t, mouth, m.Channels[gate].Mouth)
	with, err := m.With([]BoreSpec{{At: beside, Diameter: 2}})
	require.NoError(t, err)
	again := sortedFromStart(t, with)
	assert.Equal(t, again.Channels, with.Channels)
	assert.Equal(t, mouth, only(t, with, Blind).Mouth)
}

// TestFilledUpIsNoBore: a mold with less void than the one before it is not relabelled.
func TestFilledUpIsNoBore(t *testing.T) {
	s := storedSetup(t, "b0")
	s.job.Cell = 0.5
	m := s.close(t)
	with, err := m.With([]BoreSpec{{At: geom.Vec{X: 48, Y: 20, Z: 20}, Diameter: 2}})
	require.NoError(t, err)
	require.Len(t, with.Channels, len(m.Channels)+1)
	filled := *m
	filled.before = with
	ok, err := filled.relabel([2]int{}, [2]int{m.space.N[0] - 1, m.space.N[1] - 1})
	require.NoError(t, err)
	assert.False(t, ok)
}
