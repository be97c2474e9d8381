package geomtest

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

func TestBenchMeshes(t *testing.T) {
	for _, n := range []int{2_000, 20_000} {
		part, bottom, top := BallMold(n)
		total := 0
		for _, m := range []*geom.Mesh{part, bottom, top, Shell(n)} {
			assert.True(t, geom.Inspect(m).Closed())
			assert.Positive(t, m.Volume())
			total += len(m.Facets)
		}
		assert.InEpsilon(t, 2*n, total, 0.15)
	}
}

func TestSTLIsReadBack(t *testing.T) {
	file := filepath.Join(t.TempDir(), "m.stl")
	m := Box(geom.Vec{}, geom.Vec{X: 1, Y: 2, Z: 3})
	require.NoError(t, os.WriteFile(file, STL(m), 0o600))
	back, err := readSTL(file)
	require.NoError(t, err)
	assert.Len(t, back.Vertices, 8)
	assert.InDelta(t, 6, back.Volume(), 1e-12)
	require.NoError(t, os.WriteFile(file, STL(m)[:500], 0o600))
	_, err = readSTL(file)
	assert.ErrorContains(t, err, "not a binary STL")
}

// Two repetitions of 2 and 4 s, of which the processor was had for 1 and 3 s: 10
// million things are 5 and 10 million a second.
func TestMeterLine(t *testing.T) {
	m := Meter{b: &testing.B{}, wall: []float64{4, 2}, cpu: []float64{1, 3}}
	assert.Equal(t, "weld  5 Mfacet/s # median 2.5 n 2 best_s 2.00000 by_cpu 10 cpu_s 1.00000", m.line("weld", 10, "Mfacet/s"))
}

// The figures are of the work: memory that it touches shows in the peak, time spent
// in the time a thing.
func TestMeterMeasures(t *testing.T) {
	const size = 64 << 20
	r := testing.Benchmark(func(b *testing.B) {
		m := NewMeter(b)
		for m.Loop() {
			block := make([]byte, size)
			for i := range block {
				block[i] = byte(i)
			}
			runtime.KeepAlive(block)
		}
		m.Per("byte", size)
	})
	assert.Greater(t, r.Extra["ns/byte"], 0.01, "no processor writes 100 bytes a nanosecond this way")
	if peak, ok := r.Extra["peak-MB"]; ok {
		assert.Greater(t, peak, 64.0)
	}
}
