package mold

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"pourproof/geom"
)

// PosePoint is what one way to lay a half on the platform costs, at the search's
// cell.
type PosePoint struct {
	Build     geom.Vec
	Flat      bool    // on the platform instead of on supports
	CupArea   float64 // mm2, most that is sealed by one layer; passages from the relief width on relieve
	CupVolume float64 // mm3 of those cups
	Scar      float64 // mm2 of faces that shape the part and need supports
	ScarAll   float64 // mm2 of all faces that need supports
	Starts    int     // new solid above nothing
	Height    float64 // mm above the platform, supports included
	Step      float64 // mm, mean layer step on faces that shape the part
	Fits      *bool   // the printer's build volume; nil where that is not given
	Best      bool    // no other way is as good in everything and better in something
	Assumed   bool    // starts, and mostly cups too, not looked at: even without any, other ways are better

	halfDone bool // Assumed, and cups were looked at
}

// PoseSearch is the answer to "how to lay this half?".
type PoseSearch struct {
	Half     int
	Name     string
	Cell     float64
	Spacing  float64     // radians, about, between neighbouring directions of the first round
	Points   []PosePoint // the best ones first, each group in the order of Burden
	Now      PosePoint   // the half's own build direction
	Cast     int         // of Points, whose cups were looked at
	Canceled bool
}

// PoseOptions sets how finely directions are searched.
type PoseOptions struct {
	Directions int      // over the sphere, at least; 0 = 500
	Flat       bool     // the half stands flat now; all other ways are on supports
	Printer    *Printer // nil = the job's
	Cell       float64  // mm; 0 = by rule, coarser than a print's
	Rounds     int      // of refinement around the best; 0 = 3, below 0 none
	Quick      bool     // a first look: one round, coarser columns, and only the three best count
	All        bool     // look at cups and starts of every direction
	Progress   func(done, total int)
	Stop       func() bool // asked between directions
}

// The bounds of a search's lattice: finer shows nothing that decides.
const (
	finestPose   = 0.4
	maxPoseNodes = 400_000
)

// Pose searches directions over the sphere, the six axes and the normals of large
// flat faces, then around the best ones. Its figures are those of coarse columns:
// the direction found is judged by Print. What does not depend on columns is
// worked out first; a direction that is beaten even if it had no cups and no free
// starts is not cast, nor, in a quick search, one that weighs more than the three
// best even so; one that is beaten by its cups is not looked at for starts. Both cores
// work; the answer does not depend on how many there are. Cost: one cast and sweep a
// direction.
func (m *Mold) Pose(half int, o PoseOptions) (*PoseSearch, error) {
	if o.Printer == nil {
		o.Printer = &m.Job.Printer
	}
	build, _ := m.DefaultBuild(half)
	s, err := m.rubber(half).pose(build, o)
	if err != nil {
		return nil, err
	}
	s.Half, s.Name = half, m.Halves[half].Name
	return s, nil
}

// posing is a search under way.
type posing struct {
	*rubber
	o        PoseOptions
	s        *PoseSearch
	plugs    *clearance
	coarse   *rubber      // the half, of a fine mesh with vertices merged that one column holds
	hull     []geom.Vec   // the points farthest out in many directions
	drawn    []drawnFacet // facets that stand for the surface
	spare    sync.Pool    // of *stepped
	known    map[geom.Vec]bool
	total    int
	finished int
}

