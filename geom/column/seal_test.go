package column

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// parted is a block in two halves a gap apart at z = 0, with two rooms that both
// halves share. The land is 1.6 mm wide between the rooms, 1.2 mm around them.
func parted(gap float64) []*geom.Mesh {
	half := func(lo, hi float64) *geom.Mesh {
		return geomtest.Grid(geomtest.Add(vec(-3.5, -2, lo), vec(3.5, 2, hi)),
			geomtest.Cut(vec(-2.3, -0.8, -0.8), vec(-0.8, 0.8, 0.8)), geomtest.Cut(vec(0.8, -0.8, -0.8), vec(2.3, 0.8, 0.8)))
	}
	return []*geom.Mesh{half(-1.6, -gap/2), half(gap/2, 1.6)}
}

// inLand tells whether a place of the parted block lies in the gap, farther than
// margin from its mouths.
func inLand(p geom.Vec, gap, margin float64) bool {
	x, y := math.Abs(p.X), math.Abs(p.Y)
	inRoom := x > 0.8-margin && x < 2.3+margin && y < 0.8+margin
	return math.Abs(p.Z) < gap/2 && x < 3.5-margin && y < 2-margin && !inRoom
}

func placed(turn geom.Rigid, meshes []*geom.Mesh) []*geom.Mesh {
	var out []*geom.Mesh
	for _, m := range meshes {
		out = append(out, geomtest.Transform(m, turn))
	}
	return out
}

func TestNarrowGapsAreClosed(t *testing.T) {
	const h = 0.1
	for i, frame := range directions() {
		for _, gap := range []float64{0, 0.02, 0.05, 0.1, 0.115} {
			turn := back(frame)
			p := joined(spaceIn(t, geom.Identity(), h, sealWidth, placed(turn, parted(gap))...))
			a, b, out := p.at(turn.Turn(vec(-1.5, 0, 0.4))), p.at(turn.Turn(vec(1.5, 0, 0.4))), p.root(0)
			msg := fmt.Sprintf("direction %d, gap %v", i, gap)
			require.True(t, a >= 0 && b >= 0, msg)
			require.NotEqual(t, a, b, msg)
			require.NotEqual(t, a, out, msg)
			require.NotEqual(t, b, out, msg)
			if gap > 0 { // halves that touch leave nothing to seal
				require.NotEmpty(t, p.sp.Gaps, msg)
			}
			for _, g := range p.sp.Gaps {
				require.InDelta(t, gap, g.Width, 1e-4, msg)
			}
			if gap != 0.05 && gap != 0.115 { // the slow look at every place
				continue
			}
			p.each(func(c geom.Vec, r int32) {
				if q := frame.Turn(c); inLand(q, gap, h) {
					require.Fail(t, "space left in the gap", "%s: at %v", msg, q)
				}
			})
		}
	}
}

func TestWiderGapsStayOpen(t *testing.T) {
	for i, frame := range directions() {
		for _, gap := range []float64{0.125, 0.15, 0.2, 0.3} {
			turn := back(frame)
			p := joined(spaceIn(t, geom.Identity(), 0.1, sealWidth, placed(turn, parted(gap))...))
			a, b, out := p.at(turn.Turn(vec(-1.5, 0, 0.4))), p.at(turn.Turn(vec(1.5, 0, 0.4))), p.root(0)
			require.Empty(t, p.sp.Gaps, "direction %d, gap %v", i, gap)
			require.True(t, a >= 0 && a == b && a == out, "direction %d, gap %v: %d %d %d", i, gap, a, b, out)
		}
	}
}

// cycled turns the axes about the space diagonal k times: z to x, x to y, y to z.
func cycled(m *geom.Mesh, k int) *geom.Mesh {
	for range k {
		m = m.Map(func(v geom.Vec) geom.Vec { return vec(v.Z, v.X, v.Y) })
	}
	return m
}

// Gaps whose walls, or whose middle, lie on a lattice plane to the quantum.
func TestGapsOnLatticePlanes(t *testing.T) {
	const h = 0.1
	lat, err := NewLattice(geom.Identity(), geom.Box{Max: vec(10, 10, 10)}, h)
	require.NoError(t, err)
	for axis := range 3 {
		for _, gap := range []float64{0, 0.02, 0.1, 0.115, 0.125, 0.2, 0.3} {
			width := math.Round(gap/h*(1<<mainBits)) * quantum // pitches
			for _, low := range []float64{0, quantum, -quantum, -width, -width - quantum, -width + quantum, -math.Floor(width/2*(1<<mainBits)) * quantum} {
				var halves []*geom.Mesh
				for k, m := range parted(gap) {
					m = m.Map(func(v geom.Vec) geom.Vec {
						p := vec(math.Round(v.X/h), math.Round(v.Y/h), math.Round(v.Z/h))
						if math.Abs(v.Z) <= gap/2 { // the parting faces
							p.Z = low + float64(k)*width
						}
						return p.Add(vec(40, 25, 20))
					})
					halves = append(halves, onNodes(&lat, cycled(m, axis)))
				}
				in := func(x float64) geom.Vec {
					c := cycled(&geom.Mesh{Vertices: []geom.Vec{vec(40+10*x, 25, 24)}}, axis)
					return onNodes(&lat, c).Vertices[0]
				}
				p := joined(spaceOn(lat, sealWidth, halves...))
				a, b, out := p.at(in(-1.5)), p.at(in(1.5)), p.root(0)
				msg := fmt.Sprintf("axis %d, gap %v from %v quanta", axis, gap, low/quantum)
				require.True(t, a >= 0 && b >= 0, msg)
				if gap < sealWidth {
					require.True(t, a != b && a != out && b != out, msg)
				} else {
					require.True(t, a == b && a == out, msg)
				}
				require.Zero(t, p.alone(a, b, out), msg)
			}
		}
	}
}

