package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
)

var undercutsCheck = Check{
	Name: "undercuts", Title: "Undercuts and demolding",
	Doc: `
What locks the part as each half is pulled off it, how far the rubber must stretch for
it, whether the rubber tears, and where to begin.

The half moves along its pull: the user's (--pull NAME=x,y,z), else square to its
parting face, which is sure where nearly all of that face lies within 30 deg of it. Of a
face that looks several ways (a step, three halves that meet) it is the way with the
least of the part ahead of the rubber, which is sure where no undercut is left.
Rubber with the part ahead is undercut. On columns along the pull: in the slice at each
piece of such rubber, its distance to the nearest column without part ahead (exact
Euclidean distance transform) is how far it must move sideways; the largest is the
depth, measured again on columns 0.02 mm apart or so. What is less than 0.1 mm deep, or
narrower than the pitch of 0.25 mm, is left out. Keys, channels and steps of the parting face do not count: the part
is not in their way. Kinds:

  side     rubber under the part from one side: stretch 1 + depth / wall behind it
  ring     a lip around the part:               stretch 1 + depth / radius of its rim
  core     rubber in the part, wider within:    stretch 1 + depth / radius of the neck
  through  rubber that passes through the part: no way out without a cut
  floor    the half's floor is ahead:           the pull is wrong way round

Tearing: modulus E from the hardness (Gent 1958, to 25 %), stored energy W = E/6 (l^2 +
2/l - 3) at the stretch l (neo-Hookean), and the cut that runs on by itself c = G / (2 k
W), k = pi / sqrt(l), from the tear energy G ([rubber] tear_j_m2, or tear_strength_t of a
trouser test). Cuts of that size are support scars, sharp corners, layer steps. A tear
strength of type A, B or C on a data sheet is not a tear energy and is refused.

Draft: faces that shape the part and lean less than 0.5 deg to the pull, as connected
patches with their depth. Around a core such a patch lets no air behind the part:
suction holds with up to air pressure times the core's section.

Order: the half that holds least comes off first. The peel starts at the free side of
an undercut that lies on one side.

It computes no bending and no friction. Sources: hoop strain, elementary mechanics; Rivlin and Thomas, J. Polymer
Science 10, 1953; Greensmith 1963; no allowable undercut of printed molds is published.`,
	Limits: []string{"undercut_percent", "undercut_stop_percent", "elongation_share_percent", "lock_mm", "critical_flaw_mm", "draft_depth_mm"},
	Run:    checkUndercuts,
}

func checkUndercuts(p *Pass) {
	if p.Demolding == nil {
		switch {
		case p.fault != nil:
			p.CannotJudge(p.fault.Error())
		default:
			p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "how the part leaves the halves was not computed", p.named})
		}
		return
	}
	if p.Places != nil && !p.Places.Together {
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the files do not lie together as a mold", p.named})
		return
	}
	for i := range p.Demolding.Halves {
		r := &p.Demolding.Halves[i]
		p.undercutsOf(r)
		p.draftOf(r)
		p.guessedPull(r)
	}
	p.demoldNote()
}

// stretchPercent is the stretch beyond the rubber's length, per cent.
func stretchPercent(u *mold.Undercut) float64 {
	return math.Round((*u.Stretch-1)*1e4) / 100
}

// undercutsOf reports the undercuts of a half that break a limit one by one, and the
// others together.
func (p *Pass) undercutsOf(r *mold.Release) {
	var small []*mold.Undercut
	for i := range r.Undercuts {
		u := &r.Undercuts[i]
		if !p.undercut(r, u) {
			small = append(small, u)
		}
	}
	if len(small) == 0 {
		return
	}
	deepest, depth := small[0], small[0].Depth
	place := deepest.At
	f := Finding{kind: "small", of: r.Name, Severity: Note, harm: 1, Where: Where{Body: r.Name, At: &place}, Value: &depth, Unit: "mm"}
	f.Title = fmt.Sprintf("%s of %s that the rubber gives way to: up to %s deep", capital(count(len(small), "undercut")), r.Name, mm(depth))
	f.Why = text(fmt.Sprintf("Pulled along %s, rubber must move sideways by that much at %s.", way(r.Pull), at(place)), p.stretchText(deepest), p.flawText(r, deepest))
	f.Advice = "No action needed where the half is peeled off from the free side."
	p.Report(f)
}

