package column

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// solidCase is a set of bodies and cuts to cast.
type solidCase struct {
	name         string
	bodies, cuts []*geom.Mesh
}

func vec(x, y, z float64) geom.Vec { return geom.Vec{X: x, Y: y, Z: z} }

func moved(m *geom.Mesh, d geom.Vec) *geom.Mesh {
	return m.Map(func(v geom.Vec) geom.Vec { return v.Add(d) })
}

// solidCases covers every rule of the winding count: one body, many coplanar
// facets, overlapping shells and bodies, voids, nested solids, contact, cuts.
func solidCases() []solidCase {
	goblet := geomtest.Revolve([]geomtest.Point{{X: 0, Y: 0}, {X: 4, Y: 0}, {X: 4, Y: 6}, {X: 3, Y: 6}, {X: 2.5, Y: 1}, {X: 0, Y: 1}}, 37)
	box := geomtest.Box(vec(-3, -4, -2), vec(3, 4, 2))
	inner := geomtest.Box(vec(-1, -1, -1), vec(2, 1.5, 1))
	blocks := geomtest.Grid(geomtest.Blocks(3)...)
	cases := []solidCase{
		{"torus", []*geom.Mesh{geomtest.Torus(5, 2, 40, 16)}, nil},
		{"bumpy", []*geom.Mesh{geomtest.Bumpy(5, 0.2, 60, 30)}, nil},
		{"goblet", []*geom.Mesh{goblet}, nil},
		{"coplanar facets", []*geom.Mesh{geomtest.Subdivide(blocks, 2)}, nil},
		{"overlapping shells", []*geom.Mesh{geomtest.Join(geomtest.Bumpy(4, 0.2, 30, 15), moved(box, vec(2, 1, 1)))}, nil},
		{"overlapping bodies", []*geom.Mesh{geomtest.Torus(5, 2, 40, 16), box, goblet}, nil},
		{"void", []*geom.Mesh{geomtest.Join(box, inner.Reversed())}, nil},
		{"nested solid", []*geom.Mesh{geomtest.Join(box, inner)}, nil},
		{"touching", []*geom.Mesh{box, moved(box, vec(0, 0, 4)), moved(box, vec(6, 0, 0))}, nil},
		{"cut", []*geom.Mesh{box, geomtest.Torus(5, 2, 40, 16)}, []*geom.Mesh{moved(geomtest.Cylinder(1.5, 12, 24), vec(0, 0, -6)), moved(inner, vec(2, 2, 0))}},
	}
	for seed := uint64(20); seed < 24; seed++ {
		cases = append(cases, solidCase{fmt.Sprintf("blocks %d", seed), []*geom.Mesh{geomtest.Grid(geomtest.Blocks(seed)...)}, nil})
	}
	return cases
}

// turns returns the axis frame and n random ones.
func turns(n int) []geom.Rigid {
	out := []geom.Rigid{geom.Identity()}
	for seed := range uint64(n) {
		t := geomtest.RandomTurn(seed + 100)
		t.T = geom.Vec{}
		out = append(out, t)
	}
	return out
}

// boxIn returns the bounds of the meshes in a turned frame.
func boxIn(frame geom.Rigid, meshes ...*geom.Mesh) geom.Box {
	b := geom.EmptyBox()
	for _, m := range meshes {
		for _, v := range m.Vertices {
			b = b.Include(frame.Turn(v))
		}
	}
	return b
}

func latticeOver(t testing.TB, frame geom.Rigid, h float64, meshes ...*geom.Mesh) Lattice {
	lat, err := NewLattice(frame, boxIn(frame, meshes...), h)
	require.NoError(t, err)
	return lat
}

func volumeOf(l *Lines, lat *Lattice) float64 {
	sum := 0.0
	for i := range l.Lo {
		sum += float64(l.Hi[i]) - float64(l.Lo[i])
	}
	return sum * lat.Q * lat.Pitch() * lat.Pitch()
}

func TestLatticeCoversTheBox(t *testing.T) {
	for i, frame := range turns(8) {
		for _, h := range []float64{0.1, 0.25, 1.0 / 3} {
			m := moved(geomtest.Torus(5, 2, 24, 8), vec(float64(i)*7, -300, 0.5))
			box := boxIn(frame, m)
			lat := latticeOver(t, frame, h, m)
			first := frame.Turn(lat.Point(lat.At(0, 0), lat.At(1, 0), lat.At(2, 0)))
			last := frame.Turn(lat.Point(lat.At(0, lat.N[0]-1), lat.At(1, lat.N[1]-1), lat.At(2, lat.N[2]-1)))
			for _, d := range []geom.Vec{box.Min.Sub(first), last.Sub(box.Max)} {
				for _, x := range []float64{d.X, d.Y, d.Z} {
					assert.Greater(t, x, 0.999999*h, "a free node on every side")
					assert.Less(t, x, 3*h)
				}
			}
			assert.InDelta(t, h, lat.Pitch(), 1e-12)
		}
	}
}

