package flood

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// disagree floods g both ways and tells the first difference, "" for none:
// reached runs, the height in every run at every step of the pour and at its end,
// the moment gas is cut off, pockets with what sealed them, trapped volume.
func disagree(g *Graph) string {
	r, err := Run(g)
	if err != nil {
		return err.Error()
	}
	p := newPour(g)
	w := watch{p: p, r: r, last: Start, times: []Time{Start}}
	p.rising, p.rose = w.rising, w.rose
	p.all()
	for _, why := range []string{p.fault, w.fault, w.ends(), w.pockets(), w.seals(), w.rises()} {
		if why != "" {
			return why
		}
	}
	return ""
}

// watch compares the package's result with the forward model, step by step.
type watch struct {
	p     *pour
	r     *Result
	last  Time
	times []Time  // per moment of the forward model
	runs  []int32 // of the pool that rises
	fault string
}

func (w *watch) say(format string, args ...any) {
	if w.fault == "" {
		w.fault = fmt.Sprintf(format, args...)
	}
}

// rising compares the state of the whole pour at the moment a pool passes its
// surface.
func (w *watch) rising(runs []int32, surface int32) {
	moment := Never
	for _, run := range runs {
		if w.p.frozen[run] >= 0 {
			continue
		}
		t := w.r.When(run, surface)
		if moment != Never && t != moment {
			w.say("run %d passes %d at %d, another run of its pool at %d", run, surface, t, moment)
		}
		moment = t
	}
	if moment == Never || moment <= w.last {
		w.say("moment %d of a pool passing %d is not after %d", moment, surface, w.last)
	}
	w.last, w.times, w.runs = moment, append(w.times, moment), runs
	for run := range w.p.level {
		if got, want := w.r.Level(int32(run), moment), w.p.height(run); got != want {
			w.say("at moment %d of a pool passing %d: run %d stands at %d, forward %d", moment, surface, run, got, want)
		}
	}
}

// rose compares the moment at which gas was frozen, and what held its levels.
func (w *watch) rose() {
	for run, m := range w.p.frozen {
		if m != w.p.moment {
			continue
		}
		if w.r.Cut[run] != w.times[m] {
			w.say("run %d was cut off at %d, forward %d", run, w.r.Cut[run], w.times[m])
		}
		w.held(int32(run), w.p.level[run], slices.Contains(w.runs, int32(run)))
	}
}

// held asks that liquid in a frozen run stood in the pool that was rising, or else
// waited at a saddle. A dry run whose bottom is level with that saddle may be said
// to wait at it too.
func (w *watch) held(run, level int32, rising bool) {
	wet := level > w.p.g.Lo[run]
	if wet && w.r.Rising(run) != rising || rising && !w.r.Rising(run) {
		w.say("run %d rising: %v, forward %v", run, w.r.Rising(run), rising)
	}
	node, pool, link, ok := w.r.Saddle(run)
	switch {
	case ok && rising, !ok && wet && !rising:
		w.say("run %d waiting at a saddle: %v, forward %v", run, ok, wet && !rising)
	case ok && (w.p.g.Links[link].Lo != level || wet && w.r.Pool(run, node) != pool):
		w.say("run %d at %d waits at link %d, in pool %d, not %d", run, level, link, pool, w.r.Pool(run, node))
	}
}

// rises asks that a run's level rises without a break, in arcs that follow one
// another.
func (w *watch) rises() string {
	for run := range w.p.level {
		z, last, fault := w.p.g.Lo[run], int32(-1), ""
		w.r.Rises(int32(run), func(arc, lo, hi int32) {
			at, level := w.r.When(int32(run), lo).Split()
			if lo != z || hi <= lo || arc <= last || int(arc) >= w.r.Arcs() || at != arc || level != lo {
				fault = fmt.Sprintf("run %d rises from %d to %d in arc %d, after %d in arc %d", run, lo, hi, arc, z, last)
			}
			z, last = hi, arc
		})
		if end := w.p.height(run); z != end && fault == "" {
			fault = fmt.Sprintf("run %d rises to %d, forward %d", run, z, end)
		}
		if fault != "" {
			return fault
		}
	}
	return ""
}

