package mold

import (
	"encoding/binary"
	"math"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Whatever facets a file holds, it is taken with finite figures or refused: nesting,
// repair, crossings, volume by columns and chord error see all of them.
func FuzzLoadFile(f *testing.F) {
	box := geomtest.Box(geom.Vec{}, geom.Vec{X: 20, Y: 10, Z: 5})
	for _, m := range []*geom.Mesh{box, geomtest.Join(box, box), geomtest.Join(box, geomtest.Box(geom.Vec{X: 10, Y: 5, Z: 2}, geom.Vec{X: 30, Y: 7, Z: 3})), geomtest.Icosphere(10, 1).Reversed()} {
		f.Add(stl(f, m).Data[84:])
	}
	f.Fuzz(func(t *testing.T, facets []byte) {
		n := min(len(facets)/50, 2000)
		b := binary.LittleEndian.AppendUint32(make([]byte, 80), uint32(n))
		in, err := LoadFile(fstest.MapFS{"m.stl": {Data: append(b, facets[:50*n]...)}}, "m.stl", "", "")
		if err != nil {
			require.Contains(t, err.Error(), "m.stl: ")
			return
		}
		for _, x := range []float64{in.Volume, in.Area, in.Chord, in.Box.Diagonal()} {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%+v", in)
		}
		require.Positive(t, in.Triangles)
	})
}
