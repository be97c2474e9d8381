package checks

import (
	"fmt"

	"pourproof/checks/mold"
	"pourproof/geom"
)

var airCheck = Check{
	Name: "air", Title: "Air that stays",
	Doc: `
Where air stays in the cavity at the chosen tilt, how much, and what would free it.

Resin enters at the gate and gathers in pools: it goes to the lowest place it can
reach, a pool rises, spills over a saddle and merges with its neighbour. Air leaves
as long as it has a way through air to an opening. Air that the resin cuts off
stays. A wetted wall is not a filled space, and a film of resin blocks no air.
The gate is full from the start and lets no air out, unless gate_open is set.

  ceiling    air above the resin; it stays at this tilt
  basin      air below an opening that the resin has covered; it may burp out
  capillary  blind hole that opens upward, no wider than 3.68 capillary lengths
             sqrt(tension / (density g)) and half as deep as wide or more: resin can
             bridge it and lie over its air; below 1.84 lengths a bubble in it does
             not rise at all. Counted as filled, a note

Volume of a pocket = sum over columns of pitch^2 x (roof - level of the resin).
In the pressure pot V becomes V p0 / (p0 + p) (Boyle), p0 the air pressure and p
the gauge pressure: pressure shrinks a pocket and never fills it.

Tilts: the same pour at a disc of tilts, with columns of twice the pitch (--search
full: of the same), ring by ring, finer around the best and the chosen one. Best is
the least air; of equals the one farthest from a worse one. Margin: how far off a
tilt may be, to any of eight sides, before another pocket or air_stop_mm3 appears.
Rocking: two tilts one after the other, else three, on pieces of the space that all
share, each resin or air; after a turn resin runs down and air rises until every
surface is level. No exit may lie below the resin at a turn. Sequences are left out
whose last tilt traps air that is there at the last turn.
Suggested vents: one bore for every pocket, proven by pouring again with it alone;
of these the fewest that free all pockets.
Sensitivity: the smallest tilt or move of a vent at which a pocket is gone; both
sides of the value are poured.

Not computed: viscous flow, jets, resin that gels half way, rubber that bends.
Sources: gravity-ordered invasion with trapping, Wilkinson and Willemsen, J. Phys. A
16, 1983; Masson, Computers & Geosciences 90, 2016; pools that fill, spill and
merge, Barnes, Callaghan and Wickert, Earth Surf. Dyn. 9, 2021; narrow holes, Bretherton,
J. Fluid Mech. 10, 1961, and Extrand, Langmuir 33, 2017.`,
	Limits: []string{"air_stop_mm3", "air_show_mm3", "air_discuss_mm3", "level_ceiling_mm2", "tilt_gain_mm3", "tilt_margin_deg", "unreached_stop_mm3"},
	Run:    checkAir,
}

func checkAir(p *Pass) {
	if !p.poured() {
		return
	}
	if p.gates() == nil {
		p.CannotJudge("no gate was found, so no resin enters")
		return
	}
	small := airCrumbs{count: p.Fill.SmallCount, volume: p.Fill.SmallVolume}
	for i := range p.Fill.Pockets {
		k := &p.Fill.Pockets[i]
		j := p.pocketJudgement(k)
		if !j.Broken() {
			small.add(k.Volume)
			continue
		}
		p.Report(j.on(p.pocketFinding(k), k.Volume))
	}
	small.report(p)
	p.clinging()
	p.unreached()
	p.levelRoof()
	p.betterTilt()
	p.rocking()
	p.narrowTilt()
}

// pocketJudgement holds a pocket against the limits. Resin can get into a
// capillary one, so it is at most worth a decision.
func (p *Pass) pocketJudgement(k *mold.Pocket) Judgement {
	if k.Kind == mold.Capillary {
		return p.Limits.Judge(k.Volume, "air_discuss_mm3")
	}
	return p.Limits.Judge(k.Volume, airLimits(k)...)
}

