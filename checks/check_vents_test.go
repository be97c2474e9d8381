package checks

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom/geomtest"
)

// change runs the clean mold after a change of its gate and vent.
func change(t *testing.T, f func(in *Input, gate, vent *mold.Channel)) *Outcome {
	t.Helper()
	in := clean()
	f(&in, &in.Fill.Ports[0], &in.Fill.Ports[1])
	o := Run(in)
	proper(t, o)
	return o
}

// TestVentFindings lists, for each flaw put into a clean mold, all findings that it
// makes: a missing one fails as well as one too many.
func TestVentFindings(t *testing.T) {
	type flaw = func(in *Input, gate, vent *mold.Channel)
	for name, c := range map[string]struct {
		flaw flaw
		want []string
	}{
		"vent 0.79": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 0.78, 0.78 }, []string{"stop vents/narrow", "note vents/areas"}},
		"vent 0.8 of 32 sides": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 0.7961, 0.7961 },
			[]string{"discuss vents/narrow", "note vents/areas"}},
		"vent 1.49": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 1.47, 1.47 }, []string{"discuss vents/narrow", "note vents/areas"}},
		"vent 1.6 prints too thin": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 1.6, 1.6 },
			[]string{"discuss vents/narrow", "note vents/areas"}},
		"vent 1.6, printer measured": {func(in *Input, _, v *mold.Channel) {
			v.Diameter, v.WidestBeyond, in.Job.Printer.BoreLoss = 1.6, 1.6, 0.02
		}, []string{"note vents/areas"}},
		"vent 2": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 1.99, 1.99 }, []string{"note vents/areas"}},
		"vent 0.9 closes on the user's printer": {func(in *Input, _, v *mold.Channel) {
			v.Diameter, v.WidestBeyond = 0.9, 0.9
			in.Job.SetFrom("printer.bore_loss", "job file line 4")
		}, []string{"stop vents/narrow", "note vents/areas"}},
		"vent 0.9 may close": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = 0.9, 0.9 },
			[]string{"discuss vents/narrow", "note vents/areas"}},
		"long vent":                          {func(_ *Input, _, v *mold.Channel) { v.Length = 45.7 }, []string{"discuss vents/wash"}},
		"long vent, by less than its facets": {func(_ *Input, _, v *mold.Channel) { v.Length = 45.4 }, nil},
		"long groove in the parting face":    {func(_ *Input, _, v *mold.Channel) { v.Length, v.Half = 60, "parting" }, nil},
		"thin and too long even when widened": {func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond, v.Length = 1, 1, 21 },
			[]string{"discuss vents/narrow", "discuss vents/wash", "note vents/areas"}},
		"neck 26 %":                {func(_ *Input, _, v *mold.Channel) { v.WidestBeyond = 4.5 * 1.26 }, []string{"discuss vents/neck"}},
		"neck 25 %":                {func(_ *Input, _, v *mold.Channel) { v.WidestBeyond = 4.5 * 1.2499 }, nil},
		"neck at the parting face": {func(_ *Input, _, v *mold.Channel) { v.WidestBeyond, v.Half = 9, "parting" }, nil},
		"gate with a neck":         {func(_ *Input, g, _ *mold.Channel) { g.WidestBeyond = 6 }, []string{"discuss vents/neck"}},
		"blind vent, no harm": {func(in *Input, _, v *mold.Channel) {
			c := *v
			c.ID, c.Role, c.Exit, c.Mouth = 3, mold.Blind, nil, c.Mouth.Sub(c.Axis)
			in.Fill.Ports = append(in.Fill.Ports, c)
		}, []string{"discuss vents/blind"}},
		"gate 1.9": {func(_ *Input, g, _ *mold.Channel) { g.Diameter, g.WidestBeyond = 1.9, 1.9 }, []string{"discuss vents/gate-width"}},
		"gate 0.7": {func(_ *Input, g, _ *mold.Channel) { g.Diameter, g.WidestBeyond = 0.7, 0.7 }, []string{"stop vents/narrow"}},
		"gate 8.2": {func(_ *Input, g, _ *mold.Channel) { g.Diameter, g.WidestBeyond = 8.2, 8.2 },
			[]string{"discuss vents/gate-width", "note vents/areas"}},
		"gate 8": {func(_ *Input, g, v *mold.Channel) {
			g.Diameter, g.WidestBeyond, v.Diameter, v.WidestBeyond = 7.9, 8, 7.9, 7.9
		}, nil},
		"gate high":              {func(_ *Input, g, _ *mold.Channel) { g.Mouth.Z += 3 }, []string{"discuss vents/gate-high"}},
		"gate 3 mm high at most": {func(_ *Input, g, _ *mold.Channel) { g.Mouth.X = 10.7 }, nil},
		"no gate":                {func(in *Input, _, _ *mold.Channel) { in.Fill.Ports = in.Fill.Ports[1:] }, []string{"stop vents/no-gate"}},
		"no vent":                {func(in *Input, _, _ *mold.Channel) { in.Fill.Ports = in.Fill.Ports[:1] }, []string{"stop vents/no-vent"}},
		"no vent, open gate": {func(in *Input, _, _ *mold.Channel) {
			in.Fill.Ports, in.Job.GateOpen, in.Fill.HighPoints = in.Fill.Ports[:1], true, nil
		}, nil},
		"assumed gate": {func(_ *Input, g, _ *mold.Channel) { g.Assumed = true }, nil},
		"assumed gate, lower rival": {func(_ *Input, g, v *mold.Channel) {
			g.Assumed, g.Mouth, v.Mouth, v.Diameter, v.WidestBeyond = true, v.Mouth, g.Mouth, 2, 2
		}, []string{"discuss vents/gate-assumed", "discuss vents/gate-high", "note vents/areas"}},
		"assumed gate, rival as low": {func(in *Input, g, v *mold.Channel) {
			g.Assumed, g.Mouth = true, v.Mouth.AddScaled(in.Fill.Up, 0.09)
		}, []string{"discuss vents/gate-high"}},
		"assumed gate, rival a little higher": {func(in *Input, g, v *mold.Channel) {
			g.Assumed, g.Mouth = true, v.Mouth.AddScaled(in.Fill.Up, -0.5)
		}, []string{"discuss vents/gate-high"}},
		"named gate, lower channel": {func(_ *Input, g, v *mold.Channel) { g.Mouth, v.Mouth = v.Mouth, g.Mouth }, []string{"discuss vents/gate-high"}},
		"assumed gate, lower thin channel": {func(_ *Input, g, v *mold.Channel) {
			g.Assumed, g.Mouth, v.Mouth, v.Diameter, v.WidestBeyond = true, v.Mouth, g.Mouth, 1.9, 1.9
		}, []string{"discuss vents/gate-high", "note vents/areas"}},
		"exit below the top, syringe": {func(_ *Input, _, v *mold.Channel) { v.Exit = ptr(v.Mouth.Sub(v.Axis)) }, []string{"note vents/exit-low"}},
		"exit below the top, poured freely": {func(in *Input, _, v *mold.Channel) {
			v.Exit, in.Job.GateOpen = ptr(v.Mouth.Sub(v.Axis)), true
		}, []string{"stop vents/exit-low"}},
		"exit below the gate's, poured freely": {func(in *Input, g, _ *mold.Channel) {
			g.Exit, in.Job.GateOpen = ptr(g.Mouth.AddScaled(in.Fill.Up, 100)), true
		}, []string{"stop vents/exit-low"}},
		"exit below the gate's, syringe": {func(in *Input, g, _ *mold.Channel) { g.Exit = ptr(g.Mouth.AddScaled(in.Fill.Up, 100)) }, nil},
		"exit level with the top": {func(in *Input, _, v *mold.Channel) {
			v.Exit = ptr(v.Mouth.AddScaled(in.Fill.Up, in.Fill.HighestPoint-v.Mouth.Dot(in.Fill.Up)-0.09))
		}, nil},
		"high point without a vent or air": {func(in *Input, _, _ *mold.Channel) {
			in.Fill.HighPoints = append(in.Fill.HighPoints, mold.HighPoint{At: v(5, 5, 5), Height: 6, Prominence: 0.4})
		}, []string{"note vents/no-vent-small"}},
		"vent for two high points": {func(in *Input, _, c *mold.Channel) {
			in.Fill.HighPoints = append(in.Fill.HighPoints, mold.HighPoint{At: v(5, 5, 5), Height: 6, Prominence: 0.4, VentedBy: 2})
			c.Drains = []int{0, 1}
		}, []string{"note vents/shared"}},
		"parting gap": {func(in *Input, _, v *mold.Channel) {
			c := *v
			c.ID, c.Slit, c.Diameter, c.Volume, c.Exit = 3, true, 0.3, 90, ptr(c.Mouth.Sub(c.Axis))
			in.Fill.Ports = append(in.Fill.Ports, c)
		}, []string{"discuss vents/gap"}},
		"wide slot": {func(_ *Input, _, v *mold.Channel) {
			v.Slit, v.Diameter, v.WidestBeyond, v.Volume, v.Length = true, 2, 2, 600, 24
		}, nil},
	} {
		got := kinds(change(t, c.flaw))
		if c.want == nil {
			c.want = []string{}
		}
		assert.ElementsMatch(t, c.want, got, name)
	}
}

