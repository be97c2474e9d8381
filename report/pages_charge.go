package report

import (
	"fmt"
	"math"
	"strings"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/report/pdf"
)

// chargePages say what to mix, how it goes in, and what the pot does.
func (b *book) chargePages() error {
	o := b.Outcome
	if o.Charge == nil && o.Pot == nil {
		return nil
	}
	b.chapter(150)
	b.pdf.Anchor("charge")
	b.pdf.Heading(1, "Charge and pot")
	b.charge()
	b.pot()
	b.reasons(func(f *checks.Finding) bool { return f.Check == "charge" || f.Check == "pot" })
	b.pdf.Note(pdf.Text("Pressure vessels: never above the rating on the plate; a relief valve set to it; no home-made vessels; vent before opening. Isocyanates sensitise for life: gloves, ventilation, respirator as the data sheet says. Data sheets of the makers, local codes and qualified practice take precedence."))
	return nil
}

func (b *book) charge() {
	c := b.Outcome.Charge
	if c == nil {
		return
	}
	l := &b.Outcome.Job.Liquid
	b.pdf.Numbers(
		pdf.Number{Value: Figure(c.Total), Unit: "ml", Label: "to mix for one cast"},
		pdf.Number{Value: Figure(c.Mass), Unit: "g", Label: fmt.Sprintf("at %s g/ml", Figure(c.Density))},
		mixNumber(c.Mix, true), mixNumber(c.Mix, false),
		pdf.Number{Value: Figure(c.FillTime), Unit: "s", Label: fmt.Sprintf("to fill at %s ml/s", Figure(l.Rate))})
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Resin for"}, {Title: "Volume", Align: pdf.Right}, {Title: "Why"}}}
	row := func(name string, v float64, why string) { t.Rows = append(t.Rows, pdf.R(name, Figure(v)+" ml", why)) }
	row("cavity", c.Cavity, "the part's space")
	row("gate", c.Gate, "its stub is cut off")
	row("vents", c.Vents, "blind channels included")
	row("reserve", c.Reserve, "follows the air that the pot shrinks")
	row("spare", c.Spare, fmt.Sprintf("%s %% of the above, and %s ml that stay in cup and syringe", Figure(l.SparePercent), Figure(l.Dead)))
	row("together", c.Total, fmt.Sprintf("%s g", Figure(c.Mass)))
	b.pdf.Table(t)
	b.mixes(c)
	b.pdf.Pairs(1, b.chargePairs()...)
}

// mixes lists what to weigh.
func (b *book) mixes(c *mold.Charge) {
	t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "To mix"}, {Title: "Together", Align: pdf.Right}, {Title: "A", Align: pdf.Right}, {Title: "B", Align: pdf.Right}, {Title: "or A", Align: pdf.Right}, {Title: "and B", Align: pdf.Right}, {Title: "Pigment", Align: pdf.Right}}}
	amount := func(x *float64, unit string) string {
		if x == nil {
			return "–"
		}
		return Figure(*x) + unit
	}
	for i := range c.Weigh {
		w := &c.Weigh[i]
		var a, bb, va, vb *float64
		if m := w.Mix; m != nil {
			a, bb, va, vb = &m.A, &m.B, m.VolumeA, m.VolumeB
		}
		pigment := "–"
		if w.Pigment > 0 {
			pigment = Figure(w.Pigment) + " g"
		}
		t.Rows = append(t.Rows, pdf.R(mixName(c, i), Figure(w.Mass)+" g", amount(a, " g"), amount(bb, " g"), amount(va, " ml"), amount(vb, " ml"), pigment))
	}
	b.pdf.Table(t)
}

