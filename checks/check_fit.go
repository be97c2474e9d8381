package checks

import (
	"fmt"
	"math"
	"strings"

	"pourproof/checks/mold"
)

var fitCheck = Check{
	Name: "fit", Title: "Fit of the halves",
	Doc: `
Whether the closed halves fit, seal, register, and shape this part.

  overlap   rubber of two halves in one place, on lines along three axes: volume from
            the axis that meets it most often, depth from the distances to both
            surfaces
  gap       between opposed faces of two halves up to 1 mm apart, across the faces.
            Faces nearer than both facets' chord errors and the rounding of files
            touch: neither overlap nor gap
  land      least length of touching faces on any way from the cavity, or a channel,
            to the outside (shortest path over samples of the faces, Dijkstra 1959,
            pulled straight). Stretches through gaps wider than the seal, and through
            spaces such as sockets, seal nothing. Left out: what comes out at an exit,
            and of a channel what lies within one diameter of its own exit (at least
            3 mm) or comes out no nearer than half the way to it
  keys      protrusions of one half in recesses of the other that the parting face
            encloses; clearance is the median gap of their side walls
  turned    whether the halves still close with one turned by 180 deg (90 for a square
            outline), or printed mirrored
  offset    how far one half stands beside the other: from the part, which both shape,
            by point-to-plane least squares (Chen and Medioni 1992), else from the keys
  part      signed distance from the fitted part's surface to the cavity's, channel
            mouths left out; pieces that one has and the other lacks; a mirrored copy
  size      cast size = cavity x print scale x (1 - shrink)
  sections  places of the part thinner than 1 mm
  stubs     where gates, vents and the parting line stand on show faces

Sources: see the limits.`,
	Limits: []string{"overlap_mm", "overlap_stop_mm", "parting_gap_mm", "parting_gap_stop_mm", "land_mm", "land_stop_mm", "halves_offset_mm", "halves_offset_stop_mm",
		"key_tight_mm", "key_stop_mm", "key_loose_mm", "key_cavity_mm", "key_width_mm", "deviation_mm", "feature_mm3", "feature_stop_mm3", "shrink_off_percent",
		"section_mm", "section_stop_mm"},
	Run: checkFit,
}

func checkFit(p *Pass) {
	switch {
	case p.Fit != nil:
	case p.Places != nil && !p.Places.Together:
		p.CannotJudge("the files do not lie together")
		return
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
		return
	default:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the fit was not computed", p.named})
		return
	}
	p.overlaps()
	p.partingGap()
	p.lands()
	p.offset()
	p.keys()
	p.turned()
	p.deviation()
	p.features()
	p.castSize()
	p.sections()
	p.stubs()
}

func (p *Pass) overlaps() {
	for i := range p.Fit.Overlaps {
		o := &p.Fit.Overlaps[i]
		j := p.Limits.Judge(o.Depth, "overlap_stop_mm", "overlap_mm")
		if !j.Broken() {
			continue
		}
		place := o.At
		p.Report(j.on(Finding{kind: "overlap", Where: Where{At: &place}, anchor: &place,
			Title:  fmt.Sprintf("%s and %s overlap by up to %s, %s in all", capital(o.A), o.B, mm(o.Depth), mm3(o.Volume)),
			Why:    "Rubber of both stands in one place. The mold does not close there and gapes elsewhere.",
			Advice: fmt.Sprintf("Cut one of them back at %s.", at(place))}, o.Depth))
	}
}

