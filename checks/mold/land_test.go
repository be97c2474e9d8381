package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// landOf returns the land of the cavity (0) or a channel, and whether a leak path
// was found.
func landOf(c *Closing, channel int) (float64, bool) {
	for _, l := range c.Leaks {
		if l.Channel == channel {
			return l.Land, true
		}
	}
	return 0, false
}

// TestThinLand: 0.1, 0.2 and 0.3 mm of rubber between the cavity and a bore through
// the block.
func TestThinLand(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]float64{"membrane01": 0.1, "membrane02": 0.2, "membrane03": 0.3} {
		_, c := storedSetup(t, name).shut(t)
		land, ok := landOf(c, 0)
		require.True(t, ok, name)
		assert.InDelta(t, want, land, 0.01, name)
	}
}

// TestLandOverStep: the way out goes over a step of the parting face: 5 mm level, 5
// mm up, 5 mm level; every other way is longer.
func TestLandOverStep(t *testing.T) {
	t.Parallel()
	part := ops{geomtest.Add(vec(10, 10, 10), vec(50, 30, 20))}
	bottom := ops{geomtest.Add(vec(-20, -20, 0), vec(60, 60, 15)), geomtest.Add(vec(55, -20, 15), vec(60, 60, 20)), geomtest.Cut(vec(10, 10, 10), vec(50, 30, 16))}
	top := ops{geomtest.Add(vec(-20, -20, 15), vec(60, 60, 35)), geomtest.Cut(vec(55, -21, 14), vec(61, 61, 20)), geomtest.Cut(vec(10, 10, 14), vec(50, 30, 20)), geomtest.Cut(vec(29, 19, 19), vec(31, 21, 36))}
	m, c := moldOf(part, bottom, top).shut(t)
	land, ok := landOf(c, 0)
	require.True(t, ok)
	assert.InDelta(t, 15, land, 2*m.closingPitch())
}

// TestLandBesideChannel: a gate in the parting face that runs 2 mm beside the outer
// face before it turns, and one that runs straight out.
func TestLandBesideChannel(t *testing.T) {
	t.Parallel()
	part, bottom, top := b0Ops()
	bottom, top = bottom[:2], top[:2] // no bores
	side := []geomtest.Op{geomtest.Cut(vec(49, 18, 13), vec(58, 22, 17)), geomtest.Cut(vec(54, 18, 13), vec(58, 41, 17))}
	straight := []geomtest.Op{geomtest.Cut(vec(49, 18, 13), vec(61, 22, 17))}
	_, c := moldOf(part, append(append(ops(nil), bottom...), side...), append(append(ops(nil), top...), side...)).shut(t)
	land, ok := landOf(c, 1)
	require.True(t, ok, "%+v", c.Leaks)
	assert.InDelta(t, 2, land, 0.02)
	assert.Equal(t, 1, c.Leaks[0].Channel)
	_, c = moldOf(part, append(append(ops(nil), bottom...), straight...), append(append(ops(nil), top...), straight...)).shut(t)
	_, ok = landOf(c, 1)
	assert.False(t, ok, "%+v", c.Leaks)
	land, ok = landOf(c, 0)
	require.True(t, ok)
	assert.InDelta(t, 10, land, 0.02)
}

// TestLandEndsOnEdges: paths begin and end where the faces do, and are as long as
// they say.
func TestLandEndsOnEdges(t *testing.T) {
	t.Parallel()
	_, c := storedSetup(t, "b0").shut(t)
	require.NotEmpty(t, c.Leaks)
	l := c.Leaks[0]
	length := 0.0
	for i := 1; i < len(l.Path); i++ {
		length += l.Path[i].Dist(l.Path[i-1])
	}
	assert.InDelta(t, l.Land, length, 1e-3)
	inside, outside := geom.Box{Min: vec(10, 10, 15), Max: vec(50, 30, 15)}, geom.Box{Min: vec(0, 0, 15), Max: vec(60, 40, 15)}
	onEdge := func(b geom.Box, p geom.Vec) bool {
		return min(abs64(p.X-b.Min.X), abs64(p.X-b.Max.X), abs64(p.Y-b.Min.Y), abs64(p.Y-b.Max.Y)) < 1e-3
	}
	assert.True(t, onEdge(inside, l.Path[0]), "%v", l.Path)
	assert.True(t, onEdge(outside, l.Path[len(l.Path)-1]), "%v", l.Path)
}

func abs64(x float64) float64 { return max(x, -x) }
