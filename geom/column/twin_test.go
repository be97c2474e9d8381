package column

import (
	"cmp"
	"math"
	"math/big"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// twin answers line by line with rays on the unsnapped meshes.
type twin struct {
	s     *Solids
	trees []*bvh.Tree
	buf   []bvh.Hit
	meets []meet
}

type meet struct {
	z     float64 // quanta
	facet int32
	body  int
	sense int8
}

// end is where a line enters or leaves the material, quanta.
type end struct {
	z     float64
	facet int32
}

func newTwin(s *Solids) *twin {
	w := &twin{s: s}
	for _, m := range s.bodies {
		w.trees = append(w.trees, bvh.Build(m))
	}
	return w
}

// noise is where two heights of a ray are the same: the ray cast rounds at 1e-13
// of 100 mm, which is below 1e-5 quanta of a pitch of 0.25 mm.
const noise = 1e-3

// line returns the ends of the stretches of one line, entering and leaving in turn.
func (w *twin) line(axis int, a, b int32) []end {
	s := w.s
	u, v := (axis+1)%3, (axis+2)%3
	var q [3]int32
	q[axis], q[u], q[v] = s.Lattice.At(axis, 0), a, b
	from := s.Lattice.Point(q[0], q[1], q[2])
	dir := [3]geom.Vec{s.Lattice.Frame.X, s.Lattice.Frame.Y, s.Lattice.Frame.Z}[axis]
	length := float64(s.Lattice.N[axis]) * s.Lattice.Pitch()
	w.meets = w.meets[:0]
	for k, tree := range w.trees {
		w.buf = tree.All(from, dir, length, w.buf)
		for _, h := range w.buf {
			w.meets = append(w.meets, meet{float64(q[axis]) + h.Dist/s.Lattice.Q, s.base[k] + h.Facet, k, h.Sense})
		}
	}
	slices.SortStableFunc(w.meets, func(a, b meet) int { return cmp.Compare(a.z, b.z) })
	var ends []end
	count := make([]int, len(w.trees))
	in := false
	for _, m := range w.meets {
		count[m.body] += int(m.sense)
		now := false
		for k, n := range count {
			now = now || n > 0 && k < len(count)-s.cuts
		}
		for k, n := range count {
			now = now && !(n > 0 && k >= len(count)-s.cuts)
		}
		if now == in {
			continue
		}
		in = now
		if n := len(ends); n > 0 && m.z-ends[n-1].z < noise { // faces of two bodies in one place
			ends = ends[:n-1]
			continue
		}
		ends = append(ends, end{m.z, m.facet})
	}
	return ends
}

// blur is by how many quanta snapping may move the height at which a line meets a
// facet's plane: a corner moves by up to 1/2 along the line and sqrt(1/2) across
// it, the point over the same mix of corners by no more, so the height on the
// facet's own plane by 1/2 + slope*sqrt(1/2); rounding adds 1/2.
func (w *twin) blur(axis int, facet int32) float64 {
	dir := [3]geom.Vec{w.s.Lattice.Frame.X, w.s.Lattice.Frame.Y, w.s.Lattice.Frame.Z}[axis]
	c := math.Abs(w.s.Normal(facet).Dot(dir))
	return 1 + math.Sqrt(max(0, 1-c*c)/2)/c + noise
}

// edgeDistance returns how far the nearest edge of any body is from a line, quanta.
func (w *twin) edgeDistance(axis int, a, b int32) float64 {
	u, v := (axis+1)%3, (axis+2)%3
	at := geom.Vec{X: float64(a), Y: float64(b)}
	best := math.Inf(1)
	flat := func(p geom.Vec) geom.Vec {
		p = w.s.Lattice.Place(p)
		c := [3]float64{p.X, p.Y, p.Z}
		return geom.Vec{X: c[u], Y: c[v]}
	}
	for _, m := range w.s.bodies {
		for _, t := range m.Facets {
			p := [3]geom.Vec{flat(m.Vertices[t[0]]), flat(m.Vertices[t[1]]), flat(m.Vertices[t[2]])}
			for k := range p {
				best = min(best, geom.ClosestOnSegment(at, p[k], p[(k+1)%3]).Dist(at))
			}
		}
	}
	return best
}

type tally struct{ lines, ends, nearEdge, thin int }

// compare holds one field of lines against the twin.
func (w *twin) compare(t *testing.T, l *Lines, n *tally) {
	u, v := (l.Axis+1)%3, (l.Axis+2)%3
	for line := 0; line+1 < len(l.Start); line++ {
		a, b := w.s.Lattice.At(u, line/l.NV), w.s.Lattice.At(v, line%l.NV)
		want := w.line(l.Axis, a, b)
		n.lines++
		n.ends += len(want)
		if w.same(l, line, want) {
			continue
		}
		// Snapping moves an edge across the line by at most sqrt(1/2) quanta.
		if w.edgeDistance(l.Axis, a, b) < math.Sqrt(0.5)+noise {
			n.nearEdge++
			continue
		}
		if w.hasThin(l.Axis, want) {
			n.thin++
			continue
		}
		i, j := l.Start[line], l.Start[line+1]
		require.Fail(t, "stretches differ", "axis %d line %d: columns %v-%v, rays %v", l.Axis, line, l.Lo[i:j], l.Hi[i:j], want)
	}
}

func (w *twin) same(l *Lines, line int, want []end) bool {
	i, j := l.Start[line], l.Start[line+1]
	if int(j-i)*2 != len(want) {
		return false
	}
	for k := i; k < j; k++ {
		lo, hi := want[2*(k-i)], want[2*(k-i)+1]
		if math.Abs(float64(l.Lo[k])-lo.z) > w.blur(l.Axis, lo.facet) || math.Abs(float64(l.Hi[k])-hi.z) > w.blur(l.Axis, hi.facet) {
			return false
		}
	}
	return true
}

// hasThin reports whether a stretch or a gap of the line may vanish by snapping.
func (w *twin) hasThin(axis int, ends []end) bool {
	for k := 0; k+1 < len(ends); k++ {
		if ends[k+1].z-ends[k].z < thin+w.blur(axis, ends[k].facet)+w.blur(axis, ends[k+1].facet) {
			return true
		}
	}
	return false
}

func TestCastMatchesRays(t *testing.T) {
	var all tally
	frames := turns(25)
	for k, c := range solidCases() {
		for i, frame := range frames {
			meshes := append(slices.Clone(c.bodies), c.cuts...)
			lat := latticeOver(t, frame, 0.6+float64(k)/100, meshes...)
			s := Snap(lat, c.bodies, c.cuts)
			w := newTwin(s)
			for axis := range 3 {
				l := s.Cast(axis)
				require.Zero(t, l.Odd, "%s, frame %d, axis %d", c.name, i, axis)
				w.compare(t, l, &all)
				require.False(t, t.Failed(), "%s, frame %d", c.name, i)
			}
		}
	}
	t.Logf("%d lines, %d ends compared; left out: %d lines within snapping of an edge, %d with a thin stretch", all.lines, all.ends, all.nearEdge, all.thin)
	assert.Greater(t, all.ends, all.lines/4)
	assert.Less(t, all.nearEdge, all.lines/10000)
	assert.Less(t, all.thin, all.lines/10000)
}

// Every end lies on the facet it names: within sqrt(3)/2 quanta for snapping and
// 1/2 for rounding.
func TestEndsLieOnTheirFacets(t *testing.T) {
	for _, c := range solidCases() {
		for _, frame := range turns(4) {
			meshes := append(slices.Clone(c.bodies), c.cuts...)
			lat := latticeOver(t, frame, 0.7, meshes...)
			s := Snap(lat, c.bodies, c.cuts)
			for axis := range 3 {
				dir := [3]geom.Vec{frame.X, frame.Y, frame.Z}[axis]
				s.Cast(axis).Each(&lat, func(p geom.Vec, facet int32, leaving bool) {
					q := s.Triangle(facet).Closest(p)
					require.LessOrEqual(t, q.Dist(p), 1.37*lat.Q, "%s: facet %d", c.name, facet)
					if n := s.Normal(facet).Dot(dir); math.Abs(n) > 1e-3 { // steeper facets may turn over by snapping
						require.Equal(t, leaving, n > 0, "%s: facet %d", c.name, facet)
					}
				})
			}
		}
	}
}

func TestFarAway(t *testing.T) {
	var all tally
	for _, c := range solidCases() {
		var far []*geom.Mesh
		for _, m := range c.bodies {
			far = append(far, moved(m, vec(1e5, 1e5, 0)))
		}
		var cuts []*geom.Mesh
		for _, m := range c.cuts {
			cuts = append(cuts, moved(m, vec(1e5, 1e5, 0)))
		}
		for _, frame := range turns(3) {
			lat := latticeOver(t, frame, 0.6, append(slices.Clone(far), cuts...)...)
			s := Snap(lat, far, cuts)
			w := newTwin(s)
			for axis := range 3 {
				l := s.Cast(axis)
				require.Zero(t, l.Odd, c.name)
				w.compare(t, l, &all)
			}
		}
	}
	t.Logf("%d lines, left out %d near an edge, %d thin", all.lines, all.nearEdge, all.thin)
	assert.Less(t, all.nearEdge+all.thin, all.lines/1000)
}

func TestVolumeConverges(t *testing.T) {
	m := geomtest.Bumpy(6, 0.2, 80, 40)
	want := m.Volume()
	frames := turns(9)
	rms := func(h float64) float64 {
		sum, n := 0.0, 0
		for _, frame := range frames {
			lat := latticeOver(t, frame, h, m)
			s := Snap(lat, []*geom.Mesh{m}, nil)
			for axis := range 3 {
				e := volumeOf(s.Cast(axis), &lat) - want
				sum += e * e
				n++
			}
		}
		return math.Sqrt(sum / float64(n))
	}
	coarse, fine := rms(1.6), rms(0.1)
	order := math.Log2(coarse/fine) / 4
	t.Logf("volume %.3f, rms error %.4f at pitch 1.6, %.5f at 0.1: order %.2f", want, coarse, fine, order)
	assert.Greater(t, order, 1.8)
	assert.Less(t, fine, 1e-4*want)
}

// The same bytes on any number of processors, and in memory that held other lines.
func TestSameOnAnyProcessors(t *testing.T) {
	big := geomtest.Bumpy(6, 0.2, 440, 260)
	require.Greater(t, len(big.Facets), 3*share)
	box := geomtest.Box(vec(-8, -8, -8), vec(8, 8, 8))
	bodies, cuts := []*geom.Mesh{box, big}, []*geom.Mesh{moved(big, vec(3, 1, 2))}
	s := Snap(latticeOver(t, geomtest.RandomTurn(3), 0.3, box), bodies, cuts)
	small := solidCases()[0].bodies
	other := Snap(latticeOver(t, geom.Identity(), 0.5, small...), small, nil)
	cast := func(processors int) (lines [3]*Lines, sp *Space) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		for axis := range 3 {
			other.Cast(axis)
			lines[axis] = s.Cast(axis)
		}
		return lines, NewSpace(s, sealWidth, nil)
	}
	lines, sp := cast(1)
	for _, n := range []int{2, 3, 7} {
		l, p := cast(n)
		require.Equal(t, lines, l)
		require.Equal(t, sp, p)
	}
}

// The beginning of a row by a quotient is that found one line after the other.
func TestBeginningsOfRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.IntRange(1, 60).Draw(t, "bits")
		step := rapid.Int64Range(1, 1<<bits).Draw(t, "step")
		at := rapid.Int64Range(-1<<60, 1<<60).Draw(t, "at")
		if rapid.Bool().Draw(t, "near") { // to a whole number of steps
			at = rapid.Int64Range(-1<<(60-bits), 1<<(60-bits)).Draw(t, "steps")*step + rapid.Int64Range(-1, 1).Draw(t, "off")
		}
		const lines = 50
		want := int64(0)
		for ; want < lines; want++ {
			side := new(big.Int).Mul(big.NewInt(want), big.NewInt(step)) // may not fit an int64
			if side.Add(side, big.NewInt(at)).Sign() >= 0 {
				break
			}
		}
		require.Equal(t, want, min(edgeOf(step).from(at), lines))
	})
}
