package mold

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// directions is how many ways a thin wall or a thin bore is turned (issue: 24).
const directions = 24

// smallBlock is a mold small enough to be closed dozens of times: a part of 8 x 8
// x 4 mm, a square gate of 2 mm below it and a square vent of 2 mm above it.
func smallBlock() *blockMold {
	return &blockMold{
		block: boxAt(0, 0, 0, 20, 16, 16), split: 7,
		rooms: []box{boxAt(4, 4, 5, 12, 12, 9)},
		gate:  boxAt(7, 7, 0, 9, 9, 5),
		cuts:  []box{boxAt(7, 7, 9, 9, 9, 16)},
	}
}

// TestMembranes: a wall of 0.1, 0.2 or 0.3 mm between the cavity and a hollow that
// leads outside never leaks, however it lies (own calculation: with the leak the
// tilted ceiling would be vented).
func TestMembranes(t *testing.T) {
	t.Parallel()
	up := tilted(20, 0)
	tight := smallBlock().setup()
	want := pourUp(t, tight.close(t), up).Trapped
	require.InDelta(t, 0.5*3*3*tan(20)*8, want, 0.3, "wedge beyond the vent's raised edge, 3 mm from the wall")
	for _, wall := range []float64{0.1, 0.2, 0.3} {
		b := smallBlock()
		b.cuts = append(b.cuts, boxAt(12+wall, 5, 8, 16, 11, 16)) // open at the top
		s := b.setup()
		gate := vec(8, 8, 5)
		for k := range directions {
			r := geomtest.RandomTurn(uint64(100 + k))
			m := s.turn(r, gate).close(t)
			what := fmt.Sprintf("wall %.1f mm, direction %d", wall, k)
			assert.Len(t, m.Channels, 2, "%s\n%s", what, channelList(m))
			f := pourUp(t, m, r.Turn(up))
			assert.InDelta(t, want, f.Trapped, max(0.3, f.TrappedError), what)
		}
	}
}

// TestThinBores: a vent of 0.5, 0.8 or 1.0 mm is open and measured right, however
// it lies. Its sections are 32-gons: the largest ball that passes is d cos(pi/32).
func TestThinBores(t *testing.T) {
	t.Parallel()
	for _, d := range []float64{0.5, 0.8, 1.0} {
		s := boredBlock(d)
		gate := vec(8, 8, 5)
		want := d * math.Cos(math.Pi/32)
		for k := range directions {
			r := geomtest.RandomTurn(uint64(200 + k))
			m := s.turn(r, gate).close(t)
			what := fmt.Sprintf("bore %.1f mm, direction %d", d, k)
			if !assert.Len(t, m.Channels, 2, "%s\n%s", what, channelList(m)) {
				continue
			}
			v := only(t, m, Vent)
			assert.InDelta(t, want, v.Diameter, max(0.02*want, 0.05), what)
			assert.InDelta(t, 7, v.Length, 0.05, what)
			assert.InDelta(t, 0, v.Mouth.Dist(r.Apply(vec(8, 8, 9))), 0.05, what)
			assert.InDelta(t, 0, v.Exit.Dist(r.Apply(vec(8, 8, 16))), 0.05, what)
			assert.Equal(t, "top", v.Half, what)
			f := pourUp(t, m, r.Turn(level))
			assert.InDelta(t, 256, f.Filled, 256*0.02, what)
			assert.Less(t, f.Trapped, 0.5, what)
		}
	}
}

// boredBlock is smallBlock with a round vent of diameter d in place of the square.
func boredBlock(d float64) setup {
	b := smallBlock()
	b.cuts = nil
	s := b.setup()
	outline := geomtest.Rect(0, 0, 20, 16)
	room := geomtest.Rect(4, 4, 12, 12)
	hole := geomtest.Circle(geomtest.Point{X: 8, Y: 8}, d/2, 32)
	s.halves[1].Mesh = geomtest.Prism(7,
		geomtest.Layer{Height: 2, Loops: [][]geomtest.Point{outline, room}},
		geomtest.Layer{Height: 7, Loops: [][]geomtest.Point{outline, hole}})
	return s
}

