package checks

import (
	"fmt"
	"math"
)

var chargeCheck = Check{
	Name: "charge", Title: "Resin to mix",
	Doc: `
How much resin one cast needs, how to split it, how long it takes to push in, and
what pushing does to the mold.

  volume     cavity + gate + vents + what a pressure cure draws in, plus a share for
             what is spilled and what stays in cup and syringe
  A and B    by mass from [liquid] ratio_mass, or from ratio_volume and both
             densities: the two ratios are not the same number. With both densities
             the mix has the density (a + b)/(a/rho_a + b/rho_b)
  batch      small batches cannot be weighed well and cure badly: mix the smallest
             sensible one and cast several times from it
  time       volume / rate, against half the pot life: resin thickens all along
  pressure   head rho g h over the lowest point; lost in the gate by Hagen-Poiseuille
             128 mu L Q/(pi d^4)
  opening    on the part's projected area: with vents open head and what the resin
             loses in them side by side once it runs over, 1/dp = sum of 1/dp_i; with
             vents blocked a thumb of 30 N on the plunger (common practice, no source)

A missing value of the user's leaves the figure out and is told in one note.
Not computed: jets, air that the syringe draws in, resin that gels half way.`,
	Limits: []string{"fill_share_discuss", "fill_share_stop", "degas_s", "gate_drop_kpa", "opening_n", "ratio_off_percent"},
	Run:    checkCharge,
}

func checkCharge(p *Pass) {
	switch {
	case p.Charge != nil:
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
		return
	default:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the charge was not computed", p.named})
		return
	}
	p.fillTime()
	p.ratio()
	p.batch()
	p.opening()
	p.missing()
}

func (p *Pass) fillTime() {
	c := p.Charge
	if c.PotLife == nil {
		return
	}
	share := c.FillTime / *c.PotLife
	if j := p.Limits.Judge(share, "fill_share_stop", "fill_share_discuss"); j.Broken() {
		p.Report(j.on(Finding{kind: "slow", Title: fmt.Sprintf("Filling takes %s s of a pot life of %s s", figure(math.Round(c.FillTime)), figure(*c.PotLife)),
			Why:    fmt.Sprintf("%s at %s ml/s. Resin thickens before its pot life ends, and pressure rises with it.", ml(c.Cavity+c.Gate+c.Vents), figure(p.Job.Liquid.Rate)),
			Advice: "Press faster if gate and vents allow it, widen the gate, or take a resin with a longer pot life. Mix in batches only if the first stays liquid until the last is in."}, share))
	}
	if j := p.Limits.Judge(*c.PotLife, "degas_s"); j.Broken() {
		p.Report(j.on(Finding{kind: "degas", Title: fmt.Sprintf("A pot life of %s s leaves little time to degas", figure(*c.PotLife)),
			Why:    "Degassing the mix takes minutes, and filling has to follow.",
			Advice: "Degas the components before mixing, if their data sheets allow it, and cure under pressure."}, *c.PotLife))
	}
}

func (p *Pass) ratio() {
	off := 100 * p.Job.Liquid.RatiosDiffer()
	j := p.Limits.Judge(math.Abs(off), "ratio_off_percent")
	if !j.Broken() {
		return
	}
	p.Report(j.on(Finding{kind: "ratio", Title: fmt.Sprintf("The two ratios differ by %s %%", figure(math.Abs(off))),
		Why:    "By mass and by volume with the densities they ask for another share of B. The ratio by mass is used here.",
		Advice: "Take both from the resin's data sheet, with its densities at the temperature of the shop."}, math.Abs(off)))
}

// batch notes a cast that is smaller than what can be mixed well.
func (p *Pass) batch() {
	c := p.Charge
	if !(c.Mass < c.SmallestBatch) {
		return
	}
	mass := c.Mass
	f := Finding{kind: "batch", Severity: Note, harm: 1, Value: &mass, Unit: "g", Title: fmt.Sprintf("One cast takes %s of resin, less than a batch that mixes well", grams(c.Mass)),
		Why:    fmt.Sprintf("Under %s a ratio is hard to weigh and the mix cures badly.", grams(c.SmallestBatch)),
		Advice: fmt.Sprintf("Mix %s, and use the rest for something else.", grams(c.SmallestBatch))}
	if c.Shots > 1 {
		f.Advice = fmt.Sprintf("Mix %s: enough for %s.", grams(c.SmallestBatch), count(c.Shots, "cast"))
	}
	p.Report(f)
}

func (p *Pass) opening() {
	c := p.Charge
	if j := p.Limits.Judge(c.GateDrop, "gate_drop_kpa"); j.Broken() {
		p.Report(j.on(Finding{kind: "gate-drop", Title: fmt.Sprintf("The gate costs %s kPa at %s ml/s", figure(c.GateDrop), figure(p.Job.Liquid.Rate)),
			Why:    "The loss falls with the fourth power of the gate's width.",
			Advice: "Widen the gate, or press more slowly."}, c.GateDrop))
	}
	if c.OpeningJammed == nil {
		return
	}
	open := "There is no vent to take it off."
	if c.Opening != nil {
		open = fmt.Sprintf("With vents open and running over it is %s.", newton(*c.Opening))
	}
	if j := p.Limits.Judge(*c.OpeningJammed, "opening_n"); j.Broken() {
		p.Report(j.on(Finding{kind: "opening", Title: fmt.Sprintf("With vents blocked a thumb on the syringe pushes the halves apart with up to %s", newton(*c.OpeningJammed)),
			Why:    fmt.Sprintf("The part's outline is %s, and 30 N on a plunger of %s make that pressure in the cavity. %s", mm2(math.Round(c.Projected)), mm(p.Job.Liquid.PlungerMM), open),
			Advice: "Stop pressing as soon as the last vent shows resin. Clamp the halves between stiff plates; bands alone let them gape."}, *c.OpeningJammed))
	}
}

// missing tells in one note which values of the user's would say more.
func (p *Pass) missing() {
	l, c := &p.Job.Liquid, p.Charge
	var what []string
	if c.Mix == nil {
		what = append(what, "ratio_mass, or ratio_volume with density_a and density_b, for A and B")
	}
	if l.PotLife == 0 {
		what = append(what, "pot_life_s for the time")
	}
	if l.SyringeMl == 0 {
		what = append(what, "syringe_ml for its fillings")
	}
	if l.PlungerMM == 0 {
		what = append(what, "plunger_mm for forces")
	}
	if len(what) == 0 {
		return
	}
	p.Report(Finding{kind: "missing", Severity: Note, harm: 1, Title: "The job file says little of the resin",
		Why: "Not given under [liquid]: " + list(what) + ".", Advice: "Take them from the data sheet of the resin and from the syringe."})
}

// grams writes a mass.
func grams(x float64) string { return figure(x) + " g" }