func TestBlindVentSaysWhatIsLeft(t *testing.T) {
	// A block 20 x 20 x 10 on the cavity's roof z = 10 with a bore 2 x 2 from below that stops
	// 1.5 mm under its top, and a second half that touches it there, 4 mm thick.
	top := geomtest.Grid(geomtest.Add(v(0, 0, 10), v(20, 20, 20)), geomtest.Cut(v(9, 9, 9), v(11, 11, 18.5)))
	cap := geomtest.Grid(geomtest.Add(v(0, 0, 20), v(20, 20, 24)))
	blind := func(in *Input, c *mold.Channel) {
		c.Role, c.Exit, c.Mouth, c.End, c.Diameter, c.Length = mold.Blind, nil, v(10, 10.3, 10), v(10, 10.3, 18.5), 2, 8.5
		in.Fill.HighPoints[0].VentedBy = 0
		in.Mold.Halves = []mold.Body{{Name: "top", Mesh: top}}
	}
	o := change(t, func(in *Input, _, c *mold.Channel) { blind(in, c) })
	f := one(t, o, "vents/blind")
	require.NotNil(t, f.Value)
	assert.InDelta(t, 1.5, *f.Value, 1e-9)
	assert.Equal(t, "Channel 2 is blind: it stops 1.5 mm short of the outside", f.Title)
	assert.Contains(t, f.Advice, "lengthen it by 1.5 mm along +Z")
	assert.Contains(t, f.Why, "4.25 times as long as wide", "over the ratio of 4 for one open end")

	o = change(t, func(in *Input, _, c *mold.Channel) {
		blind(in, c)
		c.End.Z = 18.2 // measured a little short of the bore's end
		in.Mold.Halves = append(in.Mold.Halves, mold.Body{Name: "cap", Mesh: cap})
	})
	assert.InDelta(t, 5.5, *one(t, o, "vents/blind").Value, 1e-9, "halves that touch are one piece of rubber")

	for gap, want := range map[float64]float64{0.05: 5.55, 0.3: 1.5} { // below and above the seal of 0.12
		o = change(t, func(in *Input, _, c *mold.Channel) {
			blind(in, c)
			in.Mold.Halves = append(in.Mold.Halves, mold.Body{Mesh: geomtest.Grid(geomtest.Add(v(0, 0, 20+gap), v(20, 20, 24+gap)))})
		})
		assert.InDelta(t, want, *one(t, o, "vents/blind").Value, 1e-9)
	}

	o = change(t, func(in *Input, _, c *mold.Channel) {
		blind(in, c)
		in.Mold.Halves = nil
	})
	f = one(t, o, "vents/blind")
	assert.Nil(t, f.Value)
	assert.Contains(t, f.Title, "it ends inside top")
}