// TestSheet: a part 0.5 mm thick stays one space at every slope and azimuth.
func TestSheet(t *testing.T) {
	t.Parallel()
	b := &blockMold{
		block: boxAt(0, 0, 0, 26, 18, 14), split: 6,
		rooms: []box{boxAt(4, 4, 6, 22, 14, 6.5)},
		gate:  boxAt(5, 8, 0, 7, 10, 6),
		cuts:  []box{boxAt(19, 8, 6.5, 21, 10, 14)},
	}
	m := b.setup().close(t)
	for _, slope := range []float64{0, 15, 30, 45, 60, 75, 85} {
		for _, side := range []float64{0, 40, 90} {
			f := pourUp(t, m, tilted(slope, side))
			assert.Zero(t, f.Unreached, "%v deg @ %v", slope, side)
			assert.InDelta(t, 90, f.Cavity, 0.9, "%v deg @ %v", slope, side)
		}
	}
}

// TestPartingOnALatticeLine: halves that meet, or stand 0.02 mm apart, on a plane
// through a line of columns, upright in the pour, do not leak.
func TestPartingOnALatticeLine(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"parting-vertical", "parting-gap002"} {
		s := storedSetup(t, name)
		m := s.close(t)
		want := pourUp(t, m, tilted(10, 90)).Trapped
		require.Greater(t, want, 100.0)
		l := m.space.Lattice
		for line := 20; line < 24; line++ {
			on := l.Point(l.At(0, line), 0, 0).X
			moved := s.shift(vec(on, 0, 0)).close(t)
			f := pourUp(t, moved, tilted(10, 90))
			assert.Len(t, moved.Channels, 2, channelList(moved))
			assert.InDelta(t, want, f.Trapped, f.TrappedError, "%s on line %d", name, line)
		}
	}
}

// TestTorusIndices: over a generic direction a ring has one maximum, two saddles,
// one minimum; their indices sum to its Euler characteristic 0 (Banchoff 1967, from
// memory), and the mold of it has one high point.
func TestTorusIndices(t *testing.T) {
	t.Parallel()
	part, _ := loadCase(t, "torus")
	up := vec(0.1372, 0.0941, 0.9861).Unit()
	sum, maxima := criticalIndices(part.Mesh, up)
	assert.Zero(t, sum)
	assert.Equal(t, 1, maxima)
	m := storedSetup(t, "torus").close(t)
	assert.Len(t, pourUp(t, m, up).HighPoints, 1)

	sphere, _ := loadCase(t, "sphere")
	sum, maxima = criticalIndices(sphere.Mesh, up)
	assert.Equal(t, 2, sum)
	assert.Equal(t, 1, maxima)
}

// criticalIndices sums 1 - (sign changes of the height around the link)/2 over the
// vertices, and counts the local maxima.
func criticalIndices(m *geom.Mesh, up geom.Vec) (sum, maxima int) {
	changes := make([]int, len(m.Vertices))
	lower := make([]bool, len(m.Vertices)) // has a higher neighbour
	h := func(v int32) float64 { return m.Vertices[v].Dot(up) }
	for _, f := range m.Facets {
		for k := range f {
			v, a, b := f[k], f[(k+1)%3], f[(k+2)%3]
			if (h(a) > h(v)) != (h(b) > h(v)) {
				changes[v]++
			}
			lower[v] = lower[v] || h(a) > h(v) || h(b) > h(v)
		}
	}
	for v := range m.Vertices {
		sum += 1 - changes[v]/2
		if !lower[v] {
			maxima++
		}
	}
	return sum, maxima
}