// mixLine says what to weigh, for the bench; empty without a ratio.
func mixLine(c *mold.Charge) string {
	if c == nil || c.Mix == nil {
		return ""
	}
	var out []string
	for i := range c.Weigh {
		w := &c.Weigh[i]
		amount := fmt.Sprintf("%s g of A and %s g of B", Figure(w.Mix.A), Figure(w.Mix.B))
		if w.Mix.VolumeA != nil {
			amount += fmt.Sprintf(" (%s and %s ml)", Figure(*w.Mix.VolumeA), Figure(*w.Mix.VolumeB))
		}
		if w.Pigment > 0 {
			amount += fmt.Sprintf(", %s g of pigment", Figure(w.Pigment))
		}
		switch {
		case i > 0 && w.Count > 1:
			out = append(out, fmt.Sprintf("Better each of %s g, the rest is waste: %s.", Figure(w.Mass), amount))
		case i > 0 && w.Casts > 1:
			out = append(out, fmt.Sprintf("Better %s g together, for %s: %s.", Figure(w.Mass), Plural(w.Casts, "cast"), amount))
		case i > 0:
			out = append(out, fmt.Sprintf("Better %s g, the rest is waste: %s.", Figure(w.Mass), amount))
		case w.Count > 1:
			out = append(out, fmt.Sprintf("One cast: %d mixes, each poured within half the pot life, each of %s.", w.Count, amount))
		default:
			out = append(out, fmt.Sprintf("One cast: %s.", amount))
		}
	}
	return strings.Join(out, " ")
}

// mixName says what a mix is for.
func mixName(c *mold.Charge, i int) string {
	switch w := &c.Weigh[i]; {
	case i > 0 && w.Count > 1:
		return "smallest that mixes well, each; the rest is waste"
	case i > 0 && w.Casts > 1:
		return fmt.Sprintf("smallest that mixes well, for %s", Plural(w.Casts, "cast"))
	case i > 0:
		return "smallest that mixes well; the rest is waste"
	case w.Count > 1:
		return fmt.Sprintf("one cast: each of %d mixes, poured within half the pot life", w.Count)
	}
	return "one cast"
}

func (b *book) chargePairs() []pdf.Pair {
	c, l := b.Outcome.Charge, &b.Outcome.Job.Liquid
	var out []pdf.Pair
	add := func(key, value string) { out = append(out, pdf.Pair{Key: key, Value: pdf.Plain(value)}) }
	if m := c.Mix; m == nil {
		add("A and B", "not given: ratio_mass, or ratio_volume with density_a and density_b, under [liquid]")
	} else {
		text := fmt.Sprintf("100 of A to %s of B by mass", Figure(m.ToMass))
		if m.ToVolume != nil {
			text += fmt.Sprintf(", 100 to %s by volume", Figure(*m.ToVolume))
		}
		if m.ByVolume {
			text += "; given by volume"
		} else {
			text += "; given by mass"
		}
		add("Ratio", text)
	}
	if c.Syringes != nil {
		add("Syringe", fmt.Sprintf("%s of %s ml", Plural(*c.Syringes, "filling"), Figure(l.SyringeMl)))
	}
	life := "pot life not given"
	if c.PotLife != nil {
		life = fmt.Sprintf("pot life %s s", Figure(*c.PotLife))
	}
	add("Time", fmt.Sprintf("%s s to fill; %s", Figure(c.FillTime), life))
	add("Degas in", fmt.Sprintf("a vessel of %s ml or more: froth rises to several times the volume (from memory 3 to 10)", Figure(c.Degas)))
	push := fmt.Sprintf("head %s kPa over the lowest point, %s kPa lost in the gate", Figure(c.Head), Figure(c.GateDrop))
	if c.Plunger != nil {
		push += fmt.Sprintf("; %s N on the plunger", Figure(*c.Plunger))
	}
	add("Pressure", push)
	var opening []string
	if c.Opening != nil {
		opening = append(opening, fmt.Sprintf("%s N with vents open and running over, which costs %s kPa", Figure(*c.Opening), Figure(*c.VentDrop)))
	}
	if c.OpeningJammed != nil {
		opening = append(opening, fmt.Sprintf("%s N with vents blocked and a thumb (30 N) on the plunger: clamp between stiff plates", Figure(*c.OpeningJammed)))
	}
	opening = append(opening, fmt.Sprintf("the part's outline is %s", Area(c.Projected)))
	add("Opens halves", strings.Join(opening, "; "))
	return out
}

