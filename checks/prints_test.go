package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// cleanPrints are prints of both halves of the clean mold without a flaw.
func cleanPrints(job *mold.Job) []*mold.Printed {
	up := v(0, 0, 1)
	return []*mold.Printed{
		{Half: 0, Name: "bottom", Build: up, Extent: 15, Height: 20, Printer: job.Printer, Scars: mold.Scars{Area: 2400, Patches: []mold.Patch{{ID: 1, Area: 2400, At: v(20, 10, -10), Width: 40}}}},
		{Half: 1, Name: "top", Build: up.Neg(), Extent: 15, Height: 20, Printer: job.Printer},
	}
}

// cup is a closed cup of that area in mm2 and depth in mm in the bottom half.
func cup(area, depth float64) mold.Cup {
	return mold.Cup{ID: 1, Area: area, Volume: area * depth, From: 10, To: 10 + depth, AreaAt: 10, Bound: 0.101325 * area,
		Deepest: v(20, 10, 0), Middle: v(20, 10, 0), Hole: &mold.ReliefHole{At: v(20, 10, 0), Exit: v(20, 10, -10), Direction: v(0, 0, -1), Diameter: 2.5, Length: 10, Drop: 4, Molding: true}}
}

func bottomWith(cups ...mold.Cup) Input {
	in := clean()
	in.Prints[0].Cups = cups
	return in
}

func TestCupSeverity(t *testing.T) {
	big := cup(800, 5)
	o := Run(bottomWith(big))
	proper(t, o)
	f := one(t, o, "cups/cup")
	assert.Equal(t, Discuss, f.Severity, "the build direction is assumed")
	assert.InDelta(t, 81.06, *f.Value, 0.01)
	assert.Equal(t, "cup_stop_n", f.LimitKey)
	assert.Contains(t, f.Why, "assumed")
	assert.Contains(t, f.Advice, "reliefs.stl")
	assert.Contains(t, f.Advice, "plug it before casting")

	in := bottomWith(big)
	in.Prints[0].Given = true
	o = Run(in)
	proper(t, o)
	f = one(t, o, "cups/cup")
	assert.Equal(t, Stop, f.Severity)
	assert.Equal(t, DoNotPrint, o.Verdict)
	assert.NotContains(t, f.Why, "assumed")

	in = bottomWith(cup(150, 1)) // 15 N
	in.Prints[0].Given = true
	assert.Equal(t, Discuss, one(t, Run(in), "cups/cup").Severity, "between 10 and 20 N")

	in = bottomWith(cup(50, 20)) // 5 N, 1000 mm3
	f = one(t, Run(in), "cups/cup")
	assert.Equal(t, Discuss, f.Severity)
	assert.Equal(t, "cup_volume_mm3", f.LimitKey)
}

// What opens a hollow a little above its floor can be moved; what closes by a roof cannot.
func TestShallowCup(t *testing.T) {
	lip := v(-5, 0, 11)
	shallow, deep, roofed := cup(2400, 0.12), cup(2400, 5), cup(2400, 0.12)
	shallow.Lip, deep.Lip = &lip, &lip
	const says = "sealed over 0.12 mm of height only: let the way out at (-5.0, 0.0, 11.0)"
	assert.Contains(t, one(t, Run(bottomWith(shallow)), "cups/cup").Why, says)
	assert.NotContains(t, one(t, Run(bottomWith(deep)), "cups/cup").Why, "of height only")
	assert.NotContains(t, one(t, Run(bottomWith(roofed)), "cups/cup").Why, "of height only")
}

func TestSmallCupsAreOneNote(t *testing.T) {
	o := Run(bottomWith(cup(30, 4), cup(20, 4), cup(31, 4)))
	proper(t, o)
	f := one(t, o, "cups/small")
	assert.Equal(t, Note, f.Severity)
	assert.Contains(t, f.Title, "3 small closed cups in bottom")
	assert.InDelta(t, 31*0.101325, *f.Value, 1e-9)
	assert.Equal(t, Ready, o.Verdict)
	assert.Empty(t, named(o, "cups/cup"))
}

func TestPassages(t *testing.T) {
	c := cup(800, 5)
	c.Passage, c.Relieved, c.Hole = &mold.Passage{Width: 4, At: v(2, 10, -1), Length: 10, Drop: 1.6, Channel: 1}, true, nil
	o := Run(bottomWith(c))
	proper(t, o)
	f := one(t, o, "cups/cup")
	assert.Equal(t, Note, f.Severity)
	assert.Equal(t, 1, f.Channel)
	assert.Contains(t, f.Why, "channel 1")

	c.Passage, c.Relieved = &mold.Passage{Width: 1.5, At: v(2, 10, -1), Length: 2, Drop: 16}, false
	in := bottomWith(c)
	in.Prints[0].Given = true
	o = Run(in)
	proper(t, o)
	f = one(t, o, "cups/cup")
	assert.Equal(t, Discuss, f.Severity, "never a stop while there is a way out")
	assert.Contains(t, f.Title, "1.5 mm wide")
}

