package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// chimneys is a room with blind chimneys that start from a passage at its lowest
// edge: one goes along +z and fills while +x is up, the other along +x and fills
// while +z is up. At rest (1, 0, 1) is up. There are two vents, one from what is the room's
// top in each of these, over a bend to an exit that is above the resin in the other.
func chimneys(alongZ, alongX float64) *blockMold {
	b := &blockMold{
		block: boxAt(-6, -12, -8, 44, 32, 44), split: 10,
		rooms: []box{boxAt(0, 0, 0, 20, 20, 20)},
		gate:  boxAt(4, 8, -8, 8, 12, 0),
		cuts:  []box{boxAt(0, 14, 20, 3, 17, 25), boxAt(0, 14, 22, 44, 17, 25), boxAt(20, 4, 0, 25, 7, 3), boxAt(22, 4, 0, 25, 7, 44)},
	}
	if alongZ > 0 {
		b.rooms = append(b.rooms, boxAt(0, 20, 0, 4, 26, 4), boxAt(0, 22, 4, 4, 26, alongZ))
	}
	if alongX > 0 {
		b.rooms = append(b.rooms, boxAt(0, -6, 0, 4, 0, 4), boxAt(4, -6, 0, alongX, -2, 4))
	}
	return b
}

func (b *blockMold) rocked(t testing.TB, cell float64) *Mold {
	s := b.setup()
	s.job.Cell = cell
	s.job.Up = &geom.Vec{X: 1, Z: 1}
	s.job.Gates = []geom.Vec{vec(6, 10, 0)}
	return s.close(t)
}

// TestRocking: no tilt within 60 deg frees both chimneys, whose closed ends point
// along +z and +x: one that does points down along both, over 90 deg away. Filled
// with +x up and finished with +z up (or the other way round) nothing stays.
func TestRocking(t *testing.T) {
	m := chimneys(18, 18).rocked(t, 1)
	s, err := m.SearchTilts(TiltOptions{Cell: 1})
	require.NoError(t, err)
	require.Empty(t, s.Free())
	require.NotNil(t, s.Rocking)
	require.Len(t, s.Rocking.Steps, 2)
	assert.LessOrEqual(t, s.Rocking.Trapped, s.Rocking.Least)
	a, b := s.Rocking.Steps[0], s.Rocking.Steps[1]
	assert.True(t, (a.Up.Z < 0) != (b.Up.Z < 0) || (a.Up.X < 0) != (b.Up.X < 0), "%v then %v", a.Up, b.Up)
	assert.Greater(t, a.Until, 1600.0, "the chimney's foot must stay covered: 4 mm over 20 x 20")
	assert.Less(t, a.Until, b.Until)
	for _, p := range s.Rocking.Steps {
		assert.LessOrEqual(t, p.Tilt.Angle, s.Limit+1e-9)
		assert.Greater(t, pourUp(t, m, p.Up).Trapped, 30.0, "neither tilt alone")
	}
	near, err := m.SearchTilts(TiltOptions{Cell: 1, Limit: 30 * math.Pi / 180})
	require.NoError(t, err)
	require.NotNil(t, near.Rocking)
	assert.Empty(t, near.Rocking.Steps, "within 30 deg neither chimney points down")
}

// TestRockingEqualsBruteForce: on ten made molds, over tilts every 15 deg along and
// across, the search that leaves out what cannot free all finds the same plan as
// pouring every sequence at every share.
func TestRockingEqualsBruteForce(t *testing.T) {
	var tilts []Tilt
	tilts = append(tilts, Tilt{})
	for a := 15.0; a <= 60; a += 15 {
		tilts = append(tilts, *deg(a, 0), *deg(a, 180))
	}
	tilts = append(tilts, *deg(30, 90), *deg(30, 270))
	molds := []*blockMold{chimneys(18, 18), chimneys(12, 18), chimneys(18, 9), chimneys(8, 8), chimneys(0, 18), chimneys(18, 0), chimneys(30, 30)}
	third := chimneys(18, 18) // and one along +y
	third.rooms = append(third.rooms, boxAt(16, 20, 0, 20, 30, 4))
	down := chimneys(14, 14) // a sump below the floor: resin runs into it
	down.rooms = append(down.rooms, boxAt(12, 2, -5, 18, 6, 0))
	low := chimneys(18, 18) // exits so low that they drip when the block is turned
	low.cuts = []box{boxAt(0, 14, 20, 3, 17, 44), boxAt(20, 4, 0, 44, 7, 3)}
	molds = append(molds, third, down, low)
	found := 0
	for i, b := range molds {
		m := b.rocked(t, 1)
		r := newRocker(m.newLedger(600), m.Rest, tilts, 1)
		got := r.search(1 << 20)
		r.prune = false
		want := r.search(1 << 20)
		assert.Equal(t, want.Steps, got.Steps, "mold %d", i)
		assert.Equal(t, want.Trapped, got.Trapped, "mold %d", i)
		if len(want.Steps) > 0 {
			found++
		}
		t.Logf("mold %d: %d steps, %d of %d sequences, blunt %v, least %.0f", i, len(got.Steps), got.Tried, want.Tried, got.Blunt, got.Least)
	}
	assert.GreaterOrEqual(t, found, 2)
	assert.Less(t, found, len(molds))
}

// TestLedgerAgainstPour: what elements trap agrees with the pour to half a layer of
// elements over the pockets' floors, and settling keeps the resin and leaves no
// surface that could run down.
func TestLedgerAgainstPour(t *testing.T) {
	s := storedSetup(t, "comb")
	s.job.Cell = 0.5
	m := s.close(t)
	l := m.newLedger(4000)
	part := 0.0
	for e, in := range l.inPart {
		if in {
			part += l.volume[e]
		}
	}
	f := pourUp(t, m, level)
	assert.InDelta(t, f.Cavity, part, 0.02*f.Cavity)
	for _, up := range []geom.Vec{level, tilted(20, 0), tilted(45, 180), tilted(30, 70)} {
		f := pourUp(t, m, up)
		rank := l.ranks(up)
		q := l.fill(rank, make([]bool, len(l.at)))
		assert.InDelta(t, f.Trapped, l.trapped(q.end), 5*6*12*l.block/2+0.02*f.Trapped, "%v", up)
		state, in := q.after(l, make([]bool, len(l.at)), 0.5)
		turned := l.ranks(tilted(40, 250))
		rest := l.settle(turned, state)
		sum, most := 0.0, 0.0
		for e, r := range rest {
			most = max(most, l.volume[e])
			if !r {
				continue
			}
			sum += l.volume[e]
			for _, x := range l.beside(int32(e)) {
				assert.False(t, !rest[x] && turned[x] < turned[e], "resin above air")
			}
		}
		assert.InDelta(t, in, sum, 3*most, "%v", up)
		assert.Equal(t, rest, l.settle(turned, rest), "at rest already")
	}
}
