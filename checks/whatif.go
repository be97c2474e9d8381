package checks

import (
	"fmt"
	"math"
	"slices"

	"pourproof/checks/mold"
)

// What a channel would have to be for a finding about it to go: the finding's own
// judgement is asked again, of the channel as it would be, on both sides of the value that
// is named. That costs no pour: what is asked are width, length and heights.

// remedy is one way to change a channel by a measure in mm.
type remedy struct {
	step     float64 // to which the value is closed in
	now, far float64 // the measure as it is, and how far it is looked for
	apply    func(c *mold.Channel, x float64)
	gone     string // sentence with both values: gone, still there
}

// still tells whether a finding of a kind is there once its channel is changed.
func (p *Pass) still(kind string, channel int, apply func(c *mold.Channel)) bool {
	q, fill := *p, *p.Fill
	fill.Ports = slices.Clone(p.Fill.Ports)
	q.Fill, q.findings, q.trial = &fill, nil, true
	c := q.channel(channel)
	apply(c)
	switch {
	case kind == "areas":
		q.areas()
	case c.Role == mold.Gate:
		q.gateWidth(c)
		q.gateHeight(c)
		fallthrough
	default:
		q.channelAlone(c)
	}
	return slices.ContainsFunc(q.findings, func(f Finding) bool { return f.kind == kind })
}

// whatIf says the least change of one kind at which a finding goes; empty where none does.
func (p *Pass) whatIf(kind string, channel int, w remedy) string {
	sense := 1
	if w.far < w.now {
		sense = -1
	}
	// Whole steps from the measure as it is on, which itself may lie between two.
	first := int(math.Floor(w.now/w.step + 1e-9))
	if sense < 0 {
		first = int(math.Ceil(w.now/w.step - 1e-9))
	}
	at := func(n int) float64 { return math.Round(float64(first+sense*n)*w.step*1e6) / 1e6 }
	there := func(n int) bool {
		return p.still(kind, channel, func(c *mold.Channel) { w.apply(c, at(n)) })
	}
	last := int(math.Floor(math.Abs(w.far-w.now)/w.step + 1e-9))
	if last < 1 || there(last) {
		return ""
	}
	still, gone := 0, last
	for gone-still > 1 {
		if mid := (gone + still) / 2; there(mid) {
			still = mid
		} else {
			gone = mid
		}
	}
	// The first step may be the measure as it is, or a little less: it is there.
	if still > 0 && !there(still) || there(gone) {
		return ""
	}
	return fmt.Sprintf(w.gone, mm(at(gone)), mm(at(still)))
}

// The steps that values are closed in to, mm: what a drill and a ruler tell apart.
const (
	widthStep  = 0.05
	heightStep = 0.1
)

// channelLine says how little has to change for a finding about a channel to go; part of
// the check of the vents.
func (p *Pass) channelLine(f *Finding) string {
	switch f.kind {
	case "areas":
		return p.widerVent()
	case "no-vent":
		return p.noTiltFrees()
	case "no-vent-small", "shared":
		return p.holdsTilt()
	}
	c := p.channel(f.Channel)
	if c == nil {
		return ""
	}
	if f.kind == "blind" {
		return p.carriedOn(c)
	}
	var out []string
	for _, w := range p.changesFor(f.kind, c) {
		out = append(out, p.whatIf(f.kind, c.ID, w))
	}
	return text(out...)
}

