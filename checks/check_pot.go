package checks

import (
	"fmt"

	"pourproof/checks/mold"
)

var potCheck = Check{
	Name: "pot", Title: "Pressure cure",
	Doc: `
What a pressure pot does to the air that stays, and whether resin is there to follow.

  shrink     V2/V1 = p0/(p0 + p) (Boyle 1662), p the gauge pressure, p0 the air
             pressure around; times T2/T1 where it cures warmer. A bubble's diameter
             shrinks with the cube root: at 60 psi to 58 %. Pressure never fills a pocket
  reserve    V (1 - V2/V1) of resin has to follow the air, or air is drawn in at a
             vent's root. Counted is resin in channels whose surface the pot's
             pressure reaches, above the air's way in: vents that ran over, an open
             gate, a syringe left in with a free plunger. A plugged gate counts
             nothing, nor a vent whose exit lies below the cavity's top
  attitude   [pot] up: air gathers again at the high points of that attitude
  rating     never above the vessel's own

A short reserve is at most a decision: what is short comes in as air at a vent's root,
no more of it than the pocket gave way, and that pocket is a finding of its own, a
stop from 10 mm3. A pressure that nobody stated is assumed, and stops nothing.
Not computed: gas that dissolves in the resin, and comes back if pressure falls
before it gels.`,
	Limits: []string{"pot_reserve_ml", "pot_air_mm3"},
	Run:    checkPot,
}

func checkPot(p *Pass) {
	c := p.Pot
	switch {
	case c != nil:
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
		return
	default:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the pot was not computed", p.named})
		return
	}
	pot := &p.Job.Pot
	if pot.Rating > 0 && pot.Gauge > pot.Rating {
		over := pot.Gauge
		p.Report(Finding{kind: "rating", Severity: Stop, harm: maxHarm, Value: &over, Unit: "kPa", Title: fmt.Sprintf("%s kPa gauge is above the vessel's rating of %s kPa", figure(pot.Gauge), figure(pot.Rating)),
			Why: "A vessel above its rating can burst and kill.", Advice: "Lower the pressure, or take a vessel that is rated for it, with a relief valve set to its rating."})
	}
	p.reserve(c)
	p.potAttitude(c)
}

// reserve reports a pot that has less resin to draw on than the air gives way.
func (p *Pass) reserve(c *mold.PotCure) {
	short := c.Needed - c.Present
	j := p.Limits.Judge(short, "pot_reserve_ml")
	if !j.Broken() || len(p.Fill.Pockets) == 0 {
		return
	}
	f := Finding{kind: "reserve", Where: Where{Body: p.partName()}, Title: fmt.Sprintf("Too little resin stands ready for the pot: %s of %s", ml(c.Present), ml(c.Needed)),
		Why: fmt.Sprintf("At %s kPa gauge (%s kPa absolute) the %s of air that stay shrink to %s of their volume, and resin has to follow. What is short is drawn in as air through a vent.",
			figure(c.Gauge), figure(c.Absolute), mm3(c.Trapped), percent(c.Volume)),
		Advice: "Free the air first: then nothing has to follow. Otherwise put funnels on the vents, filled, or leave a full syringe in the gate with its plunger free ([liquid] syringe_stays = true)."}
	p.Report(j.on(f, short))
}

// potAttitude reports air that gathers anew as the mold stands in the pot.
func (p *Pass) potAttitude(c *mold.PotCure) {
	if c.Up == nil {
		return
	}
	j := p.Limits.Judge(c.Left, "pot_air_mm3")
	if !j.Broken() || c.Left <= p.Fill.Trapped {
		return
	}
	f := Finding{kind: "attitude", Where: Where{Body: p.partName()}, Title: fmt.Sprintf("As it stands in the pot, up to %s of air can gather", mm3(c.Left)),
		Why:    fmt.Sprintf("With %s up, high points have no vent that have one while pouring; bubbles rise to them until the resin gels.", way(*c.Up)),
		Advice: "Stand the mold in the pot as it was poured, on its cradle."}
	if len(c.Standing.Pockets) > 0 {
		at := c.Standing.Pockets[0].Top
		f.Where.At = &at
	}
	p.Report(j.on(f, c.Left))
}