// TestBlindVentAndItsPocket: the air at the mouth of a blind vent names it, and no
// second finding says that the high point has no vent.
func TestBlindVentAndItsPocket(t *testing.T) {
	o := change(t, func(in *Input, _, c *mold.Channel) {
		second := *c
		second.ID = 3
		c.Role, c.Exit = mold.Blind, nil
		k := pocketAt(in, 0, v(40, 10, 10), 55, 4)
		k.Near = 2
		in.Fill.HighPoints[0].VentedBy = 3
		in.Fill.Ports = append(in.Fill.Ports, second)
	})
	assert.Equal(t, []string{"stop air/pocket", "discuss vents/blind"}, kinds(o))
	f := one(t, o, "vents/blind")
	assert.Contains(t, f.Why, "leaves 55 mm3 of air")
	assert.Equal(t, 1, f.Pocket)
	assert.Equal(t, 2, f.Channel)
}

// TestBlindBelowTheAir: a blind channel that the resin has covered is not why air
// stays higher up.
func TestBlindBelowTheAir(t *testing.T) {
	o := change(t, func(in *Input, _, c *mold.Channel) {
		low := *c
		low.ID, low.Role, low.Exit, low.Mouth = 3, mold.Blind, nil, v(30, 10, 5)
		in.Fill.Ports = append(in.Fill.Ports, low)
		k := pocketAt(in, 0, v(40, 10, 10), 55, 2)
		k.Near = 3
	})
	assert.ElementsMatch(t, []string{"stop air/pocket", "discuss vents/mouth-low", "discuss vents/blind"}, kinds(o))
	assert.Zero(t, one(t, o, "vents/blind").Pocket)
	assert.NotContains(t, one(t, o, "air/pocket").Advice, "blind")
}

