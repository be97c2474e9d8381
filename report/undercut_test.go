package report

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
)

// demoldDocument is a stored mold with the way its part leaves the halves worked out.
func demoldDocument(t *testing.T, name string) *Document {
	t.Helper()
	o := *outcome(t, name, 10)
	d, err := o.Mold.Demold()
	require.NoError(t, err)
	return New(checks.Run(checks.Input{Job: o.Job, Inputs: o.Inputs, Mold: o.Mold, Fill: o.Fill, Demolding: d}), "0.1")
}

func TestUndercutPage(t *testing.T) {
	d := demoldDocument(t, "bunny")
	b, data := written(t, d)
	whole := words(strings.Join(textOf(t, data), " "))
	for _, says := range []string{"Undercuts and demolding", "Section through undercut 1.", "Rubber of Shore A 50, modulus 2.46 MPa", "Opens at", "all around", "Tears from", "the parting face"} {
		assert.Contains(t, whole, says)
	}
	n := 0
	for i := range d.Outcome.Findings {
		if f := &d.Outcome.Findings[i]; f.Check == "undercuts" {
			assert.Equal(t, undercutAnchor, b.evidence(f))
			n++
		}
	}
	assert.GreaterOrEqual(t, n, 3)
	again, err := PDF(demoldDocument(t, "bunny"))
	require.NoError(t, err)
	assert.Equal(t, data, again, "same bytes")
	assert.Contains(t, Summary(d, "out", false), "up to 6.7 mm deep; back first, from (")
}

func TestUndercutJSON(t *testing.T) {
	d := demoldDocument(t, "bunny")
	text := reportText(t, d)
	assert.Empty(t, faultsOf(t, text))
	var got struct {
		Halves []struct {
			Name      string
			Undercuts []struct {
				Kind    string
				Depth   float64  `json:"depth_mm"`
				Stretch *float64 `json:"stretch"`
				Flaw    *float64 `json:"critical_flaw_mm"`
			}
			Pull     [3]float64
			PullFrom string `json:"pull_from"`
			PullSure bool   `json:"pull_sure"`
		}
		Demold struct {
			Order []string
			Peels []struct{ Half, Why string }
		}
	}
	require.NoError(t, json.Unmarshal(text, &got))
	for i, h := range got.Halves {
		r := &d.Outcome.Demolding.Halves[i]
		require.Len(t, h.Undercuts, len(r.Undercuts))
		assert.NotEmpty(t, h.Undercuts)
		assert.InDelta(t, r.Undercuts[0].Depth, h.Undercuts[0].Depth, 1e-4)
		assert.InDelta(t, *r.Undercuts[0].Stretch, *h.Undercuts[0].Stretch, 1e-4)
		assert.InDelta(t, d.Outcome.Job.Rubber.Flaw(r.Undercuts[0].Stretch).Mid, *h.Undercuts[0].Flaw, 1e-4)
		assert.Equal(t, string(mold.PullParting), h.PullFrom)
		assert.True(t, h.PullSure)
	}
	assert.Equal(t, []string{"back", "front"}, got.Demold.Order)
	require.Len(t, got.Demold.Peels, 2)

	// A mold without undercuts says so, and one where it was not asked says nothing.
	clean := demoldDocument(t, "b0")
	assert.Contains(t, Summary(clean, "out", false), "Demold    no undercut; ")
	plain := New(outcome(t, "b0", 10), "0.1")
	assert.Contains(t, string(reportText(t, plain)), `"demold": null`)
	assert.NotContains(t, Summary(plain, "out", false), "Demold")
}
