package mold

import (
	"cmp"
	"math"
	"slices"

	"pourproof/geom"
)

// Demolding says how the part leaves the halves.
type Demolding struct {
	Halves []Release // in the order of the job
	Order  []int     // halves in the order to take them off; the part stays in the last
	Plugs  []Plug    // cured plugs wider beyond a neck than at it
}

// Release is how one half leaves the part.
type Release struct {
	Half      int
	Name      string
	Pull      geom.Vec
	From      PullSource
	Share     float64 // of the parting face that lies within 30 deg of square to the pull, 0 to 1; 0 without one
	Undercuts []Undercut
	Walls     []SteepWall // undrafted, deepest first
	Peel      Peel
	// Face is the area in mm2 of the part as seen along the pull: air pressure times it
	// bounds the force that suction under the part can hold with.
	Face float64
}

// PullSource says where a pull direction comes from.
type PullSource string

// The sources of a pull direction.
const (
	PullGiven   PullSource = "given"   // by the user
	PullParting PullSource = "parting" // square to the parting face
	PullFreest  PullSource = "freest"  // the parting face looks several ways: the one with the least of the part ahead
	PullMiddle  PullSource = "middle"  // away from the other halves: there is no parting face to speak of
)

// SurePull is the share of the parting face square to a derived pull from which it is
// taken as sure: keys and small steps stay above it.
const SurePull = 0.8

// Sure tells whether the pull was stated, follows from a parting face that is flat as a
// whole, or is the freest of several with nothing in the way.
func (r *Release) Sure() bool {
	switch r.From {
	case PullGiven:
		return true
	case PullParting:
		return r.Share >= SurePull
	case PullFreest:
		return len(r.Undercuts) == 0
	}
	return false
}

// Peel is where and which way a half comes off first.
type Peel struct {
	At     geom.Vec // on the outer edge of the half's parting face
	Toward geom.Vec // unit, square to the pull: the way the opening runs from there
	Why    PeelReason
}

// PeelReason says what decides where the peel starts.
type PeelReason string

// The reasons, in the order they are asked for.
const (
	PeelFree  PeelReason = "free side" // the part is held on the far side only
	PeelAlong PeelReason = "along"     // it is held on two opposite sides, the opening runs between them
	PeelShort PeelReason = "short end" // nothing holds it on one side: a narrow front takes the least force
)

// Plug is cured resin in a channel that is wider beyond its neck than at it.
type Plug struct {
	Channel int
	Stretch float64 // widest beyond / neck - 1
	At      geom.Vec
}

// Demold works out how the part leaves the halves along their pulls: what stands in the
// way, walls without draft, where to begin and in which order. Cost: a cast of a few
// hundred lines a side and a distance transform for each slice with undercut rubber, per
// half; the channels are read from the closed mold.
func (m *Mold) Demold() (*Demolding, error) {
	d := &Demolding{}
	for h := range m.Halves {
		cuts, s, err := m.undercuts(h, m.Pulls[h])
		if err != nil {
			return nil, err
		}
		r := Release{Half: h, Name: m.Halves[h].Name, Pull: m.Pulls[h], From: m.pullFrom[h].source, Share: m.pullFrom[h].share,
			Undercuts: cuts, Walls: m.steepWalls(h, m.Pulls[h])}
		for _, t := range s.top {
			if t != uncovered {
				r.Face += float64(s.lat.Pitch() * s.lat.Pitch())
			}
		}
		r.Peel = s.peel(cuts)
		d.Halves = append(d.Halves, r)
	}
	d.order()
	for i := range m.Channels {
		c := &m.Channels[i]
		if c.Diameter > 0 && c.WidestBeyond > c.Diameter {
			d.Plugs = append(d.Plugs, Plug{c.ID, c.WidestBeyond/c.Diameter - 1, c.Narrowest})
		}
	}
	return d, nil
}

// hold orders halves by how fast they hold the part: by the stretch they need, rubber
// without a way to give above all, then by undrafted walls.
func (r *Release) hold() (stretch, walls float64) {
	for i := range r.Undercuts {
		u := &r.Undercuts[i]
		if u.Stretch == nil {
			stretch = math.Inf(1)
		} else {
			stretch = max(stretch, *u.Stretch-1)
		}
	}
	for i := range r.Walls {
		walls += r.Walls[i].Area
	}
	// A hundredth of stretch and a square millimetre make no difference to a hand.
	return math.Round(stretch*100) / 100, math.Round(walls)
}

// order puts the half that holds least first: the part then stays in the others and is
// not dragged along.
func (d *Demolding) order() {
	for h := range d.Halves {
		d.Order = append(d.Order, h)
	}
	slices.SortStableFunc(d.Order, func(a, b int) int {
		s, v := d.Halves[a].hold()
		t, w := d.Halves[b].hold()
		return cmp.Or(cmp.Compare(s, t), cmp.Compare(v, w))
	})
}

// oneSided is the length, 0 to 1, of the mean way from which undercuts lie on one side.
const oneSided = 0.3

