package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// TestEveryKindHasWords: whatever the repair of meshes reports is said in words.
func TestEveryKindHasWords(t *testing.T) {
	for _, k := range []string{geom.RepairRepeated, geom.RepairDuplicate, geom.RepairTurned, geom.RepairStitched, geom.RepairSeam, geom.RepairHole, geom.RepairInsideOut} {
		assert.Contains(t, repairWords, k)
	}
	for _, k := range []string{geom.CautionOpen, geom.CautionCrowded, geom.CautionOpposed, geom.CautionInwardOpen, geom.CautionDegenerate, geom.CautionCoincident,
		geom.CautionFlat, geom.CautionNestedSolid, geom.CautionVoid, geom.CautionStrayVoid, geom.CautionNesting,
		mold.CautionCrossing, mold.CautionOverlap} {
		assert.Contains(t, cautionWords, k)
	}
}

func TestRepairsAndCautions(t *testing.T) {
	in := clean()
	in.Inputs[1].Repairs = []mold.Repair{{Kind: geom.RepairDuplicate, Count: 12, At: ptr(v(1, 2, 3))}, {Kind: "new-kind", Count: 1}}
	in.Inputs[2].Warnings = []mold.Caution{
		{Kind: geom.CautionNestedSolid, Text: "the shell of 12 facets from (1, 1, 1) to (2, 2, 2) faces outward inside solid", At: ptr(v(1, 1, 1)), Size: 1},
		{Kind: geom.CautionOpen, Text: "3 open edges (used by one facet only), the first at (4, 5, 6)", At: ptr(v(4, 5, 6)), Size: 3},
		{Kind: geom.CautionNestedSolid, Text: "2 smaller shells likewise", At: ptr(v(1, 1, 1)), Size: 2},
		{Kind: "far-from-origin", Text: "the model lies far off"},
		{Kind: "brand-new", Text: "something odd"},
	}
	o := Run(in)
	proper(t, o)
	f := one(t, o, "intake/duplicate-facet")
	assert.Equal(t, "bottom: 12 duplicate facets dropped", f.Title)
	assert.Equal(t, Note, f.Severity)
	assert.Equal(t, "intake/duplicate-facet/bottom", f.Key)
	assert.Equal(t, 12.0, *f.Value)
	f = one(t, o, "intake/open-edge")
	assert.Equal(t, "top: 3 open edges", f.Title)
	assert.Equal(t, Discuss, f.Severity)
	assert.Contains(t, f.Why, "3 open edges (used by one facet only), the first at (4, 5, 6).")
	f = one(t, o, "intake/nested-solid")
	assert.Equal(t, "top: 3 shells wholly inside another", f.Title, "one finding a kind")
	assert.Contains(t, f.Why, "2 smaller shells likewise.")
	assert.Contains(t, f.Why, "meant as a void")
	assert.Equal(t, Discuss, one(t, o, "intake/far-from-origin").Severity)
	assert.Equal(t, Note, one(t, o, "intake/brand-new").Severity)
	assert.Equal(t, "bottom: new kind", one(t, o, "intake/new-kind").Title)
	assert.Equal(t, Talk, o.Verdict)
}

// A hole that was closed is a note; a wide one needs a look.
func TestClosedHoles(t *testing.T) {
	for _, c := range []struct {
		width float64
		want  Severity
	}{{0.9, Note}, {1.1, Discuss}} {
		in := clean()
		in.Inputs[0].Repairs = []mold.Repair{{Kind: geom.RepairHole, Count: 2, At: ptr(v(1, 2, 3)), Width: c.width, Text: "2 holes closed flat: 3 edges, wide, at (1, 2, 3)"}}
		o := Run(in)
		proper(t, o)
		f := one(t, o, "intake/closed-hole")
		assert.Equal(t, "knob: 2 holes closed flat", f.Title)
		assert.Equal(t, c.want, f.Severity)
		assert.Contains(t, f.Why, "3 edges, wide, at (1, 2, 3).")
	}
}

// TestAllWords runs every row of the tables through the rules for findings.
func TestAllWords(t *testing.T) {
	for kind, w := range cautionWords {
		for _, n := range []float64{0, 1, 2} {
			in := clean()
			in.Inputs[0].Warnings = []mold.Caution{{Kind: kind, Text: "something", Size: n}}
			o := Run(in)
			proper(t, o)
			require.Len(t, o.Findings, 1, kind)
			assert.Equal(t, w.severity, o.Findings[0].Severity)
		}
	}
	for kind := range repairWords {
		in := clean()
		in.Inputs[0].Repairs = []mold.Repair{{Kind: kind, Count: 1}}
		o := Run(in)
		proper(t, o)
		require.Len(t, o.Findings, 1, kind)
		assert.Equal(t, Note, o.Findings[0].Severity, "what is put right is a note")
	}
}

