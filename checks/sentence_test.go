package checks

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFigure(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", 1: "1", 636.54: "637", 636.4: "636", 52974: "53000", 0.19674: "0.197", 9.996: "10", 0.5: "0.5", -3.299: "-3.3",
		1e-7: "0", 4.96e-5: "0", 5.04e-5: "0.0000504", 1234567: "1230000", 99.95: "100",
	} {
		assert.Equal(t, want, figure(x))
	}
	assert.Equal(t, "0", figure(math.Copysign(0, -1)))
	assert.Equal(t, "?", figure(math.NaN()))
	assert.Equal(t, "?", figure(math.Inf(1)))
}

func TestFigureHasThreeDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		s := figure(x)
		require.NotContains(t, s, "e")
		digits := strings.Trim(strings.NewReplacer("-", "", ".", "").Replace(s), "0")
		require.LessOrEqual(t, len(digits), 3, s)
		back, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		require.InDelta(t, x, back, max(0.0051*math.Abs(x), 0.5e-4), s) // half of the third digit of 1.00
	})
}

func TestPlaces(t *testing.T) {
	assert.Equal(t, "(50.0, -17.4, 0.0)", at(v(50, -17.44, -0.04)))
	assert.Equal(t, "+Z", way(v(0, 0, 1)))
	assert.Equal(t, "-Y", way(v(0.0001, -1, 0)))
	assert.Equal(t, "(0.342, 0, 0.94)", way(v(0.3420201, 0, 0.9396926)))
	assert.Equal(t, "3.3 mm", mm(3.299))
	assert.Equal(t, "0.35 mm", mm(0.3476))
	assert.Equal(t, "69.9 mm", mm(69.87))
	assert.Equal(t, "50.0,-17.4,0.0", flagPoint(v(50, -17.44, -0.04)))
	assert.Equal(t, "(0.30, 0.00, -0.15)", hundredths(v(0.3, -0.001, -0.15)))
}

func TestWords(t *testing.T) {
	for share, want := range map[float64]string{0.08: "8 %", 0.0796: "8 %", 0.012: "1.2 %", 0.16: "16 %", 1: "100 %", 0.0001: "under 0.1 %", 0: "0 %"} {
		assert.Equal(t, want, percent(share))
	}
	assert.Equal(t, "1 vent", count(1, "vent"))
	assert.Equal(t, "0 vents", count(0, "vent"))
	assert.Equal(t, "", list(nil))
	assert.Equal(t, "a", list([]string{"a"}))
	assert.Equal(t, "a and b", list([]string{"a", "b"}))
	assert.Equal(t, "a, b and c", list([]string{"a", "b", "c"}))
	assert.Equal(t, "Two. One.", text("", "Two.", "", "One."))
	assert.Equal(t, "3 open edges.", sentence("3 open edges"))
	assert.Equal(t, "Part.", sentence(" part."))
	assert.Equal(t, "", sentence(" "))
}
