package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pourproof/checks/mold"
)

func TestClingingIsOneNote(t *testing.T) {
	in := clean()
	in.Fill.Clinging = []mold.Clinging{
		{Pocket: mold.Pocket{ID: 1, Kind: mold.Capillary, Volume: 96, Error: 2, Top: v(19, 14, 10)}, Width: 4},
		{Pocket: mold.Pocket{ID: 2, Kind: mold.Capillary, Volume: 24, Error: 1, Top: v(13, 13, 10)}, Width: 2, Sure: true},
	}
	o := Run(in)
	proper(t, o)
	assert.Equal(t, []string{"note air/capillary"}, kinds(o))
	f := one(t, o, "air/capillary")
	assert.Equal(t, Ready, o.Verdict)
	assert.Equal(t, "2 narrow holes that open upward may keep air: narrowest 2 mm", f.Title)
	assert.Contains(t, f.Why, "up to 6.79 mm wide")
	assert.Contains(t, f.Why, "under 3.38 mm (1 here)") // 2 x 0.918 x 1.8437 mm is 3.385
	assert.Contains(t, f.Why, "counted as filled")
	assert.Equal(t, v(19, 14, 10), *f.Where.At)
	assert.Equal(t, 96.0, *f.Value)
}