func (r *rubber) pose(now geom.Vec, o PoseOptions) (*PoseSearch, error) {
	nodes := float64(maxPoseNodes)
	if o.Quick {
		o.Rounds, nodes = 1, maxPoseNodes/4
	}
	if o.Directions == 0 {
		o.Directions = 500
	}
	if o.Rounds == 0 {
		o.Rounds = 3
	}
	room, err := r.rooms[poseRoom]()
	if err != nil {
		return nil, err
	}
	first := SphereDirections(o.Directions)
	s := &PoseSearch{Spacing: math.Sqrt(4 * math.Pi / float64(len(first)))}
	w := &posing{rubber: r, o: o, s: s, plugs: room, known: map[geom.Vec]bool{}}
	w.hull, w.drawn = r.farthest(first), r.drawn(mostDrawn, o.Printer.Layer)
	s.Cell = o.Cell
	if s.Cell == 0 {
		b := r.mesh.Box()
		s.Cell = printCell(b, max(finestPose, r.finest), nodes)
	}
	w.coarse = r.coarsened(s.Cell / 3)
	w.lookAt(now.Unit())
	w.try(append([]geom.Vec{now.Unit()}, append(first, r.faceNormals()...)...))
	for round := range o.Rounds {
		w.try(w.aroundBest(s.Spacing / math.Pow(2, float64(round+1))))
	}
	s.rank()
	for i := range s.Points {
		if p := &s.Points[i]; !p.Assumed || p.halfDone {
			s.Cast++
		}
	}
	return s, nil
}

// mostDrawn is how many facets a search looks at in each direction: with more, areas
// and means are known to about a hundredth, which the grains hide.
const mostDrawn = 20_000

// poseRoom is the number of the passage width just above the relief width: narrower
// ones count as closed.
const poseRoom = 1

// SphereDirections returns at least n directions, the corners of an octahedron whose
// faces are split evenly, so the set has every symmetry of the axes: 4 k^2 + 2.
func SphereDirections(n int) []geom.Vec {
	k := 1
	for 4*k*k+2 < n {
		k++
	}
	var out []geom.Vec
	for x := -k; x <= k; x++ {
		for y := -k; y <= k; y++ {
			z := k - abs(x) - abs(y)
			if z < 0 {
				continue
			}
			out = append(out, geom.Vec{X: float64(x), Y: float64(y), Z: float64(z)}.Unit())
			if z > 0 {
				out = append(out, geom.Vec{X: float64(x), Y: float64(y), Z: -float64(z)}.Unit())
			}
		}
	}
	return out
}

func abs(x int) int { return max(x, -x) }

// faceNormals returns the normals, both ways, of the dozen largest flat faces that
// have a fiftieth of the surface.
func (r *rubber) faceNormals() []geom.Vec {
	type face struct {
		area float64
		n    geom.Vec
	}
	area := make([]float64, r.solid.faces())
	total := 0.0
	for n := range area {
		for _, k := range r.solid.face(int32(n)) {
			area[n] += r.solid.area[k]
		}
		total += area[n]
	}
	var list []face
	for n, a := range area {
		if a >= total/50 {
			list = append(list, face{a, r.solid.normal[r.solid.face(int32(n))[0]]})
		}
	}
	slices.SortStableFunc(list, func(a, b face) int { return cmp.Or(cmp.Compare(b.area, a.area), compareVec(a.n, b.n)) })
	var out []geom.Vec
	for _, f := range list[:min(len(list), 12)] {
		out = append(out, f.n, f.n.Neg())
	}
	return out
}

// aroundBest returns eight directions at an angle around each of the five that weigh
// least.
func (w *posing) aroundBest(angle float64) []geom.Vec {
	s, c := math.Sincos(angle)
	var out []geom.Vec
	for _, p := range w.lightest(5) {
		u, v := p.Build.Perpendicular()
		for k := range 8 {
			sk, ck := octant(k)
			d := u.Scale(ck).AddScaled(v, sk)
			out = append(out, p.Build.Scale(roundAngle(c)).AddScaled(d, roundAngle(s)).Unit())
		}
	}
	return out
}

// lightest returns the n points that weigh least, what was left out of them for being
// beaten worked out now.
func (w *posing) lightest(n int) []PosePoint {
	for {
		order := slices.Clone(w.s.Points)
		slices.SortStableFunc(order, func(a, b PosePoint) int { return cmp.Compare(a.Burden(), b.Burden()) })
		order = order[:min(len(order), n)]
		half := slices.IndexFunc(order, func(p PosePoint) bool { return p.halfDone })
		if half < 0 {
			return order
		}
		for i := range w.s.Points {
			if p := &w.s.Points[i]; p.halfDone && p.Build == order[half].Build {
				p.Assumed, p.halfDone = false, false
				w.columns(p, nil)
			}
		}
	}
}

