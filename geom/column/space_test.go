package column

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// pieces is the space joined into connected pieces through Open.
type pieces struct {
	sp *Space
	up []int32
}

func (p *pieces) root(r int32) int32 {
	for p.up[r] != r {
		p.up[r] = p.up[p.up[r]]
		r = p.up[r]
	}
	return r
}

func joined(sp *Space) *pieces {
	p := &pieces{sp, make([]int32, len(sp.Lo))}
	for r := range p.up {
		p.up[r] = int32(r)
	}
	for i := range sp.N[0] {
		for j := range sp.N[1] {
			c := i*sp.N[1] + j
			if i+1 < sp.N[0] {
				p.join(i, j, 0, c, c+sp.N[1])
			}
			if j+1 < sp.N[1] {
				p.join(i, j, 1, c, c+1)
			}
		}
	}
	return p
}

func (p *pieces) join(i, j, axis, c, d int) {
	sp := p.sp
	for a := sp.Start[c]; a < sp.Start[c+1]; a++ {
		for b := sp.Start[d]; b < sp.Start[d+1]; b++ {
			lo, hi := max(sp.Lo[a], sp.Lo[b]), min(sp.Hi[a], sp.Hi[b])
			if lo >= hi {
				continue
			}
			if _, _, ok := sp.Open(i, j, axis, lo, hi); ok {
				p.up[p.root(a)] = p.root(b)
			}
		}
	}
}

// at returns the piece at a CAD point, taken at the nearest column; -1 in material.
func (p *pieces) at(c geom.Vec) int32 {
	q := p.sp.Place(c)
	i, j := p.sp.NodeBelow(0, int32(q.X)), p.sp.NodeBelow(1, int32(q.Y))
	for r := p.sp.Start[i*p.sp.N[1]+j]; r < p.sp.Start[i*p.sp.N[1]+j+1]; r++ {
		if float64(p.sp.Lo[r]) < q.Z && q.Z < float64(p.sp.Hi[r]) {
			return p.root(r)
		}
	}
	return -1
}

// alone returns the summed height, mm, of the runs in none of the pieces.
func (p *pieces) alone(of ...int32) float64 {
	sum := 0.0
	for r := range p.up {
		if !slices.Contains(of, p.root(int32(r))) {
			sum += float64(p.sp.Hi[r]-p.sp.Lo[r]) * p.sp.Q
		}
	}
	return sum
}

// each calls visit for CAD points along every run, a pitch apart.
func (p *pieces) each(visit func(c geom.Vec, r int32)) {
	sp := p.sp
	for i := range sp.N[0] {
		for j := range sp.N[1] {
			c := i*sp.N[1] + j
			for r := sp.Start[c]; r < sp.Start[c+1]; r++ {
				n := (sp.Hi[r]-sp.Lo[r])>>sp.Bits + 2
				for k := int32(0); k < n; k++ {
					z := int64(sp.Lo[r]) + int64(sp.Hi[r]-sp.Lo[r])*int64(2*k+1)/int64(2*n)
					visit(sp.Point(sp.At(0, i), sp.At(1, j), int32(z)), r)
				}
			}
		}
	}
}

// spaceIn builds the space around bodies in a frame, over their bounds and 1 mm.
func spaceIn(t testing.TB, frame geom.Rigid, h, seal float64, bodies ...*geom.Mesh) *Space {
	lat, err := NewLattice(frame, boxIn(frame, bodies...).Grow(1), h)
	require.NoError(t, err)
	return spaceOn(lat, seal, bodies...)
}

func spaceOn(lat Lattice, seal float64, bodies ...*geom.Mesh) *Space {
	tree := bvh.Build(geomtest.Join(bodies...))
	return NewSpace(Snap(lat, bodies, nil), seal, func(a, b geom.Vec) bool { return !tree.Blocked(a, b) })
}

// directions returns frames whose third axis is spread over the sphere, with the
// axes and the diagonals among them.
func directions() []geom.Rigid {
	out := turns(20)
	for _, up := range []geom.Vec{{X: 1}, {Y: 1}, {X: 1, Y: 1}, {X: 1, Z: 1}, {Y: 1, Z: -1}, {X: 1, Y: 1, Z: 1}, {X: 1, Y: 2, Z: 0.01}} {
		out = append(out, geom.FrameFor(up.Unit()))
	}
	return out
}