// pot says what the pot does to the air that stays.
func (b *book) pot() {
	c := b.Outcome.Pot
	if c == nil {
		return
	}
	pot := &b.Outcome.Job.Pot
	b.pdf.Keep(70)
	b.pdf.Heading(2, "Pressure cure")
	rating := "the vessel's rating is not given: read its plate"
	if pot.Rating > 0 {
		rating = fmt.Sprintf("the vessel is rated for %s kPa gauge", Figure(pot.Rating))
	}
	pairs := []pdf.Pair{
		{Key: "Pressure", Value: pdf.Plain(fmt.Sprintf("%s kPa gauge, which is %s kPa absolute with %s kPa of air pressure around; %s", Figure(c.Gauge), Figure(c.Absolute), Figure(pot.Air()), rating))},
		{Key: "Air shrinks to", Value: pdf.Plain(fmt.Sprintf("%s %% of its volume, a bubble to %s %% of its diameter; it does not go away", Figure(100*c.Volume), Figure(100*c.Diameter)))},
		{Key: "Reserve", Value: pdf.Plain(fmt.Sprintf("%s ml have to follow the air, %s ml stand ready", Figure(c.Needed), Figure(c.Present)))},
	}
	l := &b.Outcome.Job.Liquid
	rise, _ := mold.RiseSpeed(1, l.Density, l.Viscosity)
	pairs = append(pairs, pdf.Pair{Key: "A bubble of 1 mm", Value: pdf.Plain(fmt.Sprintf("rises about %s mm/s in this resin (Stokes), so wait before you plug; in the pot %s mm of it are left, and all of it again if pressure falls before the resin gels",
		Figure(rise), Figure(mold.BubbleUnder(1, pot.Air(), pot.Air()+pot.Gauge, l.SurfaceTension))))})
	if c.Up != nil {
		pairs = append(pairs, pdf.Pair{Key: "In the pot", Value: pdf.Plain(fmt.Sprintf("up is %s: %s of air can gather there, %s as poured", direction(*c.Up), Volume(c.Left), Volume(b.Outcome.Fill.Trapped)))})
	} else {
		pairs = append(pairs, pdf.Pair{Key: "In the pot", Value: pdf.Plain("attitude not given ([pot] up): stand it as it was poured")})
	}
	b.pdf.Pairs(1, pairs...)
	if f := b.Outcome.Fill; f != nil && len(f.Pockets) > 0 {
		t := pdf.Table{Size: 8, Columns: []pdf.Column{{Title: "Pocket", Width: 14}, {Title: "Air", Align: pdf.Right}, {Title: "In the pot", Align: pdf.Right}, {Title: "As a ball", Align: pdf.Right}, {Title: "In the pot", Align: pdf.Right}}}
		for i := range f.Pockets {
			k := &f.Pockets[i]
			t.Rows = append(t.Rows, pdf.R(fmt.Sprint(k.ID), Volume(k.Volume), Volume(k.Volume*c.Volume), "⌀ "+Length(ballOf(k.Volume)), "⌀ "+Length(ballOf(k.Volume*c.Volume))))
		}
		b.pdf.Table(t)
	}
}

// ballOf returns the diameter of a ball of a volume.
func ballOf(volume float64) float64 { return math.Cbrt(6 * volume / math.Pi) }

// mixNumber writes one component's mass, a dash without a ratio.
func mixNumber(m *mold.Mix, a bool) pdf.Number {
	switch {
	case m == nil && a:
		return pdf.Number{Value: "–", Label: "component A: no ratio given"}
	case m == nil:
		return pdf.Number{Value: "–", Label: "component B"}
	case a:
		return pdf.Number{Value: Figure(m.A), Unit: "g", Label: "component A"}
	}
	return pdf.Number{Value: Figure(m.B), Unit: "g", Label: "component B"}
}
