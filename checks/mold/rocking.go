package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// RockStep is one attitude of a rocking plan.
type RockStep struct {
	Tilt  Tilt
	Up    geom.Vec
	Until float64 // mm3 of resin in when the block is turned on; of the last step: when it is full
}

// Rocking is the answer to "which tilts, one after the other, free what no single
// tilt frees?": the shortest sequence of two, else of three. It is worked out on
// elements of the space, each either resin or air, so a level is known to an
// element's height and air below Least is not seen.
type Rocking struct {
	Steps   []RockStep // none: no sequence was found
	Trapped float64    // mm3 that stay after the last
	Least   float64    // mm3 of air that elements cannot tell from none
	Element float64    // mm, edge of a block of nodes
	Tilts   int        // tilts that sequences were made of
	Tried   int        // sequences of two poured
	Left    int        // sequences of two not poured because there were too many
	Begun   int        // first two tilts of three that were poured, and the likeliest third ones from there
	Unbegun int        // and those not poured because there were too many
	Blunt   bool       // elements show no air at some single tilt: what stays there is less than they can tell
}

// rockShares are the shares of what goes in before the first exit drips that the
// block is turned at.
const rockShares = 8

// rocker searches sequences.
type rocker struct {
	l                       *ledger
	rest                    geom.Vec
	tilts                   []Tilt
	ups                     []geom.Vec
	ranks                   [][]int32
	first                   []*poured // from empty
	dry                     []float64 // per tilt: the share of it that is in when an exit is about to drip
	left                    [][]bool  // per tilt: the part's air then
	air                     [][]bool  // per tilt: the part's air that stays
	empty                   []bool
	least                   float64
	prune                   bool // leave out what cannot free all
	longest                 int  // tilts a sequence may have
	thirdShares, thirdTilts int  // as the constants; 0 tilts = all
	stop                    func() bool
	told                    func(done, total int) // of sequences; may be nil
}

// sequence is a pair of tilts.
type sequence struct{ a, b int }

// newRocker pours at every tilt from empty.
func newRocker(l *ledger, rest geom.Vec, tilts []Tilt, allowed float64) *rocker {
	r := &rocker{l: l, rest: rest, tilts: tilts, empty: make([]bool, len(l.at)), prune: true, longest: 3, thirdShares: thirdShares, thirdTilts: thirdTilts}
	r.least = max(allowed, 2*l.element())
	n := len(tilts)
	r.ups, r.ranks, r.first = make([]geom.Vec, n), make([][]int32, n), make([]*poured, n)
	r.dry, r.left, r.air = make([]float64, n), make([][]bool, n), make([][]bool, n)
	sideBySide(n, func(i int) {
		r.ups[i] = UpFor(rest, tilts[i])
		r.ranks[i] = l.ranks(r.ups[i])
		r.first[i] = l.fill(r.ranks[i], r.empty)
		r.air[i] = l.airIn(r.first[i].end)
		r.dry[i] = r.first[i].beforeExit(l)
		state, _ := r.first[i].after(l, r.empty, r.dry[i])
		r.left[i] = l.airIn(state)
	})
	return r
}

// sequences lists the pairs in the order in which they are to be preferred: little
// tilting first. With prune, those are left out whose second tilt traps air where
// there is air at the turn, however late that is: it stays.
func (r *rocker) sequences() []sequence {
	var out []sequence
	for a := range r.tilts {
		for b := range r.tilts {
			if a != b && !(r.prune && r.l.common(r.left[a], r.air[b]) > r.least) {
				out = append(out, sequence{a, b})
			}
		}
	}
	r.byTurning(out)
	return out
}

// byTurning orders pairs of tilts, little tilting first.
func (r *rocker) byTurning(list []sequence) {
	turn := func(s sequence) float64 {
		return r.tilts[s.a].Angle + r.tilts[s.b].Angle + angleBetween(r.ups[s.a], r.ups[s.b])
	}
	slices.SortStableFunc(list, func(s, t sequence) int {
		return cmp.Or(cmp.Compare(math.Round(turn(s)*1e6), math.Round(turn(t)*1e6)), cmp.Compare(s.a, t.a), cmp.Compare(s.b, t.b))
	})
}

// airIn returns the part's air in a state.
func (l *ledger) airIn(resin []bool) []bool {
	out := make([]bool, len(resin))
	for e, in := range resin {
		out[e] = !in && l.inPart[e]
	}
	return out
}

// common is the volume of the elements in both sets.
func (l *ledger) common(a, b []bool) float64 {
	sum := 0.0
	for e, in := range a {
		if in && b[e] {
			sum += l.volume[e]
		}
	}
	return sum
}

