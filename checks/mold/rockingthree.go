package mold

import (
	"cmp"
	"math"
	"slices"
)

// Sequences of three tilts, looked at where no two free all. What the last traps has to be
// full before, so the first two share that work: those that leave least unfilled between
// them are poured first.

// Bounds of a search for three.
const (
	thirdShares = 4  // shares of what goes in that the block is turned at, first and second time
	thirdTilts  = 2  // last tilts poured from each such state, those that trap least of its air
	thirdPart   = 30 // a beginning costs about as much as so many pairs at most
)

// beginnings lists the pairs of tilts after which a third may free all: with prune, those
// for which one traps nothing of what neither of the two fills before an exit drips. Those
// that miss least come first, of equals, to 1 mm3, the ones with little turning.
func (r *rocker) beginnings() []sequence {
	var out []sequence
	missed := make([]float64, len(r.tilts)*len(r.tilts))
	for a := range r.tilts {
		for b := range r.tilts {
			if a == b {
				continue
			}
			both := r.l.both(r.left[a], r.left[b])
			may := slices.ContainsFunc(r.air, func(air []bool) bool { return r.l.sum(both, air) <= r.least })
			if may || !r.prune {
				out = append(out, sequence{a, b})
				missed[a*len(r.tilts)+b] = math.Round(r.l.sum(both, r.left[a]))
			}
		}
	}
	r.byTurning(out)
	slices.SortStableFunc(out, func(s, t sequence) int {
		return cmp.Compare(missed[s.a*len(r.tilts)+s.b], missed[t.a*len(r.tilts)+t.b])
	})
	return out
}

// both lists the elements in two sets.
func (l *ledger) both(a, b []bool) []int32 {
	var out []int32
	for e, in := range a {
		if in && b[e] {
			out = append(out, int32(e))
		}
	}
	return out
}

// sum is the volume of the listed elements that are in a set.
func (l *ledger) sum(list []int32, in []bool) float64 {
	sum := 0.0
	for _, e := range list {
		if in[e] {
			sum += l.volume[e]
		}
	}
	return sum
}

// tryThird pours the first two tilts at some shares of both, the most resin first, and from
// there the likeliest third ones, and returns the first sequence that frees all. Going back
// to the first tilt is one.
func (r *rocker) tryThird(s sequence) (Rocking, bool) {
	for k := r.thirdShares; k >= 1; k-- {
		one, _ := r.first[s.a].after(r.l, r.empty, r.dry[s.a]*float64(k)/float64(r.thirdShares))
		turned, ok := r.turn(s, one, false)
		if !ok {
			continue
		}
		next := r.l.fill(r.ranks[s.b], turned)
		dry := next.beforeExit(r.l)
		for j := r.thirdShares; j >= 1; j-- {
			two, _ := next.after(r.l, turned, dry*float64(j)/float64(r.thirdShares))
			for _, c := range r.thirds(s.b, two) {
				last, ok := r.turn(sequence{s.b, c}, two, true)
				if !ok {
					continue
				}
				end := r.l.fill(r.ranks[c], last).end
				if left := r.l.trapped(end); left <= r.least {
					return Rocking{Trapped: left, Steps: []RockStep{r.step(s.a, one), r.step(s.b, two), r.step(c, end)}}, true
				}
			}
		}
	}
	return Rocking{}, false
}

// thirds lists the tilts to turn to from b and a state, those that trap least of its air
// first, of equals, to 1 mm3, the ones with little turning; with prune only those that
// trap none.
func (r *rocker) thirds(b int, state []bool) []int {
	air := r.l.airIn(state)
	list := r.l.both(air, air)
	traps, turn := make([]float64, len(r.tilts)), make([]float64, len(r.tilts))
	var out []int
	for c := range r.tilts {
		if c == b {
			continue
		}
		sum := r.l.sum(list, r.air[c])
		if r.prune && sum > r.least {
			continue
		}
		traps[c], turn[c] = math.Round(sum), math.Round((r.tilts[c].Angle+angleBetween(r.ups[b], r.ups[c]))*1e6)
		out = append(out, c)
	}
	slices.SortStableFunc(out, func(c, d int) int {
		return cmp.Or(cmp.Compare(traps[c], traps[d]), cmp.Compare(turn[c], turn[d]))
	})
	if r.thirdTilts > 0 {
		out = out[:min(r.thirdTilts, len(out))]
	}
	return out
}
