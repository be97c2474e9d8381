package checks

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/checks/mold"
)

func TestSuite(t *testing.T) {
	assert.Equal(t, []string{"intake", "air", "vents", "cups", "scars", "steps", "walls", "edges", "undercuts", "fit", "charge", "pot"}, Names())
	for _, c := range Suite() {
		assert.NotEmpty(t, c.Title, c.Name)
		assert.NotEmpty(t, c.Doc, c.Name)
		s := c.Explain(DefaultLimits())
		for _, line := range strings.Split(s, "\n") {
			assert.LessOrEqual(t, len(line), 160, line)
			plain(t, strings.ReplaceAll(strings.TrimSpace(line), "  ", ""))
		}
		for _, key := range c.Limits {
			assert.Contains(t, s, key+" = ")
			assert.Contains(t, s, DefaultLimits().Get(key).Source)
		}
		if c.Run == nil {
			assert.True(t, strings.HasPrefix(c.Doc, "Not built yet."), c.Name)
		}
	}
	require.NoError(t, Known([]string{"air", "pot"}))
	assert.ErrorContains(t, Known([]string{"air", "vnets"}), "did you mean vents?")
	assert.ErrorContains(t, Known([]string{"zzzzzzzz"}), "intake, air")
}

// TestVerdict covers every combination of severities and of unanswered questions.
func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		worst      Severity
		unanswered bool
		want       Verdict
	}{
		{0, false, Ready}, {Note, false, Ready}, {Discuss, false, Talk}, {Stop, false, DoNotPrint},
		{0, true, NoJudgement}, {Note, true, NoJudgement}, {Discuss, true, NoJudgement}, {Stop, true, DoNotPrint},
	} {
		for _, accepted := range []bool{false, true} {
			o := &Outcome{NotJudged: []NotJudged{{"cups", "not asked", false}}}
			if c.worst > 0 {
				o.Findings = []Finding{{Severity: c.worst}, {Severity: Note}}
			}
			if c.unanswered {
				o.NotJudged = append(o.NotJudged, NotJudged{"air", "why", true})
			}
			want := c.want
			if accepted && c.worst > 0 {
				o.Findings[0].Accepted = ptr("as agreed")
				want = Ready
				if c.unanswered {
					want = NoJudgement
				}
			}
			o.judge()
			assert.Equal(t, want, o.Verdict, "%+v accepted %v", c, accepted)
		}
	}
}

func TestOrderOfHarm(t *testing.T) {
	in := clean()
	pocketAt(&in, -1, v(20, 10, 10), 12, 1)
	pocketAt(&in, -1, v(10, 10, 10), 5, 1)
	pocketAt(&in, -1, v(30, 10, 10), 400, 1)
	pocketAt(&in, -1, v(15, 15, 10), 12, 1)
	in.Fill.Ports[1].Diameter = 0.4
	o := Run(in)
	proper(t, o)
	var volumes []float64
	for _, f := range named(o, "air/pocket") {
		volumes = append(volumes, *f.Value)
	}
	assert.Equal(t, []float64{400, 12, 12, 5}, volumes)
	same := named(o, "air/pocket")[1:3]
	assert.Equal(t, v(15, 15, 10), *same[0].Where.At, "equal harm: by place")
	assert.Equal(t, 2, one(t, o, "vents/narrow").ID, "0.8/0.4 of its limit stands between 40 and 1.2 times theirs")
	for i := 1; i < len(o.Findings); i++ {
		assert.GreaterOrEqual(t, o.Findings[i-1].Severity, o.Findings[i].Severity)
	}
}

// TestRunIsRepeatable: the order in which the facts come does not matter, except
// for their own numbers.
func TestRunIsRepeatable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 8).Draw(t, "n")
		build := func(order []int) *Outcome {
			in := clean()
			for _, i := range order {
				pocketAt(&in, -1, v(float64(3+7*(i%5)), float64(3+7*(i/5)), 10), float64(1+i*i), 1)
			}
			return Run(in)
		}
		order := make([]int, n)
		for i := range order {
			order[i] = i
		}
		a, b := build(order), build(rapid.Permutation(order).Draw(t, "order"))
		require.Equal(t, len(a.Findings), len(b.Findings))
		for i := range a.Findings {
			f, g := a.Findings[i], b.Findings[i]
			require.Equal(t, []any{f.ID, f.Key, f.Title, f.Severity, f.Why}, []any{g.ID, g.Key, g.Title, g.Severity, g.Why})
		}
		require.Equal(t, a.Verdict, b.Verdict)
	})
}

