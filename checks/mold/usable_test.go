package mold

import (
	"math"
	"math/rand/v2"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Facets that lie over each other thousands deep would take columns of any length: they
// are refused before, whatever their pitch.
func TestFacetsOverEachOther(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	point := func() geom.Vec { return geom.Vec{X: 100 * r.Float64(), Y: 100 * r.Float64(), Z: 100 * r.Float64()} }
	soup, book, nested := &geom.Mesh{}, &geom.Mesh{}, &geom.Mesh{}
	for i := range 15_000 { // fewer pieces than a body may have
		n := int32(3 * i)
		soup.Vertices = append(soup.Vertices, point(), point(), point())
		soup.Facets = append(soup.Facets, [3]int32{n, n + 1, n + 2})
		s, c := math.Sincos(float64(i))
		book.Vertices = append(book.Vertices, geom.Vec{}, geom.Vec{Z: 20}, geom.Vec{X: 20 * c, Y: 20 * s, Z: 10})
		book.Facets = append(book.Facets, [3]int32{n, n + 1, n + 2})
	}
	for i := range 600 {
		d := 0.01 * float64(i)
		nested.Append(geomtest.Box(geom.Vec{X: d, Y: d, Z: d}, geom.Vec{X: 40 - d, Y: 40 - d, Z: 40 - d}))
	}
	for name, m := range map[string]*geom.Mesh{"soup": soup, "book": book, "nested": nested} {
		file := fstest.MapFS{"m.stl": stl(t, m)}
		var err error
		took := asked(func() { _, err = LoadFile(file, "m.stl", "", "") })
		require.ErrorContains(t, err, "m.stl: is no solid: a line along x meets its surface ", name)
		require.ErrorContains(t, err, "times on average; export the solid body alone", name)
		assert.Less(t, took, 2000*float64(len(m.Facets))+80e6, "%s: bytes asked for; nesting alone may take 80 MB", name)
	}
}

// Sheets as close as an infill's are a solid.
func TestManySheetsAreASolid(t *testing.T) {
	sheets := &geom.Mesh{}
	for i := range 200 {
		z := 0.5 * float64(i)
		sheets.Append(geomtest.Box(geom.Vec{Z: z}, geom.Vec{X: 50, Y: 50, Z: z + 0.2}))
	}
	in, err := LoadFile(fstest.MapFS{"m.stl": stl(t, sheets)}, "m.stl", "", "")
	require.NoError(t, err)
	assert.InEpsilon(t, 200*50*50*0.2, in.Volume, 1e-5)
	assert.Equal(t, 200, in.Shells)
}

// The pitch of lines is such that they meet facets no more often than said.
func TestPitchForCrossings(t *testing.T) {
	box := geomtest.Box(geom.Vec{}, geom.Vec{X: 10, Y: 20, Z: 40})
	sums := sumsOf(box)
	assert.Equal(t, geom.Vec{X: 1600, Y: 800, Z: 400}, sums.shadow.value())
	two := sums.shadow
	two.merge(sums.shadow)
	h := pitchFor(two.value(), 3200)
	assert.InDelta(t, 1, h, 1e-12)
}

// A part in other units, or a speck that lies far away, takes no memory beyond the
// bound: it is refused as a mold, or looked at more coarsely.
func TestFarAndHugeBodies(t *testing.T) {
	files := b0Files(t)
	job := jobOf("part.stl", "bottom.stl", "top.stl")
	in, err := Load(files, job)
	require.NoError(t, err)
	huge := in.Part
	huge.Mesh = huge.Mesh.Map(func(v geom.Vec) geom.Vec { return v.Scale(1000) })
	_, err = Close(*job, huge, in.Halves)
	require.ErrorContains(t, err, "part and halves span 50000 x 30000 x 20000 mm together, which is no mold with a reach of 8 mm: part.stl reaches out to (50000.000, 10000.000, 10000.000); check the units of every file")

	for name, size := range map[string]float64{"a speck": 1, "a needle": 90_000} { // gigabytes, if they were let in
		speck := in.Halves[1]
		speck.Mesh = geomtest.Join(speck.Mesh, geomtest.Box(geom.Vec{X: 90_001 - size}, geom.Vec{X: 90_001, Y: 1, Z: 1}))
		took := asked(func() { _, err = Close(*job, in.Part, []Body{in.Halves[0], speck}) })
		require.ErrorContains(t, err, "span 90001 x 40 x 30 mm together", name)
		require.ErrorContains(t, err, "top.stl reaches out to (90001.000, 0.000, 0.000); check the units of every file, and delete what lies far away in this one", name)
		assert.Less(t, took, 10e6, "%s: bytes asked for", name)
	}

	job.Cell = 1
	near, err := Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	speck := in.Halves[1]
	speck.Mesh = geomtest.Join(speck.Mesh, geomtest.Box(geom.Vec{X: 1000}, geom.Vec{X: 1001, Y: 1, Z: 1}))
	far, err := Close(*job, in.Part, []Body{in.Halves[0], speck})
	require.NoError(t, err)
	require.Len(t, far.Channels, len(near.Channels))
	for i := range near.Channels {
		assert.InDelta(t, near.Channels[i].Diameter, far.Channels[i].Diameter, 0.05)
	}
}

func TestThousandsOfPiecesAreNoBody(t *testing.T) {
	m := &geom.Mesh{}
	for i := range mostShells + 1 {
		n, x := int32(4*i), float64(i)
		m.Vertices = append(m.Vertices, geom.Vec{X: x}, geom.Vec{X: x + 0.5}, geom.Vec{X: x, Y: 0.5}, geom.Vec{X: x, Z: 0.5})
		m.Facets = append(m.Facets, [3]int32{n, n + 2, n + 1}, [3]int32{n, n + 1, n + 3}, [3]int32{n, n + 3, n + 2}, [3]int32{n + 1, n + 2, n + 3})
	}
	_, err := LoadFile(fstest.MapFS{"m.stl": stl(t, m)}, "m.stl", "", "")
	require.EqualError(t, err, "m.stl: is in 20001 separate pieces, more than the 20000 that a body may have; export the solid body alone")
}
