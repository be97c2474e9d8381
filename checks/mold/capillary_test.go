package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// Capillary lengths of water (72.8 mN/m, 0.9982 g/ml) and of a resin (35 mN/m, 1.05
// g/ml), and the widths of holes that follow (0.918 and 1.8412 lengths as radii).
func TestCapillaryWidths(t *testing.T) {
	assert.InDelta(t, 2.7271, CapillaryLength(72.8, 0.9982), 2e-4)
	assert.InDelta(t, 1.8437, CapillaryLength(35, 1.05), 1e-4)
	sure, may := (&Liquid{SurfaceTension: 35, Density: 1.05}).CapillaryWidths()
	assert.InDelta(t, 3.384, sure, 2e-3)
	assert.InDelta(t, 6.789, may, 1e-3)
	sure, may = (&Liquid{SurfaceTension: 72.8, Density: 0.9982}).CapillaryWidths()
	assert.InDelta(t, 5.005, sure, 3e-3)
	assert.InDelta(t, 10.04, may, 5e-3)
}

// drilled is mold B0 with holes in the floor of its cavity: a narrow one, a wider one,
// one too wide, a groove, a dimple.
func drilled(t *testing.T, holes ...box) *Mold {
	t.Helper()
	b := b0Blocks()
	b.rooms = append(b.rooms, holes...)
	s := b.setup()
	s.job = *NewJob()
	s.job.Cell = 0.25
	return s.close(t)
}

func TestClingingHoles(t *testing.T) {
	narrow, wide := boxAt(12, 12, 4, 14, 14, 10), boxAt(17, 12, 4, 21, 16, 10)
	large, groove, dimple := boxAt(34, 12, 3, 48, 18, 10), boxAt(12, 26, 4, 26, 28, 10), boxAt(35, 24, 9.3, 37, 26, 10)
	m := drilled(t, narrow, wide, large, groove, dimple)
	f := pourUp(t, m, geom.Vec{Z: 1})
	got, err := Cling(m, f)
	require.NoError(t, err)
	require.Len(t, got, 2)
	for i, c := range []struct {
		volume, width float64
		at            geom.Vec
		sure          bool
	}{{96, 4, vec(19, 14, 10), false}, {24, 2, vec(13, 13, 10), true}} {
		k := got[i]
		assert.Equal(t, Capillary, k.Kind)
		assert.Equal(t, len(f.Pockets)+1+i, k.ID)
		assert.InDelta(t, c.volume, k.Volume, k.Error)
		assert.Less(t, k.Error, 0.25*c.volume)
		assert.InDelta(t, c.width, k.Width, 2*m.Cell)
		assert.InDelta(t, 6, k.Depth, 0.05)
		assert.InDelta(t, 0, k.Top.Dist(c.at), 0.3)
		assert.InDelta(t, 10, k.SealedAt, 0.05)
		assert.InDelta(t, 4, k.Bottom.Z, 0.01)
		assert.Equal(t, c.sure, k.Sure)
	}
	assert.InDelta(t, f.Cavity, f.Filled+f.Trapped+f.Unreached, 1e-9*f.Cavity, "counted as filled")
	assert.Zero(t, f.Trapped)
}

// The widths follow the liquid: with a tenth of the surface tension they are a third.
func TestClingingFollowsTheLiquid(t *testing.T) {
	m := drilled(t, boxAt(12, 12, 4, 14, 14, 10), boxAt(17, 12, 4, 21, 16, 10))
	f := pourUp(t, m, geom.Vec{Z: 1})
	for tension, want := range map[float64]int{35: 2, 12: 1, 2: 0} {
		m.Job.Liquid.SurfaceTension = tension
		got, err := Cling(m, f)
		require.NoError(t, err)
		assert.Len(t, got, want, "%g mN/m", tension)
	}
}

// Upside down the same holes are cups over the resin: what clings there is a ceiling
// pocket, and B0 as it is has no hole at any tilt.
func TestNothingClings(t *testing.T) {
	m := drilled(t, boxAt(12, 12, 4, 14, 14, 10))
	f := pourUp(t, m, geom.Vec{Z: -1})
	got, err := Cling(m, f)
	require.NoError(t, err)
	assert.Empty(t, got)
	plain := drilled(t)
	for _, up := range []geom.Vec{level, tilted(10, 0), tilted(35, 70)} {
		got, err := Cling(plain, pourUp(t, plain, up))
		require.NoError(t, err)
		assert.Empty(t, got, "%v", up)
	}
}

// A hole at the foot of which the gate comes in, or a vent goes out, fills from below.
func TestAGateIsNoHole(t *testing.T) {
	b := b0Blocks()
	b.gate = boxAt(12, 12, 0, 14, 14, 4)
	b.rooms = append(b.rooms, boxAt(12, 12, 4, 14, 14, 10))
	s := b.setup()
	s.job = *NewJob()
	s.job.Cell, s.job.Gates = 0.25, []geom.Vec{vec(13, 13, 2)}
	m := s.close(t)
	f := pourUp(t, m, geom.Vec{Z: 1})
	got, err := Cling(m, f)
	require.NoError(t, err)
	assert.Empty(t, got)
}
