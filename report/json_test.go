package report

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
)

func pointer[T any](x T) *T { return &x }

// sampleDocument holds something in every field that report.json has.
func sampleDocument() *Document {
	at := geom.Vec{X: 1.00004, Y: -2, Z: 3.99996}
	job := mold.NewJob()
	job.Halves = []mold.BodySpec{{File: "a.stl", Build: &geom.Vec{Z: 2}}, {File: "b.stl", Flat: true}}
	job.Report.Title, job.Report.Revision = "Knob <Ø44> & co", "B"
	vent := &mold.SuggestedVent{ID: 1, Mouth: at, Exit: geom.Vec{Z: 30}, Direction: geom.Vec{Z: 1}, Diameter: 2, Length: 26, Half: "b", Frees: 90, Gain: 90, Pockets: []int{1}}
	o := &checks.Outcome{
		Verdict: checks.DoNotPrint, Job: job,
		Inputs: []mold.Input{{Role: "part", Name: "knob", File: "knob.stl", SHA256: strings.Repeat("ab", 32), Units: "mm", UnitsFrom: "assumed", Format: "STL binary",
			Triangles: 12, Shells: 1, Closed: true, Volume: 8000, Area: 2400, Box: geom.Box{Max: geom.Vec{X: 40, Y: 20, Z: 10}}, Chord: 0.01,
			Repairs: []mold.Repair{{Kind: "inside-out", Count: 1, At: &at}}, Warnings: []mold.Caution{{Kind: "open-edge", Text: "1 open edge"}}},
			{Role: "half", Name: "a"}, {Role: "half", Name: "b"}},
		Findings: []checks.Finding{
			{ID: 1, Key: "air/ceiling@1", Check: "air", Severity: checks.Stop, Title: "Air stays here: 100 mm³", Where: checks.Where{Body: "knob", At: &at},
				Value: pointer(100.0), Unit: "mm3", Error: pointer(2.0), Limit: pointer(10.0), LimitKey: "air_stop_mm3", Why: "It leaves a hole.",
				Advice: "Add a vent.", Pocket: 1},
			{ID: 2, Key: "vents/narrow@2", Check: "vents", Severity: checks.Discuss, Title: "Vent 2 is narrow", Where: checks.Where{Body: "b"}, Accepted: pointer("tested"), Channel: 2},
			{ID: 3, Key: "vents/area", Check: "vents", Severity: checks.Note, Title: "A note"},
		},
		NotJudged: []checks.NotJudged{{Check: "cups", Why: "not asked"}},
		Settings:  []checks.Setting{{Name: "pour.seal", Value: "0.12", Number: pointer(0.12), Unit: "mm", From: "by rule"}, {Name: "report.paper", Value: "a4", From: "default"}},
		Mold:      &mold.Mold{Halves: []mold.Body{{Name: "a"}, {Name: "b"}}, Pulls: []geom.Vec{{Z: -1}, {Z: 1}}},
		Fill: &mold.Fill{
			Vents: []mold.SuggestedVent{*vent}, VentsLeave: 10,
			Up: geom.Vec{Z: 1}, TiltAngle: math.Pi / 12, TiltSide: math.Pi / 2, Cell: 0.25, Cavity: 8000, Channels: 300, Filled: 7899, Trapped: 101,
			TrappedError: 2, SmallCount: 2, SmallVolume: 1, LevelCeilingArea: 30, LevelCeilingAt: &at, LowestCavityPoint: at, HighestPoint: 10,
			Pockets: []mold.Pocket{{ID: 1, Kind: mold.Ceiling, Volume: 100, Top: at, Bottom: at, SealedAt: 9, Depth: 1, Error: 2, Spoils: 50, Near: 2, NearDistance: 4, Vent: vent}},
			Ports: []mold.Channel{{ID: 1, Role: mold.Gate, Assumed: true, Exit: &at, Diameter: 4, WidestBeyond: 4.8, Half: "parting"},
				{ID: 2, Role: mold.Vent, Exit: &at, Diameter: 2, WeepsOrder: 1, WeepsAt: pointer(7.5), PlugAt: pointer(7.6), Drains: []int{0}, Half: "b"}},
			HighPoints: []mold.HighPoint{{At: at, Prominence: 2, VentedBy: 2}, {At: at, Prominence: 1, Pocket: 1}},
			Stages:     []mold.Stage{{Percent: 10, Filled: 790, Level: 1, Front: []geom.Vec{at}}},
		},
	}
	d := New(o, "1.2.3")
	d.Compare(&Earlier{Name: "old/report.json", Version: "1.2.3", Verdict: "stop", Findings: []EarlierFinding{{Key: "vents/area", Severity: "note"}, {Key: "air/gone@9", Severity: "stop", Title: "Gone"}}})
	return d
}

