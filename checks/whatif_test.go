package checks

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/geom/geomtest"
)

// TestWhatItTakes: every finding about a channel says the least change at which it goes,
// and does go there, and not a step before it, when the check is run on such a channel.
func TestWhatItTakes(t *testing.T) {
	type flaw = func(in *Input, gate, vent *mold.Channel)
	wide := func(x float64) flaw { // drawn with as many sides as a printer sees as round
		return func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = x/acrossFlats, x/acrossFlats }
	}
	long := func(x float64) flaw { return func(_ *Input, _, v *mold.Channel) { v.Length = x } }
	beyond := func(neck, x float64) flaw {
		return func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = neck, x }
	}
	gap := func(x float64) flaw {
		return func(in *Input, _, v *mold.Channel) {
			c := *v
			c.ID, c.Slit, c.Diameter, c.Volume, c.Exit = 3, true, x, 90, ptr(c.Mouth.Sub(c.Axis))
			in.Fill.Ports = append(in.Fill.Ports, c)
		}
	}
	exit := func(down float64) flaw {
		return func(in *Input, _, v *mold.Channel) { v.Exit = ptr(v.Exit.AddScaled(in.Fill.Up, -down)) }
	}
	gate := func(x float64) flaw {
		return func(_ *Input, g, _ *mold.Channel) { g.Diameter, g.WidestBeyond = x/acrossFlats, x/acrossFlats }
	}
	high := func(x float64) flaw {
		return func(in *Input, g, _ *mold.Channel) { g.Mouth = g.Mouth.AddScaled(in.Fill.Up, x) }
	}
	over := clean().Fill.Ports[1].Exit.Dot(clean().Fill.Up) - clean().Fill.HighestPoint // the vent's exit stands so high
	above := clean().Fill.Ports[0].Mouth.Sub(clean().Fill.LowestCavityPoint).Dot(clean().Fill.Up)
	for name, c := range map[string]struct {
		kind        string
		flaw        flaw
		line        string
		gone, there flaw
	}{
		"narrow as printed": {"narrow", wide(1.2), "Gone from 1.65 mm wide over its whole length; still there at 1.6 mm.", wide(1.6501), wide(1.6)},
		"far too narrow":    {"narrow", wide(0.5), "Gone from 1.65 mm wide over its whole length; still there at 1.6 mm.", wide(1.6501), wide(1.6)},
		"long":              {"wash", long(61), "Gone at 45.5 mm long; still there at 45.6 mm. Gone from 6.1 mm wide; still there at 6.05 mm.", long(45.5), long(45.6)},
		"long, wider": {"wash", long(61), "Gone from 6.1 mm wide; still there at 6.05 mm.",
			func(in *Input, g, v *mold.Channel) { wide(6.1001)(in, g, v); v.Length = 61 }, func(in *Input, g, v *mold.Channel) { wide(6.05)(in, g, v); v.Length = 61 }},
		"neck":        {"neck", beyond(4, 6), "Gone with a neck 4.8 mm wide; still there at 4.75 mm. Gone if it is no wider than 5 mm beyond; still there at 5.05 mm.", beyond(4.8001, 6), beyond(4.75, 6)},
		"wide beyond": {"neck", beyond(4, 6), "still there at 5.05 mm.", beyond(4, 4.9999), beyond(4, 5.05)},
		"gap":         {"gap", gap(0.3), "Gone as a vent from 0.8 mm wide; still there at 0.75 mm.", gap(0.8), gap(0.75)},
		"low exit":    {"exit-low", exit(over + 2.05), "Gone if its exit is raised by 2 mm; still there at 1.9 mm.", exit(over + 0.05), exit(over + 0.15)},
		"small gate":  {"gate-width", gate(1.5), "Gone from 2 mm wide; still there at 1.95 mm.", gate(2.0001), gate(1.95)},
		"large gate":  {"gate-width", gate(9), "Gone at 8 mm wide; still there at 8.05 mm.", gate(7.9999), gate(8.05)},
		"high gate":   {"gate-high", high(5.05 - above), "Gone if its mouth is lowered by 2.1 mm; still there at 2 mm.", high(2.95 - above), high(3.05 - above)},
	} {
		f := one(t, change(t, c.flaw), "vents/"+c.kind)
		assert.Contains(t, f.Sensitivity, c.line, name)
		assert.Empty(t, named(change(t, c.gone), "vents/"+c.kind), "%s: gone", name)
		assert.Len(t, named(change(t, c.there), "vents/"+c.kind), 1, "%s: there", name)
	}
}

