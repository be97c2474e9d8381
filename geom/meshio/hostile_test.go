package meshio_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// sound asks of any outcome what every caller relies on.
func sound(t testing.TB, f *meshio.File, err error) {
	if err != nil {
		var e *meshio.ReadError
		require.ErrorAs(t, err, &e)
		require.NotEmpty(t, e.What)
		require.NotEmpty(t, e.Remedy)
		require.NotContains(t, err.Error(), "\n")
		return
	}
	require.NotEmpty(t, f.Bodies)
	require.Len(t, f.SHA256, 64)
	for _, b := range f.Bodies {
		require.NotEmpty(t, b.Mesh.Facets)
		for _, v := range b.Mesh.Vertices {
			require.True(t, v.Finite())
		}
		for _, facet := range b.Mesh.Facets {
			for _, i := range facet {
				require.Less(t, int(i), len(b.Mesh.Vertices))
				require.GreaterOrEqual(t, i, int32(0))
			}
		}
		geom.Mend(b.Mesh)
	}
}

// samples holds one small good file of each format.
func samples(t testing.TB) map[string][]byte {
	return map[string][]byte{
		"stl-binary": binarySTL(t, cube(0, 20), "solid"),
		"stl-text":   textSTL(t, cube(0, 20), "part"),
		"obj":        []byte("o a\n" + cubeV + cubeBack + "o b\n" + cubeV2 + cubeBack),
		"3mf":        package3MF(t, modelXML("", objectXML(`id="1" name="part"`, cube(0, 20)), `<item objectid="1" transform="1 0 0 0 1 0 0 0 1 5 6 7"/>`)),
	}
}

func TestCutAtEveryByte(t *testing.T) {
	for format, whole := range samples(t) {
		read8000 := 0
		for n := range len(whole) {
			f, err := read(whole[:n], meshio.Options{})
			sound(t, f, err)
			if err == nil && format != "obj" { // an OBJ has no end to miss
				m := geom.Mend(f.Bodies[0].Mesh)
				require.InDelta(t, 8000, m.Defects.SolidVolume(), 1e-6, "%s cut at %d", format, n)
				read8000++
			}
		}
		if format == "3mf" || format == "stl-binary" {
			require.Zero(t, read8000, format)
		}
	}
}

func TestEveryByteChanged(t *testing.T) {
	for format, whole := range samples(t) {
		for at := range whole {
			for _, bits := range []byte{0x01, 0x20, 0x80, 0xFF} {
				b := bytes.Clone(whole)
				b[at] ^= bits
				f, err := read(b, meshio.Options{})
				sound(t, f, err)
				if err == nil && format == "3mf" && len(f.Bodies) == 1 && f.Format == meshio.ThreeMF {
					// content is under a checksum: what can be read is right
					require.InDelta(t, 8000, geom.Mend(f.Bodies[0].Mesh).Defects.SolidVolume(), 1e-6, "byte %d", at)
				}
			}
		}
	}
}

// TestMemoryIsBoundedByTheFile: headers that promise much cost nothing.
func TestMemoryIsBoundedByTheFile(t *testing.T) {
	huge := binarySTL(t, cube(0, 1), "")
	binary.LittleEndian.PutUint32(huge[80:], 4_000_000_000)
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, err := z.CreateRaw(&zip.FileHeader{Name: "3D/3dmodel.model", Method: zip.Deflate, CompressedSize64: 10, UncompressedSize64: 1 << 40})
	require.NoError(t, err)
	_, err = w.Write(make([]byte, 10))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	chain := objectXML(`id="1"`, cube(0, 1))
	for i := 2; i < 30; i++ {
		chain += fmt.Sprintf(`<object id="%d"><components>%s</components></object>`, i,
			strings.Repeat(fmt.Sprintf(`<component objectid="%d"/>`, i-1), 10))
	}
	deep := package3MF(t, modelXML("", chain, `<item objectid="29"/>`))
	var list bytes.Buffer
	z = zip.NewWriter(&list)
	for i := range 100_000 {
		_, err := z.CreateRaw(&zip.FileHeader{Name: fmt.Sprint(i)})
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	for name, c := range map[string]struct {
		content []byte
		most    uint64 // bytes
		message string
	}{
		"count of 4 billion":   {huge, 1 << 20, "of the 4000000000 facets"},
		"part of a terabyte":   {bomb.Bytes(), 4 << 20, "are no mesh"},
		"components tenfold":   {deep, 64 << 20, "nested too deep or too many"},
		"100,000 parts":        {list.Bytes(), 64 << 20, "lists too many parts"},
		"4 MB of text, no end": {[]byte("solid " + strings.Repeat("a", 4<<20)), 8 << 20, "longer than a megabyte"},
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := read(c.content, meshio.Options{})
			runtime.ReadMemStats(&after)
			assert.ErrorContains(t, err, c.message)
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, c.most)
		})
	}
}