func TestUndrained(t *testing.T) {
	o := change(t, func(in *Input, _, c *mold.Channel) {
		k := pocketAt(in, 0, v(40, 10, 10), 636.54, 3.13)
		c.MouthTop = k.SealedAt + 0.1 // sampled, a little off
	})
	f := one(t, o, "vents/mouth-low")
	assert.Equal(t, "The mouth of vent 2 closes 3.13 mm below its high point: 637 mm3 stays", f.Title)
	assert.Contains(t, f.Advice, "up by 3.13 mm, towards the high point at (40.0, 10.0, 10.0): there it is a move of (1.0, 0.0, 0.0) mm")

	o = change(t, func(in *Input, _, c *mold.Channel) {
		k := pocketAt(in, 0, v(40, 10, 10), 636.54, 3.13)
		c.Axis, c.MouthTop, c.MouthLow = v(0, 0, -1), k.SealedAt+2, k.SealedAt
	})
	f = one(t, o, "vents/mouth-low")
	assert.Contains(t, f.Why, "lowest point of its mouth, because it leaves downhill")
	assert.Contains(t, f.Advice, "Let it rise")

	o = change(t, func(in *Input, _, c *mold.Channel) {
		k := pocketAt(in, 0, v(40, 10, 10), 636.54, 3.13)
		c.MouthTop = k.SealedAt - 1
	})
	assert.Contains(t, one(t, o, "vents/no-vent-here").Why, "over a saddle to vent 2")

	o = change(t, func(in *Input, _, c *mold.Channel) {
		in.Fill.HighPoints[0].VentedBy = 0
		k := pocketAt(in, 0, v(40, 10, 10), 20, 3)
		k.Vent = &mold.SuggestedVent{ID: 1, Mouth: v(39, 10, 10), Direction: v(0, 0, 1), Length: 10}
	})
	f = one(t, o, "vents/no-vent-here")
	assert.Equal(t, "High point without a vent: 20 mm3 stays", f.Title)
	assert.Contains(t, f.Advice, "suggested vent 1 from (39.0, 10.0, 10.0) along +Z, 10 mm long")

	// Two high points at one vent, each with a pocket: two findings, two keys.
	o = change(t, func(in *Input, _, c *mold.Channel) {
		pocketAt(in, 0, v(40, 10, 10), 50, 3)
		k := pocketAt(in, -1, v(10, 10, 10), 30, 3)
		in.Fill.HighPoints[1].VentedBy = 2
		c.Drains, c.MouthTop = []int{0, 1}, k.SealedAt
		in.Fill.Pockets[0].SealedAt = c.MouthTop
	})
	both := named(o, "vents/mouth-low")
	require.Len(t, both, 2)
	assert.Contains(t, both[0].Advice, "a vent of its own")
	assert.Contains(t, both[0].Why, "2 high points")

	// Sealed where the high point is: the mouth is not to blame.
	o = change(t, func(in *Input, _, c *mold.Channel) { pocketAt(in, 0, v(40, 10, 10), 30, 0.09) })
	assert.Equal(t, []string{"stop air/pocket"}, kinds(o))

	// A pocket too small for a line of its own has no cause either.
	o = change(t, func(in *Input, _, c *mold.Channel) { pocketAt(in, 0, v(40, 10, 10), 0.5, 3) })
	assert.Equal(t, []string{"note air/small"}, kinds(o))
}

