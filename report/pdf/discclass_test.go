package pdf

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// classDisc has two rings of eight cells: class 0 in the middle, rising outward.
func classDisc() Disc {
	m := Disc{Rings: []float64{30, 60}, Sectors: 8, Classes: []string{"none", "few", "many"}, Ringed: true, Label: "air", Size: 40,
		Marks: []DiscMark{{Angle: 10, Azimuth: 0, Text: "best", Right: true}}}
	for i := range 16 {
		m.Values = append(m.Values, float64(min(i/8+i/12, 2)))
	}
	return m
}

func TestDiscOfClasses(t *testing.T) {
	d := empty(t)
	d.Figure(classDisc())
	data, err := d.Bytes()
	require.NoError(t, err)
	assert.NotEmpty(t, data)
	for _, v := range []float64{-1, 0.5, 3} {
		d := empty(t)
		m := classDisc()
		m.Values[3] = v
		d.Figure(m)
		_, err := d.Bytes()
		assert.ErrorContains(t, err, "none of 3 classes")
	}
}

// TestClassesReadInGrey: each class is darker than the one before, and its hatching
// no sparser.
func TestClassesReadInGrey(t *testing.T) {
	m := Disc{Classes: make([]string, 9)}
	grey := func(class int) float64 {
		c := m.ClassInk(class)
		return 0.3*float64(c.R) + 0.59*float64(c.G) + 0.11*float64(c.B)
	}
	for class := 1; class < 9; class++ {
		assert.Less(t, grey(class), grey(class-1)-5, "class %d", class)
		if class > 1 {
			assert.LessOrEqual(t, hatchStep(class), hatchStep(class-1))
		}
	}
	assert.Zero(t, hatchStep(0))
	assert.Equal(t, hatchMost, hatchStep(1))
	assert.Equal(t, 1, hatchStep(8))
}
