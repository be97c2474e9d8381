package checks

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourproof/checks/mold"
)

var ventsCheck = Check{
	Name: "vents", Title: "Gate and vents",
	Doc: `
Whether resin gets in at the low point and air gets out at every high point: what
each channel is, how wide, where it begins and ends, and what it drains.

  width        largest ball that passes (in a bore of N sides: across its flats);
               judged as drawn and as expected printed: less [printer] bore_loss
  blind        a channel that does not reach the outside; how much rubber is left
  arm          a channel that runs into another one, as a runner into the sprue: it
               leaves by that one's exit, and is a gate where that one is
  stopped      a straight bore from outside that ends shortly before the cavity
  high point   local maximum of the cavity at this tilt, 0.3 mm or more over the
               saddle to a higher one; drained by a vent whose mouth reaches it
  wash         length over width of a bore; grooves in the parting face lie open
  neck         a cured plug wider beyond its neck locks: stretch = widest beyond /
               narrowest - 1
  exit         below the cavity's top a vent drips before the mold is full: plug it
               when it is wholly covered, not at the first drip
  areas        of all vents against the gate: air passes a thousand times more
               easily than resin (Hagen-Poiseuille), so a vent never chokes on air

A vent that would free a pocket is the cause of a finding, the pocket is the harm:
where air is asked too, the cause is at most 'discuss' here.
Sources: one vent for every local maximum, Bose and Toussaint, Computer-Aided Design
27, 1995; Bose, van Kreveld and Toussaint, Computer-Aided Design 30, 1998; widths,
ratios and heights: see the limits.`,
	Limits: []string{"stopped_mm", "bore_stop_mm", "bore_discuss_mm", "neck_stretch_percent", "wash_open_ratio", "wash_blind_ratio",
		"exit_below_mm", "exit_below_open_mm", "gate_small_mm", "gate_large_mm", "gate_height_mm", "gate_rival_mm", "gap_mm", "vent_area_ratio"},
	Run: checkVents,
}

func checkVents(p *Pass) {
	if !p.poured() {
		return
	}
	for i := range p.Fill.Ports {
		p.channelAlone(&p.Fill.Ports[i])
	}
	p.stopped()
	p.checkGate()
	p.drains()
	p.areas()
}

// channelAlone judges what can be said of one channel without the others.
func (p *Pass) channelAlone(c *mold.Channel) {
	switch {
	case c.Role == mold.Blind:
		p.blind(c)
		return
	case c.Slit && p.Limits.Judge(c.Diameter, "gap_mm").Broken():
		p.gap(c)
		return
	}
	if !p.narrow(c) || c.Length > wellVented*p.Limits.Get("wash_open_ratio").Value {
		p.wash(c) // widened as advised it could still not be washed out
	}
	p.neck(c)
	p.exit(c)
}

// cause returns the judgement of a finding that says why a pocket stays: that of
// the pocket, at most discuss where the air itself is reported.
func (p *Pass) cause(k *mold.Pocket) Judgement {
	switch {
	case k == nil:
		return Judgement{}
	case p.asked("air"):
		return p.Limits.Judge(k.Volume, "air_discuss_mm3")
	}
	return p.Limits.Judge(k.Volume, airLimits(k)...)
}

// ofChannel starts a finding about a channel: its mouth names it, whatever role it
// has.
func (p *Pass) ofChannel(kind string, c *mold.Channel) Finding {
	mouth := c.Mouth
	return Finding{kind: kind, anchor: &mouth, Channel: c.ID, Where: Where{Body: halfOf(c), At: &mouth}}
}

