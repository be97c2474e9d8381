package mold

import (
	"cmp"
	"math"

	"pourproof/geom"
	"pourproof/geom/column"
)

// pullFrom says how a pull was found: its source, and the share of the parting face that lies
// within 30 deg of square to it.
type pullFrom struct {
	source PullSource
	share  float64
}

// pulls returns, per half, the direction in which it leaves the part: the one stated, or
// against the outward normal of its parting face, the part of its surface that faces
// another half within the seal width, or near it if none does. Sides of keys cancel in
// the mean. Of a parting face that looks several ways (a step, three halves that meet)
// it is the way with the least of the part ahead of the rubber. A half without a parting
// face (or one all around it) pulls away from the middle of the others.
func (m *Mold) pulls() []geom.Vec {
	f := m.fixed
	out := make([]geom.Vec, len(f.halves))
	m.pullFrom = make([]pullFrom, len(f.halves))
	for h := range f.halves {
		if p := m.Halves[h].Pull; p != nil {
			out[h], m.pullFrom[h] = p.Unit(), pullFrom{source: PullGiven}
			continue
		}
		face := m.partingFace(h, m.Seal)
		if face.area == 0 { // the halves stand apart: where they would meet
			face = m.partingFace(h, facingReach)
		}
		if pull, from, ok := m.pullOf(h, face); ok {
			out[h], m.pullFrom[h] = pull, from
			continue
		}
		m.pullFrom[h].source = PullMiddle
		rest := geom.EmptyBox()
		for o := range f.halves {
			if o != h {
				rest = rest.Union(f.halves[o].Box())
			}
		}
		out[h] = f.halves[h].Box().Center().Sub(rest.Center()).Unit()
		if out[h] == (geom.Vec{}) {
			out[h] = geom.Vec{Z: 1}
		}
	}
	return out
}

// pullOf derives a pull from a parting face; ok is false where it looks nowhere in
// particular.
func (m *Mold) pullOf(half int, face *partingFace) (pull geom.Vec, from pullFrom, ok bool) {
	mean, share := face.around(face.mean())
	if share >= SurePull {
		return squareUp(mean.Neg()), pullFrom{PullParting, share}, true
	}
	ways := face.ways()
	if len(ways) == 0 {
		return pull, from, false
	}
	ahead := make([]int64, len(ways))
	for i := range ways {
		ahead[i] = m.partAhead(half, ways[i].dir)
	}
	best := 0
	for i := range ways {
		if c := cmp.Or(cmp.Compare(ahead[i], ahead[best]), -cmp.Compare(ways[i].share, ways[best].share)); c < 0 {
			best = i
		}
	}
	w := ways[best]
	if len(ways) == 1 {
		return w.dir, pullFrom{PullParting, w.share}, true
	}
	return w.dir, pullFrom{PullFreest, w.share}, true
}

// partAhead returns how many mm3 of a half's rubber have the part ahead of them along a
// pull, rounded to whole ones; all there is where the pull cannot be cast. Slivers along
// walls without draft, where the nearest free column is the next one, do not count.
func (m *Mold) partAhead(half int, pull geom.Vec) int64 {
	s, err := m.castShadow(half, pull)
	if err != nil {
		return math.MaxInt64
	}
	s.measureDepths()
	var quanta int64
	for i := range s.stuck {
		if s.stuck[i].depth > sliverDepth {
			quanta += int64(s.stuck[i].hi - s.stuck[i].lo)
		}
	}
	return int64(math.Round(float64(quanta) * s.lat.Q * s.lat.Pitch() * s.lat.Pitch()))
}

// sliverDepth is the depth in pitches that a wall along the pull can have by where the lattice
// falls: the next column over, straight or across.
const sliverDepth = 1.5

// squareUp takes a direction that a sum over samples left within 0.5 deg of an
// axis of the CAD frame onto that axis: parting planes are drawn square.
func squareUp(d geom.Vec) geom.Vec {
	const near = 0.99996 // cos 0.5 deg
	for _, a := range [6]geom.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
		if d.Dot(a) > near {
			return a
		}
	}
	return d
}

// partingFace is the part of a half's surface that faces another half, sampled where
// lattice lines along the three axes leave or enter the half.
type partingFace struct {
	normals []geom.Vec // outward, per facet that was met
	areas   []int64    // per facet, in 1/areaUnit of a sample
	area    int64      // of all
}

