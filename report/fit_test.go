package report

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
)

// fitDocument is a stored mold with its fit worked out.
func fitDocument(t *testing.T, name string) *Document {
	t.Helper()
	o := *outcome(t, name, 10)
	c, err := o.Mold.Closing()
	require.NoError(t, err)
	run := checks.Run(checks.Input{Job: o.Job, Inputs: o.Inputs, Mold: o.Mold, Fill: o.Fill, Fit: c, Places: &mold.Assembly{Together: true, Covered: 1}})
	d := New(run, "0.1")
	d.Title = "Tray"
	return d
}

func TestFitPage(t *testing.T) {
	d := fitDocument(t, "keys")
	b, data := written(t, d)
	whole := words(strings.Join(textOf(t, data), " "))
	for _, says := range []string{"Fit of the halves", "Parting face of bottom, seen along −Z.", "Parting face of top, from the same side.", "from the cavity", "K1", "K3",
		"The mold closes one way only.", "cavity 1.0000 times the part", "parting line", "narrowest land"} {
		assert.Contains(t, whole, says)
	}
	for i := range d.Outcome.Findings {
		if f := &d.Outcome.Findings[i]; f.Check == "fit" && f.Channel == 0 {
			assert.Equal(t, fitAnchor, b.evidence(f))
		}
	}
	again, err := PDF(fitDocument(t, "keys"))
	require.NoError(t, err)
	assert.Equal(t, data, again, "same bytes")
	assert.Contains(t, Summary(d, "out", false), "Fit       halves touch, land 18.")
}

func TestFitJSON(t *testing.T) {
	d := fitDocument(t, "parting-gap03")
	text := reportText(t, d)
	assert.Empty(t, faultsOf(t, text))
	var r struct {
		Placement struct {
			Together bool `json:"together"`
		} `json:"placement"`
		Fit struct {
			Gap        float64   `json:"gap_max_mm"`
			GapAt      []float64 `json:"gap_at_mm"`
			Overlap    float64   `json:"overlap_mm3"`
			OverlapAt  []float64 `json:"overlap_at_mm"`
			Land       *float64  `json:"land_min_mm"`
			Reversible bool      `json:"reversible"`
			Deviation  struct {
				Max float64 `json:"max_mm"`
			} `json:"part_deviation"`
			Scale float64   `json:"scale"`
			Cast  []float64 `json:"cast_size_mm"`
			Stubs []struct {
				What string `json:"what"`
			} `json:"stubs"`
			Leaks []struct {
				Path [][]float64 `json:"path_mm"`
			} `json:"leak_paths"`
		} `json:"fit"`
		Fill struct {
			Narrow []any `json:"narrow"`
		} `json:"fill"`
	}
	require.NoError(t, json.Unmarshal(text, &r))
	assert.True(t, r.Placement.Together)
	assert.InDelta(t, 0.3, r.Fit.Gap, 0.005)
	assert.Len(t, r.Fit.GapAt, 3)
	assert.Zero(t, r.Fit.Overlap)
	assert.Nil(t, r.Fit.OverlapAt)
	require.NotNil(t, r.Fit.Land)
	assert.Zero(t, *r.Fit.Land)
	assert.InDelta(t, 0.15, r.Fit.Deviation.Max, 0.005)
	assert.Equal(t, 1.0, r.Fit.Scale)
	assert.Len(t, r.Fit.Cast, 3)
	assert.NotEmpty(t, r.Fit.Stubs)
	require.NotEmpty(t, r.Fit.Leaks)
	assert.GreaterOrEqual(t, len(r.Fit.Leaks[0].Path), 2)
	assert.NotNil(t, r.Fill.Narrow)
}

// TestPlacementJSON: the section of a mold that does not lie together.
func TestPlacementJSON(t *testing.T) {
	j := newPlacement(&mold.Assembly{Covered: 0.5, Foreign: []string{"x"}, Bare: &mold.Bare{Share: 0.25, Direction: geom.Vec{Z: 1}},
		Moves: []mold.Move{{Body: "top", Factor: 25.4, Turn: geom.Vec{X: 3.141592653589793}, Shift: geom.Vec{Z: 15}}}})
	require.Len(t, j.Moves, 1)
	assert.Equal(t, vec{180, 0, 0}, j.Moves[0].Turn)
	assert.Equal(t, vec{0, 0, 15}, j.Moves[0].Move)
	assert.Equal(t, 25.4, *j.Moves[0].Scale)
	assert.Equal(t, 0.25, *j.Bare.Share)
	assert.Nil(t, newPlacement(nil))
}

// TestFaceInks: what a map paints.
func TestFaceInks(t *testing.T) {
	w := faceView{f: &mold.FaceMap{}, top: 0.5, tolerance: 0.01}
	assert.Equal(t, uint8(faceRubber), w.gapInk(0.005))
	assert.Equal(t, uint8(faceRubber), w.gapInk(-0.005))
	assert.Equal(t, uint8(faceOver), w.gapInk(-0.2))
	assert.Equal(t, uint8(faceGap), w.gapInk(0.05))
	assert.Equal(t, uint8(faceGap+gapSteps-1), w.gapInk(0.5))
	assert.Equal(t, uint8(1+deviationSteps), deviationInk(0, 1))
	assert.Equal(t, uint8(1), deviationInk(-1, 1))
	assert.Equal(t, uint8(1+2*deviationSteps), deviationInk(1, 1))
	assert.Len(t, deviationPalette(), 2+2*deviationSteps)
	assert.Len(t, facePalette(0), faceGap+gapSteps)
}