func (p *Pass) pocketFinding(k *mold.Pocket) Finding {
	share := ""
	if p.Fill.Cavity > 0 {
		share = fmt.Sprintf(" (%s of the part)", percent(k.Volume/p.Fill.Cavity))
	}
	title := map[mold.PocketKind]string{
		mold.Ceiling:   "Air stays here: ",
		mold.Basin:     "Air is caught below a covered opening: ",
		mold.Capillary: "Air may cling in a narrow place: ",
	}[k.Kind]
	kind := string(k.Kind)
	if k.Kind == mold.Ceiling {
		kind = "pocket"
	}
	top, err := k.Top, k.Error
	return Finding{kind: kind, anchor: p.anchorOf(k), Pocket: k.ID, Where: Where{Body: p.partName(), At: &top}, Error: &err,
		Title:  title + mm3(k.Volume) + share,
		Why:    text(whyAir(k), spoils(k), marginal(k), p.afterPressure(k.Volume)),
		Advice: text(p.blindAt(k), p.suggestion(k), p.nearestVent(k)),
	}
}

func whyAir(k *mold.Pocket) string {
	depth := ""
	if k.Depth >= 0.05 {
		depth = ", " + mm(k.Depth) + " deep"
	}
	switch k.Kind {
	case mold.Basin:
		return "Resin covers the opening above before it fills the space below" + depth + ". Some of the air may burp out; do not count on it."
	case mold.Capillary:
		return "The place is so narrow that surface tension may hold air in it. It is counted as filled."
	}
	return "At this tilt resin closes the last way out while air is still above it" + depth + "."
}

func spoils(k *mold.Pocket) string {
	on := ""
	if k.Show != "" {
		on = ", some of it on " + k.Show
	}
	switch {
	case k.Spoils >= 0.5:
		return "It spoils " + mm2(k.Spoils) + " of the part's surface" + on + "."
	case k.Show != "":
		return "It touches " + k.Show + "."
	}
	return ""
}

func marginal(k *mold.Pocket) string {
	switch {
	case k.Marginal:
		return "Marginal: a height difference under 0.05 mm decides whether it stays; the worse case is given."
	case k.Level:
		return "Its roof is within 2 deg of level, so bubbles stay under it as a film even where the rest leaves."
	}
	return ""
}

// afterPressure says what is left of a volume in the pot.
func (p *Pass) afterPressure(v float64) string {
	pot := &p.Job.Pot
	if pot.Gauge <= 0 || pot.Ambient <= 0 {
		return ""
	}
	return fmt.Sprintf("In the pot at %s kPa gauge it shrinks to %s: pressure shrinks a pocket and never fills it.",
		figure(pot.Gauge), mm3(v*pot.Share()))
}

// blindAt names the blind channel that opens into a pocket.
func (p *Pass) blindAt(k *mold.Pocket) string {
	if c := p.blindInto(k); c != nil {
		return fmt.Sprintf("%s opens into this air and is blind: carry it through to the outside.", capital(channelName(c)))
	}
	return ""
}

// suggestion puts a suggested vent in words.
func (p *Pass) suggestion(k *mold.Pocket) string {
	v := k.Vent
	if v == nil {
		return ""
	}
	through := ""
	if v.Half != "" {
		through = " through " + v.Half
	}
	if len(v.Pockets) > 1 && v.Pockets[0] != k.ID {
		return fmt.Sprintf("Suggested vent %d, for pocket %d, frees this one too.", v.ID, v.Pockets[0])
	}
	if v.Show != "" {
		through += " (its stub stands on " + v.Show + "; no other place was found)"
	}
	return fmt.Sprintf("Add suggested vent %d: %s wide, from %s along %s, %s long%s, leaving at %s. It frees %s; --try %d shows it without a change in CAD.",
		v.ID, mm(v.Diameter), at(v.Mouth), way(v.Direction), mm(v.Length), through, at(v.Exit), mm3(v.Frees), v.ID)
}

// nearestVent says how far the nearest vent would have to move, if it serves no
// other high point, or what to do where there is neither a suggestion nor a vent.
func (p *Pass) nearestVent(k *mold.Pocket) string {
	c := p.channel(k.Near)
	if c != nil && c.Role == mold.Vent && k.NearDistance <= movable && p.servesOnly(c, k) {
		or := "Move "
		if k.Vent != nil {
			or = "Or move "
		}
		move := fmt.Sprintf("%s%s by %s mm (%s), so that its mouth reaches %s.", or, channelName(c), at(k.Top.Sub(c.Mouth)), mm(k.NearDistance), at(k.Top))
		if c.Axis.Dot(p.Fill.Up) < -level2deg {
			move = text(move, "Let it rise from there: as it is, it leaves downhill.")
		}
		return move
	}
	if k.Vent != nil || p.blindInto(k) != nil {
		return ""
	}
	return fmt.Sprintf("Add a vent that rises to the outside from %s, or tilt the block so that this is no high point.", at(k.Top))
}