// changesFor lists what may be changed of a channel against a kind of finding.
func (p *Pass) changesFor(kind string, c *mold.Channel) []remedy {
	up := p.Fill.Up
	width := float64(acrossFlats * c.Diameter)
	switch kind {
	case "narrow":
		return []remedy{{widthStep, width, 10, widened, "Gone from %s wide over its whole length; still there at %s."}}
	case "wash":
		return []remedy{{heightStep, c.Length, 0, func(c *mold.Channel, x float64) { c.Length = x }, "Gone at %s long; still there at %s."},
			{widthStep, width, 20, widened, "Gone from %s wide; still there at %s."}}
	case "neck":
		return []remedy{{widthStep, c.Diameter, c.WidestBeyond, func(c *mold.Channel, x float64) { c.Diameter = max(c.Diameter, x) }, "Gone with a neck %s wide; still there at %s."},
			{widthStep, c.WidestBeyond, c.Diameter, func(c *mold.Channel, x float64) { c.WidestBeyond = min(c.WidestBeyond, x) }, "Gone if it is no wider than %s beyond; still there at %s."}}
	case "gap":
		return []remedy{{widthStep, c.Diameter, 3, func(c *mold.Channel, x float64) { c.Diameter = max(c.Diameter, x) }, "Gone as a vent from %s wide; still there at %s."}}
	case "exit-low":
		return []remedy{{heightStep, 0, 300, func(c *mold.Channel, x float64) {
			e := c.Exit.AddScaled(up, x)
			c.Exit = &e
		}, "Gone if its exit is raised by %s; still there at %s."}}
	case "gate-width":
		return []remedy{{widthStep, width, 4, widened, "Gone from %s wide; still there at %s."}, {widthStep, width, 4, narrowed, "Gone at %s wide; still there at %s."}}
	case "gate-high":
		return []remedy{{heightStep, 0, 300, func(c *mold.Channel, x float64) { c.Mouth = c.Mouth.AddScaled(up, -x) }, "Gone if its mouth is lowered by %s; still there at %s."}}
	}
	return nil
}

// widened and narrowed give a bore a drawn width, of which the ball that passes is a
// little less.
func widened(c *mold.Channel, x float64) {
	x /= acrossFlats
	c.Diameter, c.MouthDiameter, c.WidestBeyond = max(c.Diameter, x), max(c.MouthDiameter, x), max(c.WidestBeyond, x)
}

func narrowed(c *mold.Channel, x float64) {
	x /= acrossFlats
	c.Diameter, c.MouthDiameter, c.WidestBeyond = min(c.Diameter, x), min(c.MouthDiameter, x), min(c.WidestBeyond, x)
}

// widerVent says how wide the widest vent would have to be for all of them to be as wide as
// the gate.
func (p *Pass) widerVent() string {
	var widest *mold.Channel
	for _, v := range p.withRole(mold.Vent) {
		if !v.Slit && (widest == nil || v.Diameter > widest.Diameter) {
			widest = v
		}
	}
	if widest == nil {
		return ""
	}
	// What is bored adds to the section by the ball that passes, as it is judged.
	return p.whatIf("areas", widest.ID, remedy{widthStep, float64(acrossFlats * widest.Diameter), 20, widened, "Gone if " + channelName(widest) + " is %s wide; still there at %s."})
}

// carriedOn says how far a blind channel has to go on. The rubber beyond it is known to
// facets, so a tenth of a millimetre on both sides of it.
func (p *Pass) carriedOn(c *mold.Channel) string {
	rubber, ok := rubberBeyond(p.Mold, c)
	if !ok || !(rubber > 0) {
		return ""
	}
	const sure = 1e-3 // mm, of a rubber drawn to a tenth
	gone := (math.Floor(rubber/heightStep+sure/heightStep) + 1) * heightStep
	still := (math.Ceil(rubber/heightStep-sure/heightStep) - 1) * heightStep
	return fmt.Sprintf("Gone once it is carried on by %s; still there at %s.", mm(gone), mm(still))
}

// holdsTilt says within which tilts what is harmless now stays so.
func (p *Pass) holdsTilt() string {
	if p.Tilts == nil {
		return ""
	}
	m := &p.Tilts.NowMargin
	if m.AtLeast {
		return fmt.Sprintf("Harmless up to %s deg off this tilt to any side, as far as was tried.", tenthDeg(m.Angle))
	}
	return fmt.Sprintf("Harmless up to %s off this tilt to any side; at tilt %s %s more stay.", marginWords(*m), tiltFlag(m.Fails), mm3(m.Adds))
}

// noTiltFrees says that a tilt alone does not help, where none of those tried does.
func (p *Pass) noTiltFrees() string {
	s := p.Tilts
	if s == nil || len(s.Free()) > 0 {
		return ""
	}
	return fmt.Sprintf("Still there at all %d tilts tried up to %s deg.", len(s.Points), tenthDeg(s.Limit))
}
