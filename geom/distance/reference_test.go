package distance

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An outside reference, scipy's exact Euclidean distance transform, gives the same
// squares. It is asked where python3 with scipy is installed, and must be in CI.
func TestMatchesScipy(t *testing.T) {
	if exec.Command("python3", "-c", "import scipy.ndimage").Run() != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "python3 with scipy is needed here")
		t.Skip("python3 with scipy is not installed: distances not compared")
	}
	const script = `import json,sys
import numpy as np
from scipy.ndimage import distance_transform_edt as edt
out=[]
for g in json.load(sys.stdin):
    d=edt(1-np.array(g))
    out.append(np.rint(d*d).astype(int).flatten().tolist())
print(json.dumps(out))`
	r := rand.New(rand.NewPCG(3, 5))
	var grids [][][]int
	for _, share := range []float64{0.0005, 0.01, 0.2, 0.8} {
		grid := make([][]int, 91)
		for u := range grid {
			grid[u] = make([]int, 120)
			for v := range grid[u] {
				if r.Float64() < share {
					grid[u][v] = 1
				}
			}
		}
		grid[40][70] = 1 // scipy gives no meaning to a set without nodes
		grids = append(grids, grid)
	}
	in, err := json.Marshal(grids)
	require.NoError(t, err)
	cmd := exec.Command("python3", "-c", script)
	cmd.Stdin = strings.NewReader(string(in))
	raw, err := cmd.Output()
	require.NoError(t, err)
	var want [][]int32
	require.NoError(t, json.Unmarshal(raw, &want))
	var p Plane
	for n, grid := range grids {
		p.Measure(91, 120, func(i int) bool { return grid[i/120][i%120] == 1 })
		assert.Equal(t, want[n], p.Square, "grid %d", n)
	}
}
