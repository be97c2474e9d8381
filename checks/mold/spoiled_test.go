package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestSpoiledOverAiryColumns: what trapped air touches is the same, to the bit, whether
// all crossings with the part are looked at or those beside the air alone.
func TestSpoiledOverAiryColumns(t *testing.T) {
	for _, name := range []string{"b0", "comb", "utube"} {
		s := storedSetup(t, name)
		s.job.Cell = 0.5
		s.job.Show = []ShowFace{{Name: "top", Direction: &geom.Vec{Z: 1}}}
		m := s.close(t)
		for _, up := range []geom.Vec{level, tilted(10, 0), tilted(25, 100)} {
			p, _, lv, err := m.poured(up)
			require.NoError(t, err)
			areas, chords, shown := p.spoiled(lv)
			all, allChords, allShown := p.spoiledOver(nil, lv)
			assert.Equal(t, all, areas, "%s %v", name, up)
			assert.Equal(t, allChords, chords, "%s %v", name, up)
			assert.Equal(t, allShown, shown, "%s %v", name, up)
		}
	}
}
