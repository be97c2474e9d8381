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

// TestMixLine: what the bench weighs: a cast in two mixes, and the smallest that mixes well.
func TestMixLine(t *testing.T) {
	mix := func(a, b float64) *mold.Mix { return &mold.Mix{A: a, B: b, ToMass: 100 * b / a} }
	c := &mold.Charge{Mix: mix(12.67, 12.49), Weigh: []mold.Batch{{Count: 2, Casts: 1, Mass: 12.58, Mix: mix(6.336, 6.245), Pigment: 0.25}, {Count: 2, Casts: 1, Mass: 100, Mix: mix(50.36, 49.64)}}}
	assert.Equal(t, "One cast: 2 mixes, each poured within half the pot life, each of 6.34 g of A and 6.25 g of B, 0.25 g of pigment. Better each of 100 g, the rest is waste: 50.4 g of A and 49.6 g of B.", mixLine(c))
	va, vb := 12.07, 10.86
	c.Weigh = []mold.Batch{{Count: 1, Casts: 1, Mass: 25, Mix: &mold.Mix{A: 12.67, B: 12.49, VolumeA: &va, VolumeB: &vb}}}
	assert.Equal(t, "One cast: 12.7 g of A and 12.5 g of B (12.1 and 10.9 ml).", mixLine(c))
	c.Mix = nil
	assert.Empty(t, mixLine(c))
}