// undercut reports one undercut if it breaks a limit.
func (p *Pass) undercut(r *mold.Release, u *mold.Undercut) bool {
	f := Finding{kind: "undercut-" + string(u.Kind), of: r.Name, anchor: &u.At}
	place := u.At
	f.Where = Where{Body: r.Name, At: &place}
	var j Judgement
	value := u.Depth
	if u.Stretch == nil {
		j = p.Limits.Judge(u.Depth, "lock_mm")
	} else {
		value = stretchPercent(u)
		j = p.Limits.Judge(value, "undercut_stop_percent", "undercut_percent")
		if e := p.elongation(value); e.Severity > j.Severity {
			j = e
			value = math.Round(1000*value/p.Job.Rubber.Elongation) / 10
		}
		if flaw := p.Job.Rubber.Flaw(u.Stretch); flaw != nil && !j.Broken() {
			if j = p.Limits.Judge(flaw.Mid, "critical_flaw_mm"); j.Broken() {
				value = flaw.Mid
			}
		}
	}
	if !j.Broken() {
		return false
	}
	if !r.Sure() {
		j = j.atMost(Discuss)
	}
	f.Title, f.Advice = p.undercutText(r, u)
	f.Why = text(fmt.Sprintf("Pulled along %s, the part is ahead of %s of rubber over %s.", way(r.Pull), mm3(u.Volume), mm2(u.Area)),
		p.stretchText(u), p.flawText(r, u), derivedPull(r))
	e := u.Error
	if u.Stretch == nil {
		f.Error = &e
	}
	p.Report(j.on(f, value))
	return true
}

// elongation holds the stretch against the elongation at break that the user gave.
func (p *Pass) elongation(percent float64) Judgement {
	if p.Job.From("rubber.elongation_percent") == "" || !(p.Job.Rubber.Elongation > 0) {
		return Judgement{}
	}
	return p.Limits.Judge(100*percent/p.Job.Rubber.Elongation, "elongation_share_percent")
}

// undercutText words what holds the part and what to do about it.
func (p *Pass) undercutText(r *mold.Release, u *mold.Undercut) (title, advice string) {
	depth := mm(u.Depth)
	switch u.Kind {
	case mold.LockFloor:
		return fmt.Sprintf("%s cannot be pulled along %s: its floor lies ahead of the part", capital(r.Name), way(r.Pull)),
			fmt.Sprintf("Is the pull the wrong way round? State it with --pull %s=%s.", r.Name, flagDirection(r.Pull.Neg()))
	case mold.LockThrough:
		return fmt.Sprintf("Rubber of %s passes through the part and cannot leave it", r.Name),
			"Part the mold along the middle of that opening so that no half crosses it, make this rubber a loose core that is drawn out sideways, or plan to cut it at every cast."
	case mold.LockRing:
		return fmt.Sprintf("A lip of %s locks around the part, %s deep: the rubber must stretch by %s %%", r.Name, depth, figure(stretchPercent(u))),
			fmt.Sprintf("Part the mold at the lip, near %s, slope its upper side, or split the half so that it opens sideways. Release agent and a slow peel help where it stays.", at(u.At))
	case mold.LockCore:
		return fmt.Sprintf("A core of %s is wider in the part than where it leaves, by %s: it must be squeezed by %s %%", r.Name, depth, figure(stretchPercent(u))),
			"Make the core a loose piece, widen the opening, or hollow the core so that it can collapse."
	}
	advice = fmt.Sprintf("Begin at the free side, %s, and peel towards %s. Better: part the mold at the undercut, or turn the part so that it faces the parting plane.", at(r.Peel.At), way(u.Side))
	if u.Stretch == nil {
		return fmt.Sprintf("%s locks the part on one side, %s deep", capital(r.Name), depth), advice
	}
	return fmt.Sprintf("%s locks the part on one side, %s deep: the rubber must give by %s %%", capital(r.Name), depth, figure(stretchPercent(u))), advice
}