// blind reports a channel that ends in the rubber.
func (p *Pass) blind(c *mold.Channel) {
	f := p.ofChannel("blind", c)
	f.Severity, f.harm = Discuss, 1
	end := c.End
	f.Where.At = &end
	name := capital(channelName(c))
	half := halfOf(c)
	if half == "" {
		half = "the rubber"
	}
	f.Title = fmt.Sprintf("%s is blind: it ends inside %s", name, half)
	further := "lengthen it along " + way(c.ExitAxis)
	if rubber, known := rubberBeyond(p.Mold, c); known {
		f.Title = fmt.Sprintf("%s is blind: it stops %s short of the outside", name, mm(rubber))
		further = fmt.Sprintf("lengthen it by %s along %s", mm(rubber), way(c.ExitAxis))
		f.Value, f.Unit = &rubber, "mm"
	}
	f.Why = fmt.Sprintf("It leaves the cavity at %s, is %s wide and ends at %s. It lets no air out.", at(c.Mouth), mm(c.Diameter), at(c.End))
	if k := p.pocketAt(c); k != nil {
		j := p.cause(k)
		f.Severity, f.harm, f.Pocket = max(f.Severity, j.Severity), max(j.harm, 1), k.ID
		f.Why = text(f.Why, fmt.Sprintf("That leaves %s of air in the part.", mm3(k.Volume)))
	}
	f.Advice = fmt.Sprintf("Carry it through to the outside: %s. If it is no vent, close it.", further)
	if ratio := c.Length / max(c.Diameter, minWidth); p.Limits.Judge(ratio, "wash_blind_ratio").Broken() {
		f.Why = text(f.Why, fmt.Sprintf("Open at one end and %s times as long as wide, it is hard to wash out.", figure(ratio)))
	}
	p.Report(f)
}

// fewStopped is how many stopped bores of a half are told one by one.
const fewStopped = 4

// stopped reports bores from outside that end before the cavity.
func (p *Pass) stopped() {
	judge := func(s *mold.StoppedBore) Judgement { return p.Limits.Judge(s.Left, "stopped_mm") }
	untold := map[string]int{}
	for i := range p.Mold.Stopped {
		if s := &p.Mold.Stopped[i]; judge(s).Broken() {
			untold[s.Half]++
		}
	}
	for i := range p.Mold.Stopped {
		s := &p.Mold.Stopped[i]
		j, n := judge(s), untold[s.Half]
		if !j.Broken() || n == 0 {
			continue
		}
		end := s.End
		f := Finding{kind: "stopped", anchor: &end, Where: Where{Body: s.Half, At: &end},
			Title:  fmt.Sprintf("A bore %s wide stops %s before the cavity, in %s", mm(s.Width), mm(s.Left), s.Half),
			Why:    fmt.Sprintf("It comes from outside and ends at %s in the rubber: no resin gets in through it and no air out.", at(s.End)),
			Advice: fmt.Sprintf("If it is a gate or a vent, carry it through to the cavity at %s. If it is neither, accept this.", at(s.Ahead))}
		if n > fewStopped {
			f.Why = text(f.Why, fmt.Sprintf("%s more of this half end as near.", capital(count(n-1, "bore"))))
			untold[s.Half] = 0
		}
		p.Report(j.on(f, s.Left))
	}
}

// pocketAt returns the largest pocket whose air stands at a blind channel's mouth.
func (p *Pass) pocketAt(c *mold.Channel) *mold.Pocket {
	for i := range p.Fill.Pockets {
		if k := &p.Fill.Pockets[i]; p.blindInto(k) != nil && k.Near == c.ID {
			return k
		}
	}
	return nil
}

// gap reports an open slit too thin to be meant as a vent.
func (p *Pass) gap(c *mold.Channel) {
	f := p.ofChannel("gap", c)
	f.Title = fmt.Sprintf("Open gap from the cavity to the outside, %s wide", mm(c.Diameter))
	f.Why = "Resin leaves through it as flash, and air leaves where no vent was meant to be. It counts as open in this pour."
	f.Advice = fmt.Sprintf("Close the halves on each other near %s. Gaps up to the seal (%s) count as closed. If it is meant as a vent, make it %s wide.",
		at(c.Narrowest), mm(p.Mold.Seal), mm(p.Limits.Get("bore_discuss_mm").Value))
	p.Report(p.Limits.Judge(c.Diameter, "gap_mm").on(f, c.Diameter))
}

