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

// tiltSearch is a search whose tilts are free between 10 and 20 deg toward +x.
func tiltSearch() *mold.TiltSearch {
	at := func(angle, side float64) mold.TiltPoint {
		t := mold.Tilt{Angle: angle * math.Pi / 180, Side: side * math.Pi / 180}
		p := mold.TiltPoint{Tilt: t, Up: mold.UpFor(geom.Vec{Z: 1}, t)}
		if side != 0 || angle < 10 || angle > 20 {
			p.Trapped, p.Pockets = 5*math.Pow(10, angle/20), 1+int(angle/20)
		}
		return p
	}
	s := &mold.TiltSearch{Rest: geom.Vec{Z: 1}, Limit: math.Pi / 3, LevelFrom: 25, Cell: 0.5, Points: []mold.TiltPoint{at(0, 0)}}
	for a := 5.0; a <= 60; a += 5 {
		for side := 0.0; side < 360; side += 30 {
			s.Points = append(s.Points, at(a, side))
		}
	}
	s.Now, s.Best, s.Fewest = at(5, 90), at(15, 0), at(15, 0)
	s.NowFill = &mold.Fill{Trapped: 9.5, Pockets: []mold.Pocket{{ID: 1}}}
	s.BestFill = &mold.Fill{Trapped: 0.2, Vents: []mold.SuggestedVent{{ID: 1}}}
	s.NowMargin = mold.TiltMargin{Angle: 2 * math.Pi / 180, Fails: mold.Tilt{Angle: 8 * math.Pi / 180, Side: math.Pi / 2}, Adds: 12}
	s.BestMargin = mold.TiltMargin{Angle: 16 * math.Pi / 180, AtLeast: true}
	return s
}

func TestTiltText(t *testing.T) {
	text := TiltText(tiltSearch())
	lines := strings.Split(text, "\n")
	assert.Equal(t, "145 tilts tried up to 60° off the rest, columns every 0.5 mm", lines[0])
	assert.Equal(t, []string{"5@90", "9.5", "1", "2°", "chosen"}, strings.Fields(lines[3]))
	assert.Equal(t, []string{"15@0", "0.2", "0", "16°+", "best"}, strings.Fields(lines[4]))
	assert.Contains(t, text, "3 of the tilts tried need no change to the mold")
	assert.Contains(t, text, "may be off by 2°; 8@90 traps 12 mm³ more")
	for _, l := range lines {
		assert.LessOrEqual(t, len([]rune(l)), 100, l)
	}
	// The map: the best lies right of the middle, the chosen one above it; free is
	// around the best, and the rim has the most air.
	rows := lines[len(lines)-25 : len(lines)-4]
	require.Len(t, rows, 21)
	best, chosen := strings.IndexByte(rows[10], 'B'), strings.IndexByte(rows[9], 'C')
	assert.Equal(t, 2+20+5, best)
	assert.Equal(t, 2+20, chosen)
	assert.Equal(t, byte('.'), rows[10][best+1])
	assert.Equal(t, byte('7'), rows[0][2+20], "5000 mm3 at 60 deg are above 3000")
}

func TestTiltsJSON(t *testing.T) {
	data, err := json.Marshal(Tilts(tiltSearch()))
	require.NoError(t, err)
	var got struct {
		Limit  float64 `json:"limit_deg"`
		Margin float64 `json:"margin_deg"`
		Best   struct {
			Angle   float64 `json:"angle_deg"`
			Side    float64 `json:"raised_side_deg"`
			Trapped float64 `json:"trapped_mm3"`
			AtLeast bool    `json:"margin_at_least"`
			Chosen  bool    `json:"is_chosen"`
			Vents   []any   `json:"suggested_vents"`
		} `json:"best_tilt"`
		Free  []any   `json:"free_tilts"`
		Tilts []any   `json:"tilts"`
		Why   *string `json:"rocking_why"`
	}
	require.NoError(t, json.Unmarshal(data, &got))
	assert.Equal(t, 60.0, got.Limit)
	assert.Equal(t, 2.0, got.Margin)
	assert.Equal(t, 15.0, got.Best.Angle)
	assert.Equal(t, 0.2, got.Best.Trapped)
	assert.True(t, got.Best.AtLeast)
	assert.False(t, got.Best.Chosen)
	assert.Len(t, got.Best.Vents, 1)
	assert.Len(t, got.Free, 3)
	assert.Len(t, got.Tilts, 145)
	require.NotNil(t, got.Why)
	assert.Contains(t, *got.Why, "a single tilt leaves no air")
}

