package mold

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// lstsq asks scipy.linalg.lstsq, which works by another decomposition (LAPACK
// gelsd), for the solution of a x = b.
func lstsq(t *testing.T, a [][]float64, b []float64) []float64 {
	t.Helper()
	if exec.Command("python3", "-c", "import scipy").Run() != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "python3 with scipy is needed here")
		t.Skip("python3 with scipy is not installed: least squares not compared")
	}
	in, err := json.Marshal(map[string]any{"a": a, "b": b})
	require.NoError(t, err)
	cmd := exec.Command("python3", "-c", "import json,sys;from scipy.linalg import lstsq;d=json.load(sys.stdin);print(json.dumps(lstsq(d['a'],d['b'])[0].tolist()))")
	cmd.Stdin = strings.NewReader(string(in))
	out, err := cmd.Output()
	require.NoError(t, err)
	var x []float64
	require.NoError(t, json.Unmarshal(out, &x))
	return x
}

// TestOffsetFitAgainstScipy: the shift of point-to-plane equations, also where one
// direction is free: there scipy's least-norm solution is ours.
func TestOffsetFitAgainstScipy(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 0))
	for round, flat := range []bool{false, false, true} {
		var fit offsetFit
		var a [][]float64
		var b []float64
		for range 60 {
			n := vec(r.NormFloat64(), r.NormFloat64(), r.NormFloat64())
			if flat {
				n.Z = 0
			}
			n = n.Unit()
			v := n.Dot(vec(0.5, -0.2, 0.3)) + 0.05*r.NormFloat64()
			fit.add(n, v, 1)
			a, b = append(a, []float64{n.X, n.Y, n.Z}), append(b, v)
		}
		want := lstsq(t, a, b)
		got, fixed := fit.solve()
		assert.InDelta(t, 0, got.Dist(vec(want[0], want[1], want[2])), 2e-5, "round %d", round)
		assert.Equal(t, !flat, spans(fixed, vec(0, 0, 1)), fmt.Sprint(round))
	}
}

// TestKeyShiftAgainstScipy: clearance and shift from gaps of side walls.
func TestKeyShiftAgainstScipy(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 0))
	pull := vec(0, 0, 1)
	u, v := pull.Perpendicular()
	var list []meeting
	var a [][]float64
	var b []float64
	for range 80 {
		n := u.Scale(r.NormFloat64()).AddScaled(v, r.NormFloat64()).Unit()
		gap := 0.15 + n.Dot(vec(0.1, 0.07, 0)) + 0.01*r.NormFloat64()
		list = append(list, meeting{n: n, gap: gap, area: 1, a: 0, b: 1, inKey: true})
		a, b = append(a, []float64{1, n.X, n.Y}), append(b, gap)
	}
	want := lstsq(t, a, b)
	got, ok := keyShift(list, 1, pull)
	require.True(t, ok)
	assert.InDelta(t, 0, got.Dist(geom.Vec{X: want[1], Y: want[2]}), 2e-5)
	_, ok = keyShift(list[:0], 1, pull)
	assert.False(t, ok)
}