// acrossFlats is how much wider than across its flats a bore drawn with 20 sides is
// across its corners, 1/cos(pi/20): widths are judged in its favour, so that a bore
// drawn at the limit does not break it for being faceted.
const acrossFlats = 1.0124651257880028

// minWidth in mm keeps ratios finite: lengths are not known to less.
const minWidth = 1e-2

// narrow judges a channel's width, as drawn and as printed. What the printer is
// expected to take away counts in full only where the user has stated it.
// It tells whether it found anything.
func (p *Pass) narrow(c *mold.Channel) bool {
	limits := []string{"bore_stop_mm", "bore_discuss_mm"}
	if c.Role == mold.Gate {
		limits = limits[:1] // above it the gate's own limits judge
	}
	drawn := float64(c.Diameter * acrossFlats)
	j := p.Limits.Judge(drawn, limits...)
	asPrinted := p.Limits.Judge(drawn-p.Job.Printer.BoreLoss, limits...)
	if p.Job.From("printer.bore_loss") == "" {
		asPrinted = asPrinted.atMost(Discuss)
	}
	how := "as drawn"
	value := c.Diameter
	if asPrinted.Severity > j.Severity {
		j, how, value = asPrinted, "as expected printed", max(c.Diameter-p.Job.Printer.BoreLoss, 0)
	}
	if !j.Broken() {
		return false
	}
	f := p.ofChannel("narrow", c)
	place := c.Narrowest
	f.Where.At = &place
	f.Title = fmt.Sprintf("%s is only %s wide %s", capital(channelName(c)), mm(value), how)
	f.Why = fmt.Sprintf("It is narrowest at %s: %s as drawn, about %s as printed (%s less). A soft print closes thin bores, and uncured resin stays in them; this pour counts it as open.",
		at(c.Narrowest), mm(c.Diameter), mm(max(c.Diameter-p.Job.Printer.BoreLoss, 0)), mm(p.Job.Printer.BoreLoss))
	f.Advice = fmt.Sprintf("Widen it to %s over its whole length of %s, and prove it with a wire before pouring.", mm(wellVented), mm(c.Length))
	p.Report(j.on(f, value))
	return true
}

// wellVented is the width in mm that is advised for a vent (common practice, no
// source: a soft print closes smaller bores).
const wellVented = 2.0

// wash judges whether a bore through one half can be washed out.
func (p *Pass) wash(c *mold.Channel) {
	if c.Half == parting || c.Slit {
		return // lies open when the halves are apart
	}
	ratio := c.Length / max(acrossFlats*c.Diameter, minWidth)
	j := p.Limits.Judge(ratio, "wash_open_ratio")
	if !j.Broken() {
		return
	}
	f := p.ofChannel("wash", c)
	f.Title = fmt.Sprintf("%s is %s times as long as wide: hard to wash out", capital(channelName(c)), figure(ratio))
	f.Why = fmt.Sprintf("It is %s long and %s wide. Uncured resin left in a long bore hardens there and closes it.", mm(c.Length), mm(c.Diameter))
	f.Advice = fmt.Sprintf("Shorten it, widen it to %s, or lay it in the parting face, where it opens.", mm(math.Ceil(c.Length/j.Limit.Value*2)/2))
	p.Report(j.on(f, ratio))
}

// neck judges a channel whose cured plug has to pass its own narrowest place.
func (p *Pass) neck(c *mold.Channel) {
	if c.Half == parting || c.Diameter < minWidth {
		return // the plug lies free when the halves are apart
	}
	stretch := 100 * (c.WidestBeyond/c.Diameter - 1)
	j := p.Limits.Judge(stretch, "neck_stretch_percent")
	if !j.Broken() {
		return
	}
	f := p.ofChannel("neck", c)
	place := c.Narrowest
	f.Where.At = &place
	f.Title = fmt.Sprintf("The plug of %s locks: %s beyond a neck of %s", channelName(c), mm(c.WidestBeyond), mm(c.Diameter))
	f.Why = fmt.Sprintf("Cured resin beyond the neck at %s has to stretch the rubber by %s %% as the part leaves, and tears the bore.", at(c.Narrowest), figure(stretch))
	f.Advice = "Cut or snap the plug at the neck first, before the part is pulled. Better: let the channel narrow from the outside towards the cavity no more than the limit, or lay it in the parting face."
	p.Report(j.on(f, stretch))
}

