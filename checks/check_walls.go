package checks

import (
	"fmt"
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
)

var wallsCheck = Check{
	Name: "walls", Title: "Thin rubber",
	Doc: `
Where the rubber is thin, and what stands free.

The thickness under a point of the surface is the diameter of the ball that touches
it from inside and the face opposite (shrinking ball: Ma, Bae and Choi 2012). It
counts where the two faces meet, if they ever do, at 30 deg or less: between faces at
the angle a, the distance u from their edge, the ball is 2 u tan(a/2). A square edge is
no thin wall, and a wedge between 30 and 45 deg is a knife edge only. Every facet of a
half is measured, large ones in pieces of 2 mm, by columns along 20 directions.

Thin places that hang together are one: least thickness, area of one side, and kind.

  wall   held all around
  fin    a sheet with a free end: beyond its border the rubber ends within its
         thickness
  pin    a post with a free end
         slenderness = height from where it is held / mean thickness

The limits of 5 and 2 mm hold between the cavity and the outside only, and spaces
that are no channel count as outside. Fins and pins are looked for up to twice the
limit, for their slenderness. A bar of triangular section is not seen as a pin.

What bends, bulges or tears is not computed: these are limits of practice.`,
	Limits: []string{"around_mm", "around_stop_mm", "thin_mm", "thin_stop_mm", "thin_area_mm2", "slender_ratio"},
	Run:    checkWalls,
}

// RubberOptions returns up to which limits the rubber must be measured.
func RubberOptions(l *Limits) mold.RubberOptions {
	most := func(a, b string) float64 { return max(l.Get(a).Value, l.Get(b).Value) }
	return mold.RubberOptions{Around: most("around_mm", "around_stop_mm"), Thin: most("thin_mm", "thin_stop_mm"), Knife: l.Get("knife_deg").Value * math.Pi / 180}
}

// wallGroup is what the findings about walls of one half are sorted by.
type wallGroup struct {
	kind   string
	of     func(w *mold.Wall) bool
	value  func(w *mold.Wall) float64
	limits []string
}

func checkWalls(p *Pass) {
	if !p.measured() {
		return
	}
	least := func(w *mold.Wall) float64 { return w.Least }
	groups := []wallGroup{
		{"around", (*mold.Wall).Around, least, []string{"around_stop_mm", "around_mm"}},
		{"wall", func(w *mold.Wall) bool { return !w.Around() && w.Kind == mold.ThinWall }, least, []string{"thin_stop_mm", "thin_mm"}},
		{"fin", func(w *mold.Wall) bool { return w.Kind == mold.Fin }, least, []string{"thin_stop_mm", "thin_mm"}},
		{"pin", func(w *mold.Wall) bool { return w.Kind == mold.Pin }, least, []string{"thin_stop_mm", "thin_mm"}},
		{"slender", func(w *mold.Wall) bool {
			return w.Kind != mold.ThinWall && !p.Limits.Judge(w.Least, "thin_stop_mm", "thin_mm").Broken()
		}, func(w *mold.Wall) float64 { return w.Slender }, []string{"slender_ratio"}},
	}
	for _, r := range p.Rubber {
		for i := range groups {
			p.wallsOf(r, &groups[i])
		}
	}
}

// wallsOf reports the walls of one half and group that break a limit, told by the
// worst of them.
func (p *Pass) wallsOf(r *mold.HalfRubber, g *wallGroup) {
	var worst Judgement
	var bad []*mold.Wall
	for i := range r.Walls {
		w := &r.Walls[i]
		if !g.of(w) {
			continue
		}
		j := p.Limits.Judge(g.value(w), g.limits...)
		if !j.Broken() {
			continue
		}
		if p.Limits.Get("thin_area_mm2").broken(w.Area) {
			j = j.atMost(Discuss)
		}
		if p.endOfBlind(w) != nil {
			j = j.atMost(Note)
		}
		bad = append(bad, w)
		if len(bad) == 1 || j.Severity > worst.Severity || j.Severity == worst.Severity && j.harm > worst.harm {
			worst = j
			bad[0], bad[len(bad)-1] = bad[len(bad)-1], bad[0]
		}
	}
	if len(bad) == 0 {
		return
	}
	w := bad[0]
	place := w.At
	f := Finding{kind: g.kind, Where: Where{Body: r.Name, At: &place}, anchor: &place}
	f.Title, f.Why, f.Advice = p.wallText(r, w, worst.Limit)
	if places := otherPlaces(bad[1:], g.value); places != "" {
		f.Why = text(f.Why, places)
	}
	if g.kind != "slender" {
		e := r.Error
		f.Error = &e
	}
	p.Report(worst.on(f, g.value(w)))
}

