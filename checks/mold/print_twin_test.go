package mold

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// voxelPrint is the slow twin of the sweep: a grid of voxels, printed layer by
// layer; after each the void below it is flooded from outside, and what stays dry
// in the layer is sealed.
type voxelPrint struct {
	n     [3]int
	h     float64
	solid []bool
}

func newVoxels(m *geom.Mesh, h float64) *voxelPrint {
	box := m.Box()
	s := box.Size()
	v := &voxelPrint{n: [3]int{int(math.Round(s.X/h)) + 2, int(math.Round(s.Y/h)) + 2, int(math.Round(s.Z / h))}, h: h}
	v.solid = make([]bool, v.n[0]*v.n[1]*v.n[2])
	tree := bvh.Build(m)
	for i := range v.solid {
		x, y, z := v.split(i)
		p := box.Min.Add(xyz(float64(x)-0.5, float64(y)-0.5, float64(z)+0.5).Scale(h))
		depth := 0
		for _, hit := range tree.All(p, xyz(0, 0, 1), 1e6, nil) {
			depth -= int(hit.Sense)
		}
		v.solid[i] = depth >= 1
	}
	return v
}

func (v *voxelPrint) split(i int) (x, y, z int) {
	return i % v.n[0], i / v.n[0] % v.n[1], i / v.n[0] / v.n[1]
}

// sealed returns the sealed area of every layer. On supports the space below the
// first layer is open.
func (v *voxelPrint) sealed(flat bool) []float64 {
	out := make([]float64, v.n[2])
	layer := v.n[0] * v.n[1]
	for top := range out {
		wet := make([]bool, (top+1)*layer)
		var queue []int
		visit := func(i int) {
			if !v.solid[i] && !wet[i] {
				wet[i] = true
				queue = append(queue, i)
			}
		}
		for i := range wet {
			x, y, z := v.split(i)
			if x == 0 || y == 0 || x == v.n[0]-1 || y == v.n[1]-1 || z == 0 && !flat {
				visit(i)
			}
		}
		for len(queue) > 0 {
			i := queue[0]
			queue = queue[1:]
			x, y, z := v.split(i)
			for _, s := range [6]struct {
				ok bool
				by int
			}{{x > 0, -1}, {x+1 < v.n[0], 1}, {y > 0, -v.n[0]}, {y+1 < v.n[1], v.n[0]}, {z > 0, -layer}, {z < top, layer}} {
				if s.ok {
					visit(i + s.by)
				}
			}
		}
		for i := top * layer; i < len(wet); i++ {
			if !v.solid[i] && !wet[i] {
				out[top] += v.h * v.h
			}
		}
	}
	return out
}

// sealedAt sums the columns that are apart from the outside at a height.
func (w *printing) sealedAt(z int32) float64 {
	n := 0
	r := &w.open.rise
	for i := range r.lo {
		if r.lo[i] < z && z < min(r.hi[i], r.openAt[i]) {
			n++
		}
	}
	return float64(n) * w.open.cell()
}

// carved is a block with random boxes cut away and others put back.
func carved(seed uint64) *geom.Mesh {
	r := rand.New(rand.NewPCG(seed, 11))
	ops := []geomtest.Op{geomtest.Add(xyz(0, 0, 0), xyz(12, 11, 10))}
	for range 4 + r.IntN(5) {
		var lo, hi [3]float64
		for a, n := range [3]int{12, 11, 10} {
			lo[a] = float64(r.IntN(n))
			hi[a] = min(lo[a]+float64(1+r.IntN(6)), float64(n))
		}
		op := geomtest.Cut
		if r.IntN(4) == 0 {
			op = geomtest.Add
		}
		ops = append(ops, op(xyz(lo[0], lo[1], lo[2]), xyz(hi[0], hi[1], hi[2])))
	}
	return geomtest.Grid(ops...)
}