func TestPlugging(t *testing.T) {
	below := func(in *Input, _, c *mold.Channel) { c.Exit = ptr(c.Mouth.Sub(c.Axis)) }
	f := one(t, change(t, below), "vents/exit-low")
	assert.Equal(t, "It drips first at 8.1 ml. Plug it at 8.2 ml, when its exit is wholly covered, and not before: until then air leaves through it.", f.Advice)
	f = one(t, change(t, func(in *Input, g, c *mold.Channel) { below(in, g, c); c.PlugAt = nil }), "vents/exit-low")
	assert.Contains(t, f.Advice, "never wholly covered")
}

func TestGateQuestion(t *testing.T) {
	o := change(t, func(_ *Input, g, c *mold.Channel) { g.Assumed, g.Mouth, c.Mouth = true, c.Mouth, g.Mouth })
	f := one(t, o, "vents/gate-assumed")
	assert.Contains(t, f.Advice, "--gate 39.0,10.0,10.0 for gate 1, or --gate 2.0,10.0,0.0 for vent 2")
}

func TestNoGateNamesTheLowPoint(t *testing.T) {
	f := one(t, change(t, func(in *Input, _, _ *mold.Channel) { in.Fill.Ports = in.Fill.Ports[1:] }), "vents/no-gate")
	assert.Contains(t, f.Advice, "(0.0, 10.0, 0.0)")
	assert.Contains(t, f.Advice, "--gate")
	f = one(t, change(t, func(in *Input, _, _ *mold.Channel) { in.Fill.Ports = nil }), "vents/no-gate")
	assert.Equal(t, "No channel leads from the outside into the cavity.", f.Why)
}

func TestAcrossFlats(t *testing.T) {
	assert.InDelta(t, 1/math.Cos(math.Pi/20), acrossFlats, 1e-15)
	assert.InDelta(t, math.Sin(math.Pi/90), level2deg, 1e-15)
}

func TestStoppedBores(t *testing.T) {
	bores := func(half string, left ...float64) Input {
		in := clean()
		in.Only = []string{"vents"}
		for i, l := range left {
			x := float64(5 * i)
			in.Mold.Stopped = append(in.Mold.Stopped, mold.StoppedBore{Half: half, End: v(x, 10, 10+l), Ahead: v(x, 10, 10), Left: l, Width: 3})
		}
		return in
	}
	o := Run(bores("top", 0.5, 4.9, 5))
	proper(t, o)
	found := named(o, "vents/stopped")
	require.Len(t, found, 2, "as much rubber as anywhere is no slip")
	assert.Equal(t, Discuss, found[0].Severity)
	assert.Equal(t, "A bore 3 mm wide stops 0.5 mm before the cavity, in top", found[0].Title)
	assert.Contains(t, found[0].Advice, "carry it through to the cavity at (0.0, 10.0, 10.0)")

	o = Run(bores("top", 1, 2, 2, 2, 2, 5.5))
	proper(t, o)
	f := one(t, o, "vents/stopped")
	assert.Contains(t, f.Why, "4 bores more of this half end as near")
}

// A thin wall before such a bore says so.
func TestWallBeforeAStoppedBore(t *testing.T) {
	in := clean()
	in.Mold.Stopped = []mold.StoppedBore{{Half: "top", End: v(20, 10, 10.5), Ahead: v(20, 10, 10), Left: 0.5, Width: 3}}
	p := &Pass{Mold: in.Mold, asked: func(string) bool { return true }}
	before := mold.Wall{At: v(20, 11, 10.25), Between: [2]mold.Side{mold.AtCavity, mold.AtOutside}}
	aside := before
	aside.At = v(30, 10, 10.25)
	assert.NotNil(t, p.endOfStopped(&before))
	assert.Nil(t, p.endOfStopped(&aside))
}
