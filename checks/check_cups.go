package checks

import (
	"fmt"

	"pourproof/checks/mold"
	"pourproof/geom"
)

var cupsCheck = Check{
	Name: "cups", Title: "Closed cups and sealed voids",
	Doc: `
Hollows of a half that are sealed against the film while it is printed, and voids
that keep uncured resin.

A half is printed from the platform up; the newest layer is the highest and lies on
the film. A hollow below it that reaches the outside only through that layer is a
closed cup: as the layer is lifted the film is sucked in. The force is no more than
air pressure times the largest opening, F <= p0 A with p0 = 101325 Pa; it is less
where the film flexes or resin leaks in.

A passage to the outside below the film relieves a cup if it is as wide as [printer]
relief and if the resin that flows through at the lift speed v loses little pressure:
dp = mu Q (3/r^3 + 8 L/(pi r^4)), Q = A v, shared by all passages. Standing flat on the platform a drain
that ends there is closed. Passages narrower than two columns are not told from none.

A hole that relieves a cup belongs at its end printed first. A suggested one is
proven by printing again with it. If it opens on a face that shapes the part, plug
it before casting.

A void without any way out keeps uncured resin, which cracks the rubber or weeps
later, or air, which dents in a pressure pot.

Not computed: how film and rubber flex.
Sources: Hagen-Poiseuille; the end term of Sampson, Phil. Trans. R. Soc. A 182, 1891,
as in Dagan, Weinbaum and Pfeffer, J. Fluid Mech. 115, 1982.`,
	Limits: []string{"cup_stop_n", "cup_discuss_n", "cup_volume_mm3", "void_stop_mm3"},
	Run:    checkCups,
}

func checkCups(p *Pass) {
	if !p.printed() {
		return
	}
	for _, q := range p.Prints {
		for i := range q.Sealed {
			p.sealedVoid(q, &q.Sealed[i])
		}
		var small, relieved []*mold.Cup
		for i := range q.Cups {
			c := &q.Cups[i]
			j := p.cupJudgement(q, c)
			switch {
			case c.Void != 0 || c.Into != 0: // said with the void, or with the cup it merges with
			case c.Relieved:
				if j.Broken() {
					relieved = append(relieved, c)
				}
			case !j.Broken():
				small = append(small, c)
			default:
				p.cup(q, c, j)
			}
		}
		p.smallCups(q, small)
		p.relievedCups(q, relieved)
	}
}

// cupJudgement holds a cup against the limits. Force on an assumed build direction,
// or through a passage, is at most worth a decision.
func (p *Pass) cupJudgement(q *mold.Printed, c *mold.Cup) Judgement {
	j := p.Limits.Judge(c.Bound, "cup_stop_n", "cup_discuss_n")
	if !j.Broken() {
		return p.Limits.Judge(c.Volume, "cup_volume_mm3")
	}
	if !q.Given || c.Passage != nil {
		j = j.atMost(Discuss)
	}
	return j
}

func (p *Pass) sealedVoid(q *mold.Printed, v *mold.SealedVoid) {
	j := p.Limits.Judge(v.Volume, "void_stop_mm3")
	if !j.Broken() {
		return
	}
	at := v.At
	f := Finding{kind: "void", anchor: &at, of: q.Name, Where: Where{Body: q.Name, At: &at}, Title: "Sealed void in " + q.Name + ": " + mm3(v.Volume),
		Why:    "Nothing leads out of it, so uncured resin stays inside. It cracks the rubber or weeps out later, and air in it dents the mold in a pressure pot.",
		Advice: "Fill it in CAD, or give it two drains of 2 to 3 mm, one low and one opposite."}
	p.Report(j.on(f, v.Volume))
}

// cup reports a cup that nothing relieves well.
func (p *Pass) cup(q *mold.Printed, c *mold.Cup, j Judgement) {
	middle := c.Middle
	f := Finding{kind: "cup", anchor: &middle, Where: Where{Body: q.Name, At: &middle}}
	f.Title = fmt.Sprintf("Closed cup in %s: %s sealed, suction up to %s", q.Name, mm2(c.Area), newton(c.Bound))
	f.Why = fmt.Sprintf("Printed %s with build %s, the hollow between %s and %s above the platform's end of the half reaches the outside only through the newest layer. It holds %s; the force is no more than air pressure on its opening.",
		standing(q), way(q.Build), mm(c.From), mm(c.To), mm3(c.Volume))
	if w := c.Passage; w != nil {
		f.Title = fmt.Sprintf("Cup in %s is relieved through a narrow passage: %s wide", q.Name, mm(w.Width))
		if w.Drop > q.Printer.ReliefDrop && w.Width+w.Error >= q.Printer.Relief {
			f.Title = fmt.Sprintf("Cup in %s is relieved slowly: a passage %s wide loses %s kPa", q.Name, mm(w.Width), figure(w.Drop))
		}
		f.Why = text(f.through(q, c), fmt.Sprintf("At %s mm/s and %s mPa s the resin that flows in loses %s kPa; up to %s kPa relieves.",
			figure(q.Printer.Lift), figure(q.Printer.Viscosity), figure(w.Drop), figure(q.Printer.ReliefDrop)),
			fmt.Sprintf("Without it the suction is up to %s on %s.", newton(c.Bound), mm2(c.Area)))
	}
	if c.Lip != nil && c.Passage == nil && c.To-c.From < shallowCup {
		f.Why = text(f.Why, fmt.Sprintf("It is sealed over %s of height only: let the way out at %s begin that much nearer the platform, and no cup is left.", mm(c.To-c.From), at(*c.Lip)))
	}
	f.Why = text(f.Why, assumedBuild(q))
	f.Advice = or(text(offThePlatform(q, c), holeAdvice(q, c)), p.better(q.Half, func(x *mold.PosePoint) float64 { return x.CupArea }))
	if f.Advice == "" {
		f.Advice = "Lay the half another way, or open the hollow to the outside at the end that is printed first."
	}
	v := c.Bound
	if j.Limit.Unit == "mm3" {
		v = c.Volume
	}
	p.Report(j.on(f, v))
}