func TestLatticeTooFine(t *testing.T) {
	box := geom.Box{Max: vec(1000, 1, 1)}
	_, err := NewLattice(geom.Identity(), box, 0.1)
	assert.ErrorIs(t, err, ErrTooFine)
	for _, h := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err := NewLattice(geom.Identity(), box, h)
		assert.Error(t, err, "pitch %v", h)
	}
	box.Max.X = math.NaN()
	_, err = NewLattice(geom.Identity(), box, 0.1)
	assert.Error(t, err)
}

func TestPlaceIsTheInverseOfPoint(t *testing.T) {
	for _, frame := range turns(8) {
		lat := latticeOver(t, frame, 0.25, geomtest.Torus(30, 2, 24, 8))
		for i, q := range [][3]int32{{0, 0, 0}, {1 << 20, 3, 77777}, {lat.At(0, 5), lat.At(1, 6), lat.At(2, 7)}} {
			p := lat.Place(lat.Point(q[0], q[1], q[2]))
			// A frame's entries are rounded to 2^-40: 3e-11 mm at 30 mm, 1e-5 quanta.
			assert.InDelta(t, q[0], p.X, 1e-4, "%d", i)
			assert.InDelta(t, q[1], p.Y, 1e-4)
			assert.InDelta(t, q[2], p.Z, 1e-4)
		}
		assert.Equal(t, int32(12345), lat.Quanta(lat.Height(12345)))
	}
}

func TestNodesAboveAndBelow(t *testing.T) {
	lat := latticeOver(t, geom.Identity(), 0.25, geomtest.Torus(5, 2, 24, 8))
	for _, l := range []Lattice{lat, lat.Window([3]int{3, 4, 5}, [3]int{9, 9, 9}, 4)} {
		for _, i := range []int{0, 1, 7} {
			x := l.At(2, i)
			assert.Equal(t, i, l.NodeAbove(2, x))
			assert.Equal(t, i, l.NodeBelow(2, x))
			assert.Equal(t, i+1, l.NodeAbove(2, x+1))
			assert.Equal(t, i-1, l.NodeBelow(2, x-1))
		}
	}
}

func TestWindowNodesAreLatticeNodes(t *testing.T) {
	lat := latticeOver(t, geomtest.RandomTurn(5), 0.25, geomtest.Torus(5, 2, 24, 8))
	for fine := range 5 {
		w := lat.Window([3]int{3, 4, 5}, [3]int{9, 8, 7}, fine)
		for a, n := range [3]int{6, 4, 2} {
			assert.Equal(t, n<<fine+1, w.N[a])
			assert.Equal(t, lat.At(a, 3+a), w.At(a, 0))
			assert.Equal(t, lat.At(a, 4+a), w.At(a, 1<<fine))
		}
		assert.InDelta(t, lat.Pitch()/float64(int(1)<<fine), w.Pitch(), 1e-15)
	}
}

func TestWindowEndsBeforeCellsOverflow(t *testing.T) {
	lat := latticeOver(t, geom.Identity(), 0.01, geomtest.Box(vec(0, 0, 0), vec(80, 0.05, 0.05)))
	w := lat.Window([3]int{}, [3]int{lat.N[0] - 1, 3, 3}, 4)
	assert.Equal(t, 1<<16-1, w.N[0])
	m := geomtest.Box(vec(1, 0, 0), vec(2, 0.05, 0.05))
	l := Snap(w, []*geom.Mesh{m}, nil).Cast(2)
	last := w.Point(0, w.At(1, w.N[1]-1), 0).Y // the window ends within the box
	assert.InDelta(t, 1*last, volumeOf(l, &w)/0.05, w.Pitch())
}

func TestFacetNumbersCountThroughTheBodies(t *testing.T) {
	a, b, c := geomtest.Cylinder(1, 1, 8), geomtest.Box(vec(0, 0, 0), vec(1, 1, 1)), geomtest.Torus(3, 1, 8, 5)
	s := Snap(latticeOver(t, geom.Identity(), 0.5, a, b, c), []*geom.Mesh{a, b}, []*geom.Mesh{c})
	n := int32(0)
	for k, m := range []*geom.Mesh{a, b, c} {
		for f := range m.Facets {
			body, own := s.Facet(n)
			require.Equal(t, [2]int{k, f}, [2]int{body, int(own)})
			require.Equal(t, m.Triangle(f), s.Triangle(n))
			want := m.Triangle(f).Normal()
			if k == 2 {
				want = want.Neg()
			}
			require.Equal(t, want, s.Normal(n))
			n++
		}
	}
}

// TestMovedSolids: solids moved to another lattice, cast into lines that held others, are
// those snapped to it at once.
func TestMovedSolids(t *testing.T) {
	for _, c := range solidCases() {
		all := append(append([]*geom.Mesh{}, c.bodies...), c.cuts...)
		first := latticeOver(t, geom.Identity(), 0.4, all...)
		s := Snap(first, c.bodies, c.cuts)
		l := s.Cast(1)
		for _, up := range []geom.Vec{vec(0.3, -0.5, 0.8).Unit(), vec(1, 2, -3).Unit()} {
			lat := latticeOver(t, geom.FrameFor(up), 0.7, all...)
			s.Move(lat)
			s.CastInto(l, 2)
			assert.Equal(t, Snap(lat, c.bodies, c.cuts).Cast(2), l, c.name)
		}
	}
}
