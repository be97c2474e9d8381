package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/report/render"
)

// The strip has a picture of every stage with its amount, and the resin in the
// pictures grows.
func TestFillStrip(t *testing.T) {
	d := New(outcome(t, "b0", 10), "0.1")
	b, data := written(t, d)
	assert.Equal(t, 5, count(b.pdf, "strip"))
	text := words(strings.Join(textOf(t, data), " "))
	assert.Contains(t, text, "How it fills")
	resin := -1
	v := b.studio.whole()
	for k := range d.Outcome.Fill.Stages {
		g := &d.Outcome.Fill.Stages[k]
		assert.Contains(t, text, Figure(g.Percent)+" %: "+Milliliters(g.Filled)+".")
		sh := b.studio.stage(v, k)
		sh.scene.Camera.Frame, sh.scene.PrintWidth = sh.frame, sh.width
		p, err := b.studio.draw.Draw(&sh.scene, 416, 300)
		require.NoError(t, err)
		n := 0
		for _, i := range p.Image.Pix {
			if p.Image.Palette[i] == render.Resin {
				n++
			}
		}
		assert.Greater(t, n, resin, "stage %d", k)
		resin = n
	}
}
