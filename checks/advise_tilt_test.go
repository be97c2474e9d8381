package checks

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// tiltPoint is a tilt in degrees with what it traps.
func tiltPoint(angle, side, trapped float64, pockets int) mold.TiltPoint {
	t := mold.Tilt{Angle: angle * math.Pi / 180, Side: side * math.Pi / 180}
	return mold.TiltPoint{Tilt: t, Up: mold.UpFor(geom.Vec{Z: 1}, t), Trapped: trapped, Pockets: pockets}
}

// advised runs the advice on tilts over a pour that traps so much.
func advised(trapped float64, s *mold.TiltSearch) []Finding {
	fill := &mold.Fill{Trapped: trapped}
	if trapped >= 1 {
		fill.Pockets = []mold.Pocket{{ID: 1, Volume: trapped}}
	}
	s.Limit, s.LevelFrom = math.Pi/3, 25
	s.Points = append(s.Points, s.Now, s.Best)
	p := &Pass{Limits: DefaultLimits(), Fill: fill, Tilts: s, check: &airCheck}
	p.betterTilt()
	p.rocking()
	p.narrowTilt()
	return p.findings
}

func TestBetterTilt(t *testing.T) {
	now, free := tiltPoint(10, 0, 640, 1), tiltPoint(20, 180, 0.1, 0)
	found := advised(640, &mold.TiltSearch{Now: now, Best: free, BestFill: &mold.Fill{Trapped: 0.1}, Fewest: free,
		BestMargin: mold.TiltMargin{Angle: 4 * math.Pi / 180}})
	require.Len(t, found, 1)
	assert.Equal(t, Discuss, found[0].Severity, "it is free: decide")
	assert.Equal(t, "Tilt 20@180 leaves no air: nothing to change in CAD", found[0].Title)
	assert.Contains(t, found[0].Advice, "--tilt 20@180: raise the side facing -X by 20 deg. It may be off by 4 deg.")

	less := tiltPoint(20, 90, 100, 2)
	found = advised(640, &mold.TiltSearch{Now: now, Best: less, BestFill: &mold.Fill{Trapped: 100, Pockets: make([]mold.Pocket, 2)}, Fewest: now})
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity, "vents are needed all the same")
	assert.Contains(t, found[0].Why, "10@0 needs the fewest vents added: 1")

	for name, s := range map[string]*mold.TiltSearch{
		"the chosen one is the best": {Now: now, Best: now, BestFill: &mold.Fill{Trapped: 640}},
		"hardly better":              {Now: now, Best: less, BestFill: &mold.Fill{Trapped: 400}},
	} {
		assert.Empty(t, advised(640, s), name)
	}
	assert.Empty(t, advised(8, &mold.TiltSearch{Now: tiltPoint(10, 0, 8, 1), Best: free, BestFill: &mold.Fill{}}), "8 mm3 are below the limit of 10")
}

func TestNarrowTilt(t *testing.T) {
	now := tiltPoint(15, 0, 0, 0)
	search := func(deg float64) *mold.TiltSearch {
		return &mold.TiltSearch{Now: now, Best: now, BestFill: &mold.Fill{}, NowMargin: mold.TiltMargin{Angle: deg * math.Pi / 180, Fails: mold.Tilt{Angle: 17 * math.Pi / 180}, Adds: 12}}
	}
	found := advised(0, search(1))
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity)
	assert.Equal(t, "The tilt must hold: at 17@0 12 mm3 of air stay", found[0].Title)
	assert.Empty(t, advised(0, search(2)), "2 deg can be held")
	assert.Empty(t, advised(50, search(1)), "air stays anyway")
}

