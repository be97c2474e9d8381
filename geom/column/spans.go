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
	count := make([]int32, len(s.bodies))
	n = 0
	for line := range len(start) - 1 {
		l.Start[line] = int32(n)
		if c := keys[start[line]:start[line+1]]; len(c) > 0 {
			order(c)
			n = s.line(l, c, count, n)
		}
	}
	l.Start[len(start)-1] = int32(n)
	l.Lo, l.Hi, l.LoFacet, l.HiFacet = l.Lo[:n], l.Hi[:n], l.LoFacet[:n], l.HiFacet[:n]
}

// line walks one line upward, keeping a winding count a body (zero before and
// after), and records its stretches from number n on. It returns the next number.
func (s *Solids) line(l *Lines, c []uint64, count []int32, n int) int {
	first, b, level := n, 0, 0
	for _, key := range c {
		z, f := height(key), int32(key&(leaving-1))
		for f < s.base[b] {
			b--
		}
		for f >= s.base[b+1] {
			b++
		}
		weight := 1
		if b >= len(s.bodies)-s.cuts {
			weight = cutting
		}
		was := level
		if key&leaving == 0 {
			if count[b]++; count[b] == 1 {
				level += weight
			}
		} else {
			if count[b]--; count[b] == 0 {
				level -= weight
			}
		}
		in, now := uint(was-1) < cutting-1, uint(level-1) < cutting-1
		switch {
		case !in && now:
			if n > first && z-l.Hi[n-1] < thin { // go on with the last stretch
				n--
				continue
			}
			l.Lo[n], l.LoFacet[n], l.Hi[n] = z, f, z
		case in && !now:
			if l.Hi[n], l.HiFacet[n] = z, f; z-l.Lo[n] >= thin {
				n++
			}
		}
	}
	if level > 0 && level < cutting && l.Hi[n]-l.Lo[n] >= thin { // what was whole before an open body began
		n++
	}
	odd := false
	for b, k := range count {
		if k != 0 {
			odd, count[b] = true, 0
		}
	}
	if odd {
		l.Odd++
	}
	return n
}
