package report

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/checks"
	"pourproof/geom"
)

func TestSummarySaysVerdictPlaceRemedyAndNumbers(t *testing.T) {
	assert.Equal(t, `Do not print: 1 to stop for, 1 note, 1 accepted

  1  stop     Air stays here: 100 mm³
              at (1, -2, 4) on knob
              Add a vent.

  3  note     A note

     and 1 more finding in the report

Air       101 mm³ stay in 1 pocket (1.26 % of the part), 1 mm³ in pockets too small to list
Resin     7.9 ml fills the part, 0.3 ml the channels
Pour      tilted 15°, side facing azimuth 90° raised; 1 gate, 1 vent
Since     changed: 1 fixed, 1 new; 1 still there, 1 accepted
Report    out
`, Summary(sampleDocument(), "out", false))
	assert.Contains(t, Summary(sampleDocument(), "out", true), "\x1b[1;31mDo not print")
}

// Two hundred findings still fit a screen, and no line is wider than 100 columns.
func TestSummaryStaysShort(t *testing.T) {
	d := sampleDocument()
	for i := range 200 {
		d.Outcome.Findings = append(d.Outcome.Findings, checks.Finding{ID: i + 4, Severity: checks.Discuss, Title: fmt.Sprint("Finding ", i),
			Where: checks.Where{Body: "knob", At: &geom.Vec{X: 12345.678, Y: -12345.678, Z: 12345.678}}, Advice: strings.Repeat("Move the vent by 3.5 mm. ", 8)})
	}
	lines := strings.Split(Summary(d, "out", false), "\n")
	assert.Less(t, len(lines), 50)
	for _, l := range lines {
		assert.LessOrEqual(t, len([]rune(l)), 100, l)
	}
	assert.Contains(t, strings.Join(lines, "\n"), "more findings in the report")
}

func TestFigure(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 636.54: "637", 52974.04: "52974", 9.996: "10", 0.99951: "1", 0.012345: "0.0123", -12.345: "-12.3",
		1e-9: "0", 999.5: "1000", 99.95: "100"} {
		assert.Equal(t, want, Figure(x), x)
	}
	assert.Equal(t, "12.3 ml", Volume(12345))
	assert.Equal(t, "9999 mm³", Volume(9999))
	assert.Equal(t, "(-0.01, 0, 12.35)", Place(geom.Vec{X: -0.0099, Y: -0.001, Z: 12.3456}))
	assert.Equal(t, "1 vent, 2 vents", Plural(1, "vent")+", "+Plural(2, "vent"))
}
