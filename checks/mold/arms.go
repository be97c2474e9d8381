package mold

// Arms are channels that meet another one on their way: the runners from one sprue to
// several cavities or several gates of one, vents that are gathered into one. Every
// node of their common void belongs to the mouth it is nearest to, so one channel holds
// the way to the outside, and the others end at it.

// joinArms finds the channels that do not reach the outside by themselves but run into
// one that does, and makes them vents; how wide they meet is judged as for mouths (slitWidth), so
// that a gap of the parting face beside a bore is no arm.
func (w *sorter) joinArms() {
	for found := true; found; {
		found = false
		for n := range w.m.Channels {
			c := &w.m.Channels[n]
			if c.Role != Blind {
				continue
			}
			if trunk := w.trunkOf(n); trunk > 0 {
				c.Joins, c.Role, found = trunk, Vent, true
			}
		}
	}
}

// trunkOf returns the number of the channel that leads to the outside and that a blind
// one meets over the most steps, 0 for none.
func (w *sorter) trunkOf(n int) int {
	steps := make([]int, len(w.m.Channels))
	wide := make([]bool, len(w.m.Channels))
	for _, x := range w.m.nodes.members[n] {
		w.around(x, func(y int32) {
			l := w.of[y]
			if l < firstChannel || l&material != 0 {
				return
			}
			o := int(l - firstChannel)
			if o == n || w.m.Channels[o].Role == Blind {
				return
			}
			steps[o]++
			if !wide[o] {
				_, near := w.m.wallWithin(w.point(x), slitWidth/2)
				wide[o] = !near
			}
		})
	}
	best := 0
	for o, s := range steps {
		if wide[o] && (best == 0 || s > steps[best-1]) {
			best = o + 1
		}
	}
	return best
}

// leadsTo returns the label at which a channel ends: the outside, the channel that it
// joins, or nothing.
func leadsTo(c *Channel) label {
	switch {
	case c.Joins != 0:
		return firstChannel + label(c.Joins-1)
	case c.Role == Blind:
		return nothing
	}
	return beyond
}

// armExits gives arms the exit of the channel that leads them to the outside.
func (m *Mold) armExits() {
	for n := range m.Channels {
		if c := &m.Channels[n]; c.Joins != 0 {
			c.Exit = m.trunk(c).Exit
		}
	}
}

// trunk returns the channel by which a channel reaches the outside, itself unless it is
// an arm.
func (m *Mold) trunk(c *Channel) *Channel {
	for c.Joins != 0 {
		c = &m.Channels[c.Joins-1]
	}
	return c
}

// SameExit tells whether two channels reach the outside at one place: arms of one
// channel, or two that share its outer end.
func SameExit(a, b *Channel) bool {
	return a.Exit != nil && b.Exit != nil && a.Exit.Dist(*b.Exit) < min(a.Diameter, b.Diameter)/2
}

// armsOfGates makes gates of the channels that leave by a gate's exit: the syringe that
// seals it seals them.
func (m *Mold) armsOfGates() {
	for n := range m.Channels {
		if m.Channels[n].Role != Gate {
			continue
		}
		assumed := m.Channels[n].Assumed
		for o := range m.Channels {
			c := &m.Channels[o]
			if c.Role == Vent && !c.Tried && SameExit(m.trunk(&m.Channels[n]), m.trunk(c)) {
				c.Role, c.Assumed = Gate, assumed
			}
		}
	}
}