// Beside a room, and where it meets the outside, the run of a column in an upright
// gap is cut where the material beside it begins or ends.
func TestCutBesideARoom(t *testing.T) {
	cuts := 0
	for step := range 24 {
		// Two halves side by side along x, the room from z = -0.83 to 1.17 in both.
		spin := geom.AxisTurn(vec(0, 0, 1), float64(step)*math.Pi/24+0.01)
		for _, gap := range []float64{0.05, 0.1, 0.115} {
			half := func(lo, hi float64) *geom.Mesh {
				m := geomtest.Grid(geomtest.Add(vec(lo, -3, -2.5), vec(hi, 3, 2.5)), geomtest.Cut(vec(-1.5, -1.5, -0.83), vec(1.5, 1.5, 1.17)))
				return geomtest.Transform(m, spin)
			}
			sp := spaceIn(t, geom.Identity(), 0.2, sealWidth, half(-3, -gap/2), half(gap/2, 3))
			for i := range sp.N[0] {
				for j := range sp.N[1] {
					c := i*sp.N[1] + j
					for r := sp.Start[c]; r < sp.Start[c+1]; r++ {
						lo, hi := sp.Height(sp.Lo[r]), sp.Height(sp.Hi[r])
						q := spin.TurnBack(sp.Point(sp.At(0, i), sp.At(1, j), sp.Lo[r]))
						inGap := math.Abs(q.X) < gap/2 && math.Abs(q.Y) < 3
						if sp.LoFacet[r] != Sealed && sp.HiFacet[r] != Sealed {
							require.False(t, inGap && math.Abs(q.Y) > 1.9 && math.Abs(q.Y) < 2.6, "an open run in the gap")
							continue
						}
						require.True(t, inGap, "only in the gap")
						if math.Abs(q.Y) > 1.4 { // in the room's own mouth along y
							continue
						}
						if sp.LoFacet[r] == Sealed {
							require.Less(t, min(math.Abs(lo+0.83), math.Abs(lo-2.5)), 1e-4, "step %d, gap %v: from %v", step, gap, lo)
							cuts++
						}
						if sp.HiFacet[r] == Sealed {
							require.Less(t, min(math.Abs(hi-1.17), math.Abs(hi+2.5)), 1e-4, "step %d, gap %v: to %v", step, gap, hi)
							cuts++
						}
					}
				}
			}
		}
	}
	require.Greater(t, cuts, 1000)
}

// stepped is a block parted along a step with an upright wall, so that the gap turns
// two corners; threeParts has three gaps that meet in a line. Both lines run between
// the rooms, along y.
func stepped(gap float64) []*geom.Mesh {
	g := gap / 2
	return []*geom.Mesh{
		withRooms(geomtest.Add(vec(-2, -3, -2), vec(2, 3, -0.4-g)), geomtest.Add(vec(g, -3, -2), vec(2, 3, 0.4-g))),
		withRooms(geomtest.Add(vec(-2, -3, 0.4+g), vec(2, 3, 2)), geomtest.Add(vec(-2, -3, -0.4+g), vec(-g, 3, 2))),
	}
}

func threeParts(gap float64) []*geom.Mesh {
	g := gap / 2
	return []*geom.Mesh{
		withRooms(geomtest.Add(vec(-2, -3, -2), vec(2, 3, -g))),
		withRooms(geomtest.Add(vec(-2, -3, g), vec(-g, 3, 2))),
		withRooms(geomtest.Add(vec(g, -3, g), vec(2, 3, 2))),
	}
}

func withRooms(ops ...geomtest.Op) *geom.Mesh {
	return geomtest.Grid(append(ops, geomtest.Cut(vec(-0.8, -2, -1), vec(0.8, -0.7, 1)), geomtest.Cut(vec(-0.8, 0.7, -1), vec(0.8, 2, 1)))...)
}