// shallowCup is the height in mm below which what opens a cup can as well be moved: a
// bore that enters a little above the floor of a hollow.
const shallowCup = 1.0

// through names the passage of a cup.
func (f *Finding) through(q *mold.Printed, c *mold.Cup) string {
	w := c.Passage
	f.Channel = w.Channel
	name := fmt.Sprintf("a passage at %s", at(w.At))
	if w.Channel != 0 {
		name = fmt.Sprintf("channel %d at %s", w.Channel, at(w.At))
	}
	others := ""
	if w.Count > 1 {
		others = fmt.Sprintf(" and %s no wider", count(w.Count-1, "other"))
	}
	return fmt.Sprintf("Printed %s with build %s, the hollow of %s reaches the outside below the film only through %s, %s wide over %s%s.",
		standing(q), way(q.Build), mm3(c.Volume), name, mm(w.Width), mm(w.Length), others)
}

// offThePlatform is the advice for a half whose bores end at the platform.
func offThePlatform(q *mold.Printed, c *mold.Cup) string {
	if !c.Platform {
		return ""
	}
	return fmt.Sprintf("Print %s on supports: standing flat, the platform closes what leads out at its end.", q.Name)
}

// holeAdvice puts a relief hole in words.
func holeAdvice(q *mold.Printed, c *mold.Cup) string {
	o := c.Hole
	if o == nil {
		return ""
	}
	plug := ""
	if o.Molding {
		plug = " It opens on a face that shapes the part: plug it before casting."
	}
	return fmt.Sprintf("Drill a relief hole %s wide from %s along %s, %s long, leaving at %s; reliefs.stl holds it. The resin then loses %s kPa.%s",
		mm(o.Diameter), at(o.At), way(o.Direction), mm(o.Length), at(o.Exit), figure(o.Drop), plug)
}

// smallCups notes key sockets and the like in one finding a half.
func (p *Pass) smallCups(q *mold.Printed, list []*mold.Cup) {
	if len(list) == 0 {
		return
	}
	worst, sum := list[0], 0.0
	for _, c := range list {
		sum += c.Volume
		if c.Bound > worst.Bound {
			worst = c
		}
	}
	at, bound := worst.Deepest, worst.Bound
	p.Report(Finding{kind: "small", of: q.Name, Severity: Note, harm: 1, Where: Where{Body: q.Name, At: &at}, Value: &bound, Unit: "N",
		Title:  fmt.Sprintf("%s in %s, suction up to %s each", count(len(list), "small closed cup"), q.Name, newton(bound)),
		Why:    fmt.Sprintf("Key sockets and the like: %s in all. Each holds less than %s and its suction stays below %s.", mm3(sum), mm3(p.Limits.Get("cup_volume_mm3").Value), newton(p.Limits.Get("cup_discuss_n").Value)),
		Advice: "No action needed. Wash them out and dry them before curing."})
}

// relievedCups notes the cups that a gate, a vent or another passage relieves.
func (p *Pass) relievedCups(q *mold.Printed, list []*mold.Cup) {
	for _, c := range list {
		anchor, bound := c.Middle, c.Bound
		w := c.Passage
		f := Finding{kind: "cup", anchor: &anchor, Severity: Note, harm: 1, Where: Where{Body: q.Name, At: place(w.At)}, Value: &bound, Unit: "N"}
		f.Title = fmt.Sprintf("Cup in %s is relieved: a passage %s wide loses %s kPa", q.Name, mm(w.Width), figure(w.Drop))
		f.Why = text(f.through(q, c), fmt.Sprintf("Blocked, the suction would be up to %s.", newton(bound)))
		f.Advice = "Keep this passage open: no support tip in it, and not on the platform."
		p.Report(f)
	}
}

func place(v geom.Vec) *geom.Vec { return &v }