func TestRockingAdvice(t *testing.T) {
	now := tiltPoint(10, 0, 640, 1)
	s := &mold.TiltSearch{Now: now, Best: now, BestFill: &mold.Fill{Trapped: 640}, Rocking: &mold.Rocking{Least: 6, Steps: []mold.RockStep{
		{Tilt: tiltPoint(45, 0, 0, 0).Tilt, Until: 4300}, {Tilt: tiltPoint(60, 270, 0, 0).Tilt, Until: 9000}}}}
	found := advised(640, s)
	require.Len(t, found, 1)
	assert.Equal(t, Note, found[0].Severity)
	assert.Contains(t, found[0].Advice, "Stand the block at 45@0 (raise the side facing +X by 45 deg) and press in 4.3 ml. Turn it to 60@270 (raise the side facing -Y by 60 deg)")
	assert.Contains(t, found[0].Title, "Two tilts")
	s.Rocking.Steps = append(s.Rocking.Steps[:1], mold.RockStep{Tilt: tiltPoint(30, 90, 0, 0).Tilt, Until: 6200}, s.Rocking.Steps[1])
	found = advised(640, s)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].Title, "Three tilts, one after the other")
	assert.Contains(t, found[0].Advice, "press in 4.3 ml. Turn it to 30@90 (raise the side facing +Y by 30 deg) and press in more, up to 6.2 ml in all. Turn it to 60@270 (raise the side facing -Y by 60 deg) and fill it up")
	s.Rocking.Steps = nil
	assert.Empty(t, advised(640, s))
}

func TestSensitivityLines(t *testing.T) {
	deg := math.Pi / 180
	p := &Pass{Mold: &mold.Mold{Halves: []mold.Body{{Name: "top"}}}, Sensitive: []mold.Sensitivity{
		{Change: mold.TiltChange, Pocket: 1, Gone: 12 * deg, Still: 11 * deg},
		{Change: mold.VentMove, Pocket: 1, Channel: 2, Gone: 3, Still: 2.5, Toward: geom.Vec{X: 1}},
		{Change: mold.TiltChange, Pocket: 2, Gone: -4 * deg, Still: 0, Side: math.Pi / 2},
		{Change: mold.LeanChange, Half: 0, Gone: 25 * deg, Still: 24 * deg, Toward: geom.Vec{Y: 1}},
	}}
	assert.Equal(t, "Gone at tilt 12@0; still there at tilt 11@0. Gone if vent 2 moves 3 mm toward +X; still there at 2.5 mm.", p.sensitivity(&Finding{Severity: Stop, Pocket: 1}))
	assert.Equal(t, "Gone at tilt 4@270; still there level.", p.sensitivity(&Finding{Severity: Discuss, Pocket: 2}))
	assert.Equal(t, "Gone if top is leaned by 25 deg toward build 0,1,0; still there at 24 deg.", p.sensitivity(&Finding{Severity: Discuss, kind: "cup", Where: Where{Body: "top"}}))
	assert.Empty(t, p.sensitivity(&Finding{Severity: Note, Pocket: 1}), "a note needs none")
	p.Sensitive = []mold.Sensitivity{{Change: mold.TiltChange, Pocket: 1, Gone: 40 * deg, Still: -24 * deg, Stays: true, Tried: 14},
		{Change: mold.VentMove, Pocket: 1, Channel: 2, Still: 7.5, Stays: true, Toward: geom.Vec{X: 1}}}
	assert.Equal(t, "None of the 14 other tilts tried, from tilt 24@180 to tilt 40@0, frees it without air elsewhere. Still there if vent 2 moves 7.5 mm toward +X.", p.sensitivity(&Finding{Severity: Stop, Pocket: 1}))
	p.Fill = &mold.Fill{Pockets: []mold.Pocket{{ID: 1, Vent: &mold.SuggestedVent{ID: 3, Pockets: []int{1}}}}, Ports: []mold.Channel{{ID: 2, Diameter: 1}}}
	assert.Equal(t, "None of the 14 other tilts tried, from tilt 24@180 to tilt 40@0, frees it without air elsewhere; suggested vent 3 does. Still there if vent 2, bored 2 mm wide, moves 7.5 mm toward +X.",
		p.sensitivity(&Finding{Severity: Stop, Pocket: 1}))
	assert.Empty(t, p.sensitivity(&Finding{Severity: Stop, Pocket: 3}))
}
