package mold

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// presets is a folder of files by path.
func presets(files map[string]string) func(string) ([]byte, error) {
	return func(path string) ([]byte, error) {
		text, ok := files[filepath.ToSlash(path)]
		if !ok {
			return nil, errors.New(filepath.ToSlash(path) + ": does not exist; check the name and the folder")
		}
		return []byte(text), nil
	}
}

func TestIncludePresets(t *testing.T) {
	read := presets(map[string]string{
		"jobs/shop/resin.toml":   "[liquid]\nname = 'House resin'\ndensity = 1.2\nviscosity = 80\nshrink_percent = 1\n[limits]\nair_stop_mm3 = 5\n",
		"jobs/shop/printer.toml": "printer.layer = 0.1\nprinter.coupon = 'mine.toml'\n[liquid]\nviscosity = 90\n",
	})
	text := "liquid.shrink_percent = 0.3\ninclude = ['shop/resin.toml', 'shop/printer.toml']\n" + strings.Replace(threeFiles, "[part]", "liquid.density = 1.1\n[part]", 1) + "[limits]\nair_stop_mm3 = 7\n"
	j, err := ParseJobWith(filepath.Join("jobs", "knob.toml"), []byte(text), []string{"air_stop_mm3"}, read)
	require.NoError(t, err)
	assert.Equal(t, "House resin", j.Liquid.Name)
	assert.Equal(t, 90.0, j.Liquid.Viscosity, "the later preset counts")
	assert.Equal(t, 1.1, j.Liquid.Density, "the job file counts over both")
	assert.Equal(t, 0.1, j.Printer.Layer)
	assert.Equal(t, 0.3, j.Liquid.ShrinkPercent, "above the include as well")
	assert.Equal(t, "jobs/shop/mine.toml", filepath.ToSlash(j.Printer.CouponPath), "seen from the preset")
	assert.Equal(t, 7.0, j.Limits[len(j.Limits)-1].Value)
	assert.Equal(t, "include shop/resin.toml line 2", j.From("liquid.name"))
	assert.Equal(t, "include shop/printer.toml line 1", j.From("printer.layer"))
	assert.True(t, strings.HasPrefix(j.From("liquid.density"), "job file line "))
	assert.Equal(t, []string{filepath.Join("jobs", "shop", "resin.toml"), filepath.Join("jobs", "shop", "printer.toml")}, j.Includes)

	j, err = ParseJobWith("knob.toml", []byte("include = 'jobs/shop/resin.toml'\n"+threeFiles), []string{"air_stop_mm3"}, read)
	require.NoError(t, err)
	assert.Equal(t, 80.0, j.Liquid.Viscosity)
}

// A fault in a preset names that file and line; a preset that is none is a fault
// of the line that includes it.
func TestIncludeFaults(t *testing.T) {
	read := presets(map[string]string{
		"typo.toml":   "[liquid]\n\ndensitiy = 1\n",
		"broken.toml": "[liquid\n",
		"meshes.toml": "[part]\nfile = 'x.stl'\n",
		"halves.toml": "[[half]]\nfile = 'x.stl'\n",
		"inline.toml": "part = {file = 'x.stl'}\n",
		"again.toml":  "include = 'typo.toml'\n",
		"good.toml":   "[liquid]\ndensity = 1\n",
	})
	for include, want := range map[string]string{
		"'typo.toml'":                "typo.toml:3:1: liquid.densitiy is no setting; did you mean density?",
		"'broken.toml'":              "broken.toml:1:",
		"'meshes.toml'":              "meshes.toml:1:2: [part] belongs into the job file",
		"'halves.toml'":              "halves.toml:1:3: [half] belongs into the job file",
		"'inline.toml'":              "inline.toml:1:1: [part] belongs into the job file",
		"'again.toml'":               "again.toml:1:1: include stands in a job file only",
		"'gone.toml'":                "j.toml:1:1: include gone.toml: does not exist",
		"['good.toml', 'good.toml']": "j.toml:1:1: include names good.toml twice",
		"3":                          "j.toml:1:1: include must be the name of a preset in quotes",
		"[]":                         "j.toml:1:1: include must be the name",
		"['good.toml', 3]":           "j.toml:1:1: include must be the name",
		"['" + strings.Repeat("good.toml', '", 20) + "x']": "names more than 20 presets",
	} {
		_, err := ParseJobWith("j.toml", []byte("include = "+include+"\n"+threeFiles), nil, read)
		require.Error(t, err, include)
		assert.Contains(t, err.Error(), want, include)
	}
	_, err := ParseJob("j.toml", []byte("include = 'good.toml'\n"+threeFiles), nil)
	assert.ErrorContains(t, err, "cannot be followed here")
	_, err = ParseJob("j.toml", []byte("inclued = 'good.toml'\n"+threeFiles), nil)
	assert.ErrorContains(t, err, "did you mean include?")
}
