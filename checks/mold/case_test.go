package mold

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/testdata"
)

// readSTL reads the binary STL that testdata hands out and welds equal vertices.
func readSTL(t testing.TB, data []byte) *geom.Mesh {
	t.Helper()
	n := binary.LittleEndian.Uint32(data[80:])
	require.Len(t, data, int(84+50*n))
	m := &geom.Mesh{}
	seen := map[geom.Vec]int32{}
	r := bytes.NewReader(data[84:])
	var rec struct {
		N    [3]float32
		V    [3][3]float32
		Attr uint16
	}
	for i := uint32(0); i < n; i++ {
		require.NoError(t, binary.Read(r, binary.LittleEndian, &rec))
		var f [3]int32
		for k, v := range rec.V {
			p := geom.Vec{X: float64(v[0]), Y: float64(v[1]), Z: float64(v[2])}
			id, ok := seen[p]
			if !ok {
				id = int32(len(m.Vertices))
				seen[p] = id
				m.Vertices = append(m.Vertices, p)
			}
			f[k] = id
		}
		m.Facets = append(m.Facets, f)
	}
	return m
}

// loadCase returns the part and the halves of a stored mold.
func loadCase(t testing.TB, name string) (Body, []Body) {
	t.Helper()
	c, err := testdata.Case(name)
	require.NoError(t, err)
	part := Body{Name: "part", Mesh: readSTL(t, c.Part.Data)}
	var halves []Body
	for _, h := range c.Halves {
		halves = append(halves, Body{Name: strings.TrimSuffix(h.Name, ".stl"), Mesh: readSTL(t, h.Data)})
	}
	return part, halves
}

// deg is a tilt by angle degrees with the side facing azimuth side raised.
func deg(angle, side float64) *Tilt {
	return &Tilt{Angle: angle * math.Pi / 180, Side: side * math.Pi / 180}
}