// back returns the turn that a frame takes back: a solid turned by it has its own
// axes along the frame's.
func back(f geom.Rigid) geom.Rigid {
	return geom.Rigid{X: vec(f.X.X, f.Y.X, f.Z.X), Y: vec(f.X.Y, f.Y.Y, f.Z.Y), Z: vec(f.X.Z, f.Y.Z, f.Z.Z)}
}

const sealWidth = 0.12

func TestSpaceIsTheComplement(t *testing.T) {
	for _, c := range solidCases() {
		for _, frame := range turns(3) {
			lat := latticeOver(t, frame, 0.4, append(c.bodies, c.cuts...)...)
			s := Snap(lat, c.bodies, c.cuts)
			l := s.Cast(2)
			sp := NewSpace(s, 0, nil)
			require.Zero(t, sp.Odd)
			require.Empty(t, sp.Gaps)
			for line := range lat.N[0] * lat.N[1] {
				i, r := l.Start[line], sp.Start[line]
				require.Equal(t, l.Start[line+1]-i+1, sp.Start[line+1]-r)
				require.Equal(t, lat.At(2, 0), sp.Lo[r])
				require.EqualValues(t, Border, sp.LoFacet[r])
				for ; i < l.Start[line+1]; i, r = i+1, r+1 {
					require.Equal(t, [4]int32{l.Lo[i], l.LoFacet[i], l.Hi[i], l.HiFacet[i]},
						[4]int32{sp.Hi[r], sp.HiFacet[r], sp.Lo[r+1], sp.LoFacet[r+1]})
				}
				require.Equal(t, lat.At(2, lat.N[2]-1), sp.Hi[r])
				require.EqualValues(t, Border, sp.HiFacet[r])
			}
		}
	}
}

// twoRooms is a closed block with two rooms 2 mm wide side by side along x, with
// lid away from each other.
func twoRooms(apart float64, more ...geomtest.Op) *geom.Mesh {
	ops := append([]geomtest.Op{
		geomtest.Add(vec(-4-apart/2, -3, -3), vec(4+apart/2, 3, 3)),
		geomtest.Cut(vec(-2.5-apart/2, -2, -2), vec(-apart/2, 2, 2)),
		geomtest.Cut(vec(apart/2, -2, -2), vec(2.5+apart/2, 2, 2)),
	}, more...)
	return geomtest.Grid(ops...)
}

func TestMembranesHold(t *testing.T) {
	for i, frame := range directions() {
		for _, w := range []float64{0.1, 0.2, 0.3} {
			m := geomtest.Transform(twoRooms(w), back(frame))
			p := joined(spaceIn(t, geom.Identity(), 0.25, sealWidth, m))
			in := back(frame)
			left, right, out := p.at(in.Turn(vec(-1.3-w/2, 0, 0))), p.at(in.Turn(vec(1.3+w/2, 0, 0))), p.root(0)
			require.True(t, left >= 0 && right >= 0)
			require.NotEqual(t, left, right, "direction %d, membrane %v", i, w)
			require.NotEqual(t, out, left, "direction %d", i)
			require.NotEqual(t, out, right, "direction %d", i)
			// Alone is at most a column in the tip of a corner.
			require.Less(t, p.alone(left, right, out), 0.03, "direction %d, membrane %v", i, w)
		}
	}
}

// A membrane on a lattice plane, one quantum off it, and two quanta thick.
func TestMembranesOnLatticePlanes(t *testing.T) {
	for axis := range 3 {
		for _, at := range []float64{0, quantum, -quantum, 0.5} {
			for _, w := range []float64{2 * quantum, 3 * quantum, 0.25, 1, 1.5} {
				lat := cubeLattice(t, geom.Identity(), 24)
				ops := []geomtest.Op{geomtest.Add(vec(1, 1, 1), vec(23, 23, 23)), geomtest.Cut(vec(3, 3, 3), vec(21, 21, 21))}
				lo, hi := [3]float64{3, 3, 3}, [3]float64{21, 21, 21}
				lo[axis], hi[axis] = 12+at, 12+at+w
				ops = append(ops, geomtest.Add(vec(lo[0], lo[1], lo[2]), vec(hi[0], hi[1], hi[2])))
				m := onNodes(&lat, geomtest.Grid(ops...))
				for _, sp := range []*Space{spaceOn(lat, 0, m), NewSpace(Snap(lat, []*geom.Mesh{m}, nil), 0, nil)} {
					p := joined(sp)
					seen := map[int32]int{}
					for r := range p.up {
						seen[p.root(int32(r))]++
					}
					require.Len(t, seen, 3, "axis %d at %v, %v wide: outside and two rooms, nothing alone", axis, at, w)
				}
			}
		}
	}
}