func TestFacetLimit(t *testing.T) {
	// a file of more facets than are read, all holes: nothing but its size is real
	head := make([]byte, 84)
	n := uint32(meshio.MaxFacets + 1)
	binary.LittleEndian.PutUint32(head[80:], n)
	size := 84 + 50*int64(n)
	_, err := meshio.Read("big.stl", sparse{head}, size, meshio.Options{})
	assert.ErrorContains(t, err, "40000001 facets are more than the 40000000 that can be read")
}

// sparse is a file of zeros after its first bytes.
type sparse struct{ head []byte }

func (s sparse) ReadAt(b []byte, off int64) (int, error) {
	clear(b)
	if off < int64(len(s.head)) {
		copy(b, s.head[off:])
	}
	return len(b), nil
}

func TestReadLeavesNoGoroutine(t *testing.T) {
	before := runtime.NumGoroutine()
	for _, content := range samples(t) {
		for _, n := range []int{len(content), len(content) / 2, 90} {
			read(content[:n], meshio.Options{})
		}
	}
	for range 100 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("%d goroutines before, %d after", before, runtime.NumGoroutine())
}

// TestNoiseIsRefusedOrSound reads random bytes behind each format's beginning.
func TestNoiseIsRefusedOrSound(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, begin := range []string{"", "solid a\n", "v 0 0 0\n", "PK\x03\x04", "facet ", "{", "<?xml"} {
		for range 300 {
			b := []byte(begin)
			for range r.IntN(600) {
				b = append(b, byte(r.Uint32()))
			}
			f, err := read(b, meshio.Options{})
			sound(t, f, err)
		}
	}
}

// TestSTLNeedsLessMemoryThanItsFile: all that is allocated while a binary STL is
// read, welded mesh included, is less than the file.
func TestSTLNeedsLessMemoryThanItsFile(t *testing.T) {
	const n = 1_000_000
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f, err := meshio.Read("big.stl", strip{n}, 84+50*n, meshio.Options{})
	runtime.ReadMemStats(&after)
	require.NoError(t, err)
	require.Equal(t, n, f.Facets())
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(84+50*n))
}

// strip is a binary STL of any length that needs no memory: a ribbon of facets
// that share corners as a closed surface does, one vertex for two facets.
type strip struct{ n uint32 }

func (s strip) ReadAt(b []byte, off int64) (int, error) {
	for i := range b {
		b[i] = s.at(off + int64(i))
	}
	return len(b), nil
}

func (s strip) at(off int64) byte {
	var four [4]byte
	if off < 84 {
		if off < 80 {
			return 0
		}
		binary.LittleEndian.PutUint32(four[:], s.n)
		return four[off-80]
	}
	facet, field := (off-84)/50, (off-84)%50/4
	if field < 3 || field > 11 {
		return 0
	}
	corner, axis := (field-3)/3, (field-3)%3
	v := facet/2 + corner // a fan of vertices along the ribbon
	x := [3]float32{float32(v % 1000), float32(v / 1000), float32(v & 1)}[axis]
	binary.LittleEndian.PutUint32(four[:], math.Float32bits(x))
	return four[(off-84)%50%4]
}

// The XML of a 3MF is never held: with twice as much of it reading asks for no more.
func TestThreeMFHoldsNoXML(t *testing.T) {
	m := ball(251, 40) // 250,000 facets
	model := modelXML("", objectXML(`id="1"`, m), `<item objectid="1"/>`)
	longer := strings.ReplaceAll(model, "<triangle ", "<triangle"+strings.Repeat(" ", 100))
	require.Greater(t, len(longer), 2*len(model))
	var asked []uint64
	for _, xml := range []string{model, longer} {
		content := package3MF(t, xml)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		f, err := read(content, meshio.Options{})
		runtime.ReadMemStats(&after)
		require.NoError(t, err)
		require.Equal(t, len(m.Facets), f.Facets())
		asked = append(asked, after.TotalAlloc-before.TotalAlloc)
	}
	assert.InDelta(t, asked[0], asked[1], 1e6)
}
