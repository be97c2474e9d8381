package mold

import (
	"fmt"
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

// tenMolds are made so that some are freed by two tilts and some by none.
func tenMolds() []*blockMold {
	molds := []*blockMold{chimneys(18, 18), chimneys(12, 18), chimneys(18, 9), chimneys(8, 8), chimneys(0, 18), chimneys(18, 0), chimneys(30, 30)}
	third := chimneys(18, 18) // and one along +y
	third.rooms = append(third.rooms, boxAt(16, 20, 0, 20, 30, 4))
	down := chimneys(14, 14) // a sump below the floor: resin runs into it
	down.rooms = append(down.rooms, boxAt(12, 2, -5, 18, 6, 0))
	low := chimneys(18, 18) // exits so low that they drip when the block is turned
	low.cuts = []box{boxAt(0, 14, 20, 3, 17, 44), boxAt(20, 4, 0, 44, 7, 3)}
	return append(molds, third, down, low)
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
	molds := tenMolds()
	found := 0
	for i, b := range molds {
		m := b.rocked(t, 1)
		r := newRocker(m.newLedger(600), m.Rest, tilts, 1)
		r.longest = 2
		got := r.search(1 << 24)
		r.prune = false
		want := r.search(1 << 24)
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

// threeChimneys is a room with a blind chimney along each axis, from a passage at its
// lowest corner, and a vent from the far end of each of its upper edges, over a bend to an
// exit that is above the resin whichever of them is up. At rest (1, 1, 1) is up: a chimney
// fills where its axis does not rise, which within 50 deg one of the three does at a time.
func threeChimneys(long float64) *blockMold {
	return &blockMold{
		block: boxAt(-14, -14, -14, 46, 46, 46), split: 10,
		rooms: []box{boxAt(0, 0, 0, 20, 20, 20),
			boxAt(0, -6, 0, 4, 0, 4), boxAt(0, -6, 4, 4, -2, long),
			boxAt(0, 0, -6, 4, 4, 0), boxAt(4, 0, -6, long, 4, -2),
			boxAt(-6, 0, 0, 0, 4, 4), boxAt(-6, 4, 0, -2, long, 4)},
		gate: boxAt(8, 8, -14, 12, 12, 0),
		cuts: []box{boxAt(20, 17, 0, 46, 20, 3), boxAt(38, 17, 0, 41, 20, 46),
			boxAt(0, 20, 17, 3, 46, 20), boxAt(0, 38, 17, 46, 41, 20),
			boxAt(17, 0, 20, 20, 3, 46), boxAt(17, 0, 38, 20, 46, 41)},
	}
}

// TestRockingThree: within 50 deg no two tilts fill all three chimneys, and three do. That
// two do not is poured out: every pair at every share.
func TestRockingThree(t *testing.T) {
	s := threeChimneys(18).setup()
	s.job.Cell = 1
	s.job.Up = &geom.Vec{X: 1, Y: 1, Z: 1}
	s.job.Gates = []geom.Vec{vec(10, 10, 0)}
	m := s.close(t)
	got, err := m.SearchTilts(TiltOptions{Cell: 1, Limit: 50 * math.Pi / 180})
	require.NoError(t, err)
	require.Empty(t, got.Free())
	r := got.Rocking
	require.NotNil(t, r)
	require.Len(t, r.Steps, 3)
	assert.Zero(t, r.Left)
	assert.LessOrEqual(t, r.Trapped, r.Least)
	var axes [3]bool
	for i, p := range r.Steps {
		assert.LessOrEqual(t, p.Tilt.Angle, got.Limit+1e-9)
		assert.Greater(t, pourUp(t, m, p.Up).Trapped, 150.0, "a chimney holds 4 x 4 x 14 mm, and one tilt leaves two")
		if i > 0 {
			assert.Greater(t, p.Until, r.Steps[i-1].Until)
		}
		axes[0], axes[1], axes[2] = axes[0] || p.Up.X <= 0.02, axes[1] || p.Up.Y <= 0.02, axes[2] || p.Up.Z <= 0.02
	}
	assert.Equal(t, [3]bool{true, true, true}, axes, "each chimney is level or points down once")

	l := m.newLedger(600)
	two := newRocker(l, m.Rest, tiltDisc(50*math.Pi/180, 2), 1)
	two.prune, two.longest = false, 2
	all := two.search(1 << 20)
	assert.False(t, all.Blunt)
	assert.Equal(t, len(two.tilts)*(len(two.tilts)-1), all.Tried)
	assert.Empty(t, all.Steps)
}

// TestRockingThreeEqualsBruteForce: on the made molds and over few tilts and shares, the
// search for three that leaves out what cannot free all finds what pouring every sequence
// of two, then of three, finds.
func TestRockingThreeEqualsBruteForce(t *testing.T) {
	compare := func(name string, l *ledger, rest geom.Vec, tilts []Tilt) *Rocking {
		r := newRocker(l, rest, tilts, 1)
		r.thirdShares, r.thirdTilts = 2, 0
		got := r.search(1 << 24)
		r.prune = false
		want := r.search(1 << 24)
		assert.Equal(t, want.Steps, got.Steps, name)
		assert.Equal(t, want.Trapped, got.Trapped, name)
		assert.Zero(t, got.Left+got.Unbegun, name)
		t.Logf("%s: %d steps, %d and %d of %d and %d", name, len(got.Steps), got.Tried, got.Begun, want.Tried, want.Begun)
		return want
	}
	for i, b := range tenMolds() {
		m := b.rocked(t, 1)
		compare(fmt.Sprint("mold ", i), m.newLedger(600), m.Rest, []Tilt{{}, *deg(60, 0), *deg(60, 180), *deg(45, 90), *deg(45, 270)})
	}
	s := threeChimneys(18).setup()
	s.job.Cell = 1
	s.job.Up = &geom.Vec{X: 1, Y: 1, Z: 1}
	s.job.Gates = []geom.Vec{vec(10, 10, 0)}
	m := s.close(t)
	// From (1, 1, 1) the way to the plane across an axis: 35.3 deg.
	tilts := []Tilt{{}}
	for _, axis := range []geom.Vec{{X: -1}, {Y: -1}, {Z: -1}} {
		across := axis.AddScaled(m.Rest, -axis.Dot(m.Rest)).Unit()
		up := m.Rest.Scale(math.Cos(45*math.Pi/180)).AddScaled(across, math.Sin(45*math.Pi/180))
		tilts = append(tilts, TiltOf(m.Rest, up))
	}
	assert.Len(t, compare("three chimneys", m.newLedger(600), m.Rest, tilts).Steps, 3)
}