// ends compares the last state.
func (w *watch) ends() string {
	trapped, forward := int64(0), int64(0)
	reached := make([]bool, len(w.p.level))
	for _, s := range w.p.g.Sources {
		for _, run := range w.p.space(s) {
			reached[run] = true
		}
	}
	for run := range w.p.level {
		hi := w.p.g.Hi[run]
		switch got, want := w.r.Level(int32(run), Never), w.p.height(run); {
		case got != want:
			return fmt.Sprintf("run %d ends at %d, forward %d", run, got, want)
		case w.r.Reached[run] != reached[run]:
			return fmt.Sprintf("run %d reached: %v, forward %v", run, w.r.Reached[run], reached[run])
		case (w.r.Cut[run] == Never) != (w.p.frozen[run] < 0), (w.r.Cut[run] == Start) != (w.p.frozen[run] == 0):
			return fmt.Sprintf("run %d was cut off at %d, forward moment %d", run, w.r.Cut[run], w.p.frozen[run])
		}
		if w.r.Pocket[run] >= 0 {
			trapped += int64(hi - w.r.Level(int32(run), Never))
		}
		if w.p.frozen[run] >= 0 {
			forward += int64(hi - w.p.height(run))
		}
	}
	if trapped != forward {
		return fmt.Sprintf("trapped volume %d, forward %d", trapped, forward)
	}
	return ""
}

// pockets compares the parts into which trapped gas falls. Both are numbered in
// the order of their lowest runs.
func (w *watch) pockets() string {
	number := make([]int32, w.p.pockets)
	for i := range number {
		number[i] = -1
	}
	next := int32(0)
	for run, k := range w.p.pocket {
		want := int32(-1)
		if k >= 0 {
			if number[k] < 0 {
				number[k] = next
				next++
			}
			want = number[k]
		}
		if got := w.r.Pocket[run]; got != want {
			return fmt.Sprintf("run %d lies in pocket %d, forward %d", run, got, want)
		}
	}
	if len(w.r.Seals) != int(next) {
		return fmt.Sprintf("%d seals for %d pockets", len(w.r.Seals), next)
	}
	return ""
}

// seals asks that every pocket was closed by something of its own, passed at that
// moment: an exit in it, or a link out of it to gas that was not cut off before.
func (w *watch) seals() string {
	for k, s := range w.r.Seals {
		first := int32(slices.Index(w.r.Pocket, int32(k)))
		ok := s.When == w.r.Cut[first]
		switch {
		case s.Link >= 0 && s.Exit < 0:
			l := w.p.g.Links[s.Link]
			a, b := l.A, l.B
			if w.r.Pocket[a] != int32(k) {
				a, b = b, a
			}
			ok = ok && w.r.Pocket[a] == int32(k) && w.r.Pocket[b] != int32(k) && w.r.Cut[b] >= s.When && w.r.When(a, l.Hi) == s.When
		case s.Exit >= 0 && s.Link < 0:
			x := w.p.g.Exits[s.Exit]
			ok = ok && w.r.Pocket[x.Run] == int32(k) && w.r.When(x.Run, x.Hi) == s.When
		default:
			ok = ok && s.When == Start && s.Link == -1 && s.Exit == -1
		}
		if !ok {
			return fmt.Sprintf("pocket %d was not sealed by %+v", k, s)
		}
	}
	return ""
}

