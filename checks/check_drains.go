package checks

import (
	"fmt"
	"slices"

	"pourproof/checks/mold"
)

// heightDoubt in mm is how far two heights, each known to 0.05 mm, may differ and
// still be equal.
const heightDoubt = 0.1

// drains judges, high point by high point, whether a vent lets its air out; part
// of the check of the vents.
func (p *Pass) drains() {
	if len(p.withRole(mold.Vent)) == 0 && !p.Job.GateOpen {
		return // said already: there is no vent
	}
	var told []int // pockets whose cause is known
	for i := range p.Fill.Pockets {
		if k := &p.Fill.Pockets[i]; p.blindInto(k) != nil {
			told = append(told, k.ID)
		}
	}
	var free []mold.HighPoint // without a vent, and without a pocket
	for i := range p.Fill.HighPoints {
		h := &p.Fill.HighPoints[i]
		k := p.pocket(h.Pocket)
		switch {
		case k == nil && h.VentedBy == 0:
			free = append(free, *h)
		case k == nil || slices.Contains(told, k.ID) || !p.cause(k).Broken():
		default:
			told = append(told, k.ID)
			p.undrained(h, k)
		}
	}
	p.freeHighPoints(free)
	p.shared()
}

// undrained reports why the air under a high point stays: no vent, a vent beyond a
// saddle, or a vent whose mouth is covered too early.
func (p *Pass) undrained(h *mold.HighPoint, k *mold.Pocket) {
	c := p.channel(h.VentedBy)
	switch {
	case c == nil:
		p.noVentHere(h, k, fmt.Sprintf("The cavity rises %s to this point above the saddle to the next higher one, and no channel lets its air out.", mm(h.Prominence)))
	case k.SealedAt > c.MouthTop+mouthDoubt:
		p.noVentHere(h, k, fmt.Sprintf("Its air goes over a saddle to %s, and resin closes that saddle first.", channelName(c)))
	case h.Height-k.SealedAt > heightDoubt:
		p.mouthBelow(h, k, c)
	}
}

// mouthDoubt in mm is how far Channel.MouthTop, of a slit sampled on the columns,
// may lie off the height at which the mouth is covered: a coarse cell at 45 deg.
const mouthDoubt = 0.25

// noVentHere reports a high point that no vent reaches.
func (p *Pass) noVentHere(h *mold.HighPoint, k *mold.Pocket, why string) {
	place := h.At
	f := Finding{kind: "no-vent-here", anchor: &place, Pocket: k.ID, Where: Where{Body: p.partName(), At: &place},
		Title:  fmt.Sprintf("High point without a vent: %s stays", mm3(k.Volume)),
		Why:    why,
		Advice: fmt.Sprintf("Give it a vent of its own at %s.", at(h.At))}
	if v := k.Vent; v != nil {
		f.Advice = fmt.Sprintf("Give it a vent of its own: suggested vent %d from %s along %s, %s long.", v.ID, at(v.Mouth), way(v.Direction), mm(v.Length))
	}
	p.Report(p.cause(k).on(f, k.Volume))
}

// mouthBelow reports a vent that is covered before its high point is full.
func (p *Pass) mouthBelow(h *mold.HighPoint, k *mold.Pocket, c *mold.Channel) {
	f := p.ofChannel("mouth-low", c)
	f.Pocket = k.ID
	downhill := c.Axis.Dot(p.Fill.Up) < -level2deg
	closes := "the highest point of its mouth is covered"
	if downhill {
		closes = "resin runs over the lowest point of its mouth, because it leaves downhill"
	}
	gap := h.Height - k.SealedAt // the level at which the mouth closed
	f.Title = fmt.Sprintf("The mouth of %s closes %s below its high point: %s stays", channelName(c), mm(gap), mm3(k.Volume))
	f.Why = fmt.Sprintf("Air leaves until %s. What is above that, up to %s, has no way out.", closes, at(h.At))
	f.Advice = fmt.Sprintf("Bring the top of its mouth up by %s, towards the high point at %s: there it is a move of %s mm.", mm(gap), at(h.At), at(h.At.Sub(c.Mouth)))
	if downhill {
		f.Advice = text("Let it rise from its mouth to the outside.", f.Advice)
	}
	if len(c.Drains) > 1 {
		f.Why = text(f.Why, fmt.Sprintf("It is the only way out for %s.", count(len(c.Drains), "high point")))
		f.Advice = fmt.Sprintf("Give the high point at %s a vent of its own.", at(h.At))
		high := h.At
		f.anchor = &high // two of them have one mouth
	}
	p.Report(p.cause(k).on(f, k.Volume))
}

// freeHighPoints notes, in one finding, high points without a vent that keep no
// pocket worth a line.
func (p *Pass) freeHighPoints(free []mold.HighPoint) {
	if len(free) == 0 || p.Limits.Judge(p.Fill.Unreached, "unreached_stop_mm3").Broken() {
		return // in space that no resin reaches there is no pocket either
	}
	place := free[0].At
	var places []string
	for i, h := range free {
		if i == 5 {
			places = append(places, fmt.Sprintf("%d more", len(free)-i))
			break
		}
		places = append(places, at(h.At))
	}
	title := count(len(free), "high point") + " without a vent, under " + mm3(1) + " of air each"
	if len(free) == 1 {
		title = "1 high point without a vent, under " + mm3(1) + " of air"
	}
	p.Report(Finding{kind: "no-vent-small", Severity: Note, harm: 1, Title: title, Where: Where{Body: p.partName(), At: &place},
		Why:    "They stand at " + list(places) + ".",
		Advice: "No action needed at this tilt. At another tilt they may keep more."})
}

// shared notes vents that serve several high points without harm.
func (p *Pass) shared() {
	for _, c := range p.withRole(mold.Vent) {
		if len(c.Drains) < 2 || slices.ContainsFunc(c.Drains, func(i int) bool {
			return i < 0 || i >= len(p.Fill.HighPoints) || p.Fill.HighPoints[i].Pocket != 0
		}) {
			continue
		}
		f := p.ofChannel("shared", c)
		f.Severity, f.harm = Note, 1
		n := float64(len(c.Drains))
		f.Value = &n
		f.Title = fmt.Sprintf("%s serves %s", capital(channelName(c)), count(len(c.Drains), "high point"))
		f.Why = "All of their air gets out at this tilt. A small change of tilt can cut one of them off."
		f.Advice = "Hold the tilt while pouring, or give each high point its own vent."
		p.Report(f)
	}
}
