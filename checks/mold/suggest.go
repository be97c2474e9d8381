package mold

import (
	"cmp"
	"math"
	"math/bits"
	"runtime"
	"slices"
	"sync"

	"pourproof/geom"
)

// maxSuggested is how many pockets get a suggestion, the largest first: every
// choice among their vents is looked at.
const maxSuggested = 12

// candidate is a bore for one pocket and what pouring with it alone shows.
type candidate struct {
	vent  SuggestedVent
	frees uint // bit i: pocket i of the fill is freed
}

// SuggestVents completes f with the fewest straight bores that free its reported
// pockets, the twelve largest at most, in order of gain. Every pocket gives one
// bore, which is proven by closing the mold with that bore alone and pouring
// again; as an opening only ever lets more air out, what a set of them frees is
// what its members free, so the choice among them is exact. The whole set is then
// poured, and what it leaves gets bores of its own, once. The proofs run side by
// side, as many as there are cores.
func (m *Mold) SuggestVents(f *Fill) error {
	f.VentsLeave = f.Trapped
	with, g := m, f
	for range 2 {
		vents, left, err := with.chooseVents(g)
		if err != nil {
			return err
		}
		if len(vents) == 0 {
			break
		}
		f.addVents(vents, g != f, m.Cell)
		if g == f && len(vents) == 1 && left == 0 {
			f.VentsLeave -= vents[0].Frees
			break
		}
		if with, err = with.With(specsOf(vents)); err != nil {
			return err
		}
		if _, g, _, err = with.poured(f.Up); err != nil {
			return err
		}
		f.VentsLeave = g.Trapped
	}
	for i := range f.Vents {
		for _, id := range f.Vents[i].Pockets {
			if p := &f.Pockets[id-1]; p.Vent == nil {
				p.Vent = &f.Vents[i]
			}
		}
	}
	return nil
}

// addVents appends vents; those found for what others leave belong to the pockets
// that their mouths lie in.
func (f *Fill) addVents(vents []SuggestedVent, later bool, cell float64) {
	for _, v := range vents {
		v.ID = len(f.Vents) + 1
		if later {
			v.Pockets = nil
			for k := range f.Pockets {
				if f.air.holds(k, v.Mouth.AddScaled(f.Up, -cell)) {
					v.Pockets = append(v.Pockets, k+1)
				}
			}
		}
		f.Vents = append(f.Vents, v)
	}
}

// chooseVents returns the vents to add, in order of gain, and the volume of the
// pockets looked at that none of them frees.
func (m *Mold) chooseVents(f *Fill) ([]SuggestedVent, float64, error) {
	n := min(len(f.Pockets), maxSuggested)
	list := make([]*candidate, n)
	faults := make([]error, n)
	var wg sync.WaitGroup
	cores := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		wg.Go(func() {
			cores <- struct{}{}
			defer func() { <-cores }()
			list[i], faults[i] = m.prove(f, &f.Pockets[i])
		})
	}
	wg.Wait()
	var found []candidate
	for i, c := range list {
		if faults[i] != nil {
			return nil, 0, faults[i]
		}
		if c != nil {
			found = append(found, *c)
		}
	}
	chosen := cover(found)
	left := 0.0
	for k := range n {
		if !slices.ContainsFunc(chosen, func(i int) bool { return found[i].frees>>k&1 == 1 }) {
			left += f.Pockets[k].Volume
		}
	}
	return inOrderOfGain(f, found, chosen), left, nil
}

// cover returns the smallest set of candidates that together free every pocket
// any of them frees; of equals the one with the shorter bores, then the first. With
// at most twelve candidates all 4096 sets are looked at.
func cover(list []candidate) []int {
	all := uint(0)
	for i := range list {
		all |= list[i].frees
	}
	best, length := uint(1)<<len(list)-1, 0.0
	for i := range list {
		length += list[i].vent.Length
	}
	for set := uint(0); set < 1<<len(list); set++ {
		if bits.OnesCount(set) > bits.OnesCount(best) {
			continue
		}
		freed, sum := uint(0), 0.0
		for i := range list {
			if set>>i&1 == 1 {
				freed |= list[i].frees
				sum += list[i].vent.Length
			}
		}
		if freed == all && (bits.OnesCount(set) < bits.OnesCount(best) || sum < length) {
			best, length = set, sum
		}
	}
	var out []int
	for i := range list {
		// A bore that frees no pocket wholly is kept: it still lets air out.
		if best>>i&1 == 1 || list[i].frees == 0 {
			out = append(out, i)
		}
	}
	return out
}

