package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// b0 tilted by 10 deg traps 639 mm3 where a level one traps none: the search finds
// that, keeps to the limit of the job file, and writes no file.
func TestTiltCommand(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	job, err := os.ReadFile(filepath.Join(dir, "b0.toml"))
	require.NoError(t, err)
	limited := strings.Replace(string(job), "[pour]", "[pour]\ntilt_limit_deg = 30", 1)
	require.NotEqual(t, string(job), limited)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "limited.toml"), []byte(limited), 0o600))
	before, err := os.ReadDir(dir)
	require.NoError(t, err)
	got := exec(dir, "tilt", "limited.toml", "--tilt", "10@0", "--search", "quick", "--json", "-")
	require.Equal(t, exitFine, got.code, got.err)
	var s struct {
		Limit  float64 `json:"limit_deg"`
		Chosen struct {
			Angle   float64 `json:"angle_deg"`
			Trapped float64 `json:"trapped_mm3"`
		} `json:"chosen_tilt"`
		Best struct {
			Angle   float64 `json:"angle_deg"`
			Trapped float64 `json:"trapped_mm3"`
		} `json:"best_tilt"`
		Tilts []struct {
			Angle float64 `json:"angle_deg"`
		} `json:"tilts"`
	}
	require.NoError(t, json.Unmarshal([]byte(got.out), &s))
	assert.Equal(t, 30.0, s.Limit)
	assert.Equal(t, 10.0, s.Chosen.Angle)
	assert.InDelta(t, 639, s.Chosen.Trapped, 200, "columns of 2 mm: the level is known to half of that over 20 x 19 mm")
	assert.Less(t, s.Best.Trapped, 100.0)
	assert.LessOrEqual(t, s.Best.Angle, 30.0)
	for _, x := range s.Tilts[:61] { // the grid; around the best and the chosen one it may go beyond
		assert.LessOrEqual(t, x.Angle, 30.001)
	}
	after, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Equal(t, len(before), len(after), "nothing is written")

	assert.Equal(t, exitDoubt, exec(dir, "tilt", "b0.toml", "--search", "none").code)
	assert.Contains(t, exec(dir, "tilt", "b0.toml", "--only", "air").err, "--only: says nothing to a search of tilts")
}

// Inside check the search is in the report, and --search none leaves it out.
func TestTiltsInsideCheck(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	for _, search := range []string{"quick", "none"} {
		got := exec(dir, "check", "b0.toml", "--tilt", "10@0", "--no-pdf", "--quiet", "--only", "air,vents", "--search", search, "--json", "-")
		r := readReport(t, []byte(got.out))
		if search == "none" {
			assert.Nil(t, at(t, r, "fill", "best_tilt"))
			assert.Contains(t, at(t, r, "fill", "tilts_why"), "--search none")
			continue
		}
		assert.NotEmpty(t, at(t, r, "fill", "tilts"))
		assert.Less(t, at(t, r, "fill", "best_tilt", "trapped_mm3"), 100.0)
		assert.Greater(t, at(t, r, "fill", "worst_within_5deg_mm3"), 639.0)
		assert.Contains(t, at(t, r, "findings", 0, "sensitivity"), "Gone level")
	}
}