// try pours a sequence at every share, the most resin before the turn first, and
// returns the first that frees all.
func (r *rocker) try(s sequence) (Rocking, bool) {
	one := r.first[s.a]
	for k := rockShares; k >= 1; k-- {
		state, _ := one.after(r.l, r.empty, r.dry[s.a]*float64(k)/rockShares)
		if r.keeps(s.b, state, r.least) {
			break // and less resin leaves more air
		}
		turned, ok := r.turn(s, state, true)
		if !ok {
			continue
		}
		end := r.l.fill(r.ranks[s.b], turned).end
		if left := r.l.trapped(end); left <= r.least {
			return Rocking{Trapped: left, Steps: []RockStep{r.step(s.a, state), r.step(s.b, end)}}, true
		}
	}
	return Rocking{}, false
}

// keeps tells whether a state has more than so much air where a tilt traps it: it stays,
// however much resin comes in. Never without prune.
func (r *rocker) keeps(tilt int, state []bool, most float64) bool {
	if !r.prune {
		return false
	}
	sum := 0.0
	for e, air := range r.air[tilt] {
		if air && !state[e] {
			sum += r.l.volume[e]
		}
	}
	return sum > most
}

// turn carries a state from the first tilt of a pair to the second, halfway at rest
// too; false where resin would stand in an exit, or where the second is the last and
// keeps air. Halfway that is told by more than settling misplaces: three of the largest
// elements.
func (r *rocker) turn(s sequence, state []bool, last bool) ([]bool, bool) {
	turned := r.l.settle(r.l.ranks(r.ups[s.a].Add(r.ups[s.b]).Unit()), state)
	if r.l.leaks(turned) || last && r.keeps(s.b, turned, r.least+3*slices.Max(r.l.volume)) {
		return nil, false
	}
	turned = r.l.settle(r.ranks[s.b], turned)
	return turned, !r.l.leaks(turned) && !(last && r.keeps(s.b, turned, r.least))
}

// step is an attitude left with the resin of a state in.
func (r *rocker) step(tilt int, state []bool) RockStep {
	in := 0.0
	for e, resin := range state {
		if resin {
			in += r.l.volume[e]
		}
	}
	return RockStep{r.tilts[tilt], r.ups[tilt], in}
}

// beforeExit returns the share of a filling that is in when the first exit is about
// to drip.
func (q *poured) beforeExit(l *ledger) float64 {
	for i, e := range q.order {
		if l.exit[e] {
			if i == 0 {
				return 0
			}
			return q.sum[i-1] / q.sum[len(q.sum)-1]
		}
	}
	return 1
}

// search returns the first sequence that frees all, of at most a number of two tilts
// and of a thirtieth as many beginnings of three; the same for any number of cores.
func (r *rocker) search(most int) *Rocking {
	out := Rocking{Least: r.least, Element: r.l.block, Tilts: len(r.tilts)}
	for i := range r.first {
		if out.Blunt = out.Blunt || r.l.trapped(r.first[i].end) <= r.least; out.Blunt {
			return &out
		}
	}
	list := r.sequences()
	out.Left = max(len(list)-most, 0)
	list = list[:len(list)-out.Left]
	if r.inOrder(&out, &out.Tried, len(list), func(i int) (Rocking, bool) { return r.try(list[i]) }) {
		out.Left = 0
		return &out
	}
	if r.longest < 3 {
		return &out
	}
	begin := r.beginnings()
	out.Unbegun = max(len(begin)-max(most/thirdPart, 1), 0)
	begin = begin[:len(begin)-out.Unbegun]
	if r.inOrder(&out, &out.Begun, len(begin), func(i int) (Rocking, bool) { return r.tryThird(begin[i]) }) {
		out.Unbegun = 0
	}
	return &out
}

// inOrder tries n sequences side by side, counts them, and takes the first that frees all.
func (r *rocker) inOrder(out *Rocking, tried *int, n int, try func(i int) (Rocking, bool)) bool {
	const batch = 8
	for from := 0; from < n && !(r.stop != nil && r.stop()); from += batch {
		got, ok := make([]Rocking, min(batch, n-from)), make([]bool, min(batch, n-from))
		sideBySide(len(got), func(i int) { got[i], ok[i] = try(from + i) })
		for i := range got {
			*tried++
			if ok[i] {
				out.Steps, out.Trapped = got[i].Steps, got[i].Trapped
				return true
			}
		}
		if r.told != nil {
			r.told(*tried, n)
		}
	}
	return false
}

// rock looks for a rocking plan over tilts every 15 deg up to the limit; nil where
// the mold has too many nodes.
func (w *tilting) rock() *Rocking {
	l := w.m.newLedger(ledgerElements)
	if l == nil {
		return nil
	}
	rings := max(1, int(math.Round(w.o.Limit/(15*math.Pi/180))))
	tilts := tiltDisc(w.o.Limit, rings)
	for _, p := range [2]TiltPoint{w.s.Now, w.s.Best} {
		if !slices.Contains(tilts, p.Tilt) {
			tilts = append(tilts, p.Tilt)
		}
	}
	r := newRocker(l, w.m.Rest, tilts, w.o.Allowed)
	r.stop, r.told = w.o.Stop, w.o.Progress
	return r.search(w.o.Sequences)
}
