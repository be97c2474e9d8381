package checks

import (
	"fmt"
	"math"
	"slices"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// What the checks of the print share.

// printed tells whether there are prints to judge, and says so if not.
func (p *Pass) printed() bool {
	switch {
	case len(p.Prints) > 0:
		return true
	case p.fault != nil:
		p.CannotJudge(p.fault.Error())
	default:
		p.unjudged = append(p.unjudged, NotJudged{p.check.Name, "the prints were not computed", p.named})
	}
	return false
}

// pose returns the search for a half, nil without one.
func (p *Pass) pose(half int) *mold.PoseSearch {
	for _, s := range p.Poses {
		if s != nil && s.Half == half && len(s.Points) > 0 {
			return s
		}
	}
	return nil
}

// better names the best build direction that the search found, if it costs less
// than half of the present one by cost; empty where there is none.
func (p *Pass) better(half int, cost func(*mold.PosePoint) float64) string {
	s := p.pose(half)
	if s == nil {
		return ""
	}
	best := slices.IndexFunc(s.Points, func(q mold.PosePoint) bool { return q.Best && cost(&q) < cost(&s.Now)/2 })
	if best < 0 {
		return ""
	}
	q := &s.Points[best]
	return fmt.Sprintf("Print it with --build %s=%s: there the film seals %s at most, %s of the part's faces need supports, and it is %s high.",
		s.Name, flagDirection(q.Build), mm2(math.Round(q.CupArea)), mm2(math.Round(q.Scar)), mm(q.Height))
}

// or joins two pieces of advice that stand for each other.
func or(first, second string) string {
	if first == "" || second == "" {
		return first + second
	}
	return first + " Or p" + second[1:]
}

// flagDirection writes a direction as a flag takes it.
func flagDirection(v geom.Vec) string {
	n := func(x float64) string { return figure(math.Round(x*1000)/1000 + 0) }
	return n(v.X) + "," + n(v.Y) + "," + n(v.Z)
}

// assumedBuild says that a build direction was chosen by rule.
func assumedBuild(q *mold.Printed) string {
	if q.Given {
		return ""
	}
	return fmt.Sprintf("The build direction %s is assumed: the parting face looks away from the platform. State yours with --build %s=x,y,z.", way(q.Build), q.Name)
}

// standing says how a half is printed.
func standing(q *mold.Printed) string {
	if q.Flat {
		return "flat on the platform"
	}
	return "on supports"
}