func TestOnly(t *testing.T) {
	in := clean()
	pocketAt(&in, 0, v(40, 10, 10), 50, 1)
	in.Inputs[0].UnitsFrom = "assumed"
	in.Only = []string{"vents"}
	o := Run(in)
	proper(t, o)
	assert.Empty(t, named(o, "air/pocket"))
	assert.NotEmpty(t, named(o, "intake/units"), "intake is always on")
	var left []string
	for _, n := range o.NotJudged {
		assert.Equal(t, "not asked", n.Why)
		assert.False(t, n.Asked)
		left = append(left, n.Check)
	}
	assert.Equal(t, []string{"air", "cups", "scars", "steps", "walls", "edges", "undercuts", "fit", "charge", "pot"}, left)
	assert.Equal(t, Stop, one(t, o, "vents/mouth-low").Severity, "nobody else says that 50 mm3 stay")
	assert.Equal(t, DoNotPrint, o.Verdict)

	in.Only = []string{"air"}
	assert.Empty(t, named(Run(in), "vents/mouth-low"))

	in.Only = []string{"air", "vents"}
	o = Run(in)
	assert.Equal(t, Discuss, one(t, o, "vents/mouth-low").Severity, "the air is the stop finding")
	assert.Equal(t, Stop, one(t, o, "air/pocket").Severity)
}

func TestAskedForButNotComputed(t *testing.T) {
	in := clean()
	in.Only = []string{"air", "pot"}
	o := Run(in)
	assert.Equal(t, NoJudgement, o.Verdict, "a question without an answer is never green")
	i := slices.IndexFunc(o.NotJudged, func(n NotJudged) bool { return n.Asked })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, NotJudged{"pot", "the pot was not computed", true}, o.NotJudged[i])
}

func TestNothingToJudge(t *testing.T) {
	for _, c := range []struct {
		change func(in *Input)
		why    string
	}{
		{func(in *Input) { in.Mold, in.Fill, in.Fault = nil, nil, errors.New("the halves leave no room") }, "the halves leave no room"},
		{func(in *Input) { in.Mold, in.Fill = nil, nil }, "the mold could not be closed"},
		{func(in *Input) { in.Fill = nil }, "the pour was not computed"},
	} {
		in := clean()
		c.change(&in)
		o := Run(in)
		assert.Equal(t, NoJudgement, o.Verdict)
		assert.Contains(t, o.NotJudged, NotJudged{"air", c.why, true})
		assert.Contains(t, o.NotJudged, NotJudged{"vents", c.why, true})
	}
	o := Run(Input{})
	assert.Equal(t, NoJudgement, o.Verdict)
	assert.NotNil(t, o.Job)
	assert.NotNil(t, o.Limits)
}

func TestAccept(t *testing.T) {
	build := func(a ...mold.Accept) *Outcome {
		in := clean()
		pocketAt(&in, -1, v(20, 10, 10), 50, 1)
		in.Accept = a
		o := Run(in)
		proper(t, o)
		return o
	}
	plainRun := build()
	require.Equal(t, DoNotPrint, plainRun.Verdict)
	key := one(t, plainRun, "air/pocket").Key
	cause := one(t, plainRun, "vents/no-vent-here").Key
	for _, name := range []string{key, "1", "air/pocket@25:5:15"} { // key, this run's number, a neighbouring cell
		o := build(mold.Accept{Key: name, Reason: "hidden face"})
		f := one(t, o, "air/pocket")
		require.NotNil(t, f.Accepted, name)
		assert.Equal(t, "hidden face", *f.Accepted)
		assert.Equal(t, Talk, o.Verdict, "the cause is still to be discussed")
		assert.Equal(t, len(plainRun.Findings), len(o.Findings))
		o = build(mold.Accept{Key: name, Reason: "hidden face"}, mold.Accept{Key: cause, Reason: "so is this"})
		assert.Equal(t, Ready, o.Verdict)
	}
	for _, name := range []string{"air/pocket@35:10:10", "0", "99", "-1", "", "air/basin@20:10:10", "air/pocket", "nonsense"} {
		o := build(mold.Accept{Key: name, Reason: "gone"})
		assert.Equal(t, DoNotPrint, o.Verdict, name)
		last := o.Findings[len(o.Findings)-1]
		assert.Equal(t, Note, last.Severity, name)
		assert.Contains(t, last.Title, "not found")
		assert.Nil(t, one(t, o, "air/pocket").Accepted)
	}
}

