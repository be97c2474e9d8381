package checks

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/testdata"
)

// released is the clean mold with both halves pulled off along z, the upper one first.
func released() Input {
	in := clean()
	peel := mold.Peel{At: v(-10, 10, 5), Toward: v(1, 0, 0), Why: mold.PeelShort}
	in.Demolding = &mold.Demolding{Order: []int{1, 0}, Halves: []mold.Release{
		{Half: 0, Name: "bottom", Pull: v(0, 0, -1), From: mold.PullParting, Share: 1, Peel: peel},
		{Half: 1, Name: "top", Pull: v(0, 0, 1), From: mold.PullParting, Share: 1, Peel: peel},
	}}
	in.Only = []string{"undercuts"}
	return in
}

// lockedBy is the same with one undercut in the upper half.
func lockedBy(kind mold.Lock, depth float64, stretch *float64) Input {
	in := released()
	in.Demolding.Halves[1].Undercuts = []mold.Undercut{{ID: 1, Kind: kind, Depth: depth, Error: 0.02, Area: 30, Volume: 50,
		At: v(28, 10, 7), Side: v(1, 0, 0), Radius: 10, Wall: 8, Stretch: stretch}}
	return in
}

func TestStraightOff(t *testing.T) {
	o := Run(released())
	proper(t, o)
	f := one(t, o, "undercuts/demold")
	assert.Len(t, o.Findings, 1)
	assert.Equal(t, Note, f.Severity)
	assert.Contains(t, f.Why, "No undercut")
	assert.Equal(t, "Demolding: top comes off first, then the part out of bottom", f.Title)
	assert.Contains(t, f.Advice, "Open top at (-10.0, 10.0, 5.0), towards +X")
}

// The limits of the stretch: 25 %, 60 %, a third of the elongation if the user gave it.
func TestStretchLimits(t *testing.T) {
	for _, c := range []struct {
		percent, elongation float64
		want                Severity
		limit               string
	}{
		{20, 0, Note, ""}, {25, 0, Note, ""}, {26, 0, Discuss, "undercut_percent"}, {60, 0, Discuss, "undercut_percent"},
		{61, 0, Stop, "undercut_stop_percent"}, {30, 300, Discuss, "undercut_percent"}, {30, 80, Stop, "elongation_share_percent"}, {20, 50, Stop, "elongation_share_percent"},
	} {
		in := lockedBy(mold.LockSide, 2, ptr(1+c.percent/100))
		in.Job.Rubber.Tear = 3000 // so that it does not tear before
		if c.elongation > 0 {
			in.Job.Rubber.Elongation = c.elongation
			in.Job.SetFrom("rubber.elongation_percent", "job file line 9")
		}
		o := Run(in)
		proper(t, o)
		what := fmt.Sprint(c)
		if c.limit == "" {
			assert.Equal(t, Note, one(t, o, "undercuts/small").Severity, what)
			continue
		}
		f := one(t, o, "undercuts/undercut-side")
		assert.Equal(t, c.want, f.Severity, what)
		assert.Equal(t, c.limit, f.LimitKey, what)
		assert.Contains(t, f.Advice, "peel towards +X")
	}
}

// Rubber that tears at a stretch which alone would be a note: the flaw decides.
func TestTearsEarly(t *testing.T) {
	in := lockedBy(mold.LockRing, 1, ptr(1.2))
	in.Job.Rubber.ShoreA, in.Job.Rubber.Tear = 60, 100
	f := one(t, Run(in), "undercuts/undercut-ring")
	assert.Equal(t, Discuss, f.Severity)
	assert.Equal(t, "critical_flaw_mm", f.LimitKey)
	assert.InDelta(t, in.Job.Rubber.Flaw(ptr(1.2)).Mid, *f.Value, 1e-9)
	assert.Contains(t, f.Why, "tears on from a cut of")
}

