package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// printedCase prints the halves of a stored mold as the rule lays them.
func printedCase(t *testing.T, name string, change func(j *Job)) (*Mold, map[string]*Printed) {
	t.Helper()
	part, halves := loadCase(t, name)
	job := NewJob()
	job.Cell = 0.4
	if change != nil {
		change(job)
	}
	m, err := Close(*job, part, halves)
	require.NoError(t, err)
	out := map[string]*Printed{}
	for i := range halves {
		build, given := m.DefaultBuild(i)
		p, err := m.Print(i, build, PrintOptions{})
		require.NoError(t, err)
		assert.Equal(t, given, p.Given)
		out[p.Name] = p
	}
	return m, out
}

// The base mold: its cavity, 40 x 20 x 5 mm in each half, is the biggest cup, opened
// to the film; the gate relieves the bottom's, the narrow vent the top's only badly.
func TestPrintOfTheBaseMold(t *testing.T) {
	m, p := printedCase(t, "b0", nil)
	bottom, top := p["bottom"], p["top"]
	assert.Equal(t, xyz(0, 0, 1), bottom.Build)
	assert.Equal(t, xyz(0, 0, -1), top.Build)
	for _, q := range []*Printed{bottom, top} {
		require.Len(t, q.Cups, 1)
		c := q.Cups[0]
		assert.InDelta(t, 800, c.Area, 0.5)
		assert.InDelta(t, 4000, c.Volume, 0.03*4000)
		assert.InDelta(t, 10, c.From, 1e-4)
		assert.InDelta(t, 15, c.To, 1e-4)
		assert.True(t, c.Molding)
		require.NotNil(t, c.Passage)
		assert.Empty(t, q.Sealed)
		assert.Empty(t, q.Starts)
		assert.Zero(t, q.Scars.Molding)
		assert.InDelta(t, 20, q.Height, 1e-9, "15 mm and 5 mm of supports")
	}
	role := func(q *Printed) Role {
		for i := range m.Channels {
			if m.Channels[i].ID == q.Cups[0].Passage.Channel {
				return m.Channels[i].Role
			}
		}
		return ""
	}
	assert.Equal(t, Gate, role(bottom), "the gate is named")
	assert.Equal(t, Vent, role(top))
	assert.True(t, bottom.Cups[0].Relieved)
	assert.False(t, top.Cups[0].Relieved)
	assert.InDelta(t, 2, top.Cups[0].Passage.Width, 0.02)
	flow := 800.0
	assert.InDelta(t, PassageDrop(flow, 1000, 2, 10), top.Cups[0].Passage.Drop, 0.03*22.7)
	require.NotNil(t, top.Cups[0].Hole)
	assert.True(t, top.Cups[0].Hole.Molding, "all of the cup shapes the part")
	require.Len(t, top.Bores, 1)
	assert.InDelta(t, 5, top.Bores[0].Ratio, 0.1)
	assert.True(t, top.Bores[0].Washable)
	assert.False(t, top.Bores[0].Level)
	assert.Equal(t, 2, top.Bores[0].OpenEnds)
	assert.InDelta(t, math.Pi/2, top.Bores[0].Slope, 1e-6)
}

// Printed on its side the base mold's bores lie level, and nothing is a cup.
func TestPrintOnItsSide(t *testing.T) {
	m, _ := printedCase(t, "b0", nil)
	p, err := m.Print(1, xyz(1, 0, 0), PrintOptions{})
	require.NoError(t, err)
	require.Len(t, p.Bores, 1)
	assert.True(t, p.Bores[0].Level)
	assert.InDelta(t, 2-m.Job.Printer.BoreLoss, p.Bores[0].Height, 0.02, "its crown closes a little")
	assert.Positive(t, p.Scars.Molding, "the end of the cavity looks to the platform")
	through := m.Job.Printer
	through.Penetration = 0.3 // 0.32958 deep, of which 0.27958 beyond the layer
	p, err = m.Print(1, xyz(1, 0, 0), PrintOptions{Printer: &through})
	require.NoError(t, err)
	assert.InDelta(t, 0.27958, p.Bores[0].Through, 1e-5)
	assert.InDelta(t, 2-0.27958, p.Bores[0].Height, 0.02, "more than bores lose anyway")
	_, err = m.Print(5, upZ, PrintOptions{})
	assert.ErrorContains(t, err, "no half 5")
	_, err = m.Print(1, xyz(0, 0, 0), PrintOptions{})
	assert.ErrorContains(t, err, "has no length")
}

