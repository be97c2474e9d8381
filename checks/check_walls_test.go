package checks

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
	"pourproof/testdata"
)

// ofRubber judges the rubber of one half.
func ofRubber(r *mold.HalfRubber, demold *mold.Demolding, only string) []Finding {
	r.Name = "top"
	m := &mold.Mold{Channels: []mold.Channel{{ID: 4, Role: mold.Blind, Diameter: 2, End: geom.Vec{X: 5, Z: 20}, ExitAxis: geom.Vec{Z: 1}}}}
	return Run(Input{Mold: m, Rubber: []*mold.HalfRubber{r}, Demolding: demold, Only: []string{only}}).Findings
}

func wallAt(x, least float64, kind mold.WallKind, a, b mold.Side) mold.Wall {
	return mold.Wall{Kind: kind, Least: least, Mean: least, Area: 30, At: geom.Vec{X: x}, Between: [2]mold.Side{a, b}, Height: 3 * least, Slender: 3}
}

// Each place is held against its own limits: 5 and 2 mm around the cavity, 1.5 and 0.8
// elsewhere (practice), whatever its kind.
func TestWallsAgainstTheirLimits(t *testing.T) {
	for _, c := range []struct {
		wall mold.Wall
		want Severity
		key  string
	}{
		{wallAt(1, 5.1, mold.ThinWall, mold.AtCavity, mold.AtOutside), 0, ""},
		{wallAt(1, 4.9, mold.ThinWall, mold.AtCavity, mold.AtOutside), Discuss, "around_mm"},
		{wallAt(1, 1.9, mold.ThinWall, mold.AtCavity, mold.AtOutside), Stop, "around_stop_mm"},
		{wallAt(1, 1.6, mold.ThinWall, mold.AtCavity, mold.AtChannel), 0, ""},
		{wallAt(1, 1.4, mold.ThinWall, mold.AtCavity, mold.AtChannel), Discuss, "thin_mm"},
		{wallAt(1, 0.7, mold.ThinWall, mold.AtCavity, mold.AtCavity), Stop, "thin_stop_mm"},
		{wallAt(1, 0.7, mold.Fin, mold.AtCavity, mold.AtCavity), Stop, "thin_stop_mm"},
		{wallAt(1, 1.4, mold.Pin, mold.AtCavity, mold.AtCavity), Discuss, "thin_mm"},
	} {
		found := ofRubber(&mold.HalfRubber{Walls: []mold.Wall{c.wall}}, nil, "walls")
		if c.want == 0 {
			assert.Empty(t, found, "%+v", c.wall)
			continue
		}
		require.Len(t, found, 1, "%+v", c.wall)
		assert.Equal(t, c.want, found[0].Severity, found[0].Title)
		assert.Equal(t, c.key, found[0].LimitKey)
		assert.Equal(t, c.wall.Least, *found[0].Value)
		assert.Contains(t, found[0].Title, "top")
		assert.NotEmpty(t, found[0].Advice)
	}
}

// A slender fin that is thick enough is told once, by its slenderness.
func TestSlenderFin(t *testing.T) {
	w := wallAt(1, 2, mold.Fin, mold.AtCavity, mold.AtCavity)
	w.Height, w.Slender = 11, 5.5
	found := ofRubber(&mold.HalfRubber{Walls: []mold.Wall{w}}, nil, "walls")
	require.Len(t, found, 1)
	assert.Equal(t, "slender_ratio", found[0].LimitKey)
	assert.Equal(t, Discuss, found[0].Severity)
	w.Slender = 3.9
	assert.Empty(t, ofRubber(&mold.HalfRubber{Walls: []mold.Wall{w}}, nil, "walls"))
}

// A thin place of less than a square millimetre stops nothing, and what is left at the
// end of a blind channel is a note: another check tells of the channel.
func TestSmallThinPlaces(t *testing.T) {
	w := wallAt(1, 0.3, mold.ThinWall, mold.AtCavity, mold.AtOutside)
	w.Area = 0.5
	found := ofRubber(&mold.HalfRubber{Walls: []mold.Wall{w}}, nil, "walls")
	require.Len(t, found, 1)
	assert.Equal(t, Discuss, found[0].Severity)
	end := wallAt(5.2, 0.3, mold.ThinWall, mold.AtChannel, mold.AtOutside)
	end.At.Z = 20.15
	found = ofRubber(&mold.HalfRubber{Walls: []mold.Wall{end}}, nil, "walls")
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity)
	assert.Contains(t, found[0].Why, "channel 4")
}