func (p *Pass) partingGap() {
	c := p.Fit
	if c.Touching == 0 && c.GapArea == 0 {
		p.Report(Finding{kind: "apart", Severity: Stop, harm: maxHarm, Title: "No two halves meet",
			Why: "No face of one half lies opposite a face of another within 1 mm, so nothing seals.", Advice: "Check the position of the halves."})
		return
	}
	j := p.Limits.Judge(c.GapMax, "parting_gap_stop_mm", "parting_gap_mm")
	if !j.Broken() || c.GapAt == nil {
		return
	}
	place := *c.GapAt
	why := fmt.Sprintf("Over %s the parting faces do not touch.", mm2(math.Round(c.GapArea)))
	if c.GapMax < p.Mold.Seal {
		why = text(why, fmt.Sprintf("The pour takes gaps under the seal of %s as closed; in fact flash forms.", mm(p.Mold.Seal)))
	} else {
		why = text(why, "Resin runs out between them.")
	}
	if l := p.openWay(); l != nil {
		why = text(why, fmt.Sprintf("The way out of the cavity is open from %s to %s.", at(l.Path[0]), at(l.Path[len(l.Path)-1])))
	}
	p.Report(j.on(Finding{kind: "gap", Where: Where{At: &place}, anchor: &place,
		Title: fmt.Sprintf("Gap of %s between the parting faces", mm(c.GapMax)), Why: why,
		Advice: "Bring the parting faces together in CAD: check each half's position and the split plane."}, c.GapMax))
}

// openWay returns the way out of the cavity that nothing seals, nil for none.
func (p *Pass) openWay() *mold.Leak {
	for i := range p.Fit.Leaks {
		if l := &p.Fit.Leaks[i]; l.Land == 0 && l.Channel == 0 {
			return l
		}
	}
	return nil
}

func (p *Pass) lands() {
	told := p.Limits.Judge(p.Fit.GapMax, "parting_gap_stop_mm", "parting_gap_mm").Broken() && p.openWay() != nil
	for i := range p.Fit.Leaks {
		l := &p.Fit.Leaks[i]
		if told && l.Land == 0 {
			continue // the gap is the cause
		}
		j := p.Limits.Judge(l.Land, "land_stop_mm", "land_mm")
		if !j.Broken() {
			continue
		}
		place := l.Path[0].Lerp(l.Path[len(l.Path)-1], 0.5)
		from := "the cavity"
		if l.Channel > 0 {
			from = l.From
		}
		f := Finding{kind: "land", Where: Where{At: &place}, anchor: &place, Channel: l.Channel,
			Title:  fmt.Sprintf("Only %s of land between %s and the outside", mm(l.Land), from),
			Why:    fmt.Sprintf("Resin finds its way along the parting face from %s to %s. A narrow strip of rubber gives under clamps and leaks.", at(l.Path[0]), at(l.Path[len(l.Path)-1])),
			Advice: "Make the block larger there, or move what breaks through the land."}
		if l.Land == 0 {
			f.Title = fmt.Sprintf("Open way between the halves from %s to the outside", from)
			f.Advice = "Close the gap: see the parting faces."
		}
		p.Report(j.on(f, l.Land))
	}
}

func (p *Pass) offset() {
	o := p.Fit.HalvesOffset
	if o == nil {
		return
	}
	size := o.Shift.Norm()
	j := p.Limits.Judge(size, "halves_offset_stop_mm", "halves_offset_mm")
	if !j.Broken() {
		return
	}
	p.Report(j.on(Finding{kind: "offset", Where: Where{Body: o.Half},
		Title:  fmt.Sprintf("%s stands %s beside its place against %s", capital(o.Half), mm(size), o.Against),
		Why:    fmt.Sprintf("By %s mm, told by %s. The cast gets a step at the parting line.", hundredths(o.Shift), o.From),
		Advice: fmt.Sprintf("Move it by %s mm in CAD.", hundredths(o.Shift.Scale(-1)))}, size))
}

