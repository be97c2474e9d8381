package meshio_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
	"pourproof/geom/meshio"
)

// ball is a sphere of n rings and 2n columns: 4n(n-1) facets.
func ball(n int, r float64) *geom.Mesh {
	m := &geom.Mesh{Vertices: []geom.Vec{{Z: -r}, {Z: r}}}
	for i := 1; i < n; i++ {
		st, ct := math.Sincos(math.Pi * float64(i) / float64(n))
		for j := range 2 * n {
			sp, cp := math.Sincos(math.Pi * float64(j) / float64(n))
			m.Vertices = append(m.Vertices, geom.Vec{X: r * st * cp, Y: r * st * sp, Z: -r * ct})
		}
	}
	at := func(i, j int) int32 { return int32(2 + (i-1)*2*n + j%(2*n)) }
	for i := range n {
		for j := range 2 * n {
			switch i {
			case 0:
				m.Facets = append(m.Facets, [3]int32{0, at(1, j+1), at(1, j)})
			case n - 1:
				m.Facets = append(m.Facets, [3]int32{1, at(i, j), at(i, j+1)})
			default:
				a, b, c, d := at(i, j), at(i, j+1), at(i+1, j+1), at(i+1, j)
				m.Facets = append(m.Facets, [3]int32{a, b, c}, [3]int32{a, c, d})
			}
		}
	}
	return m
}

// shuffle puts the facets of a binary STL in random order.
func shuffle(b []byte) []byte {
	b = bytes.Clone(b)
	rand.New(rand.NewPCG(1, 1)).Shuffle((len(b)-84)/50, func(i, j int) {
		var t [50]byte
		copy(t[:], b[84+50*i:])
		copy(b[84+50*i:], b[84+50*j:84+50*j+50])
		copy(b[84+50*j:], t[:])
	})
	return b
}

func benchmarkRead(b *testing.B, content []byte) {
	b.Helper()
	b.SetBytes(int64(len(content)))
	b.ReportAllocs()
	var facets int
	for b.Loop() {
		f, err := read(content, meshio.Options{})
		require.NoError(b, err)
		facets = f.Facets()
	}
	b.ReportMetric(float64(facets)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mfacet/s")
}

func BenchmarkReadSTL(b *testing.B) {
	m := ball(501, 40) // 1,002,000 facets
	binary := binarySTL(b, m, "")
	b.Run("1M-shuffled", func(b *testing.B) { benchmarkRead(b, shuffle(binary)) })
	text := textSTL(b, m, "")
	b.Run("1M-text", func(b *testing.B) { benchmarkRead(b, text) })
}

// BenchmarkLoad reads and welds a binary STL on disk, its bytes in memory already.
func BenchmarkLoad(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		n, dir := len(m.Facets), os.DirFS(b.TempDir())
		require.NoError(b, os.WriteFile(fmt.Sprint(dir, "/m.stl"), geomtest.STL(m), 0o600))
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			f, err := meshio.ReadFile(dir, "m.stl", meshio.Options{})
			require.NoError(b, err)
			require.Equal(b, n, f.Facets())
		}
		meter.Per("facet", n)
	})
}

func BenchmarkReadOBJ(b *testing.B) {
	m := ball(501, 40)
	var s bytes.Buffer
	for _, v := range m.Vertices {
		fmt.Fprintf(&s, "v %.6f %.6f %.6f\n", v.X, v.Y, v.Z)
	}
	for _, t := range m.Facets {
		fmt.Fprintf(&s, "f %d %d %d\n", t[0]+1, t[1]+1, t[2]+1)
	}
	b.Run("1M", func(b *testing.B) { benchmarkRead(b, s.Bytes()) })
}

func BenchmarkRead3MF(b *testing.B) {
	content := package3MF(b, modelXML("", objectXML(`id="1"`, ball(501, 40)), `<item objectid="1"/>`))
	b.Run("1M", func(b *testing.B) { benchmarkRead(b, content) })
}