func TestNoWayToGive(t *testing.T) {
	o := Run(lockedBy(mold.LockThrough, 5, nil))
	proper(t, o)
	assert.Equal(t, Stop, one(t, o, "undercuts/undercut-through").Severity)
	o = Run(lockedBy(mold.LockFloor, 12, nil))
	f := one(t, o, "undercuts/undercut-floor")
	assert.Equal(t, Stop, f.Severity)
	assert.Contains(t, f.Advice, "--pull top=0,0,-1")

	in := lockedBy(mold.LockThrough, 5, nil) // a guessed pull stops nothing, and is said to be one
	in.Demolding.Halves[1].From, in.Demolding.Halves[1].Share = mold.PullMiddle, 0
	o = Run(in)
	proper(t, o)
	assert.Equal(t, Discuss, one(t, o, "undercuts/undercut-through").Severity)
	assert.Equal(t, Note, one(t, o, "undercuts/pull").Severity)
	core := Run(lockedBy(mold.LockCore, 3, ptr(1.7)))
	proper(t, core)
	assert.Equal(t, Stop, one(t, core, "undercuts/undercut-core").Severity)
}

// Suction on a core of 200 mm2: 20.3 N (air pressure times area).
func TestDeepWalls(t *testing.T) {
	in := released()
	in.Demolding.Halves[0].Walls = []mold.SteepWall{{Depth: 22, Area: 900, At: v(5, 5, -3), Core: 200}, {Depth: 15, Area: 300, At: v(9, 5, -3)}}
	o := Run(in)
	proper(t, o)
	f := one(t, o, "undercuts/draft")
	assert.Equal(t, Discuss, f.Severity)
	assert.InDelta(t, 22, *f.Value, 1e-9)
	assert.Contains(t, f.Why, "1 patch along -Z")
	assert.Contains(t, f.Why, "20.3 N")
}

// A plug beyond the limit of its neck is to be cut before the mold is opened.
func TestPlugFirst(t *testing.T) {
	in := released()
	in.Demolding.Plugs = []mold.Plug{{Channel: 2, Stretch: 0.4}, {Channel: 1, Stretch: 0.1}}
	assert.Contains(t, one(t, Run(in), "undercuts/demold").Advice, "cut the plug of vent 2 at the neck")
}

func TestUndercutsUnjudged(t *testing.T) {
	in := clean()
	in.Only = []string{"undercuts"}
	o := Run(in)
	assert.Equal(t, NoJudgement, o.Verdict)
	in = released()
	in.Places = &mold.Assembly{}
	o = Run(in)
	assert.Empty(t, named(o, "undercuts/demold"))
	assert.Contains(t, o.NotJudged, NotJudged{"undercuts", "the files do not lie together as a mold", true})
}

// What the check says of every stored mold beside the note on demolding; of nearly all
// nothing.
func TestUndercutsOfCases(t *testing.T) {
	want := map[string][]string{
		"membrane01":     {"discuss draft top"},                         // 18 mm deep
		"cup":            {"discuss draft top"},                         // 30 mm
		"parting-gap002": {"discuss draft left", "discuss draft right"}, // a part 20 mm to each side
		"dragon": {"stop undercut-through front", "stop undercut-through back", "stop undercut-core back",
			"discuss undercut-side back", "discuss undercut-side back", "note small back", "note small front"}, // split through its handles
		"bunny": {"discuss undercut-ring front", "note small back", "note small front"}, // between its legs, at its ears
	}
	names, err := testdata.Cases()
	require.NoError(t, err)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c, err := testdata.Case(name)
			require.NoError(t, err)
			s := closeFiles(t, c.Part, c.Halves...)
			d, err := s.mold.Demold()
			require.NoError(t, err)
			o := Run(Input{Job: s.job, Inputs: s.inputs, Mold: s.mold, Demolding: d, Only: []string{"undercuts"}})
			proper(t, o)
			got := []string{}
			for i := range o.Findings {
				if f := &o.Findings[i]; f.Check == "undercuts" && f.kind != "demold" {
					got = append(got, f.Severity.String()+" "+f.kind+" "+f.Where.Body)
				}
			}
			slices.Sort(got)
			assert.ElementsMatch(t, want[name], got, "%v", got)
		})
	}
}
