package checks

import "math"

// What the checks of the rubber share.

// measured tells whether the rubber was measured, and says so if not.
func (p *Pass) measured() bool {
	switch {
	case p.Places != nil && !p.Places.Together:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the files do not lie together as a mold", p.named})
	case len(p.Rubber) > 0:
		return true
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
	default:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the rubber was not measured", p.named})
	}
	return false
}

// stretchOf returns by how many per cent the rubber of a half is stretched as the
// part leaves, at faces given by their facets: that of the worst undercut on them, 0
// where none is or none was computed.
func (p *Pass) stretchOf(half int, facets []int32) float64 {
	if p.Demolding == nil || half >= len(p.Demolding.Halves) {
		return 0
	}
	beside := make(map[int32]bool, len(facets)) // only ever looked up
	for _, f := range facets {
		beside[f] = true
	}
	most := 0.0
	cuts := p.Demolding.Halves[half].Undercuts
	for i := range cuts {
		u := &cuts[i]
		if u.Stretch == nil {
			continue
		}
		for _, f := range u.Facets {
			if beside[f] {
				most = max(most, 100*(*u.Stretch-1))
				break
			}
		}
	}
	return math.Round(most*100) / 100
}

// inDegrees turns an angle into degrees, to a hundredth.
func inDegrees(rad float64) float64 { return math.Round(rad*(180/math.Pi)*100) / 100 }
