package mold

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Of every small input that the readers are tested with, loading a body gives what
// their table says: volume and warnings, or the message.
func TestLoadSmallInputs(t *testing.T) {
	dir := filepath.Join("..", "..", "geom", "meshio", "testdata", "intake")
	table, err := os.ReadFile(filepath.Join(dir, "TABLE.txt"))
	require.NoError(t, err)
	loaded, refused := 0, 0
	for line := range strings.Lines(string(table)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		columns := strings.Split(strings.TrimSuffix(line, "\n"), "\t") // file, outcome, units, facets, volume, bodies, notes, input
		require.Len(t, columns, 8)
		file, volume, notes := columns[0], columns[4], strings.TrimPrefix(columns[6], "-")
		got, told, err := loadAll(dir, file, strings.TrimPrefix(columns[2], "-"), strings.Split(columns[5], "|"))
		switch {
		case columns[1] == "refuses":
			require.ErrorContains(t, err, notes, file)
			refused++
			continue
		case volume == "-" && err != nil: // open
			require.Regexp(t, file+": (is open|encloses no volume): ", err.Error())
			refused++
			continue
		}
		require.NoError(t, err, file)
		loaded++
		if volume != "-" {
			want, err := strconv.ParseFloat(volume, 64)
			require.NoError(t, err)
			assert.InEpsilon(t, want, got, 1e-6, file)
		}
		assert.ElementsMatch(t, strings.Fields(notes), told, file)
	}
	assert.GreaterOrEqual(t, loaded, 80)
	assert.GreaterOrEqual(t, refused, 80)
}

// loadAll returns the volume of a file and what is told of it: of each body alone
// where it holds several of different names, which may lie in each other.
func loadAll(dir, file, units string, bodies []string) (volume float64, told []string, err error) {
	if len(bodies) == 1 || bodies[0] == bodies[1] {
		bodies = []string{""}
	}
	for _, name := range bodies {
		in, _, err := loadBody(os.DirFS(dir), &Job{Units: units}, 0, &BodySpec{File: file, Body: name}, "", file)
		if err != nil {
			return 0, nil, err
		}
		volume += in.Volume
		for _, w := range in.Warnings {
			told = append(told, w.Kind)
		}
		for _, r := range in.Repairs {
			told = append(told, r.Kind)
		}
	}
	return volume, told, nil
}
