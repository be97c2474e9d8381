package mold

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestMouthHeights: lowest and highest point of mouths whose corners or circles are known,
// at many tilts, to 0.05 mm (design): a slot that leaves an end wall at 45 deg, y 8 to 12
// and z 15 to 17 on x 60, round bores through level floors and ceilings, a bore tried out
// aslant, and one on the top of a sphere.
func TestMouthHeights(t *testing.T) {
	corners := func(list ...geom.Vec) func(up geom.Vec) (float64, float64) {
		return func(up geom.Vec) (float64, float64) { return rimHeights(list, up) }
	}
	// A circle of radius r across n: its points reach r sin(angle(n, up)) to both sides.
	circle := func(mid, n geom.Vec, r float64) func(up geom.Vec) (float64, float64) {
		return func(up geom.Vec) (float64, float64) {
			d := r * n.Cross(up).Norm()
			return mid.Dot(up) - d, mid.Dot(up) + d
		}
	}
	z := geom.Vec{Z: 1}
	aslant := geom.Vec{X: 1, Z: 1}
	molds := map[string]*Mold{}
	for _, c := range []struct {
		stored string
		cell   float64
		vents  []BoreSpec
		mouth  geom.Vec
		known  func(up geom.Vec) (low, high float64)
	}{
		{"weir", 0.25, nil, vec(60, 10, 16), corners(vec(60, 8, 15), vec(60, 12, 15), vec(60, 8, 17), vec(60, 12, 17))},
		{"weir", 0.25, nil, vec(14, 10, 20), circle(vec(14, 10, 20), z, 1)},
		{"weir", 0.25, nil, vec(14, 10, 0), circle(vec(14, 10, 0), z, 2)},
		{"bore08", 0.25, nil, vec(30, 20, 20), circle(vec(30, 20, 20), z, 0.4)},
		{"sphere", 0.5, nil, vec(0, 0, 20), circle(vec(0, 0, math.Sqrt(400-1)), z, 1)},
		{"sphere", 0.5, nil, vec(0, 0, -20), circle(vec(0, 0, -math.Sqrt(400-4)), z, 2)},
		// An ellipse: 3 mm wide along y, 3 sqrt(2) along x.
		{"weir", 0.25, []BoreSpec{{At: vec(46, 10, 20), Diameter: 3, Direction: &aslant}}, vec(46, 10, 20), func(up geom.Vec) (float64, float64) {
			d := math.Hypot(1.5*math.Sqrt2*up.X, 1.5*up.Y)
			return vec(46, 10, 20).Dot(up) - d, vec(46, 10, 20).Dot(up) + d
		}},
	} {
		key := fmt.Sprint(c.stored, c.cell, len(c.vents))
		m := molds[key]
		if m == nil {
			s := storedSetup(t, c.stored)
			s.job.Cell, s.job.Vents = c.cell, c.vents
			m = s.close(t)
			molds[key] = m
		}
		for _, up := range []geom.Vec{z, tilted(4, 20), tilted(4, 200), tilted(15, 90), tilted(30, 0), tilted(30, 180), tilted(55, 310)} {
			f := pourUp(t, m, up)
			k := -1
			for i := range f.Ports {
				if f.Ports[i].Mouth.Dist(c.mouth) < 0.3 {
					k = i
				}
			}
			require.GreaterOrEqual(t, k, 0, "%v", c.mouth)
			low, high := c.known(up)
			assert.InDelta(t, low, f.Ports[k].MouthLow, 0.05, "%s %v %v", c.stored, c.mouth, up)
			assert.InDelta(t, high, f.Ports[k].MouthTop, 0.05, "%s %v %v", c.stored, c.mouth, up)
			for _, n := range f.Ports[k].Drains {
				if len(f.Ports[k].Drains) == 1 && f.HighPoints[n].Height >= high {
					assert.InDelta(t, f.HighPoints[n].Height-high, f.Ports[k].GapToHigh, 0.05, "%s %v %v: gap", c.stored, c.mouth, up)
				}
			}
		}
	}
}
