package report

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/geom"
)

// printedDocument is the base mold's with its halves printed coarsely, the top one
// flat, and searched poses.
func printedDocument(t *testing.T) *Document {
	t.Helper()
	o := *outcome(t, "b0", 10)
	var prints []*mold.Printed
	var poses []*mold.PoseSearch
	for i := range o.Mold.Halves {
		build, _ := o.Mold.DefaultBuild(i)
		p, err := o.Mold.Print(i, build, mold.PrintOptions{Cell: 0.8, Flat: i == 1})
		require.NoError(t, err)
		s, err := o.Mold.Pose(i, mold.PoseOptions{Quick: true, Cell: 1.5, Flat: i == 1})
		require.NoError(t, err)
		prints, poses = append(prints, p), append(poses, s)
	}
	run := checks.Run(checks.Input{Job: o.Job, Inputs: o.Inputs, Mold: o.Mold, Fill: o.Fill, Prints: prints, Poses: poses})
	d := New(run, "0.1")
	d.Title = "Tray"
	return d
}

func TestPrintPages(t *testing.T) {
	d := printedDocument(t)
	b, data := written(t, d)
	whole := words(strings.Join(textOf(t, data), " "))
	for _, half := range d.Outcome.Mold.Halves {
		assert.Contains(t, whole, "Printing "+half.Name)
	}
	assert.Contains(t, whole, "Build direction 0, 0, 1 (assumed: the parting face looks away from the platform), on supports, 5 mm above the platform, 20 mm high.")
	assert.Contains(t, whole, "flat on the platform, 15 mm high.")
	assert.Contains(t, whole, "platform closes it")
	assert.Contains(t, whole, "Closed cup in top: 800 mm² sealed, suction up to 81.1 N")
	assert.Contains(t, whole, "Area sealed by the film, layer by layer.")
	assert.Contains(t, whole, "Ways to lay it")
	assert.Contains(t, whole, "Way 1.")
	assert.Equal(t, 1, count(b.pdf, "chart"), "nothing is sealed in the other half")
	for i := range d.Outcome.Findings {
		if f := &d.Outcome.Findings[i]; ofPrint(f) && f.Channel == 0 {
			assert.Equal(t, printAnchor(f.Where.Body), b.evidence(f), f.Title)
		}
	}
	again, err := PDF(printedDocument(t))
	require.NoError(t, err)
	assert.True(t, bytes.Equal(data, again), "same bytes again")
}

func TestPrintsInJSON(t *testing.T) {
	d := printedDocument(t)
	text := reportText(t, d)
	require.Empty(t, faultsOf(t, text))
	var r struct {
		Halves []struct {
			Name    string
			Build   []float64
			Assumed bool `json:"build_assumed"`
			Raised  bool
			Height  float64 `json:"print_height_mm"`
			Cups    []struct {
				ID        int
				Area      float64 `json:"area_mm2"`
				Bound     float64 `json:"suction_bound_n"`
				Relieved  bool
				RelievedB *float64 `json:"relieved_by"`
				Drop      *float64 `json:"drop_kpa"`
				Platform  bool     `json:"closed_by_platform"`
			}
			Area  []struct{ Height, Area float64 } `json:"sealed_area"`
			Scars struct {
				Area    float64 `json:"area_mm2"`
				Molding float64 `json:"molding_area_mm2"`
			}
			Poses []struct{ Best, Now, Raised bool }
			Bores []struct {
				Ratio float64 `json:"length_over_diameter"`
				Ends  int     `json:"open_ends"`
			}
		}
	}
	require.NoError(t, json.Unmarshal(text, &r))
	require.Len(t, r.Halves, 2)
	for _, h := range r.Halves {
		require.Len(t, h.Cups, 1)
		c := h.Cups[0]
		assert.True(t, h.Assumed)
		assert.InDelta(t, 800, c.Area, 1)
		assert.InDelta(t, 81.06, c.Bound, 0.1)
		now := 0
		for i, p := range h.Poses {
			if p.Now {
				now++
				assert.Equal(t, h.Raised, p.Raised)
			}
			assert.True(t, p.Best || p.Now && i == len(h.Poses)-1)
		}
		assert.Equal(t, 1, now)
		require.Len(t, h.Bores, 1)
		assert.Equal(t, 2, h.Bores[0].Ends)
		if h.Raised {
			assert.True(t, c.Relieved)
			require.NotNil(t, c.RelievedB)
			assert.InDelta(t, 4, *c.RelievedB, 0.05)
			assert.Empty(t, h.Area)
			assert.Positive(t, h.Scars.Area)
			assert.Equal(t, 20.0, h.Height)
		} else {
			assert.Nil(t, c.RelievedB)
			assert.Nil(t, c.Drop)
			assert.True(t, c.Platform)
			assert.NotEmpty(t, h.Area)
			assert.Equal(t, 15.0, h.Height)
		}
	}
}

func TestReliefsSTL(t *testing.T) {
	d := printedDocument(t)
	holes := reliefHoles(d.Outcome)
	data, err := ReliefsSTL(d)
	require.NoError(t, err)
	require.NotEmpty(t, holes, "the flat half's cup gets one")
	require.Equal(t, 252*len(holes), int(binary.LittleEndian.Uint32(data[80:])), "a cylinder of 64 sides each")
	none, err := ReliefsSTL(New(&checks.Outcome{}, "0"))
	require.NoError(t, err)
	assert.Nil(t, none)
}

func TestPrintLine(t *testing.T) {
	o := &checks.Outcome{Prints: []*mold.Printed{{Name: "a", Height: 20}, {Name: "b", Height: 31.5, Cups: []mold.Cup{{Bound: 81.06}, {Bound: 3}}},
		{Name: "c", Height: 9, Cups: []mold.Cup{{Bound: 30, Relieved: true}}}}}
	assert.Equal(t, "a 20 mm high, no cup; b 31.5 mm high, suction up to 81.1 N; c 9 mm high, cup relieved", printPhrase(o))
	assert.Empty(t, printPhrase(&checks.Outcome{}))
}

func TestPoseText(t *testing.T) {
	yes := true
	now := mold.PosePoint{Build: geom.Vec{Z: 1}, Flat: true, CupArea: 800, Height: 15, Step: 0.01}
	s := &mold.PoseSearch{Name: "top", Cell: 0.5, Cast: 2, Now: now, Points: []mold.PosePoint{{Build: geom.Vec{X: 1}, Height: 45, Fits: &yes, Best: true, Starts: 2, Step: 0.0251}, now, {Build: geom.Vec{Y: 1}, Assumed: true}}}
	text := PoseText(s, 6)
	lines := strings.Split(strings.TrimSpace(text), "\n")
	require.Len(t, lines, 4)
	assert.Equal(t, "top: 3 directions tried, 2 of them printed layer by layer at 0.5 mm", lines[0])
	assert.Equal(t, []string{"1,", "0,", "0", "0", "0", "0", "2", "25.1", "45", "yes", "best"}, strings.Fields(lines[2]))
	assert.Equal(t, []string{"0,", "0,", "1", "flat", "800", "0", "0", "0", "10", "15", "?", "now"}, strings.Fields(lines[3]))
	for _, l := range lines {
		assert.LessOrEqual(t, len(l), 110)
	}
	data, err := json.Marshal(Poses([]*mold.PoseSearch{s}))
	require.NoError(t, err)
	assert.Contains(t, string(data), `"name":"top"`)
}