// bored is a closed block with two round rooms joined by a bore along z.
func bored(d, length float64) *geom.Mesh {
	outer, room := geomtest.Circle(geomtest.Point{}, 3, 24), geomtest.Circle(geomtest.Point{}, 1.5, 24)
	bore := geomtest.Circle(geomtest.Point{}, d/2, 24)
	only := func(h float64, loops ...[]geomtest.Point) geomtest.Layer {
		return geomtest.Layer{Height: h, Loops: loops}
	}
	return geomtest.Prism(-length/2-3, only(1, outer), only(2, outer, room), only(length, outer, bore), only(2, outer, room), only(1, outer))
}

func TestBoresStayOpen(t *testing.T) {
	for i, frame := range directions() {
		for _, d := range []float64{0.5, 0.8, 1.0} {
			turn := back(frame)
			m := geomtest.Transform(bored(d, 4), turn)
			p := joined(spaceIn(t, geom.Identity(), d/3, sealWidth, m))
			a, b := p.at(turn.Turn(vec(0, 0, -3))), p.at(turn.Turn(vec(0, 0, 3)))
			require.True(t, a >= 0 && a == b, "direction %d, bore %v: %d %d", i, d, a, b)
			require.NotEqual(t, p.root(0), a)
		}
	}
}

// A thin sheet between two rooms stays one piece with both at every slope.
func TestSheetsStayConnected(t *testing.T) {
	for _, w := range []float64{0.3, 0.5} {
		for slope := 0.0; slope <= 85; slope += 5 {
			for _, azimuth := range []float64{0, 17, 45, 80} {
				tilt := geom.AxisTurn(vec(0, 1, 0), slope*math.Pi/180)
				spin := geom.AxisTurn(vec(0, 0, 1), azimuth*math.Pi/180)
				place := func(v geom.Vec) geom.Vec { return spin.Turn(tilt.Turn(v)) }
				m := twoRooms(6, geomtest.Cut(vec(-3, -2, -w/2), vec(3, 2, w/2))).Map(place)
				p := joined(spaceIn(t, geom.Identity(), 0.25, sealWidth, m))
				a, b := p.at(place(vec(-4, 0, 1))), p.at(place(vec(4, 0, 1)))
				require.True(t, a >= 0 && a == b, "%v mm at %v deg, azimuth %v", w, slope, azimuth)
				require.NotEqual(t, p.root(0), a)
				require.Less(t, p.alone(a, p.root(0)), 0.1, "%v mm at %v deg, azimuth %v", w, slope, azimuth)
			}
		}
	}
}

// A wall between two columns with an opening: the part of the heights that is open.
func TestOpenPart(t *testing.T) {
	const floor, roof = 4.25, 20.5 // pitches above node 2
	type part struct{ lo, hi float64 }
	for _, c := range []struct {
		name    string
		opening []part
		want    part
		open    bool
	}{
		{"no wall", []part{{floor, roof}}, part{floor, roof}, true},
		{"wall", nil, part{}, false},
		{"above the last node", []part{{20.125, roof}}, part{20, roof}, true},
		{"below the first node", []part{{floor, 4.875}}, part{floor, 5}, true},
		{"slit between two nodes", []part{{7.25, 7.75}}, part{}, false},
		{"middle", []part{{7.25, 9.75}}, part{7.5, 9.5}, true},
		{"from the floor", []part{{floor, 9.75}}, part{floor, 9.5}, true},
		{"to the roof", []part{{7.25, roof}}, part{7.5, roof}, true},
		{"two", []part{{7.25, 9.75}, {12.25, 13.75}}, part{7.5, 13.5}, true},
	} {
		for axis := range 2 {
			lat := cubeLattice(t, geom.Identity(), 24)
			ops := []geomtest.Op{geomtest.Add(vec(1, 1, 1), vec(23, 23, 23)), geomtest.Cut(vec(3.5, 3.5, floor), vec(20.5, 20.5, roof))}
			across := func(lo, hi float64) (geom.Vec, geom.Vec) {
				if axis == 0 {
					return vec(12.25, 3.5, lo), vec(12.75, 20.5, hi)
				}
				return vec(3.5, 12.25, lo), vec(20.5, 12.75, hi)
			}
			ops = append(ops, geomtest.Add(across(floor, roof)))
			for _, o := range c.opening {
				ops = append(ops, geomtest.Cut(across(o.lo, o.hi)))
			}
			sp := spaceOn(lat, 0, onNodes(&lat, geomtest.Grid(ops...)))
			unit, zero := int32(1)<<lat.Bits, lat.At(2, 2)
			at := func(x float64) int32 { return zero + int32(x*float64(unit)) }
			lo, hi, ok := sp.Open(14, 14, axis, at(floor), at(roof))
			require.Equal(t, c.open, ok, c.name)
			if ok {
				require.Equal(t, [2]int32{at(c.want.lo), at(c.want.hi)}, [2]int32{lo, hi}, c.name)
			}
			_, _, ok = sp.Open(10, 10, axis, at(floor), at(roof))
			require.True(t, ok)
		}
	}
}