// areaUnit is how many units a sample square to its axis is worth. Whole units keep sums
// free of the order of facets; 2^40 samples fit.
const areaUnit = 1 << 20

// partingFace samples the part of half h's surface that faces another half within some mm.
func (m *Mold) partingFace(h int, within float64) *partingFace {
	f, face := m.fixed, &partingFace{}
	box := f.halves[h].Box()
	s := box.Size()
	lat, err := column.NewLattice(geom.Identity(), box, max(s.X, s.Y, s.Z)/120)
	if err != nil {
		return face
	}
	sol := column.Snap(lat, []*geom.Mesh{f.halves[h]}, nil)
	place := make(map[int32]int)
	var seen []int
	for axis := range 3 {
		sol.Cast(axis).Each(&lat, func(p geom.Vec, facet int32, _ bool) {
			n := sol.Normal(facet)
			if !f.meets(h, p, n, within) {
				return
			}
			i, known := place[facet]
			if !known {
				i = len(seen)
				place[facet] = i
				face.normals, seen = append(face.normals, n), append(seen, 0)
			}
			seen[i]++
		})
	}
	for i, n := range face.normals {
		// Along three axes a facet has been seen |x| + |y| + |z| times its area.
		a := int64(math.Round(areaUnit * float64(seen[i]) / (math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z))))
		face.areas = append(face.areas, a)
		face.area += a
	}
	return face
}

// mean returns the vector area of the whole face, in units.
func (p *partingFace) mean() geom.Vec {
	v, _ := p.within(geom.Vec{}, -1)
	return v
}

// within returns the vector area of the facets whose normals lie within the angle of a
// cosine of a direction, and their area.
func (p *partingFace) within(dir geom.Vec, cos float64) (geom.Vec, int64) {
	var x, y, z, area int64
	for i, n := range p.normals {
		if n.Dot(dir) >= cos {
			a := float64(p.areas[i])
			x, y, z = x+int64(math.Round(a*n.X)), y+int64(math.Round(a*n.Y)), z+int64(math.Round(a*n.Z))
			area += p.areas[i]
		}
	}
	return geom.Vec{X: float64(x), Y: float64(y), Z: float64(z)}, area
}

// around returns the direction in which the face looks near dir, and the share of the
// face within 30 deg of it. It closes in on what is flat: the mean of what lies within
// 30, 10 and 3 deg, as long as half of it is kept.
func (p *partingFace) around(dir geom.Vec) (geom.Vec, float64) {
	if dir == (geom.Vec{}) || p.area == 0 {
		return dir, 0
	}
	dir = dir.Unit()
	last := int64(0)
	for _, cos := range [3]float64{facingAway, 0.985, 0.9986} {
		sum, area := p.within(dir, cos)
		if sum == (geom.Vec{}) || 2*area < last {
			break
		}
		dir, last = roundUnit(sum.Unit()), area
	}
	_, area := p.within(dir, facingAway)
	return dir, float64(area) / float64(p.area)
}

// lookingWay is a pull against one of the ways in which a parting face looks.
type lookingWay struct {
	dir   geom.Vec
	share float64 // of the face, within 30 deg of square to it
}

// leastShare is the share of the face below which it looks nowhere in particular.
const leastShare = 0.1

// ways returns the pulls that a parting face suggests: against its mean unless its normals
// cancel, and against what lies around each of 26 directions, which leave no place of
// the sphere farther than 30 deg away.
func (p *partingFace) ways() []lookingWay {
	var out []lookingWay
	add := func(n geom.Vec, share float64) {
		w := lookingWay{squareUp(n.Neg()), share}
		for _, o := range out {
			if o.dir.Dot(w.dir) > sameWay {
				return
			}
		}
		out = append(out, w)
	}
	mean := p.mean()
	if mean.Norm() > leastShare*float64(p.area) {
		n := roundUnit(mean.Unit())
		_, near := p.within(n, facingAway)
		add(n, float64(near)/float64(max(p.area, 1)))
	}
	for x := -1.0; x <= 1; x++ {
		for y := -1.0; y <= 1; y++ {
			for z := -1.0; z <= 1; z++ {
				if n, share := p.around(geom.Vec{X: x, Y: y, Z: z}); share >= leastShare {
					add(n, share)
				}
			}
		}
	}
	return out
}

// sameWay is the cosine of 1 deg: pulls closer than that are one.
const sameWay = 0.99985