// TestTiltsInReport: the fill of report.json carries the search and passes the
// schema, with a plan, without one, and without a search.
func TestTiltsInReport(t *testing.T) {
	plan := tiltSearch()
	plan.Rocking = &mold.Rocking{Steps: []mold.RockStep{{Tilt: plan.Now.Tilt, Up: plan.Now.Up, Until: 4300}, {Tilt: plan.Best.Tilt, Up: plan.Best.Up, Until: 9000}}, Least: 8, Element: 1.5, Tilts: 61}
	none := tiltSearch()
	none.Rocking = &mold.Rocking{Least: 8, Element: 1.5, Tilts: 61, Tried: 400}
	for name, s := range map[string]*mold.TiltSearch{"plan": plan, "none": none, "one tilt is enough": tiltSearch(), "not searched": nil} {
		d := sampleDocument()
		d.Outcome.Tilts = s
		data, err := JSON(d)
		require.NoError(t, err, name)
		assert.Empty(t, faultsOf(t, data), name)
		var got struct {
			Fill struct {
				Rocking *[]struct {
					Until float64 `json:"until_ml"`
				} `json:"rocking"`
				Why  *string `json:"rocking_why"`
				Best any     `json:"best_tilt"`
			} `json:"fill"`
		}
		require.NoError(t, json.Unmarshal(data, &got), name)
		require.NotNil(t, got.Fill.Why, name)
		switch name {
		case "plan":
			require.Len(t, *got.Fill.Rocking, 2)
			assert.Equal(t, 4.3, (*got.Fill.Rocking)[0].Until)
			assert.Contains(t, TiltText(s), "Rocking: Stand the block at 5@90 and press in 4.3 ml, then turn it to 15@0")
		case "none":
			assert.Empty(t, *got.Fill.Rocking)
			assert.Contains(t, *got.Fill.Why, "none found: no sequence of two of 61 tilts")
		default:
			assert.Nil(t, got.Fill.Rocking, name)
		}
		assert.Equal(t, s == nil, got.Fill.Best == nil, name)
	}
}

// TestRockingWords: a plan of three, and how far a search without one went.
func TestRockingWords(t *testing.T) {
	s := tiltSearch()
	step := func(p mold.TiltPoint, mm3 float64) mold.RockStep {
		return mold.RockStep{Tilt: p.Tilt, Up: p.Up, Until: mm3}
	}
	s.Rocking = &mold.Rocking{Steps: []mold.RockStep{step(s.Now, 4300), step(s.Best, 6200), step(s.Now, 9000)}, Least: 8, Element: 1.5, Tilts: 61}
	assert.Contains(t, rockingLine(s), "Stand the block at 5@90 and press in 4.3 ml, turn it to 15@0 and go on to 6.2 ml, then turn it to 5@90 and fill it up; no single tilt")
	for want, r := range map[string]mold.Rocking{
		"no sequence of two of 61 tilts frees all; nor of three, because every third one traps what any two before it miss; on elements of 1.5 mm":                                                                                                                                 {Tried: 400},
		"frees all; nor does a likely third one after any of the 20 pairs that leave it a chance":                                                                                                                                                                                  {Tried: 400, Begun: 20},
		"of 306 sequences of two of 61 tilts that may free all, the 150 that turn the block least were poured and free it not (--search full pours the rest); of three tilts, those were poured that begin with the 10 most promising of 100 pairs, with the likeliest third ones": {Tried: 150, Left: 156, Begun: 10, Unbegun: 90},
	} {
		r.Least, r.Element, r.Tilts = 8, 1.5, 61
		s.Rocking = &r
		assert.Contains(t, rockingLine(s), want)
	}
}

// TestTiltDisc: classes rise with the air, and both marks stand where the tilts are.
func TestTiltDisc(t *testing.T) {
	s := tiltSearch()
	d := tiltDisc(s)
	require.Len(t, d.Values, discRings*discSectors)
	assert.Equal(t, 0.0, d.Values[6*discSectors], "16 deg toward +x")
	assert.Greater(t, d.Values[23*discSectors], d.Values[10*discSectors+18])
	require.Len(t, d.Marks, 2)
	assert.InDelta(t, 15, d.Marks[0].Angle, 1e-9)
	assert.Equal(t, "best", d.Marks[0].Text)
	assert.True(t, d.Marks[0].Right, "it lies right of the chosen one")
	assert.InDelta(t, 90, d.Marks[1].Azimuth, 1e-9)
	for i, air := range []float64{9, 29, 99, 299, 999, 2999, 1e6} {
		assert.Equal(t, i+2, airClass(s, mold.TiltPoint{Trapped: air, Pockets: 1}))
	}
	assert.Equal(t, 0, airClass(s, mold.TiltPoint{}))
	assert.Len(t, classWords(), len(classTops)+3)
}

// TestTiltPage: the page stands in the report and names both tilts.
func TestTiltPage(t *testing.T) {
	d := New(&checks.Outcome{Tilts: tiltSearch(), Limits: checks.DefaultLimits()}, "0")
	b, err := newBook(d)
	require.NoError(t, err)
	require.NoError(t, b.tiltPages())
	data, err := b.pdf.Bytes()
	require.NoError(t, err)
	said := words(strings.Join(textOf(t, data), " "))
	for _, want := range []string{"Tilt", "3 of them leave no air", "chosen", "least air", "no change to the mold needed"} {
		assert.Contains(t, said, want)
	}
}