func TestAssumedUnits(t *testing.T) {
	in := clean()
	in.Inputs[0].UnitsFrom, in.Inputs[2].UnitsFrom = "assumed", "assumed"
	o := Run(in)
	proper(t, o)
	f := one(t, o, "intake/units")
	assert.Equal(t, "No unit in knob and top: read as mm", f.Title)
	assert.Equal(t, "The block then measures 60.0 x 40.0 x 30.0 mm. The part measures 40.0 x 20.0 x 10.0 mm.", f.Why)
	assert.Equal(t, Ready, o.Verdict)
}

func TestPartOfAnotherUnit(t *testing.T) {
	in := clean()
	in.Inputs[0].Box = geom.Box{Max: v(40, 20, 10).Scale(1 / 25.4)}
	f := one(t, Run(in), "intake/share")
	assert.Equal(t, Discuss, f.Severity)
	assert.Contains(t, f.Advice, `units = "in" under [part]`)
	in.Inputs[0].Box = geom.Box{Max: v(40, 20, 10).Scale(1. / 10)}
	assert.Contains(t, one(t, Run(in), "intake/share").Advice, `"cm"`)
	in.Inputs[0].Box = geom.Box{Max: v(40, 20, 10).Scale(0.2)}
	assert.Empty(t, Run(in).Findings)
}

func TestChord(t *testing.T) {
	in := clean()
	in.Inputs[0].Chord, in.Inputs[1].Chord, in.Inputs[2].Chord = 0.06, 0.05, 0.14
	o := Run(in)
	proper(t, o)
	f := one(t, o, "intake/chord")
	assert.Equal(t, "Facets of knob and top stray up to 0.14 mm from the curve", f.Title)
	assert.Equal(t, Discuss, f.Severity)
	assert.Equal(t, "top", f.Where.Body)
}

func TestMatch(t *testing.T) {
	in := clean()
	in.Mold.Skin, in.Mold.Fit.Quantile90 = 0.9, 0.6
	o := Run(in)
	proper(t, o)
	f := one(t, o, "intake/match")
	assert.Equal(t, Discuss, f.Severity)
	assert.Contains(t, f.Title, "do not match")
	assert.Contains(t, f.Why, "within 0.6 mm")

	in.Mold.Fit.Quantile90, in.Mold.Seal = 0.01, 0.9
	f = one(t, Run(in), "intake/match")
	assert.NotContains(t, f.Title, "do not match", "the seal makes the skin, not the part")
	assert.Contains(t, f.Advice, "pour.seal")

	in.Mold.Skin = 0.5
	assert.Empty(t, Run(in).Findings)
}

func TestFit(t *testing.T) {
	for _, c := range []struct {
		scale  float64
		offset geom.Vec
		want   Severity
		why    string
	}{
		{1.005, v(0, 0, 0), Note, "It stands for a shrink of 0.498 %."}, // 1 - 1/1.005
		{1.01, v(0.3, 0.2, 0.15), Note, "moved by (0.30, 0.20, 0.15) mm (0.39 mm)"},
		{1, v(0.4, 0, 0.4), Discuss, "It has the size of the part."}, // shift 0.566
		{1.021, v(0, 0, 0), Discuss, "shrink of 2.06 %"},
		{0.998, v(0, 0, 0), Discuss, "smaller than the part by 0.2 %"},
		{0.9995, v(0, 0, 0), Note, "smaller than the part by 0.05 %"},
	} {
		in := clean()
		in.Mold.Fit = mold.PartFit{Scale: c.scale, Offset: c.offset, Applied: true}
		o := Run(in)
		proper(t, o)
		f := one(t, o, "intake/fit")
		assert.Equal(t, c.want, f.Severity, "%+v", c)
		assert.Contains(t, f.Why, c.why)
		in.Mold.Fit.Applied = false
		assert.Empty(t, Run(in).Findings)
	}
}

func TestWarningsOfTheMold(t *testing.T) {
	in := clean()
	in.Mold.Warnings = []string{"the gate named at (1, 2, 3) is 9 mm from any channel", "another"}
	o := Run(in)
	proper(t, o)
	assert.Len(t, named(o, "intake/closing"), 2)
	assert.Equal(t, Ready, o.Verdict)
}
