package mold

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
)

// TestPocketShow: under b0's ceiling (z 20, x 10 to 50) at 10 deg the wedge of air
// touches the ceiling and the wall at x 50, and neither the floor nor the wall at x 10.
func TestPocketShow(t *testing.T) {
	box := func(b ...float64) ShowFace { return ShowFace{Box: b} }
	facing := func(x, y, z float64) ShowFace { return ShowFace{Direction: &geom.Vec{X: x, Y: y, Z: z}} }
	half := facing(0, 0, 1) // the ceiling's other half: the air starts 1 mm beyond the middle
	half.Box = []float64{0, 0, 0, 30, 40, 30}
	for name, c := range map[string]struct {
		show []ShowFace
		want string
	}{
		"none":                {nil, ""},
		"ceiling by its way":  {[]ShowFace{facing(0, 0, 1)}, "show face 1"},
		"within 20 deg of it": {[]ShowFace{facing(0.3, 0, 1)}, "show face 1"},
		"beyond":              {[]ShowFace{facing(0.5, 0, 1)}, ""},
		"floor":               {[]ShowFace{facing(0, 0, -1)}, ""},
		"end wall":            {[]ShowFace{facing(1, 0, 0)}, "show face 1"},
		"other end":           {[]ShowFace{facing(-1, 0, 0)}, ""},
		"a box at the top":    {[]ShowFace{box(45, 0, 15, 60, 40, 30)}, "show face 1"},
		"a box at the bottom": {[]ShowFace{box(45, 0, 0, 60, 40, 12)}, ""},
		"the resin's half":    {[]ShowFace{half}, ""},
		"the first that fits": {[]ShowFace{facing(0, 0, -1), {Name: "lid", Direction: &geom.Vec{Z: 1}}, facing(1, 0, 0)}, "lid"},
	} {
		s := b0Blocks().setup()
		s.job.Cell = 0.5
		s.job.Tilt = deg(10, 0)
		s.job.Show = c.show
		m := s.close(t)
		f := pourUp(t, m, m.Up)
		require.Len(t, f.Pockets, 1, name)
		assert.Equal(t, c.want, f.Pockets[0].Show, name)
	}
}
