package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
)

var scarsCheck = Check{
	Name: "scars", Title: "Support scars",
	Doc: `
Faces that the printer must support, and which of them shape the part.

A face turned to the platform and flatter than [printer] self_support_deg needs
supports, and so does a free start: new solid above nothing. The first contact of the
half is none, and standing flat neither is what lies on the platform. A support
leaves a scar; on a face that shapes the part every cast shows it. A face shapes the
part if it lies within the skin of the fitted part.

Ledges up to 1 mm and the crowns of bores up to 5 mm print without supports, and a
scar in a channel does not touch the part: notes.

A piece of a half that is joined to nothing, as what a cut at the parting plane leaves
of a core, is lost in the print or loose in the mold.

Sources: shallowest angles of 15 and 19 deg and ledges of 1 mm are given for rigid
resins (print design rules); for rubber nothing is published.`,
	Limits: []string{"loose_mm3", "scar_mm2", "start_molding_mm2"},
	Run:    checkScars,
}

// Faces that bridge without supports, mm: print design rules for rigid resins.
const (
	freeLedge = 1.0
	freeCrown = 5.0
)

func checkScars(p *Pass) {
	if !p.printed() {
		return
	}
	for _, q := range p.Prints {
		p.scarsOf(q)
		p.looseOf(q)
		p.startsOf(q)
		p.levelBores(q)
	}
}

// scarsOf sums up the patches on faces that shape the part: those that need
// supports, and those that bridge.
func (p *Pass) scarsOf(q *mold.Printed) {
	var worst *mold.Patch
	var area, free float64
	n := 0
	for i := range q.Scars.Patches {
		s := &q.Scars.Patches[i]
		switch {
		case !s.Molding:
		case s.Width <= freeLedge || p.inBore(q, s):
			free += s.Area
		default:
			area += s.Area
			n++
			if worst == nil {
				worst = s
			}
		}
	}
	if worst != nil {
		if j := p.Limits.Judge(area, "scar_mm2"); j.Broken() {
			at := worst.At
			f := Finding{kind: "molding", of: q.Name, Where: Where{Body: q.Name, At: &at}}
			f.Title = fmt.Sprintf("Supports would scar the part: %s of %s", mm2(area), q.Name)
			f.Why = text(fmt.Sprintf("Printed %s with build %s, %s that shape the part look to the platform at less than %s deg from level; the largest has %s. Every cast shows the marks.",
				standing(q), way(q.Build), faces(n), figure(degrees(q.Printer.SelfSupport)), mm2(worst.Area)), assumedBuild(q))
			f.Advice = p.better(q.Half, func(x *mold.PosePoint) float64 { return x.Scar })
			if f.Advice == "" {
				f.Advice = "Turn these faces to the film or steeper, or put the supports where a mark can be sanded."
			}
			p.Report(j.on(f, area))
		}
	}
	if free >= 0.5 {
		v := free
		p.Report(Finding{kind: "ledges", of: q.Name, Severity: Note, harm: 1, Where: Where{Body: q.Name}, Value: &v, Unit: "mm2",
			Title:  fmt.Sprintf("Ledges and crowns that shape the part: %s of %s", mm2(free), q.Name),
			Why:    fmt.Sprintf("They look to the platform, but are no wider than %s or form the crown of a bore up to %s.", mm(freeLedge), mm(freeCrown)),
			Advice: "They print without supports as a rule: see that the slicer puts none there."})
	}
}

func faces(n int) string {
	if n == 1 {
		return "1 face"
	}
	return fmt.Sprintf("%d faces", n)
}

func degrees(rad float64) float64 { return math.Round(rad*(180/math.Pi)*100) / 100 }

// inBore tells whether a patch lies in a channel and is narrow enough to bridge.
func (p *Pass) inBore(q *mold.Printed, s *mold.Patch) bool {
	if s.Width > freeCrown || p.Mold == nil {
		return false
	}
	for i := range p.Mold.Channels {
		c := &p.Mold.Channels[i]
		for k := 1; k < len(c.Path) && k < len(c.Radius); k++ {
			if geom.ClosestOnSegment(s.At, c.Path[k-1], c.Path[k]).Dist(s.At) <= 1.1*c.Radius[k] {
				return true
			}
		}
	}
	return false
}

