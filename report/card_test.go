package report

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom/meshio"
)

// The card is one page whatever the findings, on either paper; the cradle reads back as
// it was built.
func TestBenchCard(t *testing.T) {
	for _, paper := range []string{"a4", "letter"} {
		for _, n := range []int{0, 12} {
			d := document(t, n)
			d.Paper = paper
			life := 420.0
			d.Outcome.Charge = &mold.Charge{Total: 14.9, Mass: 16.3, Density: 1.1, Mix: &mold.Mix{A: 8.56, B: 7.71}, FillTime: 22, PotLife: &life}
			d.Outcome.Pot = &mold.PotCure{Gauge: 413.7}
			c := Cradle(d)
			require.NotNil(t, c)
			b, err := card(d, c)
			require.NoError(t, err)
			assert.Equal(t, 1, b.pdf.Pages(), paper)
			assert.Empty(t, b.pdf.Missing(), "characters without a glyph")
			requireOnPaper(t, b.pdf)
			one, err := BenchCard(d, c)
			require.NoError(t, err)
			two, err := BenchCard(d, c)
			require.NoError(t, err)
			assert.Equal(t, one, two, "the same bytes")
			wedge, err := WedgeSTL(c)
			require.NoError(t, err)
			f, err := meshio.Read("wedge.stl", bytes.NewReader(wedge), int64(len(wedge)), meshio.Options{})
			require.NoError(t, err)
			require.Len(t, f.Bodies, 1)
			assert.InDelta(t, c.Volume, f.Bodies[0].Mesh.Volume(), 1e-3*c.Volume)
		}
	}
	d := document(t, 0)
	d.Outcome.Fill = nil
	none, err := BenchCard(d, nil)
	require.NoError(t, err)
	assert.Nil(t, none, "no pour, no card")
	wedge, err := WedgeSTL(Cradle(d))
	require.NoError(t, err)
	assert.Nil(t, wedge)
}
