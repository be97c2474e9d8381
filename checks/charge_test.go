package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/checks/mold"
)

func number(x float64) *float64 { return &x }

func TestChargeAndPot(t *testing.T) {
	in := clean()
	in.Charge = &mold.Charge{Cavity: 8, Total: 12, Mass: 12.6, SmallestBatch: 100, Shots: 7, Batches: 1, FillTime: 16, Mix: &mold.Mix{A: 6, B: 6.6}, Density: 1.05}
	in.Pot = &mold.PotCure{Gauge: 413.7, Absolute: 515, Volume: 0.19674, Diameter: 0.58161}
	o := Run(in)
	proper(t, o)
	assert.Contains(t, one(t, o, "charge/batch").Advice, "enough for 7 casts")
	assert.Equal(t, Note, one(t, o, "charge/missing").Severity)
	assert.Empty(t, named(o, "pot/reserve"))

	in.Charge.PotLife, in.Charge.GateDrop, in.Charge.OpeningJammed = number(20), 150, number(240)
	in.Job.Liquid.RatioMass, in.Job.Liquid.RatioVolume, in.Job.Liquid.DensityA, in.Job.Liquid.DensityB = []float64{100, 80}, []float64{100, 80}, 1.05, 1.2
	in.Job.Pot.Rating, in.Job.Pot.Gauge = 300, 413.7
	in.Fill.Pockets = []mold.Pocket{{ID: 1, Volume: 636, Top: v(5, 5, 5)}}
	up := v(0, 0, 1)
	in.Pot.Needed, in.Pot.Present, in.Pot.Trapped, in.Pot.Up, in.Pot.Standing, in.Pot.Left = 0.511, 0.04, 636, &up, in.Fill, 700
	o = Run(in)
	proper(t, o)
	assert.Equal(t, Discuss, one(t, o, "charge/slow").Severity)
	assert.Equal(t, Note, one(t, o, "charge/degas").Severity)
	assert.Equal(t, Discuss, one(t, o, "charge/gate-drop").Severity)
	assert.Equal(t, Note, one(t, o, "charge/opening").Severity)
	assert.Equal(t, Discuss, one(t, o, "charge/ratio").Severity)
	assert.Equal(t, Stop, one(t, o, "pot/rating").Severity)
	assert.Contains(t, one(t, o, "pot/reserve").Title, "0.04 ml of 0.511 ml")
	assert.Contains(t, one(t, o, "pot/attitude").Title, "700 mm3")
	in.Charge.FillTime = 21
	assert.Equal(t, Stop, one(t, Run(in), "charge/slow").Severity)
}
