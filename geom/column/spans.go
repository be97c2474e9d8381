package column

// thin is the thickness in quanta below which a stretch of material or of space
// is rounding and not shape: a crossing's height is off by at most half a
// quantum from rounding, so two crossings of one place differ by at most 1, and
// 2 is the first thickness that must be real.
const thin = 2

// spans turns the sorted crossings of every line into stretches of material.
func (s *Solids) spans(l *Lines, hits []crossing, start []int32) {
	l.Start = make([]int32, len(start))
	count := make([]int32, len(s.bodies))
	solids := len(s.bodies) - s.cuts
	for line := 0; line < len(start)-1; line++ {
		c := hits[start[line]:start[line+1]]
		if len(c) > 0 {
			s.line(l, c, count, solids, int(l.Start[line]))
		}
		l.Start[line+1] = int32(len(l.Lo))
	}
}

// line walks one line upward, keeps a winding count a body, and records where
// the line is in material: some solid body's count is positive and no cut's is.
func (s *Solids) line(l *Lines, c []crossing, count []int32, solids, first int) {
	clear(count)
	in, out := 0, 0 // bodies with a positive count: solids, cuts
	b, material := 0, false
	for i := range c {
		f := c[i].tag >> 1
		for f < s.base[b] {
			b--
		}
		for f >= s.base[b+1] {
			b++
		}
		was := count[b] > 0
		if c[i].tag&1 == 1 {
			count[b]++
		} else {
			count[b]--
		}
		if is := count[b] > 0; is != was {
			step := 1
			if !is {
				step = -1
			}
			if b < solids {
				in += step
			} else {
				out += step
			}
		}
		if now := in > 0 && out == 0; now != material {
			material = now
			if now {
				l.open(c[i].z, f, first)
			} else {
				l.close(c[i].z, f)
			}
		}
	}
	if material { // an open body: no way out of the material was met
		l.close(l.Hi[len(l.Hi)-1], l.HiFacet[len(l.Hi)-1])
	}
	for _, n := range count {
		if n != 0 {
			l.Odd++
			break
		}
	}
}

// open begins a stretch at z, or goes on with the last one where less than
// thin lies between.
func (l *Lines) open(z, f int32, first int) {
	if n := len(l.Lo); n > first && z-l.Hi[n-1] < thin {
		return
	}
	l.Lo, l.LoFacet = append(l.Lo, z), append(l.LoFacet, f)
	l.Hi, l.HiFacet = append(l.Hi, z), append(l.HiFacet, f)
}

// close ends the last stretch at z and drops it if it is thin.
func (l *Lines) close(z, f int32) {
	n := len(l.Lo) - 1
	l.Hi[n], l.HiFacet[n] = z, f
	if z-l.Lo[n] < thin {
		l.drop()
	}
}

func (l *Lines) drop() {
	n := len(l.Lo) - 1
	l.Lo, l.LoFacet = l.Lo[:n], l.LoFacet[:n]
	l.Hi, l.HiFacet = l.Hi[:n], l.HiFacet[:n]
}
