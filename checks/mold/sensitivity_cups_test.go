package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// TestCupSensitivity: a round cup R 10, 10 deep, leaned by a (tan a over a half) holds the
// ungula tan a [2/3 (R^2-q^2)^1.5 - q (R^2 acos(q/R) - q sqrt(R^2-q^2))], q = R - 10/tan a
// (own calculation). It is gone from the first whole degree at which that is under 500 mm3,
// and there one before; both are printed.
func TestCupSensitivity(t *testing.T) {
	const r, depth, most = 10.0, 10.0, 500.0
	holds := func(deg float64) float64 {
		tan := math.Tan(deg * math.Pi / 180)
		q := r - depth/tan
		w := math.Sqrt(r*r - q*q)
		return tan * (2./3*w*w*w - q*(r*r*math.Acos(q/r)-q*w))
	}
	assert.InDelta(t, 1343.5036, holds(30), 1e-3)
	assert.InDelta(t, 309.5066, holds(60), 1e-3)
	first := 45.0
	for holds(first) >= most {
		first++
	}
	mesh := roundCup(r, 2, 2, depth, 128)
	m := &Mold{Pulls: []geom.Vec{upZ.Neg()}, Part: Body{Name: "part", Mesh: mesh}, Halves: []Body{{Name: "half", Mesh: mesh}}, Job: *NewJob()}
	m.fixed, m.prints = m.prepare(), &prints{make([]halfPrint, 1)}
	m.fixed.part, m.fixed.partTree, m.molding = mesh, bvh.Build(mesh), make(moldingFaces, len(m.fixed.joined.Facets))
	print := func(build geom.Vec) *Printed {
		p, err := m.Print(0, build, PrintOptions{NoHoles: true})
		require.NoError(t, err)
		return p
	}
	now := print(upZ)
	require.True(t, now.hasCup(math.Inf(1), most))
	to := leaning(80)
	search := func(cup float64) []*PoseSearch {
		return []*PoseSearch{{Half: 0, Cell: 0.8, Now: PosePoint{Build: upZ, CupArea: now.Cups[0].Area}, Points: []PosePoint{{Build: to, Best: true, CupArea: cup}}}}
	}
	list, err := CupSensitivities(m, []*Printed{now}, search(0), math.Inf(1), most)
	require.NoError(t, err)
	require.Len(t, list, 1)
	s := list[0]
	assert.Equal(t, LeanChange, s.Change)
	assert.InDelta(t, first, s.Gone*180/math.Pi, 1.01)
	assert.InDelta(t, 1, (s.Gone-s.Still)*180/math.Pi, 1e-9)
	assert.Equal(t, to, s.Toward)
	assert.False(t, print(leaning(s.Gone*180/math.Pi)).hasCup(math.Inf(1), most), "just outside")
	assert.True(t, print(leaning(s.Still*180/math.Pi)).hasCup(math.Inf(1), most), "just inside")

	// A best direction with as large a cup says nothing, nor does a half without one.
	list, err = CupSensitivities(m, []*Printed{now}, search(now.Cups[0].Area), math.Inf(1), most)
	require.NoError(t, err)
	assert.Empty(t, list)
	list, err = CupSensitivities(m, []*Printed{now}, search(0), math.Inf(1), 1e5)
	require.NoError(t, err)
	assert.Empty(t, list)
}

// TestPrintEndsAtACup: a print that ends at the first cup above some bounds tells whether
// there is one as the whole print does.
func TestPrintEndsAtACup(t *testing.T) {
	with, without := 0, 0
	for _, name := range []string{"dome-cup", "cup"} {
		m := storedSetup(t, name).close(t)
		for half := range m.Halves {
			for _, build := range []geom.Vec{upZ, upZ.Neg(), {X: 0.5, Y: 0.3, Z: 0.8}} {
				whole, err := m.Print(half, build, PrintOptions{NoHoles: true, Cell: 0.8})
				require.NoError(t, err)
				for _, most := range []float64{10, 300} {
					ended, err := m.Print(half, build, PrintOptions{NoHoles: true, Cell: 0.8, over: &cupBounds{math.Inf(1), most}})
					require.NoError(t, err)
					is := whole.hasCup(math.Inf(1), most)
					assert.Equal(t, is, ended.hasCup(math.Inf(1), most), "%s, half %d, build %v, %v mm3", name, half, build, most)
					if is {
						with++
					} else {
						without++
					}
				}
			}
		}
	}
	assert.Positive(t, with)
	assert.Positive(t, without)
}