// stretchText says what the stretch follows from.
func (p *Pass) stretchText(u *mold.Undercut) string {
	if u.Stretch == nil {
		return ""
	}
	share := figure(stretchPercent(u))
	switch u.Kind {
	case mold.LockRing:
		return fmt.Sprintf("Its rim has a radius of %s and must widen by %s: %s %%.", mm(u.Radius), mm(u.Depth), share)
	case mold.LockCore:
		return fmt.Sprintf("The opening has a radius of %s, the core is %s wider all around: %s %%.", mm(u.Radius), mm(u.Depth), share)
	}
	return fmt.Sprintf("The wall behind it is %s thick and must give way by %s along %s: %s %%.", mm(u.Wall), mm(u.Depth), way(u.Side), share)
}

// flawText says from which cut the rubber tears at an undercut's stretch, beside what
// there is of cuts.
func (p *Pass) flawText(r *mold.Release, u *mold.Undercut) string {
	f := p.Job.Rubber.Flaw(u.Stretch)
	if f == nil || f.Mid > largeFlaw {
		return ""
	}
	step, name := p.Job.Printer.Layer, "a layer is"
	for _, q := range p.Prints {
		if q.Half == r.Half && q.Step.Worst > 0 {
			step, name = q.Step.Worst, "a layer step is up to"
		}
	}
	return text(fmt.Sprintf("Rubber of Shore A %s and %s J/m2 then tears on from a cut of %s (%s to %s); %s %s.",
		figure(p.Job.Rubber.ShoreA), figure(p.Job.Rubber.TearEnergy()), mm(f.Mid), figure(roundTo(f.Least)), mm(f.Most), name, mm(step)), p.weakest(r))
}

// weakest names the thinnest wall and the sharpest inner corner of a half, if they were
// measured: a cut as deep as a wall is thick parts it, a corner is a cut to begin with.
func (p *Pass) weakest(r *mold.Release) string {
	for _, h := range p.Rubber {
		if h == nil || h.Half != r.Half {
			continue
		}
		wall, corner := "", ""
		if len(h.Walls) > 0 {
			wall = fmt.Sprintf("The thinnest place of the half that is listed has %s.", mm(h.Walls[0].Least))
		}
		if len(h.Corners) > 0 {
			c := &h.Corners[0]
			corner = fmt.Sprintf("Its sharpest inner corner, %s deg at %s, has no fillet.", figure(inDegrees(c.Angle)), at(c.At))
		}
		return text(wall, corner)
	}
	return ""
}

// largeFlaw is the cut in mm from which no one needs to hear of it: any rubber so torn is
// seen.
const largeFlaw = 10

func roundTo(x float64) float64 { return math.Round(x*100) / 100 }

// derivedPull says that a pull follows from the parting face.
func derivedPull(r *mold.Release) string {
	switch r.From {
	case mold.PullParting:
		return fmt.Sprintf("The pull follows from the parting face, %s of which lies square to it.", percent(min(r.Share, 1)))
	case mold.PullFreest:
		return fmt.Sprintf("The parting face looks several ways; the pull is the one with the least of the part ahead of the rubber, %s of the face lies square to it.", percent(min(r.Share, 1)))
	case mold.PullMiddle:
		return "The pull is a guess, away from the other halves: there is no parting face to speak of."
	}
	return ""
}

// guessedPull notes a pull that is no more than a guess.
func (p *Pass) guessedPull(r *mold.Release) {
	if r.Sure() {
		return
	}
	p.Report(Finding{kind: "pull", of: r.Name, Severity: Note, harm: 1, Where: Where{Body: r.Name},
		Title:  fmt.Sprintf("The pull of %s, %s, is not certain", r.Name, way(r.Pull)),
		Why:    text(derivedPull(r), "Undercuts and draft are judged along it."),
		Advice: fmt.Sprintf("State it: --pull %s=x,y,z, or pull in the job file.", r.Name)})
}