// Where two gaps meet, a corner as wide as the gaps sees no surface that faces
// another. Closed where the walls lie along the axes, at any place of the lattice.
func TestSquareCornersOfGapsAreClosed(t *testing.T) {
	for name, build := range map[string]func(float64) []*geom.Mesh{"step": stepped, "three parts": threeParts} {
		for _, h := range []float64{0.1, 0.25} {
			for _, gap := range []float64{0.02, 0.05, 0.1, 0.115} {
				for step := range 24 {
					turn := geom.AxisTurn(vec(0, 1, 0), float64(step)*math.Pi/2)
					turn.T = vec(0.011, 0.007, 0.013).Scale(float64(step))
					p := joined(spaceIn(t, geom.Identity(), h, sealWidth, placed(turn, build(gap))...))
					a, b, out := p.at(turn.Apply(vec(-0.5, -1.3, 0.7))), p.at(turn.Apply(vec(-0.5, 1.3, 0.7))), p.root(0)
					require.True(t, a >= 0 && b >= 0)
					require.True(t, a != b && a != out && b != out, "%s, pitch %v, gap %v, place %d", name, h, gap, step)
				}
			}
		}
	}
}

// An upright gap is seen by the third axis not at all: columns must find it in
// plan. A row of the lattice across it then holds (|nx|+|ny|)*h of neighbors that
// share a side, at most sqrt(2)*h.
func TestUprightGapsStayOpen(t *testing.T) {
	const h = 0.1
	for step := range 48 {
		angle := float64(step) * math.Pi / 96
		spin := geom.AxisTurn(vec(0, 0, 1), angle)
		upright := geom.Rigid{X: vec(0, 0, 1), Y: vec(0, 1, 0), Z: vec(-1, 0, 0)} // z to x
		for _, gap := range []float64{0.125, 0.15, 0.2, 0.3} {
			if gap < h*(math.Abs(math.Cos(angle))+math.Abs(math.Sin(angle))) {
				continue
			}
			in := func(v geom.Vec) geom.Vec {
				return spin.Turn(upright.Turn(v)).Add(vec(float64(step)*0.017, float64(step)*0.031, 0))
			}
			var halves []*geom.Mesh
			for _, m := range parted(gap) {
				halves = append(halves, m.Map(in))
			}
			p := joined(spaceIn(t, geom.Identity(), h, sealWidth, halves...))
			require.Empty(t, p.sp.Gaps)
			a, b := p.at(in(vec(-1.5, 0, 0.4))), p.at(in(vec(1.5, 0, 0.4)))
			require.True(t, a >= 0 && a == b && a == p.root(0), "gap %v at %v deg in plan", gap, angle*180/math.Pi)
		}
	}
}

// The gap around a round plug between two rooms, whose facets and those of its bore do not face each
// other squarely.
func TestGapsAroundPlugsAreClosed(t *testing.T) {
	circle := func(r float64, n int) []geomtest.Point { return geomtest.Circle(geomtest.Point{}, r, n) }
	layer := func(h float64, loops ...[]geomtest.Point) geomtest.Layer {
		return geomtest.Layer{Height: h, Loops: loops}
	}
	for i, frame := range directions() {
		turn := back(frame)
		outer, room := circle(3.5, 30), circle(2.4, 30)
		block := geomtest.Prism(-3, layer(1, outer), layer(1, outer, room), layer(2, outer, circle(2, 36)), layer(1, outer, room), layer(1, outer))
		plug := geomtest.Prism(-1, layer(2, circle(1.92, 24)))
		p := joined(spaceIn(t, geom.Identity(), 0.11, sealWidth, placed(turn, []*geom.Mesh{block, plug})...))
		a, b := p.at(turn.Turn(vec(0, 0, -1.5))), p.at(turn.Turn(vec(0, 0, 1.5)))
		require.True(t, a >= 0 && b >= 0)
		require.NotEqual(t, a, b, "direction %d", i)
	}
}

// A window closes what the main lattice closes: where both have a column, every run
// within the window's heights is the same.
func TestWindowsCloseTheSameGaps(t *testing.T) {
	runs, sealed := 0, 0
	for i, frame := range directions() {
		halves := placed(back(frame), parted(0.1))
		main := spaceIn(t, geom.Identity(), 0.1, sealWidth, halves...)
		var lo, hi [3]int
		for a := range lo {
			lo[a], hi[a] = main.N[a]/3, main.N[a]*2/3
		}
		w := NewSpace(main.Solids.In(main.Window(lo, hi, 0)), sealWidth, main.clear)
		for x := 2; x < w.N[0]-2; x++ { // a cut looks two columns around
			for y := 2; y < w.N[1]-2; y++ {
				c, d := (x+lo[0])*main.N[1]+y+lo[1], x*w.N[1]+y
				inside := func(s *Space, c int) (out [][4]int32) {
					for r := s.Start[c]; r < s.Start[c+1]; r++ {
						if s.Lo[r] > w.At(2, 1) && s.Hi[r] < w.At(2, w.N[2]-2) {
							out = append(out, [4]int32{s.Lo[r], s.Hi[r], s.LoFacet[r], s.HiFacet[r]})
							if s.LoFacet[r] == Sealed || s.HiFacet[r] == Sealed {
								sealed++
							}
						}
					}
					runs += len(out)
					return out
				}
				require.Equal(t, inside(main, c), inside(w, d), "direction %d, column %d %d", i, x, y)
			}
		}
	}
	require.Greater(t, runs, 1000)
	require.Greater(t, sealed, 30)
}
