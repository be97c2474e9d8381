package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/geom"
	"pourproof/geom/meshio"
)

// The cutter of a 2 mm vent 26 mm long reaches half a diameter into the cavity and
// one beyond the exit: a 64-gon prism 29 mm long.
func TestVentsSTLIsReadyForABoolean(t *testing.T) {
	data, err := VentsSTL(sampleDocument())
	require.NoError(t, err)
	f, err := meshio.Read("vents.stl", bytes.NewReader(data), int64(len(data)), meshio.Options{})
	require.NoError(t, err)
	m := geom.Mend(f.Merged())
	assert.True(t, m.Defects.Closed())
	assert.Empty(t, m.Repairs)
	assert.Empty(t, m.Cautions)
	area := 32 * math.Sin(2*math.Pi/64) // of a 64-gon with circumradius 1
	assert.InDelta(t, area*29, m.Mesh.Volume(), 1e-3)
	box := m.Mesh.Box()
	assert.InDelta(t, 4-1, box.Min.Z, 1e-4)
	assert.InDelta(t, 4+26+2, box.Max.Z, 1e-4)
}

func TestVentsCSV(t *testing.T) {
	rows, err := csv.NewReader(bytes.NewReader(VentsCSV(sampleDocument()))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.Equal(t, ventColumns, rows[0])
	assert.Equal(t, []string{"1", "1", "1", "-2", "4", "0", "0", "30", "0", "0", "1", "2", "26", "b", "90", "90", ""}, rows[1])
}

// A half's name is no formula; a coordinate below zero stays a number.
func TestVentsCSVHoldsNoFormula(t *testing.T) {
	for name, want := range map[string]string{
		"=1+1":                           "'=1+1",
		"=HYPERLINK(\"http://a\",\"b\")": "'=HYPERLINK(\"http://a\",\"b\")",
		"+top":                           "'+top",
		"-2":                             "'-2",
		"@SUM(A1)":                       "'@SUM(A1)",
		"\t=1":                           "'\t=1",
		"\r=1":                           "'=1", // the writer drops a lone \r
		"  =1":                           "'  =1",
		"＝1":                             "'＝1",
		"top":                            "top",
		"top-2":                          "top-2",
		"a=b":                            "a=b",
		"'=1":                            "'=1",
		"2":                              "2",
		"":                               "",
	} {
		d := sampleDocument()
		v := &d.Outcome.Fill.Vents[0]
		v.Half, v.Mouth.X = name, -1
		r := csv.NewReader(bytes.NewReader(VentsCSV(d)))
		rows, err := r.ReadAll()
		require.NoError(t, err)
		assert.Equal(t, want, rows[1][13])
		assert.Equal(t, "-1", rows[1][2])
	}
}

func TestNoVents(t *testing.T) {
	d := New(&checks.Outcome{}, "0")
	data, err := VentsSTL(d)
	require.NoError(t, err)
	assert.Nil(t, data)
	rows, err := csv.NewReader(bytes.NewReader(VentsCSV(d))).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 1, "the head line alone")
}