// The bits of a step say what a ray says.
func TestStepsMatchRays(t *testing.T) {
	steps, wrong := 0, 0
	for _, c := range solidCases() {
		if len(c.cuts) > 0 || len(c.bodies) > 1 { // a ray also meets surfaces within the union
			continue
		}
		for _, frame := range turns(3) {
			lat := latticeOver(t, frame, 0.5, c.bodies...)
			sp := NewSpace(Snap(lat, c.bodies, nil), 0, nil)
			tree := bvh.Build(c.bodies[0])
			for i := range sp.N[0] - 1 {
				for j := range sp.N[1] - 1 {
					for r := sp.Start[i*sp.N[1]+j]; r < sp.Start[i*sp.N[1]+j+1]; r++ {
						for k := sp.NodeAbove(2, sp.Lo[r]+1); k <= sp.NodeBelow(2, sp.Hi[r]-1); k++ {
							a := sp.Point(sp.At(0, i), sp.At(1, j), sp.At(2, k))
							for axis, d := range [2][2]int{{1, 0}, {0, 1}} {
								if !sp.void(i+d[0], j+d[1], sp.At(2, k)) {
									continue
								}
								b := sp.Point(sp.At(0, i+d[0]), sp.At(1, j+d[1]), sp.At(2, k))
								steps++
								if sp.blocked[axis].has(sp.bit(i, j, k)) != tree.Blocked(a, b) && c.name != "overlapping shells" && c.name != "nested solid" {
									wrong++
								}
							}
						}
					}
				}
			}
		}
	}
	t.Logf("%d steps, %d against the ray", steps, wrong)
	assert.Greater(t, steps, 100000)
	assert.LessOrEqual(t, wrong, steps/100000, "only where snapping moves an edge over the step")
}

// void reports whether a height lies strictly in a run of a column.
func (sp *Space) void(i, j int, z int32) bool {
	for r := sp.Start[i*sp.N[1]+j]; r < sp.Start[i*sp.N[1]+j+1]; r++ {
		if sp.Lo[r] < z && z < sp.Hi[r] {
			return true
		}
	}
	return false
}

func TestZerosOfABitset(t *testing.T) {
	for seed := range uint64(200) {
		b := make(bitset, 3)
		for i := range b { // words with long stretches of ones
			b[i] = ^uint64(0) << (seed * 7 % 64) & bits.RotateLeft64(^uint64(1<<(seed%64)), i)
			if seed%5 == uint64(i) {
				b[i] = ^uint64(0)
			}
		}
		for from := 0; from < 192; from += 7 {
			for to := from; to < 192; to += 5 {
				first, last := to+1, from-1
				for i := from; i <= to; i++ {
					if !b.has(i) {
						last = i
						if first > to {
							first = i
						}
					}
				}
				require.Equal(t, first, firstZero(b, from, to), fmt.Sprint(seed, from, to))
				require.Equal(t, last, lastZero(b, from, to), fmt.Sprint(seed, from, to))
			}
		}
	}
}

// A Space built in the memory of a larger one that was given back is the same.
func TestSpaceInUsedMemory(t *testing.T) {
	small, large := geomtest.Sphere(3, 24, 12), geomtest.Bumpy(9, 0.2, 60, 30)
	build := func(m *geom.Mesh) *Space {
		l, err := NewLattice(geom.Identity(), m.Box(), 0.4)
		require.NoError(t, err)
		return NewSpace(Snap(l, []*geom.Mesh{m}, nil), 0, nil)
	}
	want := build(small)
	for range 8 { // as many as may be kept
		build(large).Free()
	}
	got := build(small)
	for _, k := range [][2]any{{want.Start, got.Start}, {want.Lo, got.Lo}, {want.Hi, got.Hi}, {want.LoFacet, got.LoFacet}, {want.HiFacet, got.HiFacet}, {want.blocked, got.blocked}} {
		assert.Equal(t, k[0], k[1])
	}
}
