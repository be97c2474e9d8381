package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
)

func TestPocketSeverity(t *testing.T) {
	for _, c := range []struct {
		kind   mold.PocketKind
		volume float64
		want   Severity
		as     string
	}{
		{mold.Ceiling, 640, Stop, "air/pocket"}, {mold.Ceiling, 10, Stop, "air/pocket"},
		{mold.Ceiling, 9.99, Discuss, "air/pocket"}, {mold.Ceiling, 1, Discuss, "air/pocket"}, {mold.Ceiling, 0.99, Note, "air/small"},
		{mold.Basin, 10, Stop, "air/basin"}, {mold.Basin, 9.99, Discuss, "air/basin"},
		{mold.Capillary, 640, Discuss, "air/capillary"}, {mold.Capillary, 0.5, Note, "air/small"},
	} {
		in := clean()
		pocketAt(&in, 0, v(40, 10, 10), c.volume, 1).Kind = c.kind
		o := Run(in)
		proper(t, o)
		f := one(t, o, c.as)
		assert.Equal(t, c.want, f.Severity, "%+v", c)
		assert.Equal(t, c.volume, *f.Value)
		if c.as != "air/small" {
			assert.Equal(t, 1, f.Pocket)
			assert.Equal(t, "knob", f.Where.Body)
			assert.Equal(t, v(40, 10, 10), *f.Where.At)
		}
	}
}

// TestPocketOnShowFace: from 1 mm3 on a show face it is a stop, of every kind but the
// capillary one, and what causes it may be one too where the air itself is not judged.
func TestPocketOnShowFace(t *testing.T) {
	for _, c := range []struct {
		kind   mold.PocketKind
		volume float64
		want   Severity
		limit  string
	}{
		{mold.Ceiling, 1, Stop, "air_show_mm3"}, {mold.Basin, 5, Stop, "air_show_mm3"}, {mold.Ceiling, 10, Stop, "air_stop_mm3"},
		{mold.Capillary, 5, Discuss, "air_discuss_mm3"}, {mold.Ceiling, 0.99, Note, ""},
	} {
		in := clean()
		k := pocketAt(&in, 0, v(40, 10, 10), c.volume, 1)
		k.Kind, k.Show = c.kind, "lid"
		o := Run(in)
		proper(t, o)
		as := map[mold.PocketKind]string{mold.Ceiling: "air/pocket", mold.Basin: "air/basin", mold.Capillary: "air/capillary"}[c.kind]
		if c.want == Note {
			as = "air/small"
		}
		f := one(t, o, as)
		assert.Equal(t, c.want, f.Severity, "%+v", c)
		assert.Equal(t, c.limit, f.LimitKey, "%+v", c)
		if c.want != Note {
			assert.Contains(t, f.Why, "It spoils 12 mm2 of the part's surface, some of it on lid.")
		}
	}
	in := clean()
	pocketAt(&in, -1, v(10, 10, 10), 5, 1).Show = "lid"
	in.Only = []string{"vents"}
	o := Run(in)
	assert.Equal(t, Stop, one(t, o, "vents/no-vent-here").Severity)
	in.Fill.Pockets[0].Show = ""
	assert.Equal(t, Discuss, one(t, Run(in), "vents/no-vent-here").Severity)
}

func TestPocketSentences(t *testing.T) {
	in := clean()
	k := pocketAt(&in, 0, v(40, 10, 10), 636.54, 3.299)
	k.Marginal = true
	k.Vent = &mold.SuggestedVent{ID: 1, Mouth: v(39, 10, 10), Exit: v(39, 10, 20), Direction: v(0, 0, 1), Diameter: 2, Length: 10, Half: "top", Frees: 636.54}
	k.Near, k.NearDistance = 2, 8
	in.Fill.Ports[1].Mouth = v(32, 10, 10)
	f := one(t, Run(in), "air/pocket")
	assert.Equal(t, "Air stays here: 637 mm3 (8 % of the part)", f.Title)
	for _, s := range []string{
		"3.3 mm deep", "spoils 12 mm2", "Marginal",
		// Boyle: 636.54 x 101.325 / (101.325 + 413.685) = 125.24 (literature: ratio 0.19674 at 60 psi gauge)
		"414 kPa gauge it shrinks to 125 mm3: pressure shrinks a pocket and never fills it",
	} {
		assert.Contains(t, f.Why, s)
	}
	assert.Equal(t, "Add suggested vent 1: 2 mm wide, from (39.0, 10.0, 10.0) along +Z, 10 mm long through top, leaving at (39.0, 10.0, 20.0). "+
		"It frees 637 mm3; --try 1 shows it without a change in CAD. "+
		"Or move vent 2 by (8.0, 0.0, 0.0) mm (8 mm), so that its mouth reaches (40.0, 10.0, 10.0).", f.Advice)
	require.NotNil(t, f.Error)
	assert.Equal(t, 0.5, *f.Error)

	in.Job.Pot.Gauge = 0
	assert.NotContains(t, one(t, Run(in), "air/pocket").Why, "pressure")
}

