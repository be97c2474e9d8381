package meshio

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Coordinates are the shortest text of the rounded number, as strconv finds it.
func TestCoordinateText(t *testing.T) {
	same := func(t require.TestingT, x float64) {
		want := strconv.FormatFloat(math.Round(x*1e5)/1e5+0, 'f', -1, 64)
		require.Equal(t, want, string(appendCoordinate(nil, x)), "%g", x)
	}
	for _, x := range []float64{0, math.Copysign(0, -1), -1e-6, 1e-5, -1e-5, 0.1, 12.00001, 99.999995, -0.5, 1e5, 123456.78901, 90071992547.40991, 1e15, -1e20, 1e30} {
		same(t, x)
	}
	rapid.Check(t, func(t *rapid.T) {
		same(t, rapid.Float64Range(-1e4, 1e4).Draw(t, "near"))
		same(t, rapid.Float64Range(-1e12, 1e12).Draw(t, "far"))
	})
}
