package column

// thin is the thickness in quanta below which a stretch of material or of space
// is rounding and not shape: a crossing's height is off by at most half a
// quantum from rounding, so two crossings of one place differ by at most 1, and
// 2 is the first thickness that must be real.
const thin = 2

// cutting is the weight of a cut in a level: above the number of bodies.
const cutting = 1 << 30

// spans turns the crossings of every line, sorted by line, into stretches of
// material: where some solid body's winding count is positive and no cut's is. With
// a weight of 1 for each solid body and of cutting for each cut that holds the
// place, that is where the level lies between 0 and cutting.
func (s *Solids) spans(l *Lines, keys []uint64, start []int32) {
	l.Start = sized(l.Start, len(start))
	// A stretch that was kept has two crossings, the one in hand at least one.
	n := len(keys)/2 + 1
	l.Lo, l.Hi = sized(l.Lo, n), sized(l.Hi, n)
	l.LoFacet, l.HiFacet = sized(l.LoFacet, n), sized(l.HiFacet, n)
	w := walk{base: s.base, count: make([]int32, len(s.bodies)), solids: len(s.bodies) - s.cuts}
	n = 0
	for line := range len(start) - 1 {
		l.Start[line] = int32(n)
		from, to := start[line], start[line+1]
		if from == to {
			continue
		}
		c := keys[from:to]
		if len(c) == 2 { // as most lines have
			a, b := min(c[0], c[1]), max(c[0], c[1])
			if w.through(a, b) {
				if l.Lo[n], l.Hi[n] = height(a), height(b); l.Hi[n]-l.Lo[n] >= thin {
					l.LoFacet[n], l.HiFacet[n] = int32(a&(leaving-1)), int32(b&(leaving-1))
					n++
				}
				continue
			}
			c[0], c[1] = a, b
		}
		if len(c) > 2 {
			order(c)
		}
		n = w.line(l, c, n)
	}
	l.Start[len(start)-1] = int32(n)
	l.Odd = w.odd
	l.Lo, l.Hi, l.LoFacet, l.HiFacet = l.Lo[:n], l.Hi[:n], l.LoFacet[:n], l.HiFacet[:n]
}

// walk goes along one line after the other and keeps a winding count a body, zero
// before and after every line.
type walk struct {
	base   []int32
	count  []int32
	solids int // bodies that are no cuts
	odd    int
	met    met
}

// met is the body of the facet met last, mostly the next one's too.
type met struct {
	body, weight int
	from, to     int32 // its facets
}

func (w *walk) meet(f int32) met {
	b := 0
	for f >= w.base[b+1] {
		b++
	}
	m := met{b, 1, w.base[b], w.base[b+1]}
	if b >= w.solids {
		m.weight = cutting
	}
	return m
}

// through tells whether a line of two crossings enters a solid body and leaves it.
func (w *walk) through(a, b uint64) bool {
	f, g := int32(a&(leaving-1)), int32(b&(leaving-1))
	if f < w.met.from || f >= w.met.to {
		w.met = w.meet(f)
	}
	return a&leaving == 0 && b&leaving != 0 && g >= w.met.from && g < w.met.to && w.met.weight == 1
}

// line records the stretches of one line from number n on and returns the next
// number.
func (w *walk) line(l *Lines, c []uint64, n int) int {
	first, level, m, counted := n, 0, w.met, false
	for i := 0; i < len(c); i++ {
		key := c[i]
		z, f := height(key), int32(key&(leaving-1))
		if f < m.from || f >= m.to {
			m = w.meet(f)
		}
		if level == 0 && key&leaving == 0 && i+1 < len(c) && m.weight == 1 && w.count[m.body] == 0 {
			// Mostly the line leaves the body again before it meets another.
			next := c[i+1]
			if g := int32(next & (leaving - 1)); next&leaving != 0 && g >= m.from && g < m.to {
				if n > first && z-l.Hi[n-1] < thin { // go on with the last stretch
					n--
				} else {
					l.Lo[n], l.LoFacet[n] = z, f
				}
				if l.Hi[n], l.HiFacet[n] = height(next), g; l.Hi[n]-l.Lo[n] >= thin {
					n++
				}
				i++
				continue
			}
		}
		counted = true
		was := uint(level-1) < cutting-1
		if key&leaving == 0 {
			if w.count[m.body]++; w.count[m.body] == 1 {
				level += m.weight
			}
		} else {
			if w.count[m.body]--; w.count[m.body] == 0 {
				level -= m.weight
			}
		}
		now := uint(level-1) < cutting-1
		switch {
		case now == was:
		case now && n > first && z-l.Hi[n-1] < thin: // go on with the last stretch
			n--
		case now:
			l.Lo[n], l.LoFacet[n], l.Hi[n] = z, f, z
		default:
			if l.Hi[n], l.HiFacet[n] = z, f; z-l.Lo[n] >= thin {
				n++
			}
		}
	}
	w.met = m
	if !counted {
		return n
	}
	return w.close(l, n, level)
}

// close puts the counts back to zero. On a line that met an open body it drops the
// stretch in hand, except for what was whole before that body began.
func (w *walk) close(l *Lines, n, level int) int {
	open := false
	for b, k := range w.count {
		if k != 0 {
			open, w.count[b] = true, 0
		}
	}
	if open {
		w.odd++
		if level > 0 && level < cutting && l.Hi[n]-l.Lo[n] >= thin {
			n++
		}
	}
	return n
}