func TestMergedAndVoidCupsAreSaidOnce(t *testing.T) {
	inner, outer, hidden := cup(300, 3), cup(800, 5), cup(264, 9)
	inner.ID, inner.Into = 2, 1
	hidden.ID, hidden.Void = 3, 1
	in := bottomWith(outer, inner, hidden)
	in.Prints[0].Sealed = []mold.SealedVoid{{ID: 1, Volume: 2376, At: v(5, 5, 5)}}
	o := Run(in)
	proper(t, o)
	assert.Len(t, named(o, "cups/cup"), 1)
	f := one(t, o, "cups/void")
	assert.Equal(t, Stop, f.Severity)
	assert.InDelta(t, 2376, *f.Value, 1e-9)
	assert.Equal(t, DoNotPrint, o.Verdict)
}

// poses is a search in which another direction has no cup and no scars.
func poses() []*mold.PoseSearch {
	now := mold.PosePoint{Build: v(0, 0, 1), CupArea: 800, Scar: 120, Starts: 2, Height: 20}
	other := mold.PosePoint{Build: v(0.6, 0, 0.8), Best: true, Height: 45}
	return []*mold.PoseSearch{{Half: 0, Name: "bottom", Now: now, Points: []mold.PosePoint{other, now}}}
}

func TestBestPoseIsNamed(t *testing.T) {
	in := bottomWith(cup(800, 5))
	in.Poses = poses()
	f := one(t, Run(in), "cups/cup")
	assert.Contains(t, f.Advice, "--build bottom=0.6,0,0.8")
}

func TestScarsAndStarts(t *testing.T) {
	in := clean()
	q := in.Prints[0]
	q.Scars.Patches = append(q.Scars.Patches, mold.Patch{ID: 2, Area: 90, Molding: true, Width: 8, At: v(10, 5, 4)},
		mold.Patch{ID: 3, Area: 30, Molding: true, Width: 4, At: v(30, 5, 4)}, mold.Patch{ID: 4, Area: 7, Molding: true, Width: 0.8, At: v(30, 5, 4)})
	q.Starts = []mold.Start{{ID: 1, At: v(12, 5, 6), Height: 9, Area: 2, Molding: true}, {ID: 2, At: v(40, 5, 6), Height: 9, Area: 1}}
	in.Poses = poses()
	o := Run(in)
	proper(t, o)
	f := one(t, o, "scars/molding")
	assert.Equal(t, Discuss, f.Severity)
	assert.InDelta(t, 120, *f.Value, 1e-9, "the ledge is not in it")
	assert.Contains(t, f.Why, "20 deg")
	assert.Contains(t, f.Advice, "--build bottom=")
	assert.Equal(t, Note, one(t, o, "scars/ledges").Severity)
	assert.Equal(t, Discuss, one(t, o, "scars/starts-molding").Severity)
	assert.Equal(t, Note, one(t, o, "scars/starts").Severity)
}

// A patch in a channel's wall does not touch the part.
func TestScarsInBores(t *testing.T) {
	in := clean()
	c := &in.Mold.Channels[1]
	c.Path, c.Radius = []geom.Vec{c.Mouth, c.End}, []float64{2.25, 2.25}
	in.Prints[1].Scars.Patches = []mold.Patch{{ID: 1, Area: 9, Molding: true, Width: 3, At: v(41, 10, 11)}}
	o := Run(in)
	assert.Empty(t, named(o, "scars/molding"))
	assert.Len(t, named(o, "scars/ledges"), 1)
}

func TestLevelBores(t *testing.T) {
	in := clean()
	in.Prints[1].Bores = []mold.PrintedBore{{Channel: 2, Ratio: 2.2, OpenEnds: 2, Washable: true, Level: true, Slope: 0.1, Height: 4.35}}
	o := Run(in)
	proper(t, o)
	f := one(t, o, "scars/level-bore")
	assert.Contains(t, f.Title, "Vent 2 prints nearly level")
	assert.Equal(t, Note, f.Severity)
}

func TestLayerStepsAreTold(t *testing.T) {
	in := clean()
	in.Prints[0].Step = mold.LayerStep{Mean: 0.025, Worst: 0.0498, WorstAt: v(3, 4, 5), Area: 900}
	o := Run(in)
	proper(t, o)
	f := one(t, o, "steps/steps")
	assert.Equal(t, Note, f.Severity)
	assert.Contains(t, f.Title, "up to 49.8 um, 25 um in the mean")
	in.Prints[0].Step.Worst = 0.0985
	assert.Equal(t, Discuss, one(t, Run(in), "steps/steps").Severity)
}

func TestPrintsNotComputed(t *testing.T) {
	in := clean()
	in.Prints = nil
	o := Run(in)
	assert.Equal(t, Ready, o.Verdict)
	in.Only = []string{"cups"}
	o = Run(in)
	assert.Equal(t, NoJudgement, o.Verdict, "asked for, and without an answer")
	require.Contains(t, o.NotJudged, NotJudged{"cups", "the prints were not computed", true})
}

func TestLoosePiecesStopThePrint(t *testing.T) {
	in := clean()
	in.Prints[0].Loose = []mold.LoosePiece{{ID: 1, At: v(12, 5, 6), Volume: 50.27, Molding: true}, {ID: 2, At: v(40, 5, 6), Volume: 0.4}}
	o := Run(in)
	proper(t, o)
	f := one(t, o, "scars/loose")
	assert.Equal(t, Stop, f.Severity)
	assert.InDelta(t, 50.27, *f.Value, 1e-9)
	assert.Contains(t, f.Why, "shapes the part")
	assert.Equal(t, DoNotPrint, o.Verdict)
}
