package mold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestSeenWindowsChangeNothing: what is kept of windows answers as the windows themselves
// do. A tilted comb is poured with bores all along it, a few mm apart, so that some go
// through the windows that were seen, some beside them: with what earlier pours found, and
// with nothing known.
func TestSeenWindowsChangeNothing(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 1
	m := s.close(t)
	up := tilted(25, 20)
	f := pourUp(t, m, up)
	require.NotEmpty(t, f.Pockets)
	seen := &m.fixed.windows
	asked := func() (n int) {
		for _, w := range seen.by {
			n += len(w.answers)
		}
		return n
	}
	base := asked()
	require.NotZero(t, base)
	spared := 0
	for _, pk := range f.Pockets {
		for _, off := range [2]float64{-3, 1} {
			with, err := m.With([]BoreSpec{{At: pk.Top.Add(geom.Vec{X: off, Y: off / 2}), Diameter: 2, Direction: &geom.Vec{Z: 1}}})
			if err != nil {
				continue // no bore can be drawn there
			}
			before := asked()
			got, err := with.airLeft(up)
			require.NoError(t, err)
			again := asked() - before
			*seen = seenWindows{}
			want, err := with.airLeft(up)
			require.NoError(t, err)
			if again < asked() {
				spared++
			}
			assert.Equal(t, want, got, "bore at %v", pk.Top)
			_, err = m.airLeft(up) // what the mold as it is finds, for the next
			require.NoError(t, err)
		}
	}
	assert.Greater(t, spared, 3, "pours that found something known")
}

// TestBoreInWindow: where no bore is said to be in a window it is the same as without
// bores; and some that are said to be in one do change it.
func TestBoreInWindow(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 1
	m := s.close(t)
	p, err := m.newPour(tilted(25, 20), m.Cell)
	require.NoError(t, err)
	box := m.fixed.part.Box()
	changed, kept := 0, 0
	for n := range 3 {
		at := geom.Vec{X: box.Min.X + box.Size().X*(float64(n)+0.5)/3, Y: box.Center().Y, Z: box.Max.Z}
		bored, err := m.With([]BoreSpec{{At: at, Diameter: 2, Direction: &geom.Vec{X: 0.3, Y: 0.2, Z: 1}}})
		if err != nil {
			continue
		}
		q, err := bored.newPour(tilted(25, 20), m.Cell)
		require.NoError(t, err)
		require.Equal(t, p.lat.Origin, q.lat.Origin)
		for i := int32(0); i < int32(len(p.lo)); i += 7 {
			if i%70 != 0 && p.point(i, p.hi[i]).Dist(at) > 5 {
				continue // most windows lie near the bore
			}
			c := int(p.col[i])
			lo, hi := p.around([3]int{c / p.lat.N[1], c % p.lat.N[1], p.lat.NodeBelow(2, p.hi[i])})
			lat := p.lat.Window(lo, hi, fineBits)
			without, with := p.window(&lat), q.window(&lat)
			same := assert.ObjectsAreEqual(without.links(), with.links()) && slices.Equal(without.sp.Lo, with.sp.Lo) && slices.Equal(without.sp.Hi, with.sp.Hi)
			if bored.boreIn(&lat) {
				changed += map[bool]int{false: 1}[same]
			} else {
				kept++
				assert.True(t, same, "bore at %v, window %v to %v", at, lo, hi)
			}
		}
	}
	assert.Greater(t, changed, 3)
	assert.Greater(t, kept, 20)
}
