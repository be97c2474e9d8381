package column

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// onNodes returns the mesh with corner (x,y,z) put exactly on the place that lies
// (x,y,z) pitches from node (2,2,2).
func onNodes(lat *Lattice, m *geom.Mesh) *geom.Mesh {
	unit := float64(int64(1) << lat.Bits)
	return m.Map(func(v geom.Vec) geom.Vec {
		return lat.Point(lat.At(0, 2)+int32(v.X*unit), lat.At(1, 2)+int32(v.Y*unit), lat.At(2, 2)+int32(v.Z*unit))
	})
}

// cubeLattice has n free pitches from node (2,2,2) on, along every axis.
func cubeLattice(t require.TestingT, frame geom.Rigid, n float64) Lattice {
	lat, err := NewLattice(frame, geom.Box{Max: vec(n, n, n).Scale(0.25)}, 0.25)
	require.NoError(t, err)
	return lat
}

// stretches is a field of lines without its facet numbers.
func stretches(l *Lines) [3][]int32 { return [3][]int32{l.Start, l.Lo, l.Hi} }

// Boxes whose every face, edge and corner lies on lattice lines: half-open rules in
// all three directions leave the columns of exactly their volume.
func TestFacesOnLatticeLines(t *testing.T) {
	for i, frame := range turns(4) {
		lat := cubeLattice(t, frame, 14)
		for seed := range uint64(40) {
			ops := geomtest.Blocks(seed)
			m := geomtest.Subdivide(geomtest.Grid(ops...), int(seed%2)*2)
			s := Snap(lat, []*geom.Mesh{onNodes(&lat, m)}, nil)
			for axis := range 3 {
				l := s.Cast(axis)
				require.Zero(t, l.Odd, "seed %d", seed)
				sum := int64(0)
				for k := range l.Lo {
					sum += int64(l.Hi[k] - l.Lo[k])
				}
				require.Equal(t, int64(geomtest.GridVolume(ops...))<<lat.Bits, sum, "frame %d, seed %d, axis %d", i, seed, axis)
			}
		}
	}
}

// kuhn splits the unit cube into the six tetrahedra of the permutations of its axes.
func kuhn() []*geom.Mesh {
	var out []*geom.Mesh
	for _, p := range [6][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		m := &geom.Mesh{Vertices: make([]geom.Vec, 4), Facets: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}}}
		at := [3]float64{}
		for k, a := range p {
			at[a] = 1
			m.Vertices[k+1] = vec(at[0], at[1], at[2])
		}
		if m.Volume() < 0 {
			m = m.Reversed()
		}
		out = append(out, m)
	}
	return out
}

// Tetrahedra that fill a bent block share it without gap or overlap: their columns,
// cast one by one, sum to the block's on every line, and cast together make the
// block's stretches bit by bit.
func TestTetrahedraPartitionABlock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		frame := geom.Identity()
		if r.IntN(2) == 0 {
			frame = geomtest.RandomTurn(r.Uint64())
			frame.T = geom.Vec{}
		}
		lat := cubeLattice(t, frame, 26)
		// The corners of 2x2x2 cubes, shifted by up to a fifth of a side: on nodes, on
		// halves, or anywhere.
		step := [3]float64{1, 0.5, 1.0 / 65536}[r.IntN(3)]
		shift := func(v geom.Vec) geom.Vec {
			c := rand.New(rand.NewPCG(uint64(v.X+10*v.Y+100*v.Z), 7))
			d := func() float64 { return float64(c.IntN(int(4/step))) * step }
			return v.Scale(11).Add(vec(d(), d(), d()))
		}
		var tets []*geom.Mesh
		for i := range 8 {
			for _, m := range kuhn() {
				tets = append(tets, onNodes(&lat, moved(m, vec(float64(i&1), float64(i>>1&1), float64(i>>2))).Map(shift)))
			}
		}
		all := Snap(lat, tets, nil)
		hull := geomtest.Join(tets...)
		one := Snap(lat, []*geom.Mesh{hull}, nil)
		for axis := range 3 {
			together := all.Cast(axis)
			require.Zero(t, together.Odd)
			require.Equal(t, stretches(one.Cast(axis)), stretches(together), "one mesh of many shells or many bodies")
			sum := make([]int64, len(together.Start)-1)
			count := make([]int, len(sum))
			for _, m := range tets {
				l := Snap(lat, []*geom.Mesh{m}, nil).Cast(axis)
				require.Zero(t, l.Odd)
				for line := range sum {
					for k := l.Start[line]; k < l.Start[line+1]; k++ {
						sum[line] += int64(l.Hi[k] - l.Lo[k])
						count[line]++
					}
				}
			}
			for line := range sum {
				want := int64(0)
				for k := together.Start[line]; k < together.Start[line+1]; k++ {
					want += int64(together.Hi[k] - together.Lo[k])
				}
				// A tetrahedron thinner than the least real thickness is dropped alone.
				require.InDelta(t, want, sum[line], float64((thin-1)*max(count[line], 1)), "axis %d line %d", axis, line)
			}
		}
	})
}