// An ordinary mold with keys: their sockets are small cups, none merged, none void.
func TestPrintOfKeys(t *testing.T) {
	_, p := printedCase(t, "keys", nil)
	small := 0
	for _, c := range p["top"].Cups {
		if c.Bound < 10 && c.Volume < 500 {
			assert.Zero(t, c.Into)
			assert.Nil(t, c.Passage)
			assert.Nil(t, c.Hole, "needs none")
			small++
		}
	}
	assert.Equal(t, 3, small)
	assert.Greater(t, p["top"].Cups[0].Area, 500.0, "the cavity is the biggest cup")
}

// The molding side of a half that shapes a ball: the mean of |n_z| over a half ball
// is a half.
func TestPrintOfTheSphere(t *testing.T) {
	_, p := printedCase(t, "sphere", func(j *Job) { j.Cell = 0.6 })
	for _, q := range p {
		assert.InDelta(t, 0.025, q.Step.Mean, 0.0005)
		assert.InDelta(t, 2*math.Pi*400, q.Step.Area, 0.02*2*math.Pi*400)
		assert.InDelta(t, 2*math.Pi*8000/3, q.Cups[0].Volume, 0.02*2*math.Pi*8000/3)
	}
}

// What the user states rules: build direction, flat, speed, viscosity, relief.
func TestPrintSettings(t *testing.T) {
	down := xyz(0, 0, -2)
	m, p := printedCase(t, "b0", func(j *Job) {
		j.Halves = []BodySpec{{Build: &down}, {}}
		j.Printer.Raise, j.Printer.Relief, j.Printer.ReliefDrop = 3, 1, 40
	})
	assert.Equal(t, xyz(0, 0, -1), p["bottom"].Build)
	assert.True(t, p["bottom"].Given)
	assert.False(t, p["top"].Given)
	assert.InDelta(t, 18, p["bottom"].Height, 1e-9)
	assert.Empty(t, p["bottom"].Cups, "the cavity looks to the platform")
	assert.InDelta(t, 784, p["bottom"].Scars.Molding, 1e-6, "and needs supports, but for the gate's 4 x 4 mm")
	assert.True(t, p["top"].Cups[0].Relieved, "40 kPa are allowed")
	slow := m.Job.Printer
	slow.Viscosity = 500
	build, _ := m.DefaultBuild(1)
	q, err := m.Print(1, build, PrintOptions{Printer: &slow})
	require.NoError(t, err)
	assert.InDelta(t, p["top"].Cups[0].Passage.Drop/2, q.Cups[0].Passage.Drop, 1e-6)
	flat, err := m.Print(1, build, PrintOptions{Flat: true})
	require.NoError(t, err)
	assert.True(t, flat.Cups[0].Platform)
	assert.Nil(t, flat.Cups[0].Passage, "the vent ends at the platform")
	assert.Equal(t, flat.Extent, flat.Height)
}

// Light that cures a roof goes on below it: C_d = D_p ln(E/E_c), Jacobs 1992; the value
// for D_p 0.15 mm and E/E_c 3 is computed in double precision.
func TestPrintThrough(t *testing.T) {
	p := Printer{Penetration: 0.15, Exposure: 3, Layer: 0.05}
	assert.InDelta(t, 0.16479, p.CureDepth(), 5e-6)
	assert.InDelta(t, 0.11479, p.PrintThrough(), 5e-6)
	p.Layer = 0.2
	assert.Zero(t, p.PrintThrough(), "a thick layer keeps it")
	p.Exposure = 1
	assert.Zero(t, p.CureDepth(), "at the least exposure nothing gels below the face")
}
