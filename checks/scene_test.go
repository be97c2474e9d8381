package checks

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
)

func v(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }

func ptr[T any](x T) *T { return &x }

// clean is a mold without a flaw, made up: cavity 40 x 20 x 10 from (0,0,0), a gate
// of 4 mm at the low end, a vent of 3 mm at the high point, poured with the +x side
// raised by about 17 deg.
func clean() Input {
	up := v(0.28, 0, 0.96)
	job := mold.NewJob()
	ports := []mold.Channel{
		{ID: 1, Role: mold.Gate, Mouth: v(2, 10, 0), Exit: ptr(v(2, 10, -10)), End: v(2, 10, -10), Axis: v(0, 0, -1), ExitAxis: v(0, 0, -1),
			Diameter: 4, MouthDiameter: 4, WidestBeyond: 4, Length: 10, Half: "bottom", Narrowest: v(2, 10, -1)},
		{ID: 2, Role: mold.Vent, Mouth: v(39, 10, 10), Exit: ptr(v(39, 10, 20)), End: v(39, 10, 20), Axis: v(0, 0, 1), ExitAxis: v(0, 0, 1),
			Diameter: 4.5, MouthDiameter: 4.5, WidestBeyond: 4.5, Length: 10, Half: "top", Narrowest: v(39, 10, 11), MouthTop: v(40, 10, 10).Dot(up),
			MouthLow: v(37, 10, 10).Dot(up), Drains: []int{0}, WeepsAt: ptr(8.1), PlugAt: ptr(8.2), WeepsOrder: 1},
	}
	fill := &mold.Fill{Up: up, Cavity: 8000, Filled: 8000, Ports: ports, LowestCavityPoint: v(0, 10, 0), HighestPoint: v(40, 10, 10).Dot(up),
		HighPoints: []mold.HighPoint{{At: v(40, 10, 10), Height: v(40, 10, 10).Dot(up), Prominence: 20, VentedBy: 2}}}
	m := &mold.Mold{Part: mold.Body{Name: "knob"}, Up: up, Seal: 0.12, Skin: 0.12, Fit: mold.PartFit{Scale: 1}, Channels: ports}
	inputs := []mold.Input{
		{Role: "part", Name: "knob", Units: "mm", UnitsFrom: "flag --units", Closed: true, Box: geom.Box{Max: v(40, 20, 10)}},
		{Role: "half", Name: "bottom", Units: "mm", UnitsFrom: "flag --units", Closed: true, Box: geom.Box{Min: v(-10, -10, -10), Max: v(50, 30, 5)}},
		{Role: "half", Name: "top", Units: "mm", UnitsFrom: "flag --units", Closed: true, Box: geom.Box{Min: v(-10, -10, 5), Max: v(50, 30, 20)}},
	}
	return Input{Job: job, Inputs: inputs, Mold: m, Fill: fill, Prints: cleanPrints(job)}
}

// pocketAt adds a ceiling pocket with its top at the high point of number h; a new
// high point without a vent where h is -1.
func pocketAt(in *Input, h int, at geom.Vec, volume, depth float64) *mold.Pocket {
	f := in.Fill
	id := len(f.Pockets) + 1
	height := at.Dot(f.Up)
	if h < 0 {
		f.HighPoints = append(f.HighPoints, mold.HighPoint{At: at, Height: height, Prominence: depth})
		h = len(f.HighPoints) - 1
	}
	f.HighPoints[h].Pocket = id
	f.Pockets = append(f.Pockets, mold.Pocket{ID: id, Kind: mold.Ceiling, Volume: volume, Top: at, Bottom: at.AddScaled(f.Up, -depth),
		SealedAt: height - depth, Depth: depth, Error: 0.5, Spoils: 12})
	f.Trapped += volume
	f.Filled -= volume
	return &f.Pockets[id-1]
}

// named returns the findings of one kind: check/kind.
func named(o *Outcome, kind string) []Finding {
	var out []Finding
	for _, f := range o.Findings {
		if f.Check+"/"+f.kind == kind {
			out = append(out, f)
		}
	}
	return out
}

// tester is a test, of the standard library or of rapid.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	FailNow()
}

// one returns the only finding of a kind.
func one(t tester, o *Outcome, kind string) Finding {
	t.Helper()
	list := named(o, kind)
	require.Len(t, list, 1, "%s in %v", kind, kinds(o))
	return list[0]
}

func kinds(o *Outcome) []string {
	out := []string{}
	for _, f := range o.Findings {
		out = append(out, f.Severity.String()+" "+f.Check+"/"+f.kind)
	}
	return out
}

// proper checks what every finding must have.
func proper(t tester, o *Outcome) {
	t.Helper()
	keys := map[string]bool{}
	for i, f := range o.Findings {
		assert.Equal(t, i+1, f.ID)
		assert.False(t, keys[f.Key], "two findings have the key %s", f.Key)
		keys[f.Key] = true
		assert.True(t, strings.HasPrefix(f.Key, f.Check+"/"), f.Key)
		assert.NotContains(t, f.Key, "=")
		assert.NotContains(t, f.Key, " ")
		assert.Contains(t, []Severity{Note, Discuss, Stop}, f.Severity, f.Title)
		assert.LessOrEqual(t, len(f.Title), 130, f.Title)
		for _, s := range []string{f.Title, f.Why, f.Advice} {
			assert.NotEmpty(t, s, f.Key)
			plain(t, s)
		}
		if f.LimitKey != "" {
			limit := o.Limits.Get(f.LimitKey)
			require.NotNil(t, f.Value, f.Key)
			require.NotNil(t, f.Limit, f.Key)
			assert.Equal(t, limit.Value, *f.Limit)
			assert.Equal(t, limit.Unit, f.Unit)
		}
		for _, x := range []*float64{f.Value, f.Error, f.Limit} {
			if x != nil {
				assert.False(t, math.IsNaN(*x) || math.IsInf(*x, 0), f.Key)
			}
		}
	}
}

// plain checks a sentence for words and characters that must not be in it.
func plain(t tester, s string) {
	t.Helper()
	low := strings.ToLower(s)
	for _, w := range []string{"simulat", "score", "grade", " pass ", "passed", "certif", "guarant", "confiden", "session", "helper", "mould", "nan", "inf ", "%!", "-0.0,", "  "} {
		assert.NotContains(t, low, w, s)
	}
	for _, r := range s {
		assert.Less(t, r, rune(128), "%q is not plain: %s", r, s)
	}
}

func TestCleanMoldIsReady(t *testing.T) {
	o := Run(clean())
	proper(t, o)
	assert.Empty(t, o.Findings, kinds(o))
	assert.Equal(t, Ready, o.Verdict)
	for _, n := range o.NotJudged {
		assert.False(t, n.Asked, n)
		assert.Contains(t, []string{"the fit was not computed", "how the part leaves the halves was not computed", "the charge was not computed", "the pot was not computed", "the rubber was not measured"}, n.Why)
	}
}