// lookAt works out the present way to lay the half, whatever it costs.
func (w *posing) lookAt(now geom.Vec) {
	p := PosePoint{Build: now, Flat: w.o.Flat}
	w.surface(&p)
	w.columns(&p, nil)
	w.s.Now, w.s.Points = p, append(w.s.Points, p)
	if !p.Flat {
		w.known[now] = true
	}
}

// try looks at the directions not tried yet.
func (w *posing) try(dirs []geom.Vec) {
	var points []PosePoint
	for _, d := range dirs {
		if d.Finite() && d != (geom.Vec{}) && !w.near(d) {
			w.known[d] = true
			points = append(points, PosePoint{Build: d})
		}
	}
	w.total += len(points)
	w.each(len(points), func(i int) { w.surface(&points[i]) }, false)
	// The most promising first, a few at a time: those done spare others.
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(points[i].Burden(), points[j].Burden()) })
	ok := make([]bool, len(points))
	const batch = 16 // the same on any number of cores
	for from := 0; from < len(order); from += batch {
		part := order[from:min(from+batch, len(order))]
		most := w.thirdBest(points, ok)
		w.each(len(part), func(i int) {
			p := &points[part[i]]
			beaten := func() bool { return !w.o.All && w.beaten(p, points, ok) }
			if p.Assumed = !w.o.All && p.Burden() > most || beaten(); !p.Assumed {
				w.columns(p, beaten)
			}
		}, true)
		for _, i := range part {
			ok[i] = !w.s.Canceled
		}
	}
	for i := range points {
		if ok[i] {
			w.s.Points = append(w.s.Points, points[i])
		}
	}
}

// near tells whether a direction is one that was tried, to 1/1000 deg.
func (w *posing) near(d geom.Vec) bool {
	if w.known[d] {
		return true
	}
	for k := range w.known {
		if k.Dot(d) > 1-1.5e-10 {
			return true
		}
	}
	return false
}

// thirdBest returns, in a quick search, the burden of the third of the best ways
// known so far that lie apart from each other: what a way must not weigh more than
// to be shown. Otherwise, and with fewer known, there is no bound.
func (w *posing) thirdBest(batch []PosePoint, ok []bool) float64 {
	if !w.o.Quick {
		return math.Inf(1)
	}
	var known PoseSearch
	add := func(p *PosePoint) {
		if !p.Assumed {
			known.Points = append(known.Points, *p)
		}
	}
	for i := range w.s.Points {
		add(&w.s.Points[i])
	}
	for i := range batch {
		if ok[i] {
			add(&batch[i])
		}
	}
	known.rank()
	if best := known.Distinct(3); len(best) == 3 {
		return best[2].Burden()
	}
	return math.Inf(1)
}

// beaten tells whether a direction whose cups and starts are not known is beaten even
// if it had none, by one that is known.
func (w *posing) beaten(p *PosePoint, batch []PosePoint, ok []bool) bool {
	for i := range batch {
		if ok[i] && !batch[i].Assumed && batch[i].beats(p) {
			return true
		}
	}
	for i := range w.s.Points {
		if q := &w.s.Points[i]; !q.Assumed && q.beats(p) {
			return true
		}
	}
	return false
}

// each calls work for 0 up to n on all cores until the search is stopped.
func (w *posing) each(n int, work func(i int), counts bool) {
	var lock sync.Mutex
	stopped := func() bool {
		w.s.Canceled = w.s.Canceled || w.o.Stop != nil && w.o.Stop()
		return w.s.Canceled
	}
	sideBySideUntil(n, stopped, func(i int) {
		work(i)
		if !counts {
			return
		}
		lock.Lock()
		defer lock.Unlock()
		w.finished++
		if w.o.Progress != nil {
			w.o.Progress(w.finished, w.total)
		}
	})
}
