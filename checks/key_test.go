package checks

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
)

func drawPlace(t *rapid.T, label string, limit float64) geom.Vec {
	x := func(axis string) float64 { return rapid.Float64Range(-limit, limit).Draw(t, label+axis) }
	return v(x("x"), x("y"), x("z"))
}

func keyAt(p geom.Vec) string { return keyOf(&Finding{Check: "air", kind: "pocket", anchor: &p}) }

// TestKeysSurviveSmallMoves: within a cell a key is the same to the letter; a move
// of 2 mm, wherever it starts, stays the same to SameKey; 10 mm and more do not.
func TestKeysSurviveSmallMoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlace(t, "p", 1e5)
		q := p.Add(drawPlace(t, "move", 2))
		require.True(t, SameKey(keyAt(p), keyAt(q)), "%v %v", p, q)
		require.True(t, SameKey(keyAt(q), keyAt(p)))

		c := cellOf(p)
		middle := v(float64(c[0]), float64(c[1]), float64(c[2])).Scale(keyCell).Add(v(1, 1, 1).Scale(keyShift - keyCell/2))
		require.Equal(t, keyAt(middle), keyAt(middle.Add(drawPlace(t, "in", 2.4))))

		far := p
		far.Y += rapid.Float64Range(2*keyCell, 1e3).Draw(t, "far")
		require.False(t, SameKey(keyAt(p), keyAt(far)))
	})
}

// TestKeysIgnoreNoise: places that CAD models have, multiples of 0.25 mm, keep
// their key under the noise of another cell size, other facets or float32.
func TestKeysIgnoreNoise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := func(axis string) float64 { return float64(rapid.IntRange(-4000, 4000).Draw(t, axis)) / 4 }
		p := v(n("x"), n("y"), n("z"))
		require.Equal(t, keyAt(p), keyAt(p.Add(drawPlace(t, "noise", 0.1))))
	})
}

func TestKeyForm(t *testing.T) {
	assert.Equal(t, "air/pocket@50:20:-5", keyAt(v(50, 20, -5)))
	assert.Equal(t, "air/pocket@50:20:-5", keyAt(v(52.36, 17.38, -7.6)))
	assert.Equal(t, "air/pocket@0:0:0", keyAt(v(0, 0, 0)))
	assert.Equal(t, "intake/open-edge/geh-use-8", keyOf(&Finding{Check: "intake", kind: "open-edge", of: "Geh\u00b0use=8 "}))
	assert.Equal(t, "vents/no-gate", keyOf(&Finding{Check: "vents", kind: "no-gate", Where: Where{Body: "knob"}}))
	assert.False(t, SameKey("air/pocket@0:0:0", "air/basin@0:0:0"))
	assert.False(t, SameKey("air/level", "air/unreached"))
	assert.True(t, SameKey("air/level", "air/level"))
	assert.True(t, SameKey("air/pocket@0:0:0#2", "air/pocket@5:-5:0"))
	for _, broken := range []string{"", "@", "air/pocket@1:2", "air/pocket@a:b:c", "air/pocket@1:2:3:4"} {
		assert.False(t, SameKey(broken, "air/pocket@0:0:0"), broken)
	}
}

// TestKeysDoNotDependOnOrder: whatever the order, the size and the words of the
// findings, each place gets the same key, and no two the same.
func TestKeysDoNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		list := make([]Finding, n)
		for i := range list {
			at := drawPlace(t, "at", 8) // close together, so that cells collide
			list[i] = Finding{Check: "air", kind: "pocket", anchor: &at}
		}
		mixed := rapid.Permutation(list).Draw(t, "order")
		for i := range mixed {
			mixed[i].Title, mixed[i].harm = fmt.Sprint(n-i), float64(i)
		}
		giveKeys(list)
		giveKeys(mixed)
		want := map[*geom.Vec]string{}
		used := map[string]bool{}
		for _, f := range list {
			require.False(t, used[f.Key], f.Key)
			used[f.Key] = true
			want[f.anchor] = f.Key
		}
		for _, f := range mixed {
			require.Equal(t, want[f.anchor], f.Key)
		}
	})
}

func TestKeysThatCollide(t *testing.T) {
	list := []Finding{{Check: "air", kind: "pocket", anchor: ptr(v(1, 1, 1))}, {Check: "air", kind: "pocket", anchor: ptr(v(0, 2, 2))},
		{Check: "air", kind: "basin", anchor: ptr(v(1, 1, 1))}, {Check: "air", kind: "pocket", anchor: ptr(v(1, 1, 0))}}
	giveKeys(list)
	assert.Equal(t, []string{"air/pocket@0:0:0#3", "air/pocket@0:0:0", "air/basin@0:0:0", "air/pocket@0:0:0#2"},
		[]string{list[0].Key, list[1].Key, list[2].Key, list[3].Key})
}

// TestKeysOfARun: a pocket that grows, shrinks, moves a little inside its cell or
// gets company elsewhere keeps its key.
func TestKeysOfARun(t *testing.T) {
	key := func(at geom.Vec, volume float64, company bool) string {
		in := clean()
		pocketAt(&in, -1, at, volume, 2)
		if company {
			pocketAt(&in, -1, v(5, 5, 5), 900, 2)
		}
		for _, f := range named(Run(in), "air/pocket") {
			if f.Where.At.Dist(at) < 1e-9 {
				return f.Key
			}
		}
		return ""
	}
	want := key(v(20, 10, 10), 50, false)
	assert.Equal(t, "air/pocket@20:10:10", want)
	rapid.Check(t, func(t *rapid.T) {
		at := v(20, 10, 10).Add(drawPlace(t, "move", 2))
		require.Equal(t, want, key(at, rapid.Float64Range(1, 5000).Draw(t, "volume"), rapid.Bool().Draw(t, "company")))
	})
}

// TestShiftKeepsCellFacesFromCAD is the reason for keyShift: its distance to every
// multiple of 0.25 mm.
func TestShiftKeepsCellFacesFromCAD(t *testing.T) {
	r := math.Mod(keyShift, 0.25)
	assert.InDelta(t, 0.12, min(r, 0.25-r), 1e-9)
}