// Random carved blocks in three positions, on supports and flat: the sealed area of
// every layer is the voxels', and every change of it comes at the same height.
func TestSweepAgainstVoxels(t *testing.T) {
	worst, areas := 0.0, 0
	for seed := range uint64(20) {
		m := carved(seed)
		for k, turned := range []*geom.Mesh{m, m.Map(func(p geom.Vec) geom.Vec { return xyz(p.X, -p.Y, -p.Z) }),
			m.Map(func(p geom.Vec) geom.Vec { return xyz(p.Y, p.Z, p.X) })} {
			v := newVoxels(turned, 0.5)
			for _, flat := range []bool{false, true} {
				w, err := newRubber(turned, 2, 0).begin(upZ, PrintOptions{Printer: printer(), Flat: flat, Cell: 0.2}, nil)
				require.NoError(t, err)
				w.open.rise.run(1)
				for layer, want := range v.sealed(flat) {
					z := w.base + int32((float64(layer)+0.5)*v.h/w.lat.Q)
					got := w.sealedAt(z)
					off := math.Abs(got - want)
					require.LessOrEqual(t, off, 0.35+0.03*want, "seed %d, turn %d, flat %v, layer %d: %g, voxels %g", seed, k, flat, layer, got, want)
					worst = max(worst, off)
					if want > 0 {
						areas++
					}
				}
			}
		}
	}
	assert.Greater(t, areas, 300, "layers with something sealed")
	t.Logf("%d sealed layers, worst %.3f mm2", areas, worst)
}

// Turned or mirrored with its build direction a half has the same cups.
func TestCupsTurnWithTheHalf(t *testing.T) {
	for seed := range uint64(4) {
		m := geomtest.Grid(geomtest.Add(xyz(0, 0, 0), xyz(30, 22, 14)), geomtest.Cut(xyz(2, 3, 2), xyz(12, 19, 14)),
			geomtest.Cut(xyz(15, 3, 4), xyz(28, 20, 14)), geomtest.Cut(xyz(12, 8, 9), xyz(15, 14, 14)))
		r := geomtest.RandomTurn(seed)
		build := r.Turn(leaning(5 * float64(seed)))
		o := PrintOptions{Printer: printer(), NoHoles: true, Cell: 0.4}
		moved := m.Map(r.Apply)
		p, err := newRubber(m, 2, 0.4).print(r.TurnBack(build).Unit(), o)
		require.NoError(t, err)
		q, err := newRubber(moved, 2, 0.4).print(build.Unit(), o)
		require.NoError(t, err)
		mirrored := moved.Map(func(v geom.Vec) geom.Vec { return xyz(-v.X, v.Y, v.Z) }).Reversed()
		s, err := newRubber(mirrored, 2, 0.4).print(xyz(-build.X, build.Y, build.Z).Unit(), o)
		require.NoError(t, err)
		for _, other := range []*Printed{q, s} {
			require.Len(t, other.Cups, len(p.Cups))
			for i, c := range p.Cups {
				d := other.Cups[i]
				require.InDelta(t, c.Area, d.Area, 0.005*c.Area)
				require.InDelta(t, c.Volume, d.Volume, 0.01*c.Volume)
				require.InDelta(t, c.To, d.To, 0.05)
				require.InDelta(t, c.From, d.From, 0.05)
			}
			require.InDelta(t, p.Scars.Area, other.Scars.Area, 1e-6)
			require.InDelta(t, p.Step.Mean, other.Step.Mean, 1e-9)
		}
	}
}

// What opens as the level reaches it, marked beforehand, changes no height at which a piece
// opens and no cup; nor does memory that another direction was worked out in.
func TestOpenSlopesChangeNothing(t *testing.T) {
	cups, spared := 0, 0
	for seed := range uint64(6) {
		r := newRubber(carved(seed), 2, 0)
		for _, d := range SphereDirections(30) {
			o := PrintOptions{Printer: printer(), Cell: 0.35, Flat: seed%2 == 0}
			w, err := r.begin(d, o, nil)
			require.NoError(t, err)
			o.sums = true
			v, err := r.begin(d, o, nil)
			require.NoError(t, err)
			want, got := w.open.rise.run(w.least()), v.open.rise.run(v.least())
			require.Equal(t, w.open.rise.openAt, v.open.rise.openAt)
			sum := func(h *hollow, list []basin) (area float64, length int64) {
				a := newAreaSum(h)
				for i := range list {
					if list[i].into < 0 {
						a.add(h, &list[i])
						length += list[i].length
					}
				}
				return a.most(), length
			}
			area, length := sum(w.open, want)
			area2, length2 := sum(v.open, got)
			require.Equal(t, area, area2)
			require.Equal(t, length, length2)
			require.Equal(t, len(want), len(got))
			cups += len(want)
			spared += len(w.open.rise.links) - len(v.open.rise.links)
			w.releaseAll()
			v.releaseAll()
		}
	}
	assert.Greater(t, cups, 200)
	assert.Greater(t, spared, 10_000, "links")
}