// TestShrinkFollowsScale: a cavity cut larger than the part keeps its channels, and
// its trapped air grows with the cube of the scale (same shape, vent scaled or not
// by less than the error).
func TestShrinkFollowsScale(t *testing.T) {
	t.Parallel()
	for name, scale := range map[string]float64{"shrink-box-1005": 1.005, "shrink-box-101": 1.01, "shrink-sphere-101": 1.01} {
		m := storedSetup(t, name).close(t)
		assert.Len(t, m.Channels, 2, "%s\n%s", name, channelList(m))
		assert.InDelta(t, scale, m.Fit.Scale, 3e-4, name)
	}
}

// TestDripAndPlug: a level B0 weeps when cavity and vent are full: 8000 + 40 mm3;
// tilted, when all but the trapped air is in.
func TestDripAndPlug(t *testing.T) {
	t.Parallel()
	m := b0Blocks().setup().close(t)
	f := pourUp(t, m, level)
	v := f.Ports[only(t, m, Vent).ID-1]
	require.NotNil(t, v.WeepsAt)
	require.NotNil(t, v.PlugAt)
	assert.InDelta(t, 8.040, *v.WeepsAt, 0.010)
	assert.InDelta(t, *v.WeepsAt, *v.PlugAt, 1e-3, "a level exit is covered as it drips")
	f = pourUp(t, m, tilted(10, 0))
	v = f.Ports[only(t, m, Vent).ID-1]
	assert.InDelta(t, 8.040-b0Trapped(10)/1000, *v.WeepsAt, 0.010)
	assert.GreaterOrEqual(t, *v.PlugAt, *v.WeepsAt)
	assert.Equal(t, 1, v.WeepsOrder)
	assert.InDelta(t, f.Filled+v.Volume, 1000**v.PlugAt, 5)
	last := f.Stages[len(f.Stages)-1]
	assert.InDelta(t, f.Filled+v.Volume, last.Filled, 5)
}

// TestSealHeights: sealing levels within 0.05 mm of the closed form.
func TestSealHeights(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		up   geom.Vec
		want float64
	}{
		{"b0", tilted(10, 0), 31*math.Sin(10*math.Pi/180) + 20*math.Cos(10*math.Pi/180)},
		{"b0", tilted(20, 0), 31*math.Sin(20*math.Pi/180) + 20*math.Cos(20*math.Pi/180)},
		{"sphere", tilted(20, 0), 20 * math.Cos(20*math.Pi/180-math.Asin(1.0/20))},
		{"utube", level, 5},
	} {
		m := storedSetup(t, c.name).close(t)
		f := pourUp(t, m, c.up)
		require.Len(t, f.Pockets, 1, c.name)
		assert.InDelta(t, c.want, f.Pockets[0].SealedAt, 0.05, c.name)
	}
}

// TestSuggestedVents: every suggested vent frees its pocket when it is really
// there, starts on the cavity, ends outside, and keeps its wall.
func TestSuggestedVents(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		up   geom.Vec
	}{{"b0", tilted(10, 0)}, {"utube", level}, {"comb", level}, {"bunny", level}} {
		m := storedSetup(t, c.name).close(t)
		f := pourUp(t, m, c.up)
		require.NotEmpty(t, f.Pockets, c.name)
		require.NoError(t, m.SuggestVents(f))
		for _, p := range f.Pockets {
			what := fmt.Sprintf("%s pocket %d of %.1f mm3", c.name, p.ID, p.Volume)
			if !assert.NotNil(t, p.Vent, what) {
				continue
			}
			v := p.Vent
			assert.GreaterOrEqual(t, v.Frees, 0.95*p.Volume, what)
			hit, ok := m.fixed.partTree.Nearest(v.Mouth, 0.3)
			assert.True(t, ok, "%s: mouth %v", what, hit.Dist)
			assert.False(t, m.fixed.inRubber(v.Exit.AddScaled(v.Direction, 0.1)), what)
			assert.InDelta(t, v.Length, v.Mouth.Dist(v.Exit), 1e-6, what)
			assert.GreaterOrEqual(t, v.Direction.Dot(c.up), ventRise-1e-9, what)
		}
	}
}