// inOrderOfGain lists the chosen vents: first the one that frees most, then the one
// that frees most of what is left, and so on.
func inOrderOfGain(f *Fill, list []candidate, chosen []int) []SuggestedVent {
	var out []SuggestedVent
	done := uint(0)
	gain := func(i int) float64 {
		if list[i].frees == 0 {
			return list[i].vent.Frees
		}
		sum := 0.0
		for k := range f.Pockets {
			if (list[i].frees&^done)>>k&1 == 1 {
				sum += f.Pockets[k].Volume
			}
		}
		return sum
	}
	for len(chosen) > 0 {
		i := slices.MaxFunc(chosen, func(a, b int) int { return cmp.Or(cmp.Compare(gain(a), gain(b)), cmp.Compare(b, a)) })
		v := list[i].vent
		v.Gain = gain(i)
		if len(out) == 0 {
			v.Gain = v.Frees
		}
		done |= list[i].frees
		out = append(out, v)
		chosen = slices.DeleteFunc(slices.Clone(chosen), func(k int) bool { return k == i })
	}
	return out
}

// prove looks for a bore for one pocket and pours with it; nil if there is none
// or it frees too little.
func (m *Mold) prove(f *Fill, pk *Pocket) (*candidate, error) {
	v, ok := m.suggest(f, pk)
	if !ok {
		return nil, nil
	}
	with, err := m.With(specsOf([]SuggestedVent{v}))
	if err != nil {
		return nil, nil // the bore cannot be drawn: no suggestion rather than a wrong one
	}
	defer with.forget()
	g, err := with.airLeft(f.Up)
	if err != nil {
		return nil, err
	}
	v.Frees = f.Trapped - g.trapped
	if v.Frees < min(reported, pk.Volume/2) {
		return nil, nil
	}
	c := candidate{vent: v}
	for k := range f.Pockets {
		if k < maxSuggested && f.air.share(k, g.air)*f.Pockets[k].Volume < reported {
			c.frees |= 1 << k
			c.vent.Pockets = append(c.vent.Pockets, k+1)
		}
	}
	if c.frees == 0 {
		c.vent.Pockets = []int{pk.ID}
	}
	return &c, nil
}

func specsOf(vents []SuggestedVent) []BoreSpec {
	var out []BoreSpec
	for i := range vents {
		v := &vents[i]
		out = append(out, BoreSpec{At: v.Mouth, Diameter: v.Diameter, Direction: &v.Direction})
	}
	return out
}

// spot returns the column that a CAD point lies in, and its height in quanta.
func (a *airField) spot(p geom.Vec) (x, y int32, z float64) {
	q := a.lat.Place(p)
	s := 1 / float64(int64(1)<<a.lat.Bits)
	return int32(math.Floor(q.X*s + 0.5)), int32(math.Floor(q.Y*s + 0.5)), q.Z
}

// holds tells whether a place lies in the air of the n-th pocket.
func (a *airField) holds(n int, p geom.Vec) bool {
	x, y, z := a.spot(p)
	return slices.ContainsFunc(a.columns[n], func(c airColumn) bool { return c.x == x && c.y == y && z >= float64(c.lo) && z <= float64(c.hi) })
}

// share returns how much of the n-th pocket's air is still air in b: three places
// of every column are looked at.
func (a *airField) share(n int, b *airField) float64 {
	at := map[[2]int32][]airColumn{} // only ever looked up
	for k := range b.columns {
		for _, c := range b.columns[k] {
			at[[2]int32{c.x, c.y}] = append(at[[2]int32{c.x, c.y}], c)
		}
	}
	in, all := int64(0), int64(0)
	for _, c := range a.columns[n] {
		weight := int64(c.hi - c.lo)
		for _, sixth := range [3]int64{1, 3, 5} {
			x, y, z := b.spot(a.lat.Point(a.lat.At(0, int(c.x)), a.lat.At(1, int(c.y)), c.lo+int32(weight*sixth/6)))
			all += weight
			if slices.ContainsFunc(at[[2]int32{x, y}], func(d airColumn) bool { return z >= float64(d.lo) && z <= float64(d.hi) }) {
				in += weight
			}
		}
	}
	if all == 0 {
		return 0
	}
	return float64(in) / float64(all)
}

// With returns the closed mold with more bores tried out. The halves, the part's
// fit and the outside are shared.
func (m *Mold) With(specs []BoreSpec) (*Mold, error) {
	n := *m
	n.Job.Vents = append(slices.Clone(m.Job.Vents), specs...)
	n.bores = slices.Clone(m.bores)
	n.Channels, n.labels, n.before = nil, nil, m
	if err := n.addBores(specs); err != nil {
		return nil, err
	}
	if err := n.sortBored(); err != nil {
		return nil, err
	}
	n.assignRoles()
	return &n, nil
}

// sortedAt returns the mold with its space sorted at a pitch of its own.
func (m *Mold) sortedAt(pitch float64) (*Mold, error) {
	n := *m
	n.Channels, n.labels, n.before = nil, nil, nil
	if err := n.sort(pitch); err != nil {
		return nil, err
	}
	n.assignRoles()
	return &n, nil
}