// mostPlaces is how many further places a sentence names.
const mostPlaces = 4

// otherPlaces names the other walls of a finding, worst first as they are listed.
func otherPlaces(walls []*mold.Wall, value func(*mold.Wall) float64) string {
	var words []string
	for i, w := range walls {
		if i == mostPlaces {
			words = append(words, fmt.Sprintf("%d more", len(walls)-i))
			break
		}
		words = append(words, fmt.Sprintf("%s at %s", figure(math.Round(value(w)*100)/100), at(w.At)))
	}
	if len(words) == 0 {
		return ""
	}
	return fmt.Sprintf("Also %s.", list(words))
}

// wallText says what a wall is, why it matters and what to do.
func (p *Pass) wallText(r *mold.HalfRubber, w *mold.Wall, limit *Limit) (title, why, advice string) {
	between := fmt.Sprintf("between %s and %s", w.Between[0], w.Between[1])
	if w.Between[0] == w.Between[1] {
		between = fmt.Sprintf("with the %s on both sides", w.Between[0])
	}
	tall := fmt.Sprintf("It stands %s high, %s times its mean thickness of %s.", mm(w.Height), figure(math.Round(w.Slender*10)/10), mm(w.Mean))
	aim := mm(p.Limits.Get("thin_mm").Value)
	switch {
	case limit.Key == "slender_ratio":
		title = fmt.Sprintf("Slender %s of rubber in %s: %s high, %s thick", w.Kind, r.Name, mm(w.Height), mm(w.Mean))
		why = fmt.Sprintf("It stands free %s. What is slender folds under the resin and is bent over at every demold.", between)
		advice = "Make it thicker or lower, or widen its foot with a fillet."
	case w.Kind != mold.ThinWall:
		title = fmt.Sprintf("%s of rubber in %s only %s thick", capital(string(w.Kind)), r.Name, mm(w.Least))
		why = text(fmt.Sprintf("It stands free %s. Thin rubber folds under the resin and tears as the part leaves.", between), tall)
		advice = fmt.Sprintf("Make it %s thick or more with a fillet at its foot, or make this feature of the part another way.", aim)
	case w.Around():
		title = fmt.Sprintf("Only %s of rubber between cavity and outside in %s", mm(w.Least), r.Name)
		why = fmt.Sprintf("Over %s it is thinner than %s. Thin rubber bulges under the resin, so the part comes out thicker there, and it tears first.", mm2(math.Round(w.Area*10)/10), mm(limit.Value))
		advice = fmt.Sprintf("Make the block larger there, or move what comes near the cavity: %s.", mm(p.Limits.Get("around_mm").Value))
	default:
		title = fmt.Sprintf("Wall of rubber only %s thick in %s", mm(w.Least), r.Name)
		why = fmt.Sprintf("It stands %s and is thinner than %s over %s.", between, mm(limit.Value), mm2(math.Round(w.Area*10)/10))
		advice = fmt.Sprintf("Move what lies on either side apart: %s or more.", aim)
	}
	if c := p.endOfBlind(w); c != nil {
		why = text(why, fmt.Sprintf("It is what is left at the end of %s.", channelName(c)))
		advice = "Carry the channel through, or end it sooner."
	}
	if s := p.endOfStopped(w); s != nil {
		why = text(why, fmt.Sprintf("It is what is left before the bore from outside that ends at %s.", at(s.End)))
		advice = "Carry the bore through, or end it sooner."
	}
	return title, why, advice
}

// endOfStopped returns the bore from outside that a thin wall keeps from the cavity, nil
// for none, or where the vents' check does not tell of it.
func (p *Pass) endOfStopped(w *mold.Wall) *mold.StoppedBore {
	if p.Mold == nil || !w.Around() || !p.asked("vents") {
		return nil
	}
	for i := range p.Mold.Stopped {
		if s := &p.Mold.Stopped[i]; geom.ClosestOnSegment(w.At, s.End, s.Ahead).Dist(w.At) <= s.Width {
			return s
		}
	}
	return nil
}

// endOfBlind returns the blind channel that a thin wall closes, nil for none: the
// vents' check tells of it.
func (p *Pass) endOfBlind(w *mold.Wall) *mold.Channel {
	if p.Mold == nil || w.Between[0] != mold.AtChannel {
		return nil
	}
	for i := range p.Mold.Channels {
		c := &p.Mold.Channels[i]
		if c.Role == mold.Blind && geom.ClosestOnSegment(w.At, c.End, c.End.AddScaled(c.ExitAxis, w.Least)).Dist(w.At) <= c.Diameter {
			return c
		}
	}
	return nil
}