func reportText(t *testing.T, d *Document) []byte {
	t.Helper()
	text, err := JSON(d)
	require.NoError(t, err)
	return text
}

func TestJSONIsTheContract(t *testing.T) {
	text := reportText(t, sampleDocument())
	require.Empty(t, faultsOf(t, text))
	assert.Equal(t, text, reportText(t, sampleDocument()), "same bytes again")
	assert.True(t, strings.HasSuffix(string(text), "}\n"))
	var r struct {
		Report struct{ Title string }
		Fill   struct {
			Tilt struct {
				Angle float64 `json:"angle_deg"`
				Side  float64 `json:"raised_side_deg"`
			}
			Cured   float64 `json:"trapped_cured_mm3"`
			Pockets []struct {
				Top  []float64 `json:"top_mm"`
				Vent struct{ ID int }
			}
			Channels []struct {
				Stretch float64 `json:"neck_stretch"`
				Drains  []int
			}
			HighPoints []struct {
				ID       int
				VentedBy *int `json:"vented_by"`
			} `json:"high_points"`
		}
		Halves   []struct{ Build, Pull []float64 }
		Findings []struct {
			Where    struct{ Half, Part *string }
			Accepted *string
		}
		Since struct{ Fixed, New, Same, Accepted []string }
	}
	require.NoError(t, json.Unmarshal(text, &r))
	assert.Equal(t, "Knob <Ø44> & co", r.Report.Title)
	assert.Contains(t, string(text), "Knob <Ø44> & co", "not escaped")
	assert.Equal(t, []float64{15, 90}, []float64{r.Fill.Tilt.Angle, r.Fill.Tilt.Side})
	assert.Equal(t, []float64{1, -2, 4}, r.Fill.Pockets[0].Top, "rounded to 1e-4")
	assert.InDelta(t, 101*0.19674, r.Fill.Cured, 1e-3, "Boyle at 60 psi gauge")
	assert.Equal(t, 0.2, r.Fill.Channels[0].Stretch)
	assert.Equal(t, []int{1}, r.Fill.Channels[1].Drains, "ids of high points")
	assert.Equal(t, 2, *r.Fill.HighPoints[0].VentedBy)
	assert.Nil(t, r.Fill.HighPoints[1].VentedBy)
	assert.Equal(t, []float64{0, 0, 1}, r.Halves[0].Build, "a unit vector")
	assert.Nil(t, r.Halves[1].Build)
	assert.Equal(t, "knob", *r.Findings[0].Where.Part)
	assert.Nil(t, r.Findings[0].Where.Half)
	assert.Equal(t, "b", *r.Findings[1].Where.Half)
	assert.Equal(t, []string{"air/gone@9"}, r.Since.Fixed)
	assert.Equal(t, []string{"air/ceiling@1"}, r.Since.New)
	assert.Equal(t, []string{"vents/area"}, r.Since.Same)
	assert.Equal(t, []string{"vents/narrow@2"}, r.Since.Accepted)
}

// With nothing but an outcome every section is still there.
func TestJSONOfAnEmptyOutcome(t *testing.T) {
	d := New(&checks.Outcome{Verdict: checks.NoJudgement, NotJudged: []checks.NotJudged{{Check: "air", Why: "no cavity", Asked: true}}}, "0")
	text := reportText(t, d)
	assert.Empty(t, faultsOf(t, text))
	assert.Contains(t, string(text), `"fill": null`)
	assert.Contains(t, string(text), `"findings": []`)
}

// Numbers are finite or null, whatever the facts hold.
func TestNumbersAreFinite(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.Nil(t, num(x))
	}
	assert.Equal(t, 0.1235, *num(0.12345678))
	assert.Equal(t, "0", string(must(json.Marshal(num(-0.00001)))), "no -0")
	text, err := json.Marshal(place(geom.Vec{X: math.NaN(), Y: 1}))
	require.NoError(t, err)
	assert.Equal(t, "null", string(text))
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}