// Places of one kind are one finding, told by the worst; the others are named.
func TestWallsAreGrouped(t *testing.T) {
	list := []mold.Wall{wallAt(1, 1.2, mold.Fin, mold.AtCavity, mold.AtCavity), wallAt(30, 0.6, mold.Fin, mold.AtCavity, mold.AtCavity), wallAt(60, 3, mold.ThinWall, mold.AtCavity, mold.AtOutside)}
	found := ofRubber(&mold.HalfRubber{Walls: list}, nil, "walls")
	require.Len(t, found, 2)
	assert.Equal(t, Stop, found[0].Severity)
	assert.Equal(t, 30.0, found[0].Where.At.X)
	assert.Contains(t, found[0].Why, "Also 1.2 at (1.0, 0.0, 0.0).")
	assert.Equal(t, "around_mm", found[1].LimitKey)
}

// A knife edge is worth a decision from 2 mm on, below it is a note.
func TestKnifeFindings(t *testing.T) {
	edge := func(deg, length float64) mold.Edge {
		return mold.Edge{Angle: deg * math.Pi / 180, Length: length, At: geom.Vec{X: length}}
	}
	found := ofRubber(&mold.HalfRubber{Knives: []mold.Edge{edge(12, 0.8), edge(30, 25)}}, nil, "edges")
	require.Len(t, found, 1)
	assert.Equal(t, Discuss, found[0].Severity)
	assert.Equal(t, 30.0, *found[0].Value)
	assert.Equal(t, 25.0, found[0].Where.At.X)
	assert.Contains(t, found[0].Why, "12 deg at")
	found = ofRubber(&mold.HalfRubber{Knives: []mold.Edge{edge(12, 0.8)}}, nil, "edges")
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity)
	assert.Empty(t, ofRubber(&mold.HalfRubber{}, nil, "edges"))
}

// An inner corner counts where an undercut on its faces stretches it by more than
// 10 %; all others are one note.
func TestCornersAreJudgedByTheirStretch(t *testing.T) {
	corners := []mold.Edge{{Angle: math.Pi / 2, Length: 40, Facets: []int32{3, 4}}, {Angle: math.Pi / 2, Length: 12, Facets: []int32{8, 9}, At: geom.Vec{Y: 7}}}
	found := ofRubber(&mold.HalfRubber{Corners: corners}, nil, "edges")
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity)
	assert.Equal(t, 52.0, *found[0].Value)
	for stretch, want := range map[float64]Severity{1.09: Note, 1.25: Discuss} {
		d := &mold.Demolding{Halves: []mold.Release{{Name: "top", Undercuts: []mold.Undercut{{ID: 1, Stretch: &stretch, Facets: []int32{9, 10}}}}}}
		found = ofRubber(&mold.HalfRubber{Corners: corners}, d, "edges")
		assert.Equal(t, want, found[0].Severity, "%v", stretch)
		if want == Discuss {
			require.Len(t, found, 2)
			assert.Equal(t, 7.0, found[0].Where.At.Y)
			assert.InDelta(t, 25, *found[0].Value, 1e-9)
			assert.Contains(t, found[0].Advice, "0.5 mm")
			assert.Equal(t, 40.0, *found[1].Value)
		}
	}
}

// Without a measurement nothing is green.
func TestRubberNotMeasured(t *testing.T) {
	o := Run(Input{Mold: &mold.Mold{}, Only: []string{"walls"}})
	assert.Equal(t, NoJudgement, o.Verdict)
}

// What the rubber of stored molds comes to; most of them have nothing but the note
// about inner corners.
func TestRubberOfCases(t *testing.T) {
	want := map[string][]string{
		"b0": {}, "comb": {}, "keys": {}, "torus": {}, "sheet": {},
		"blind03":    {"note wall"},
		"membrane03": {"stop around", "stop around"},                                          // one a half
		"bunny":      {"discuss knife", "note knife", "stop fin", "stop wall", "discuss fin"}, // a parting plane right through the ears
	}
	for name, list := range want {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c, err := testdata.Case(name)
			require.NoError(t, err)
			s := closeFiles(t, c.Part, c.Halves...)
			r, err := s.mold.Rubber(RubberOptions(DefaultLimits()))
			require.NoError(t, err)
			o := Run(Input{Job: s.job, Inputs: s.inputs, Mold: s.mold, Rubber: r, Only: []string{"walls", "edges"}})
			proper(t, o)
			found := []string{}
			for i := range o.Findings {
				if f := &o.Findings[i]; (f.Check == "walls" || f.Check == "edges") && f.kind != "corners" {
					found = append(found, f.Severity.String()+" "+f.kind)
				}
			}
			assert.ElementsMatch(t, list, found)
		})
	}
}