// TestWhatItTakesTogether: findings about several channels, and about none.
func TestWhatItTakesTogether(t *testing.T) {
	thin := func(x float64) func(in *Input, gate, vent *mold.Channel) {
		return func(_ *Input, _, v *mold.Channel) { v.Diameter, v.WidestBeyond = x/acrossFlats, x/acrossFlats }
	}
	f := one(t, change(t, thin(2)), "vents/areas")
	// The gate is 4 mm by its ball, 4.05 mm as drawn; the ratio is known to a hundredth.
	assert.Equal(t, "Gone if vent 2 is 4.05 mm wide; still there at 4 mm.", f.Sensitivity)
	assert.Empty(t, named(change(t, thin(4.05)), "vents/areas"))
	assert.Len(t, named(change(t, thin(4)), "vents/areas"), 1)

	deg := math.Pi / 180
	search := &mold.TiltSearch{Limit: 60 * deg, Points: []mold.TiltPoint{tiltPoint(0, 0, 90, 1), tiltPoint(20, 0, 40, 1)},
		NowMargin: mold.TiltMargin{Angle: 4 * deg, Fails: mold.Tilt{Angle: 12 * deg}, Adds: 31}}
	search.Now, search.Best, search.BestFill = search.Points[0], search.Points[0], &mold.Fill{}
	shared := func(in *Input, _, v *mold.Channel) {
		in.Tilts = search
		in.Fill.HighPoints = append(in.Fill.HighPoints, mold.HighPoint{At: in.Fill.HighPoints[0].At, VentedBy: 2})
		v.Drains = []int{0, 1}
	}
	assert.Equal(t, "Harmless up to 4 deg off this tilt to any side; at tilt 12@0 31 mm3 more stay.", one(t, change(t, shared), "vents/shared").Sensitivity)
	search.NowMargin = mold.TiltMargin{Angle: 16 * deg, AtLeast: true}
	assert.Contains(t, one(t, change(t, shared), "vents/shared").Sensitivity, "Harmless up to 16 deg")

	none := func(in *Input, _, v *mold.Channel) {
		in.Tilts = search
		in.Fill.Ports = in.Fill.Ports[:1]
		in.Fill.HighPoints[0].VentedBy = 0
	}
	assert.Equal(t, "Still there at all 2 tilts tried up to 60 deg.", one(t, change(t, none), "vents/no-vent").Sensitivity)
}

// TestCarriedOn: a blind bore carried on as far as is named is open, and a tenth less is
// not, on a mold of a block with such a bore.
func TestCarriedOn(t *testing.T) {
	for _, c := range []struct {
		end         float64 // of the bore; the block's top is at 20
		line        string
		gone, there float64
	}{{18.5, "Gone once it is carried on by 1.6 mm; still there at 1.4 mm.", 1.6, 1.4}, {18.63, "Gone once it is carried on by 1.4 mm; still there at 1.3 mm.", 1.4, 1.3}} {
		block := func(end float64) []mold.Body {
			return []mold.Body{{Name: "top", Mesh: geomtest.Grid(geomtest.Add(v(0, 0, 10), v(20, 20, 20)), geomtest.Cut(v(9, 9, 9), v(11, 11, end)))}}
		}
		p := &Pass{Mold: &mold.Mold{Halves: block(c.end), Seal: 0.12}}
		at := func(end float64) *mold.Channel {
			return &mold.Channel{End: v(10, 10, end), ExitAxis: v(0, 0, 1), Diameter: 2}
		}
		assert.Equal(t, c.line, p.carriedOn(at(c.end)))
		p.Mold.Halves = block(c.end + c.there)
		left, ok := rubberBeyond(p.Mold, at(c.end+c.there))
		assert.True(t, ok)
		assert.Greater(t, left, 0.01)
		p.Mold.Halves = block(c.end + c.gone)
		_, ok = rubberBeyond(p.Mold, at(c.end+c.gone))
		assert.False(t, ok, "no rubber is left")
	}
}

// TestCupLines: what a relief hole does, or that no other way to lay the half helps.
func TestCupLines(t *testing.T) {
	in := clean()
	q := in.Prints[0]
	require.NotEmpty(t, q.Name)
	q.Cups = []mold.Cup{{ID: 1, Area: 300, Bound: 30.4, Volume: 900, Middle: v(5, 5, 5), Hole: &mold.ReliefHole{At: v(5, 5, 0), Exit: v(5, 5, -4), Direction: v(0, 0, -1), Diameter: 2, Length: 4, Drop: 6.5, Left: 3}}}
	o := Run(in)
	assert.Equal(t, "Gone with the relief hole of 2 mm: printed with it the film seals 3 mm2 of this cup, and the resin loses 6.5 kPa.", one(t, o, "cups/cup").Sensitivity)
	q.Cups[0].Hole = nil
	in.Poses = []*mold.PoseSearch{{Half: q.Half, Now: mold.PosePoint{CupArea: 300}, Points: []mold.PosePoint{{CupArea: 300, Build: v(0, 0, 1)}, {CupArea: 160, Build: v(1, 0, 0)}}}}
	assert.Equal(t, "Still there, or half as large at least, in all 2 other directions tried.", one(t, Run(in), "cups/cup").Sensitivity)
	in.Poses[0].Points[1].CupArea = 140
	assert.Empty(t, one(t, Run(in), "cups/cup").Sensitivity)
}

// TestWiderPassage: a passage that loses 36.2 kPa at 1.99 mm over 8.8 mm relieves, up to 20
// kPa, where 3/r^3 + 8 L/(pi r^4) is 20/36.2 of that: r 1.165 mm (own calculation), and
// never below the relief width less its error.
func TestWiderPassage(t *testing.T) {
	by := mold.NewJob().Printer
	by.Relief, by.ReliefDrop = 1, 20
	c := &mold.Cup{Passage: &mold.Passage{Width: 1.99, Error: 0.05, Length: 8.8, Drop: 36.2217, Count: 1}}
	assert.Equal(t, "Gone if its passage is 2.35 mm wide all along; still there at 2.3 mm.", widerPassage(c, &by))
	loss := func(d float64) float64 { r := d / 2; return 3/(r*r*r) + 8*8.8/(math.Pi*r*r*r*r) }
	assert.LessOrEqual(t, 36.2217*loss(2.35)/loss(1.99), 20.0)
	assert.Greater(t, 36.2217*loss(2.3)/loss(1.99), 20.0)
	by.Relief = 3
	assert.Equal(t, "Gone if its passage is 2.95 mm wide all along; still there at 2.9 mm.", widerPassage(c, &by))
	c.Passage.Count = 2
	assert.Empty(t, widerPassage(c, &by), "others share the flow")
}