// keys judges clearance, distance to the cavity and width of the keys, one finding
// a kind, told by the worst of them.
func (p *Pass) keys() {
	type group struct {
		kind, title, why, advice string
		of                       func(k *mold.Key) float64
		limits                   []string
	}
	for _, g := range []group{
		{"key-tight", "%s with %s of clearance per side", "Printed rubber swells and bores print narrow, so the key jams and holds the mold open.", "Give it 0.10 to 0.20 mm per side.", func(k *mold.Key) float64 { return k.Clearance }, []string{"key_stop_mm", "key_tight_mm"}},
		{"key-loose", "%s with %s of clearance per side", "The halves can shift by as much.", "Give it 0.10 to 0.20 mm per side.", func(k *mold.Key) float64 { return k.Clearance }, []string{"key_loose_mm"}},
		{"key-near", "%s only %s from the cavity", "In soft rubber a key beside the cavity opens the land and leaks.", "Move it outward.", func(k *mold.Key) float64 { return k.ToCavity }, []string{"key_cavity_mm"}},
		{"key-thin", "%s only %s wide", "Small keys trap bubbles, print badly and hold little.", "Make it 4 mm wide or more.", func(k *mold.Key) float64 { return k.Width }, []string{"key_width_mm"}},
	} {
		var worst Judgement
		var value float64
		var bad []*mold.Key
		for i := range p.Fit.Keys {
			k := &p.Fit.Keys[i]
			v := g.of(k)
			if j := p.Limits.Judge(v, g.limits...); j.Broken() {
				if bad = append(bad, k); j.Severity > worst.Severity || j.Severity == worst.Severity && j.harm > worst.harm {
					worst, value = j, v
					bad[0], bad[len(bad)-1] = bad[len(bad)-1], bad[0]
				}
			}
		}
		if len(bad) == 0 {
			continue
		}
		place := bad[0].At
		var places []string
		for _, k := range bad[1:] {
			places = append(places, at(k.At))
		}
		why := g.why
		if len(places) > 0 {
			why = text(why, fmt.Sprintf("The same at %s.", list(places)))
		}
		p.Report(worst.on(Finding{kind: g.kind, Where: Where{Body: bad[0].Half, At: &place}, anchor: &place,
			Title: fmt.Sprintf(g.title, capital(count(len(bad), "key")), mm(value)), Why: why, Advice: g.advice}, value))
	}
}

// turned reports a mold that closes the wrong way round.
func (p *Pass) turned() {
	var ways []string
	harmless := true
	half := ""
	for i := range p.Fit.Turns {
		t := &p.Fit.Turns[i]
		if t.Mirror {
			continue
		}
		half = t.Half
		harmless = harmless && t.Harmless
		ways = append(ways, figure(math.Round(t.Angle*180/math.Pi)))
	}
	switch {
	case p.Fit.NoKeys:
		p.Report(Finding{kind: "no-keys", Severity: Note, harm: 1, Title: "No keys set the halves against each other",
			Why:    "The halves can shift, and be closed turned, unless something outside holds them.",
			Advice: "Add three or more keys, 4 mm wide or more, in a pattern that fits one way only; or hold the halves in a frame."})
	case len(ways) == 0:
		p.mirroredHalf()
	case harmless:
		p.Report(Finding{kind: "reversible", Severity: Note, harm: 1, Where: Where{Body: half}, Title: fmt.Sprintf("The mold also closes turned by %s deg, with the same cavity", strings.Join(ways, ", ")),
			Why: "Gate and vents then stand elsewhere.", Advice: "Mark both halves on one side."})
	default:
		p.Report(Finding{kind: "reversible", Severity: Discuss, harm: 1, Where: Where{Body: half}, Title: fmt.Sprintf("The mold also closes the wrong way: turned by %s deg", strings.Join(ways, ", ")),
			Why:    "The pattern of the keys fits that way too, and the cavity is then another.",
			Advice: "Move one key, or make it another size, so that the mold closes one way only."})
	}
}

// mirroredHalf notes a half that would close although exported or printed mirrored.
func (p *Pass) mirroredHalf() {
	for i := range p.Fit.Turns {
		t := &p.Fit.Turns[i]
		if !t.Mirror || t.Harmless {
			continue
		}
		p.Report(Finding{kind: "mirror-closes", Severity: Note, harm: 1, Where: Where{Body: t.Half}, Title: fmt.Sprintf("%s would also close if it were mirrored", capital(t.Half)),
			Why:    fmt.Sprintf("Its keys fit their own mirror image across %s, and the cavity is then another.", way(t.Axis)),
			Advice: "If the printer or the export mirrors one half, closing the mold does not show it: mark a corner of each half."})
		return
	}
}