// looseOf reports the pieces of a half that are joined to nothing.
func (p *Pass) looseOf(q *mold.Printed) {
	for i := range q.Loose {
		l := &q.Loose[i]
		j := p.Limits.Judge(l.Volume, "loose_mm3")
		if !j.Broken() {
			return // largest first
		}
		where := l.At
		f := Finding{kind: "loose", anchor: &where, of: q.Name, Where: Where{Body: q.Name, At: &where}}
		f.Title = fmt.Sprintf("Loose piece in %s: %s joined to nothing", q.Name, mm3(l.Volume))
		f.Why = fmt.Sprintf("%s is more than one piece. This one prints only if a support carries it, and nothing holds it in the closed mold.", capital(q.Name))
		if l.Molding {
			f.Why = text(f.Why, "It shapes the part: without it the cavity is as much larger.")
		}
		f.Advice = "Join it in CAD to the half that it stands on: a cut at the parting plane leaves such pieces of a core. Or export it as a half of its own, with keys that hold it."
		p.Report(j.on(f, l.Volume))
	}
}

// startsOf reports the free starts of a half: those on faces that shape the part,
// and the others.
func (p *Pass) startsOf(q *mold.Printed) {
	for _, molding := range [2]bool{true, false} {
		var first *mold.Start
		area, n := 0.0, 0
		for i := range q.Starts {
			if s := &q.Starts[i]; s.Molding == molding {
				area += s.Area
				n++
				if first == nil {
					first = s
				}
			}
		}
		if first == nil {
			continue
		}
		at := first.At
		f := Finding{kind: "starts", of: q.Name, Where: Where{Body: q.Name, At: &at}, Severity: Note, harm: 1, Value: &area, Unit: "mm2"}
		f.Title = fmt.Sprintf("%s in %s", count(n, "free start"), q.Name)
		f.Why = text(fmt.Sprintf("With build %s new solid begins above nothing %s up: without a support it is lost in the resin.", way(q.Build), mm(first.Height)), assumedBuild(q))
		f.Advice = text("See that the slicer puts a support there.", p.fewerStarts(q))
		if j := p.Limits.Judge(area, "start_molding_mm2"); molding && j.Broken() {
			f.kind = "starts-molding"
			f.Title += " on faces that shape the part"
			f.Why = text(f.Why, "The support leaves a mark on every cast.")
			f = j.on(f, area)
		} else if molding {
			f.kind = "starts-molding"
		}
		p.Report(f)
	}
}

// fewerStarts names a build direction without free starts.
func (p *Pass) fewerStarts(q *mold.Printed) string {
	s := p.pose(q.Half)
	if s == nil {
		return ""
	}
	for i := range s.Points {
		if x := &s.Points[i]; x.Best && x.Starts == 0 && s.Now.Starts > 0 {
			return fmt.Sprintf("With build %s there is none.", way(x.Build))
		}
	}
	return ""
}

// levelBores notes the bores that lie nearly level in the print.
func (p *Pass) levelBores(q *mold.Printed) {
	for i := range q.Bores {
		b := &q.Bores[i]
		if !b.Level || p.Fill == nil {
			continue
		}
		c := p.channel(b.Channel)
		if c == nil {
			continue
		}
		f := p.ofChannel("level-bore", c)
		height := b.Height
		f.Severity, f.harm, f.Value, f.Unit = Note, 1, &height, "mm"
		loss := max(c.Diameter-b.Height, 0)
		f.Title = fmt.Sprintf("%s prints nearly level: its crown closes by about %s", capital(channelName(c)), mm(loss))
		f.Why = fmt.Sprintf("With build %s it lies %s deg from level. The light that cures its roof reaches %s deep, %s beyond the layer; bores lose %s in any case. About %s of its height are left.",
			way(q.Build), figure(degrees(b.Slope)), mm(q.Printer.CureDepth()), mm(b.Through), mm(q.Printer.BoreLoss), mm(height))
		f.Advice = fmt.Sprintf("Draw it %s higher, or lay the half so that it stands steeper than %s deg.", mm(loss), figure(degrees(q.Printer.SelfSupport)))
		p.Report(f)
	}
}