// exit judges a vent that leaves below the cavity's top: resin runs out there
// before the mold is full.
func (p *Pass) exit(c *mold.Channel) {
	if c.Role != mold.Vent || c.Exit == nil || c.Joins != 0 {
		return
	}
	out := c.Exit.Dot(p.Fill.Up)
	below := p.Fill.HighestPoint - out
	key, over := "exit_below_mm", "the cavity's top"
	if p.Job.GateOpen {
		key = "exit_below_open_mm"
		for _, g := range p.gates() {
			if g.Exit == nil {
				continue
			}
			if b := g.Exit.Dot(p.Fill.Up) - out; b > below {
				below, over = b, "the exit of "+channelName(g)
			}
		}
	}
	j := p.Limits.Judge(below, key)
	if !j.Broken() {
		return
	}
	f := p.ofChannel("exit-low", c)
	place := *c.Exit
	f.Where.At = &place
	f.Title = fmt.Sprintf("%s leaves %s below %s", capital(channelName(c)), mm(below), over)
	if p.Job.GateOpen {
		f.Why = "Poured freely, resin runs out here before the mold is full."
		f.Advice = fmt.Sprintf("Raise the exit at %s by more than %s, or tilt the block so that it stands higher.", at(*c.Exit), mm(below))
	} else {
		f.Why = "Resin runs out here while the mold still fills, so it has to be plugged during the pour."
		f.Advice = plugAdvice(c)
	}
	p.Report(j.on(f, below))
}

func plugAdvice(c *mold.Channel) string {
	drip := ""
	if c.WeepsAt != nil {
		drip = fmt.Sprintf("It drips first at %s. ", ml(*c.WeepsAt))
	}
	if c.PlugAt == nil {
		return drip + "Its exit is never wholly covered in this pour, so air leaves it to the end: catch what drips and plug it last."
	}
	return fmt.Sprintf("%sPlug it at %s, when its exit is wholly covered, and not before: until then air leaves through it.", drip, ml(*c.PlugAt))
}

// areas notes vents that are together narrower than the gate.
func (p *Pass) areas() {
	var in, out float64
	var names []string
	for _, g := range exits(p.gates()) {
		in += section(g)
	}
	for _, v := range exits(p.withRole(mold.Vent)) {
		out += section(v)
		names = append(names, channelName(v))
	}
	if in <= 0 || len(names) == 0 {
		return
	}
	ratio := math.Round(out/in*100) / 100 // bores of one width differ by less
	j := p.Limits.Judge(ratio, "vent_area_ratio")
	if !j.Broken() {
		return
	}
	f := Finding{kind: "areas", Title: fmt.Sprintf("Vents narrower than the gate: %s against %s", mm2(out), mm2(in)),
		Why:    "Air passes them easily. Once resin stands in them they hold it back, and the pressure at the syringe rises.",
		Advice: "Press slowly from the first drip on."}
	if len(names) > 1 {
		f.Why = strings.Replace(f.Why, "Air passes them", "Air passes "+list(names), 1)
	}
	p.Report(j.on(f, ratio))
}

// exits leaves out channels that share the exit of one before them, and arms.
func exits(list []*mold.Channel) (out []*mold.Channel) {
	for _, c := range list {
		if c.Joins == 0 && !slices.ContainsFunc(out, func(o *mold.Channel) bool { return mold.SameExit(o, c) }) {
			out = append(out, c)
		}
	}
	return out
}

// section is a channel's cross-section in mm2 at its narrowest; of a slit the mean
// over its length.
func section(c *mold.Channel) float64 {
	if c.Slit {
		return c.Volume / max(c.Length, minWidth)
	}
	return float64(math.Pi / 4 * float64(c.Diameter*c.Diameter))
}