// Closed meshes crumpled onto lattice nodes and halves: facets through nodes, along
// lines, folded flat, still no line crosses an odd number of times.
func TestNoOddLineOnCrumpledMeshes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		r := rand.New(rand.NewPCG(seed, 1))
		frame := geom.Identity()
		if r.IntN(2) == 0 {
			frame = geomtest.RandomTurn(r.Uint64())
			frame.T = geom.Vec{}
		}
		lat := cubeLattice(t, frame, 12)
		m := geomtest.Icosphere(5, 1+r.IntN(3))
		step := []float64{2, 1, 0.5, 0.25}[r.IntN(4)]
		noise := []float64{0, 1, 4}[r.IntN(3)]
		m = m.Map(func(v geom.Vec) geom.Vec {
			at := func(x float64) float64 {
				return min(max(float64(int((x+6+noise*(r.Float64()-0.5))/step))*step, 0), 12)
			}
			return vec(at(v.X), at(v.Y), at(v.Z))
		})
		m = onNodes(&lat, m)
		s := Snap(lat, []*geom.Mesh{m}, nil)
		back := Snap(lat, []*geom.Mesh{m.Reversed()}, nil)
		for axis := range 3 {
			require.Zero(t, s.Cast(axis).Odd)
			require.Zero(t, back.Cast(axis).Odd)
		}
	})
}

// exploded gives every facet corners of its own.
func exploded(m *geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{}
	for f := range m.Facets {
		t := m.Triangle(f)
		n := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, t.A, t.B, t.C)
		out.Facets = append(out.Facets, [3]int32{n, n + 1, n + 2})
	}
	return out
}

// turnedCorners begins every facet at its next corner.
func turnedCorners(m *geom.Mesh, k int) *geom.Mesh {
	out := &geom.Mesh{Vertices: m.Vertices}
	for _, t := range m.Facets {
		out.Facets = append(out.Facets, [3]int32{t[k], t[(k+1)%3], t[(k+2)%3]})
	}
	return out
}

func TestSameStretchesHoweverTheMeshIsWritten(t *testing.T) {
	for _, c := range solidCases() {
		for i, frame := range turns(6) {
			lat := latticeOver(t, frame, 0.37, append(c.bodies, c.cuts...)...)
			s := Snap(lat, c.bodies, c.cuts)
			var want [3]*Lines
			for axis := range 3 {
				want[axis] = s.Cast(axis)
			}
			for name, change := range map[string]func(*geom.Mesh) *geom.Mesh{
				"unwelded":       exploded,
				"shuffled":       func(m *geom.Mesh) *geom.Mesh { return geomtest.ShuffleFacets(m, uint64(i)) },
				"second corner":  func(m *geom.Mesh) *geom.Mesh { return turnedCorners(m, 1) },
				"third corner":   func(m *geom.Mesh) *geom.Mesh { return turnedCorners(m, 2) },
				"inside and out": func(m *geom.Mesh) *geom.Mesh { return m.Reversed().Reversed() },
			} {
				var bodies, cuts []*geom.Mesh
				for _, m := range c.bodies {
					bodies = append(bodies, change(m))
				}
				for _, m := range c.cuts {
					cuts = append(cuts, change(m))
				}
				w := Snap(lat, bodies, cuts)
				for axis := range 3 {
					require.Equal(t, stretches(want[axis]), stretches(w.Cast(axis)), "%s, %s, frame %d, axis %d", c.name, name, i, axis)
				}
			}
		}
	}
}

