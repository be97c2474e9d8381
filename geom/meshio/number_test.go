package meshio

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestParseNumberEqualsStrconv: same bits as the library for every number.
func TestParseNumberEqualsStrconv(t *testing.T) {
	verbs := rapid.SampledFrom([]string{"%v", "%g", "%e", "%E", "%f", "%.3f", "%.17g", "%+.6e", "%.0f", "%.25f"})
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1000, 1000),
			rapid.Map(rapid.Float32(), func(x float32) float64 { return float64(x) })).Draw(t, "x")
		s := fmt.Sprintf(verbs.Draw(t, "verb"), x)
		want, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		got, ok := parseNumber([]byte(s))
		require.True(t, ok, s)
		require.Equal(t, want, got, s)
	})
}

func TestParseNumberAgreesOnWhatIsANumber(t *testing.T) {
	word := rapid.StringOfN(rapid.SampledFrom([]rune("0123456789.eE+-,xpin_ fa")), 0, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		s := word.Draw(t, "word")
		got, ok := parseNumber([]byte(s))
		want, err := strconv.ParseFloat(s, 64)
		if lower := strings.ToLower(s); strings.ContainsAny(lower, "xpinf_a") {
			require.False(t, ok, s)
			return
		}
		require.Equal(t, err == nil, ok, s)
		if ok {
			require.Equal(t, want, got, s)
		}
	})
}

func TestNumberDialects(t *testing.T) {
	for s, want := range map[string]float64{
		"1.0E+001": 10, "-.5e-3": -0.0005, "+2.": 2, "2.": 2, ".5": 0.5, "1e-05": 1e-5, "0": 0, "-0": 0,
		"00012.5000": 12.5, "123456789012345678901234567890": 1.2345678901234568e29, "1e22": 1e22, "1e23": 1e23,
		"9007199254740993": 9007199254740992, "1e-400": 0, "0e999999999999": 0,
	} {
		got, ok := parseNumber([]byte(s))
		assert.True(t, ok, s)
		assert.Equal(t, want, got+0, s)
	}
	for _, s := range []string{"", "+", "-", ".", "e5", "1e", "1e+", "1.2.3", "--1", "1,5", "0x10", "1_000", "inf", "nan", "1e999", "1 2"} {
		_, ok := parseNumber([]byte(s))
		assert.False(t, ok, s)
	}
}

func BenchmarkParseNumber(b *testing.B) {
	words := [][]byte{[]byte("12.345678"), []byte("-1.2345678e+01"), []byte("0"), []byte("100.25")}
	for i := 0; b.Loop(); i++ {
		parseNumber(words[i&3])
	}
}