// servesOnly tells whether a vent drains no high point but those of one pocket, so
// that it can be moved.
func (p *Pass) servesOnly(c *mold.Channel, k *mold.Pocket) bool {
	for _, i := range c.Drains {
		if i >= 0 && i < len(p.Fill.HighPoints) && p.Fill.HighPoints[i].Pocket != k.ID {
			return false
		}
	}
	return true
}

// movable is the distance in mm up to which moving a vent is worth a sentence: one
// farther off serves another place.
const movable = 30

// airCrumbs sums up the pockets too small to name one by one.
type airCrumbs struct {
	count  int
	volume float64
}

func (s *airCrumbs) add(v float64) { s.count, s.volume = s.count+1, s.volume+v }

// leastCrumbs is the volume in mm3 below which the small pockets together are
// within what columns resolve: a cube of half a millimetre.
const leastCrumbs = 0.1

func (s *airCrumbs) report(p *Pass) {
	if s.count == 0 || s.volume < leastCrumbs {
		return
	}
	title := count(s.count, "small pocket") + " of air, " + mm3(s.volume) + " in all"
	if s.count == 1 {
		title = "1 small pocket of air: " + mm3(s.volume)
	}
	v := s.volume
	p.Report(Finding{kind: "small", Severity: Note, Title: title, Where: Where{Body: p.partName()}, Value: &v, Unit: "mm3", harm: 1,
		Why:    fmt.Sprintf("Each is below %s or below its own error.", mm3(p.Limits.Get("air_discuss_mm3").Value)),
		Advice: "No action needed, unless a face there must be perfect."})
}

func (p *Pass) unreached() {
	v := p.Fill.Unreached
	j := p.Limits.Judge(v, "unreached_stop_mm3")
	if !j.Broken() {
		return
	}
	f := Finding{kind: "unreached", Title: "Resin has no way here: " + mm3(v), Where: Where{Body: p.partName(), At: p.Fill.UnreachedAt},
		Why:    "This part of the cavity is cut off from the gate, so the part will be incomplete.",
		Advice: "Open a way from the rest of the cavity, or give this space its own gate. If no part belongs here, fill it in CAD."}
	p.Report(j.on(f, v))
}

func (p *Pass) levelRoof() {
	v := p.Fill.LevelCeilingArea
	j := p.Limits.Judge(v, "level_ceiling_mm2")
	if !j.Broken() {
		return
	}
	f := Finding{kind: "level", Title: "Level roof: " + mm2(v) + " within 2 deg of level", Where: Where{Body: p.partName(), At: p.Fill.LevelCeilingAt},
		Why:    "Bubbles that rise to a level roof stay there as a film. Whether they reach a vent is a matter of chance.",
		Advice: "Tilt the block by 3 deg or more and see that the end that rises has a vent, or give the roof a slope towards its vent."}
	if s := p.Tilts; s != nil && s.Best.Tilt != s.Now.Tilt && s.IsFree(s.Best) {
		f.Advice = text("Pour with --tilt "+tiltFlag(s.Best.Tilt)+": there no roof is level and no air stays.", "Or give the roof a slope towards its vent.")
	}
	p.Report(j.on(f, v))
}

// level2deg is the sine of 2 deg: flatter than that counts as level.
const level2deg = 0.03489949670250097

// anchorOf returns the place that names a pocket: the high point over it that is
// nearest to its top.
func (p *Pass) anchorOf(k *mold.Pocket) *geom.Vec {
	best := k.Top
	found := false
	for i := range p.Fill.HighPoints {
		h := &p.Fill.HighPoints[i]
		if h.Pocket == k.ID && (!found || h.At.Dist(k.Top) < best.Dist(k.Top)) {
			best, found = h.At, true
		}
	}
	return &best
}