// Heights half-way between two quanta round the same from whichever corner a facet
// begins, and the same for the facet of a body that touches it.
func TestHalfQuanta(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		lat := cubeLattice(t, geom.Identity(), 12)
		m := geomtest.Icosphere(5, r.IntN(2)).Map(func(v geom.Vec) geom.Vec {
			return vec(float64(int(v.X+6)), float64(int(v.Y+6)), v.Z+6+float64(r.IntN(1<<16))/(1<<16))
		})
		m = onNodes(&lat, m)
		want := Snap(lat, []*geom.Mesh{m}, nil).Cast(2)
		for k := 1; k < 3; k++ {
			got := Snap(lat, []*geom.Mesh{turnedCorners(m, k)}, nil).Cast(2)
			require.Equal(t, want, got)
		}
		lid := onNodes(&lat, geomtest.Box(vec(0, 0, 0), vec(12, 12, 12)))
		mold := geomtest.Join(lid, turnedCorners(m.Reversed(), 1))
		both := Snap(lat, []*geom.Mesh{mold, m}, nil).Cast(2)
		require.Len(t, both.Lo, 12*12, "a body in a mold of its shape leaves no space")
	})
}

// The other diagonal of a flat quadrilateral gives the same stretches where the
// snapped corners stay in one plane: in the solid's own axes.
func TestOtherDiagonal(t *testing.T) {
	for seed := range uint64(10) {
		m := geomtest.Subdivide(geomtest.Grid(geomtest.Blocks(seed)...), 0)
		n := geomtest.OtherDiagonal(m)
		require.NotEqual(t, m.Facets, n.Facets)
		lat := latticeOver(t, geom.Identity(), 0.23, m)
		for axis := range 3 {
			assert.Equal(t, stretches(Snap(lat, []*geom.Mesh{m}, nil).Cast(axis)), stretches(Snap(lat, []*geom.Mesh{n}, nil).Cast(axis)))
		}
	}
	// Turned, the four snapped corners leave the plane by up to a quantum.
	m := geomtest.Cylinder(4, 9, 24)
	n := geomtest.OtherDiagonal(m)
	require.NotEqual(t, m.Facets, n.Facets)
	for _, frame := range turns(12)[1:] {
		lat := latticeOver(t, frame, 0.31, m)
		s, w := Snap(lat, []*geom.Mesh{m}, nil), Snap(lat, []*geom.Mesh{n}, nil)
		blur := newTwin(s)
		for axis := range 3 {
			a, b := s.Cast(axis), w.Cast(axis)
			require.Equal(t, a.Start, b.Start)
			for k := range a.Lo {
				require.InDelta(t, a.Lo[k], b.Lo[k], 2*blur.blur(axis, a.LoFacet[k]))
				require.InDelta(t, a.Hi[k], b.Hi[k], 2*blur.blur(axis, a.HiFacet[k]))
			}
		}
	}
}

// A window's lines are the main lattice's where they meet, to the last bit.
func TestWindowEqualsTheMainLattice(t *testing.T) {
	for _, c := range solidCases() {
		for _, frame := range turns(3) {
			lat := latticeOver(t, frame, 0.5, append(c.bodies, c.cuts...)...)
			s := Snap(lat, c.bodies, c.cuts)
			lo, hi := [3]int{4, 5, 3}, [3]int{12, 11, 9}
			for a := range hi {
				hi[a] = min(hi[a], lat.N[a]-1)
			}
			for fine := range 4 {
				w := s.In(lat.Window(lo, hi, fine))
				for axis := range 3 {
					requireSameLines(t, s.Cast(axis), w.Cast(axis), lo, fine, fmt.Sprintf("%s, fine %d, axis %d", c.name, fine, axis))
				}
			}
		}
	}
}

func requireSameLines(t *testing.T, main, window *Lines, lo [3]int, fine int, msg string) {
	u, v := (main.Axis+1)%3, (main.Axis+2)%3
	for i := 0; i < window.NU; i += 1 << fine {
		for j := 0; j < window.NV; j += 1 << fine {
			a := (i>>fine+lo[u])*main.NV + j>>fine + lo[v]
			b := i*window.NV + j
			p, q := main.Start[a], main.Start[a+1]
			r, s := window.Start[b], window.Start[b+1]
			require.Equal(t, q-p, s-r, "%s: %d %d", msg, i, j)
			if q > p {
				require.Equal(t, [4][]int32{main.Lo[p:q], main.Hi[p:q], main.LoFacet[p:q], main.HiFacet[p:q]},
					[4][]int32{window.Lo[r:s], window.Hi[r:s], window.LoFacet[r:s], window.HiFacet[r:s]}, "%s: %d %d", msg, i, j)
			}
		}
	}
}
