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
		case h.VentedBy == 0:
			told = append(told, k.ID)
			p.undrained(h, k)
		default:
			told = append(told, k.ID)
			p.mouthBelow(h, k, p.channel(h.VentedBy))
		}
	}
	p.freeHighPoints(free)
	p.shared()
}

// undrained reports a high point that no vent reaches.
func (p *Pass) undrained(h *mold.HighPoint, k *mold.Pocket) {
	place := h.At
	f := Finding{kind: "no-vent-here", anchor: &place, Pocket: k.ID, Where: Where{Body: p.partName(), At: &place},
		Title:  fmt.Sprintf("High point without a vent: %s stays", mm3(k.Volume)),
		Why:    fmt.Sprintf("The cavity rises %s to this point above the saddle to the next higher one, and no channel lets its air out.", mm(h.Prominence)),
		Advice: fmt.Sprintf("Give it a vent of its own at %s.", at(h.At))}
	if k.Vent != nil {
		f.Advice = fmt.Sprintf("Give it a vent of its own: suggested vent %d from %s along %s, %s long.", k.Vent.ID, at(k.Vent.Mouth), way(k.Vent.Direction), mm(k.Vent.Length))
	}
	p.Report(p.cause(k).on(f, k.Volume))
}

// mouthBelow reports a vent that is covered before its high point is full.
func (p *Pass) mouthBelow(h *mold.HighPoint, k *mold.Pocket, c *mold.Channel) {
	if c == nil {
		return
	}
	name := channelName(c)
	f := p.ofChannel("mouth-low", c)
	f.Pocket = k.ID
	gap := h.Height - c.MouthTop
	downhill := c.Axis.Dot(p.Fill.Up) < -level2deg
	closes := "the highest point of its mouth is covered"
	if downhill {
		gap = h.Height - c.MouthLow
		closes = "resin runs over the lowest point of its mouth, because it leaves downhill"
	}
	if gap <= heightDoubt {
		return
	}
	f.Title = fmt.Sprintf("The mouth of %s lies %s below its high point: %s stays", name, mm(gap), mm3(k.Volume))
	f.Why = fmt.Sprintf("Air leaves until %s. What is above that, up to %s, has no way out.", closes, at(h.At))
	by := h.At.Sub(c.Mouth)
	f.Advice = fmt.Sprintf("Move its mouth by %s mm to the high point at %s.", at(by), at(h.At))
	if downhill && c.MouthTop > h.Height-heightDoubt {
		f.Advice = "Let it rise from its mouth to the outside."
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
	if len(free) == 0 {
		return
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
