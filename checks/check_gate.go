package checks

import (
	"fmt"

	"pourproof/checks/mold"
)

// checkGate judges where resin enters; part of the check of the vents.
func (p *Pass) checkGate() {
	gates := p.gates()
	vents := p.withRole(mold.Vent)
	if len(gates) == 0 {
		p.noGate(len(vents))
		return
	}
	for _, g := range gates {
		p.gateWidth(g)
		if p.higherArm(g, gates) {
			continue
		}
		p.gateHeight(g)
		if g.Assumed {
			p.rival(g, vents)
		}
	}
	if len(vents) == 0 && !p.Job.GateOpen {
		p.noVent(gates[0])
	}
}

// higherArm tells whether resin that enters by a gate's exit has a lower mouth to go to.
func (p *Pass) higherArm(g *mold.Channel, gates []*mold.Channel) bool {
	height := func(c *mold.Channel) float64 { return c.Mouth.Dot(p.Fill.Up) }
	for _, o := range gates {
		if o != g && mold.SameExit(o, g) && (height(o) < height(g) || height(o) == height(g) && o.ID < g.ID) {
			return true
		}
	}
	return false
}

func (p *Pass) noGate(vents int) {
	why := "No channel leads from the outside into the cavity."
	advice := "Add a gate from the outside to the lowest point of the cavity, " + at(p.Fill.LowestCavityPoint) + "."
	if vents > 0 {
		why = fmt.Sprintf("The %s that lead outside are all vents.", count(vents, "channel"))
		advice = text("Name the channel that resin enters by with --gate x,y,z.", advice)
	}
	low := p.Fill.LowestCavityPoint
	p.Report(Finding{kind: "no-gate", Severity: Stop, harm: maxHarm, Title: "No gate: resin cannot enter",
		Where: Where{Body: p.partName(), At: &low}, Why: why, Advice: advice})
}

func (p *Pass) noVent(g *mold.Channel) {
	f := Finding{kind: "no-vent", Severity: Stop, harm: maxHarm, Title: "No vent: all air stays in the mold", Where: Where{Body: p.partName()},
		Why:    fmt.Sprintf("%s is the only opening, and the syringe seals it.", capital(channelName(g))),
		Advice: "Add a vent at every high point, or pour freely through the gate (gate_open = true under [pour])."}
	if len(p.Fill.HighPoints) > 0 {
		top := p.Fill.HighPoints[0].At
		f.Where.At = &top
		f.Advice = fmt.Sprintf("Add a vent from %s to the outside. If the gate is to stay open while pouring, set gate_open = true under [pour].", at(top))
	}
	p.Report(f)
}

func (p *Pass) gateWidth(g *mold.Channel) {
	width := float64(g.Diameter * acrossFlats)
	if p.Limits.Judge(width, "bore_stop_mm").Broken() {
		return // said already: it closes
	}
	j := p.Limits.Judge(width, "gate_small_mm", "gate_large_mm")
	if !j.Broken() {
		return
	}
	f := p.ofChannel("gate-width", g)
	place := g.Narrowest
	f.Where.At = &place
	if j.Limit.Sense == Under {
		f.Title = fmt.Sprintf("%s is only %s wide", capital(channelName(g)), mm(g.Diameter))
		f.Why = "Resin passes a narrow gate slowly, and the pot life may end first. Pressure at the syringe grows with the fourth power of the narrowing."
		f.Advice = fmt.Sprintf("Widen it to 4 mm with an entry that takes the syringe's tip, or at least to %s at %s.", mm(j.Limit.Value), at(g.Narrowest))
	} else {
		f.Title = fmt.Sprintf("%s is %s wide", capital(channelName(g)), mm(g.Diameter))
		f.Why = "A wide gate leaves a large stub on the part, and the syringe's tip does not seal in it."
		f.Advice = fmt.Sprintf("Narrow it to 4 mm, or at most to %s.", mm(j.Limit.Value))
	}
	p.Report(j.on(f, g.Diameter))
}

func (p *Pass) gateHeight(g *mold.Channel) {
	low := p.Fill.LowestCavityPoint
	above := g.Mouth.Sub(low).Dot(p.Fill.Up)
	j := p.Limits.Judge(above, "gate_height_mm")
	if !j.Broken() {
		return
	}
	f := p.ofChannel("gate-high", g)
	f.Title = fmt.Sprintf("%s opens %s above the lowest point of the cavity", capital(channelName(g)), mm(above))
	f.Why = "Resin falls from the gate until it has risen to it, and falling resin folds air in. This pour does not count such bubbles."
	f.Advice = fmt.Sprintf("Move the gate to the low point at %s, or tilt the block so that the gate's side is the lowest. Otherwise begin slowly, so that resin runs down the wall.", at(low))
	p.Report(j.on(f, above))
}

// rival reports another channel that may be the gate, where the gate was chosen by
// rule: the one with the lowest mouth.
func (p *Pass) rival(g *mold.Channel, vents []*mold.Channel) {
	height := func(c *mold.Channel) float64 { return c.Mouth.Dot(p.Fill.Up) }
	var lowest *mold.Channel
	for _, v := range vents {
		wide := p.Limits.Judge(float64(v.Diameter*acrossFlats), "gate_rival_mm").Broken()
		if wide && !v.Tried && !v.Slit && height(v) < height(g)-heightDoubt && (lowest == nil || height(v) < height(lowest)) {
			lowest = v
		}
	}
	if lowest == nil {
		return
	}
	f := p.ofChannel("gate-assumed", g)
	f.Title = fmt.Sprintf("Which channel is the gate? %s was assumed, %s opens lower", capital(channelName(g)), channelName(lowest))
	f.Why = fmt.Sprintf("The widest channel is taken for the gate: %s at %s, %s wide. %s at %s is %s wide and opens %s lower at this tilt. If that is the gate, every answer of the pour is another.",
		channelName(g), at(g.Mouth), mm(g.Diameter), capital(channelName(lowest)), at(lowest.Mouth), mm(lowest.Diameter), mm(height(g)-height(lowest)))
	f.Advice = fmt.Sprintf("Say which one it is: --gate %s for %s, or --gate %s for %s.", flagPoint(g.Mouth), channelName(g), flagPoint(lowest.Mouth), channelName(lowest))
	j := p.Limits.Judge(float64(lowest.Diameter*acrossFlats), "gate_rival_mm")
	p.Report(j.on(f, lowest.Diameter))
}
