package column

// closeUpright takes gaps out of the runs: those that runs cross whole, and the
// nodes in gaps closed along x or y. Where a run passes from open space into such a
// gap, the cut lies at the nearest end of material in a neighboring column between
// the two nodes, else half-way. What is left between a gap and a surface, or two
// gaps, is closed too where it is shorter than the seal width: the corner where two
// gaps meet.
func (sp *Space) closeUpright(gaps []Gap, seal int32) {
	old, into := *sp, fields.take()
	n := len(old.Lo)
	sp.Start = sized(into.Start, len(old.Start))[:0]
	sp.Lo, sp.Hi = sized(into.Lo, n)[:0], sized(into.Hi, n)[:0]
	sp.LoFacet, sp.HiFacet = sized(into.LoFacet, n)[:0], sized(into.HiFacet, n)[:0]
	done := 0 // columns
	for c := 0; c+1 < len(old.Start); c++ {
		for len(gaps) > 0 && gaps[0].column(sp.N[1]) < c { // passed, or beyond the lattice
			gaps = gaps[1:]
		}
		here := len(gaps) > 0 && gaps[0].column(sp.N[1]) == c
		if !here && !old.sealedIn(c) {
			continue
		}
		sp.copyRuns(&old, done, c)
		sp.Start = append(sp.Start, int32(len(sp.Lo)))
		done = c + 1
		for r := old.Start[c]; r < old.Start[c+1]; r++ {
			for here && gaps[0].Hi <= old.Lo[r] {
				gaps = gaps[1:]
				here = len(gaps) > 0 && gaps[0].column(sp.N[1]) == c
			}
			if !here || gaps[0].Lo >= old.Hi[r] {
				old.cutRun(sp, c/sp.N[1], c%sp.N[1], r, seal)
			}
		}
	}
	sp.copyRuns(&old, done, len(old.Start)-1)
	sp.Start = append(sp.Start, int32(len(sp.Lo)))
	*into = Lines{Start: old.Start, Lo: old.Lo, Hi: old.Hi, LoFacet: old.LoFacet, HiFacet: old.HiFacet}
	fields.giveBack(into)
}

// sealedIn tells whether a column has nodes in gaps closed along x or y.
func (sp *Space) sealedIn(c int) bool {
	if sp.sealed == nil {
		return false
	}
	some := uint64(0)
	for _, w := range sp.sealed[c*sp.words : (c+1)*sp.words] {
		some |= w
	}
	return some != 0
}

// cutRun adds to out what is left of a run.
func (sp *Space) cutRun(out *Space, i, j int, r, seal int32) {
	lo, hi, f := sp.Lo[r], sp.Hi[r], sp.LoFacet[r]
	k0, k1 := max(sp.NodeAbove(2, lo+1), 0), min(sp.NodeBelow(2, hi-1), sp.N[2]-1)
	base := sp.bit(i, j, 0)
	in := false // in a gap
	if sp.sealed == nil {
		k0 = k1 + 1
	}
	for k := k0; ; k++ {
		if in {
			k = firstZero(sp.sealed, base+k, base+k1) - base
		} else {
			k = firstOne(sp.sealed, base+k, base+k1) - base
		}
		if k > k1 {
			break
		}
		in = !in
		at := max(lo, sp.gapEnd(i, j, sp.At(2, k)-int32(1)<<sp.Bits, sp.At(2, k), seal, in))
		if k == k0 { // the gap begins within the run's first pitch
			at = lo
		}
		if in && at-lo >= seal {
			out.add(lo, at, f, Sealed)
		}
		lo, f = at, Sealed
	}
	if !in && (f != Sealed || hi-lo >= seal) {
		out.add(lo, hi, f, sp.HiFacet[r])
	}
}

// gapEnd finds where a gap begins (entering) or ends between two heights: at the end
// of material in the nearest columns that show one, no farther away than a gap of
// the seal width reaches along a row, sqrt(2) times its width. Half-way if none does.
func (sp *Space) gapEnd(i, j int, lo, hi, seal int32, entering bool) int32 {
	for d := 1; d <= int(3*seal/2)>>sp.Bits+1; d++ {
		best, found := int32(0), false
		for _, c := range [4][2]int{{i - d, j}, {i + d, j}, {i, j - d}, {i, j + d}} {
			z, ok := sp.endIn(c[0], c[1], lo, hi, entering)
			if ok && (!found || entering && z > best || !entering && z < best) {
				best, found = z, true
			}
		}
		if found {
			return best
		}
	}
	return lo + (hi-lo)/2
}

// endIn returns the highest end of a run (entering) or the lowest beginning of one
// between two heights of a column.
func (sp *Space) endIn(i, j int, lo, hi int32, entering bool) (best int32, found bool) {
	if i < 0 || j < 0 || i >= sp.N[0] || j >= sp.N[1] {
		return 0, false
	}
	c := i*sp.N[1] + j
	for r := sp.Start[c]; r < sp.Start[c+1]; r++ {
		z := sp.Lo[r]
		if entering {
			z = sp.Hi[r]
		}
		if z >= lo && z <= hi && (entering || !found) {
			best, found = z, true
		}
	}
	return best, found
}