// TestAcceptIsNotAmbiguous: a key that lies beside two findings accepts neither,
// and one that is exact takes no other.
func TestAcceptIsNotAmbiguous(t *testing.T) {
	in := clean()
	pocketAt(&in, -1, v(20, 10, 10), 50, 1)
	pocketAt(&in, -1, v(30, 10, 10), 60, 1)
	in.Accept = []mold.Accept{{Key: "air/pocket@25:10:10", Reason: "?"}}
	for _, f := range named(Run(in), "air/pocket") {
		assert.Nil(t, f.Accepted)
	}
	in.Accept[0].Key = "air/pocket@30:10:10"
	for _, f := range named(Run(in), "air/pocket") {
		assert.Equal(t, *f.Value == 60, f.Accepted != nil)
	}
}

// TestAcceptOfAnotherCheck: what was not asked cannot be missed.
func TestAcceptOfAnotherCheck(t *testing.T) {
	in := clean()
	in.Accept = []mold.Accept{{Key: "air/pocket@20:10:10", Reason: "hidden face"}}
	in.Only = []string{"vents"}
	assert.Empty(t, Run(in).Findings)
	in.Only = nil
	assert.Len(t, Run(in).Findings, 1)
}

// TestAnyFacts throws facts of any size at the checks: no panic, and every finding
// is proper.
func TestAnyFacts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := clean()
		f := in.Fill
		num := func(name string) float64 {
			return rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 3), rapid.Float64Range(0, 1e5)).Draw(rt, name)
		}
		for i := range rapid.IntRange(0, 3).Draw(rt, "pockets") {
			k := pocketAt(&in, -1, drawPlace(rt, "top", 50), num("volume"), num("depth"))
			k.Kind = rapid.SampledFrom([]mold.PocketKind{mold.Ceiling, mold.Basin, mold.Capillary}).Draw(rt, "kind")
			k.Near, k.NearDistance = i, num("near")
			k.Marginal = rapid.Bool().Draw(rt, "marginal")
		}
		for i := range f.Ports {
			c := &f.Ports[i]
			c.Role = rapid.SampledFrom([]mold.Role{mold.Gate, mold.Vent, mold.Blind}).Draw(rt, "role")
			c.Diameter, c.WidestBeyond, c.Length, c.Volume = num("d"), num("wide"), num("length"), num("v")
			c.Mouth, c.Slit, c.Assumed = drawPlace(rt, "mouth", 50), rapid.Bool().Draw(rt, "slit"), rapid.Bool().Draw(rt, "assumed")
			if c.Role == mold.Blind {
				c.Exit = nil
			}
		}
		f.HighPoints[0].VentedBy = rapid.IntRange(0, 3).Draw(rt, "vented")
		f.Unreached, f.LevelCeilingArea, f.SmallVolume, f.SmallCount = num("unreached"), num("level"), num("small"), 3
		in.Mold.Skin, in.Mold.Fit = num("skin"), mold.PartFit{Scale: num("scale"), Offset: drawPlace(rt, "offset", 2), Applied: rapid.Bool().Draw(rt, "fit")}
		in.Job.GateOpen = rapid.Bool().Draw(rt, "open")
		in.Inputs[1].Chord = num("chord")
		proper(rt, Run(in))
	})
}