// peel decides where the half comes off first. An undercut on one side lets go last:
// the opening starts at the free side and runs towards it. Undercuts on two opposite
// sides let the opening run between them. Else it runs the long way of the half.
func (s *shadow) peel(cuts []Undercut) Peel {
	var sum geom.Vec
	var uu, uv, vv, weight float64
	fx, fy := s.lat.Frame.X, s.lat.Frame.Y
	for i := range cuts {
		c := &cuts[i]
		w := float64(c.Depth * c.Volume)
		sum = sum.AddScaled(c.Mean, w)
		x, y := c.Side.Dot(fx), c.Side.Dot(fy)
		if n := c.Mean.Norm(); n > oneSided {
			x, y = c.Mean.Dot(fx)/n, c.Mean.Dot(fy)/n
		} else {
			w = 0 // a ring holds all ways
		}
		uu, uv, vv = uu+float64(w*float64(x*x)), uv+float64(w*float64(x*y)), vv+float64(w*float64(y*y))
		weight += float64(c.Depth * c.Volume)
	}
	if weight > 0 && sum.Norm() > oneSided*weight {
		return s.peelFrom(sum.Unit(), PeelFree)
	}
	if uu+vv > 0 {
		a, b, ok := leastAxis(uu, uv, vv)
		if ok {
			return s.freeEnd(s.flat(a, b), PeelAlong)
		}
	}
	return s.freeEnd(s.longAxis(), PeelShort)
}

// leastAxis returns the unit axis along which a symmetric form is least, and false where
// it is much the same all ways.
func leastAxis(uu, uv, vv float64) (x, y float64, ok bool) {
	d := math.Sqrt(float64((uu-vv)*(uu-vv)) + float64(4*uv*uv))
	if d < 0.1*math.Abs(uu+vv) {
		return 0, 0, false
	}
	low := (uu + vv - d) / 2
	// Of the two rows of (form - low), which both are square to the axis, the longer.
	a, b := uu-low, uv
	if c, e := uv, vv-low; float64(c*c)+float64(e*e) > float64(a*a)+float64(b*b) {
		a, b = c, e
	}
	n := math.Sqrt(float64(a*a) + float64(b*b))
	return -b / n, a / n, true
}

// longAxis returns the way in which the half, seen along the pull, is longest; one of its
// own frame's where it is about as long all ways.
func (s *shadow) longAxis() geom.Vec {
	cu, cv := s.middle()
	var uu, uv, vv float64
	for c := range s.top {
		if s.rubber.Start[c] < s.rubber.Start[c+1] {
			x, y := float64(c/s.nv)-cu, float64(c%s.nv)-cv
			uu, uv, vv = uu+float64(x*x), uv+float64(x*y), vv+float64(y*y)
		}
	}
	a, b, ok := leastAxis(-uu, -uv, -vv)
	if !ok {
		a, b = 1, 0
	}
	return squareUp(s.flat(a, b))
}

// middle returns the middle of the part's columns, in pitches.
func (s *shadow) middle() (u, v float64) {
	n := 0.0
	for c, t := range s.top {
		if t != uncovered {
			u, v, n = u+float64(c/s.nv), v+float64(c%s.nv), n+1
		}
	}
	if n == 0 {
		return float64(s.nu) / 2, float64(s.nv) / 2
	}
	return u / n, v / n
}

// freeEnd picks of two opposite ways the one that starts nearer to the outer edge, where
// there is less rubber to lift.
func (s *shadow) freeEnd(axis geom.Vec, why PeelReason) Peel {
	axis = unsigned(axis)
	p, q := s.peelFrom(axis, why), s.peelFrom(axis.Neg(), why)
	mid := s.partMiddle()
	if q.At.Dist(mid) < p.At.Dist(mid)-s.lat.Pitch() {
		return q
	}
	return p
}

func (s *shadow) partMiddle() geom.Vec {
	u, v := s.middle()
	return s.point(int32(math.Round(u))*int32(s.nv)+int32(math.Round(v)), 0)
}

// peelFrom walks from the middle of the part against the way of the opening, to the last
// column with rubber of the half: its outer edge, at the height of its parting face.
func (s *shadow) peelFrom(toward geom.Vec, why PeelReason) Peel {
	p := Peel{Toward: squareUp(roundUnit(toward)), Why: why}
	du, dv := toward.Dot(s.lat.Frame.X), toward.Dot(s.lat.Frame.Y)
	cu, cv := s.middle()
	p.At = s.partMiddle()
	for k := 0; ; k++ {
		u, v := int(math.Round(cu-float64(float64(k)*du))), int(math.Round(cv-float64(float64(k)*dv)))
		if u < 0 || v < 0 || u >= s.nu || v >= s.nv {
			return p
		}
		c := int32(u*s.nv + v)
		if i := s.rubber.Start[c]; i < s.rubber.Start[c+1] {
			p.At = s.point(c, s.rubber.Lo[i])
		}
	}
}