// shrink makes a graph on which the two models disagree as small as it can.
func shrink(g Graph) Graph {
	for again := true; again; {
		again = false
		try := func(c Graph) {
			if c.check() == nil && disagree(&c) != "" {
				g, again = c, true
			}
		}
		for i := len(g.Links) - 1; i >= 0; i-- {
			c := g
			c.Links = slices.Delete(slices.Clone(g.Links), i, i+1)
			try(c)
		}
		for i := len(g.Exits) - 1; i >= 0; i-- {
			c := g
			c.Exits = slices.Delete(slices.Clone(g.Exits), i, i+1)
			try(c)
		}
		for i := len(g.Sources) - 1; i >= 0 && len(g.Sources) > 1; i-- {
			c := g
			c.Sources = slices.Delete(slices.Clone(g.Sources), i, i+1)
			try(c)
		}
		for i := int32(len(g.Lo)) - 1; i >= 0; i-- {
			if c, ok := without(g, i); ok {
				try(c)
			}
		}
		for z := int32(64); z >= -64; z-- {
			try(squeezed(g, z))
		}
	}
	if c := raised(g, -slices.Min(g.Lo)); disagree(&c) != "" {
		return c
	}
	return g
}

// without removes a run that nothing refers to.
func without(g Graph, run int32) (Graph, bool) {
	down := func(r *int32) bool {
		if *r > run {
			*r--
			return true
		}
		return *r < run
	}
	c := Graph{Lo: slices.Delete(slices.Clone(g.Lo), int(run), int(run)+1), Hi: slices.Delete(slices.Clone(g.Hi), int(run), int(run)+1),
		Links: slices.Clone(g.Links), Exits: slices.Clone(g.Exits), Sources: slices.Clone(g.Sources)}
	ok := true
	for i := range c.Links {
		ok = down(&c.Links[i].A) && down(&c.Links[i].B) && ok
	}
	for i := range c.Exits {
		ok = down(&c.Exits[i].Run) && ok
	}
	for i := range c.Sources {
		ok = down(&c.Sources[i]) && ok
	}
	return c, ok
}

// squeezed takes the layer between z and z+1 out of the graph.
func squeezed(g Graph, z int32) Graph {
	low := func(v int32) int32 {
		if v > z {
			return v - 1
		}
		return v
	}
	c := mapped(g, low)
	if slices.Equal(c.Lo, g.Lo) && slices.Equal(c.Hi, g.Hi) {
		return Graph{} // no smaller: agrees
	}
	return c
}

func raised(g Graph, by int32) Graph { return mapped(g, func(v int32) int32 { return v + by }) }

// mapped puts every height of a graph through f.
func mapped(g Graph, f func(int32) int32) Graph {
	c := Graph{Sources: g.Sources}
	for i := range g.Lo {
		c.Lo, c.Hi = append(c.Lo, f(g.Lo[i])), append(c.Hi, f(g.Hi[i]))
	}
	for _, l := range g.Links {
		c.Links = append(c.Links, Link{l.A, l.B, f(l.Lo), f(l.Hi)})
	}
	for _, x := range g.Exits {
		c.Exits = append(c.Exits, Exit{x.Run, f(x.Lo), f(x.Hi), x.Port})
	}
	return c
}

func (g Graph) String() string {
	var s strings.Builder
	fmt.Fprintf(&s, "Lo: %v\nHi: %v\nSources: %v\n", g.Lo, g.Hi, g.Sources)
	for _, l := range g.Links {
		fmt.Fprintf(&s, "link %+v\n", l)
	}
	for _, x := range g.Exits {
		fmt.Fprintf(&s, "exit %+v\n", x)
	}
	return s.String()
}

// agree asks that both models agree on many graphs, and shows the smallest
// disagreement it can find.
func agree(t *testing.T, n int, draw func(rng *rand.Rand) Graph) {
	t.Helper()
	trapped, dry := 0, 0
	for seed := range uint64(n) {
		g := draw(rand.New(rand.NewPCG(seed, 2)))
		if why := disagree(&g); why != "" {
			small := shrink(g)
			require.Failf(t, "the models disagree", "seed %d: %s\nsmallest: %s\n%s", seed, why, disagree(&small), small)
		}
		r, err := Run(&g)
		require.NoError(t, err)
		if slices.ContainsFunc(r.Seals, func(s Seal) bool { return s.When != Start }) {
			trapped++
		}
		if len(r.Seals) == 0 {
			dry++
		}
	}
	t.Logf("%d graphs, %d with gas cut off during the pour, %d without any", n, trapped, dry)
	require.Greater(t, trapped, n/3, "too few graphs test trapping")
}
