package meshio_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourproof/geom"
	"pourproof/geom/meshio"
)

// prismOBJ writes an upright prism over a polygon, each cap one face, turned by a
// rigid motion.
func prismOBJ(outline [][2]float64, h float64, place geom.Rigid) string {
	var s, top, bottom strings.Builder
	n := len(outline)
	for _, z := range []float64{0, h} {
		for _, p := range outline {
			v := place.Apply(geom.Vec{X: p[0], Y: p[1], Z: z})
			fmt.Fprintf(&s, "v %v %v %v\n", v.X, v.Y, v.Z)
		}
	}
	for i := range n {
		fmt.Fprintf(&top, " %d", n+1+i)
		fmt.Fprintf(&bottom, " %d", n-i)
		j := (i + 1) % n
		fmt.Fprintf(&s, "f %d %d %d %d\n", i+1, j+1, n+j+1, n+i+1)
	}
	return s.String() + "f" + top.String() + "\nf" + bottom.String() + "\n"
}

func outlineArea(p [][2]float64) float64 {
	sum := 0.0
	for i := range p {
		q := p[(i+1)%len(p)]
		sum += p[i][0]*q[1] - q[0]*p[i][1]
	}
	return sum / 2
}

// TestPolygonsOfAnyShape cuts star-shaped outlines with re-entrant corners, in any
// direction, and asks for a closed prism of the right volume.
func TestPolygonsOfAnyShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		radii := rapid.SliceOfN(rapid.Float64Range(2, 30), 3, 60).Draw(t, "radii")
		var outline [][2]float64
		for i, r := range radii {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(radii)))
			outline = append(outline, [2]float64{r * c, r * s})
		}
		axis := geom.Vec{X: rapid.Float64Range(-1, 1).Draw(t, "x"), Y: rapid.Float64Range(-1, 1).Draw(t, "y"), Z: 0.1}
		place := geom.AxisTurn(axis.Unit(), rapid.Float64Range(-3, 3).Draw(t, "angle"))
		f, err := read([]byte(prismOBJ(outline, 7, place)), meshio.Options{})
		require.NoError(t, err)
		require.Empty(t, f.Warnings)
		d := geom.Inspect(f.Bodies[0].Mesh)
		require.True(t, d.Closed())
		require.Zero(t, d.Opposed.Count)
		require.InDelta(t, 7*outlineArea(outline), d.SolidVolume(), 1e-6)
	})
}

func TestPolygonOfManyCorners(t *testing.T) {
	comb := [][2]float64{{0, 0}, {4000, 0}} // a comb: half of its 4000 corners re-entrant
	for i := 1999; i >= 0; i-- {
		x := float64(2 * i)
		comb = append(comb, [2]float64{x + 1, 10}, [2]float64{x, 1})
	}
	b := []byte(prismOBJ(comb, 1, geom.Identity()))
	f, err := read(b, meshio.Options{})
	require.NoError(t, err)
	d := geom.Inspect(f.Bodies[0].Mesh)
	require.True(t, d.Closed())
	require.InDelta(t, outlineArea(comb), d.SolidVolume(), 1e-6)
}