// draftOf reports the undrafted walls of a half that are deeper than the limit.
func (p *Pass) draftOf(r *mold.Release) {
	var worst *mold.SteepWall
	var j Judgement
	n := 0
	for i := range r.Walls {
		w := &r.Walls[i]
		k := p.Limits.Judge(w.Depth, "draft_depth_mm")
		if !k.Broken() {
			continue
		}
		n++
		if worst == nil {
			worst, j = w, k
		}
	}
	if worst == nil {
		return
	}
	depth, place := worst.Depth, worst.At
	f := Finding{kind: "draft", of: r.Name, Where: Where{Body: r.Name, At: &place}}
	f.Title = fmt.Sprintf("Walls of %s stand %s deep without draft", r.Name, mm(depth))
	f.Why = text(fmt.Sprintf("%s along %s; the deepest has %s. Rubber slides along them all the way, and no air gets behind the part.", capital(count(n, "patch")), way(r.Pull), mm2(worst.Area)), suction(worst))
	f.Advice = "Give them 1 deg of draft, or let air in: a vent at the bottom of the core, a thin blade along the wall, or air at low pressure through a vent, with eye protection."
	p.Report(j.on(f, depth))
}

// atmosphere is the pressure of air in N/mm2 (ISO 2533).
const atmosphere = 0.101325

// suction bounds what holds a core.
func suction(w *mold.SteepWall) string {
	if w.Core == 0 {
		return ""
	}
	return fmt.Sprintf("They go around a core of %s: until air gets in, suction holds it with up to %s N.", mm2(w.Core), figure(math.Round(SuctionBound(w.Core)*10)/10))
}

// SuctionBound is the force in N with which air pressure holds an area of mm2 at most.
func SuctionBound(area float64) float64 { return float64(area * atmosphere) }

// demoldNote says in one place how to take the mold apart.
func (p *Pass) demoldNote() {
	d := p.Demolding
	if len(d.Order) == 0 {
		return
	}
	first := &d.Halves[d.Order[0]]
	last := &d.Halves[d.Order[len(d.Order)-1]]
	cuts := 0
	for i := range d.Halves {
		cuts += len(d.Halves[i].Undercuts)
	}
	place := first.Peel.At
	f := Finding{kind: "demold", Severity: Note, harm: 1, Where: Where{Body: first.Name, At: &place}}
	f.Title = fmt.Sprintf("Demolding: %s comes off first, then the part out of %s", first.Name, last.Name)
	none := ""
	if cuts == 0 {
		none = "No undercut: every half leaves straight along its pull."
	}
	f.Why = text(none, fmt.Sprintf("%s holds least, so the part stays in %s and is not dragged along.", capital(first.Name), last.Name))
	var steps []string
	for _, h := range d.Order {
		steps = append(steps, peelText(&d.Halves[h]))
	}
	f.Advice = text(append(steps, p.plugText())...)
	p.Report(f)
}

// peelText says where a half comes off first.
func peelText(r *mold.Release) string {
	why := map[mold.PeelReason]string{
		mold.PeelFree:  "it is held on the far side only",
		mold.PeelAlong: "it is held on both sides of that way",
		mold.PeelShort: "a narrow front takes the least force",
	}[r.Peel.Why]
	return fmt.Sprintf("Open %s at %s, towards %s: %s.", r.Name, at(r.Peel.At), way(r.Peel.Toward), why)
}

// plugText names the cured plugs to snap off first.
func (p *Pass) plugText() string {
	var names []string
	for _, k := range p.Demolding.Plugs {
		if j := p.Limits.Judge(100*k.Stretch, "neck_stretch_percent"); j.Broken() && p.Fill != nil {
			if c := p.channel(k.Channel); c != nil {
				names = append(names, "of "+channelName(c))
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("Before that cut the plug %s at the neck.", list(names))
}