func TestPocketAdvice(t *testing.T) {
	advice := func(change func(in *Input, k *mold.Pocket)) string {
		in := clean()
		k := pocketAt(&in, 0, v(40, 10, 10), 50, 1)
		change(&in, k)
		o := Run(in)
		proper(t, o)
		return one(t, o, "air/pocket").Advice
	}
	assert.Contains(t, advice(func(in *Input, k *mold.Pocket) {}), "Add a vent that rises to the outside from (40.0, 10.0, 10.0)")
	assert.Contains(t, advice(func(in *Input, k *mold.Pocket) { k.Near, k.NearDistance = 2, 1 }), "Move vent 2 by (1.0, 0.0, 0.0) mm (1 mm)")
	assert.Contains(t, advice(func(in *Input, k *mold.Pocket) { k.Near, k.NearDistance = 2, 31 }), "Add a vent", "one so far off serves another place")
	assert.Contains(t, advice(func(in *Input, k *mold.Pocket) {
		k.Near, k.NearDistance = 2, 1
		in.Fill.Ports[1].Axis = v(0, 0, -1)
	}), "leaves downhill")
	assert.Contains(t, advice(func(in *Input, k *mold.Pocket) {
		in.Fill.HighPoints = append(in.Fill.HighPoints, mold.HighPoint{At: v(0, 0, 0)})
		in.Fill.Ports[1].Drains = []int{0, 1}
		k.Near, k.NearDistance = 2, 1
	}), "Add a vent", "moving vent 2 would leave another high point without one")
	blind := advice(func(in *Input, k *mold.Pocket) {
		in.Fill.Ports[1].Role, in.Fill.Ports[1].Exit = mold.Blind, nil
		in.Fill.Ports[1].ID = 2
		in.Fill.HighPoints[0].VentedBy = 0
		k.Near, k.SealedAt = 2, k.SealedAt-2
	})
	assert.Equal(t, "Channel 2 opens into this air and is blind: carry it through to the outside.", blind)
}

func TestSmallPocketsAreOneNote(t *testing.T) {
	in := clean()
	in.Fill.SmallCount, in.Fill.SmallVolume = 14, 3.2
	o := Run(in)
	proper(t, o)
	f := one(t, o, "air/small")
	assert.Equal(t, "14 small pockets of air, 3.2 mm3 in all", f.Title)
	assert.Equal(t, Note, f.Severity)
	assert.Equal(t, Ready, o.Verdict)

	in.Fill.SmallCount, in.Fill.SmallVolume = 1, 0.5
	assert.Equal(t, "1 small pocket of air: 0.5 mm3", one(t, Run(in), "air/small").Title)
	in.Fill.SmallVolume = 0.04
	assert.Empty(t, Run(in).Findings, "below what columns resolve")
}

func TestUnreached(t *testing.T) {
	in := clean()
	in.Fill.Unreached, in.Fill.UnreachedAt = 120, ptr(v(30, 5, 5))
	in.Fill.HighPoints = append(in.Fill.HighPoints, mold.HighPoint{At: v(30, 5, 6), Height: 1})
	o := Run(in)
	proper(t, o)
	f := one(t, o, "air/unreached")
	assert.Equal(t, Stop, f.Severity)
	assert.Equal(t, "Resin has no way here: 120 mm3", f.Title)
	assert.Empty(t, named(o, "vents/no-vent-small"), "no resin reaches that high point")
	in.Fill.Unreached = 0.9
	assert.Empty(t, named(Run(in), "air/unreached"))
}

func TestLevelRoof(t *testing.T) {
	in := clean()
	in.Fill.LevelCeilingArea, in.Fill.LevelCeilingAt = 25, ptr(v(20, 10, 10))
	o := Run(in)
	proper(t, o)
	f := one(t, o, "air/level")
	assert.Equal(t, Discuss, f.Severity)
	assert.Equal(t, "Level roof: 25 mm2 within 2 deg of level", f.Title)
	assert.Equal(t, Talk, o.Verdict)
	in.Fill.LevelCeilingArea = 24.9
	assert.Empty(t, Run(in).Findings)
}

func TestAirWithoutAGate(t *testing.T) {
	in := clean()
	in.Fill.Ports = in.Fill.Ports[1:]
	o := Run(in)
	assert.Contains(t, o.NotJudged, NotJudged{"air", "no gate was found, so no resin enters", true})
	assert.Equal(t, DoNotPrint, o.Verdict)
	assert.Equal(t, Stop, one(t, o, "vents/no-gate").Severity)
}
