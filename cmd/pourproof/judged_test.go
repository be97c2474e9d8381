package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/testdata"
)

// TestNothingIsLeftUnjudged: on the example's second revision and on molds without a
// fault every check that is built judges: not_judged holds planned checks at most.
func TestNothingIsLeftUnjudged(t *testing.T) {
	planned := map[string]bool{}
	for _, c := range checks.Suite() {
		planned[c.Name] = c.Run == nil
	}
	none := func(dir string, args ...string) {
		t.Helper()
		r := exec(dir, append([]string{"check", "--no-pdf", "--quiet", "--search", "none", "--out", "out"}, args...)...)
		data, err := os.ReadFile(filepath.Join(dir, "out", "report.json"))
		require.NoError(t, err, r.err)
		var got struct {
			NotJudged []struct{ Check, Why string } `json:"not_judged"`
		}
		require.NoError(t, json.Unmarshal(data, &got))
		for _, n := range got.NotJudged {
			assert.True(t, planned[n.Check], "%v: %s was not judged: %s", args, n.Check, n.Why)
		}
	}
	example, err := testdata.Demo()
	require.NoError(t, err)
	dir := t.TempDir()
	for _, f := range example {
		put(t, dir, f.Name, f.Data)
	}
	none(dir, "rev-b.toml")
	for _, name := range []string{"b0", "sphere", "torus", "keys", "shrink-box-101", "dip-vent"} {
		c, err := testdata.Case(name)
		require.NoError(t, err)
		dir, args := t.TempDir(), []string{"--cell", "0.5", c.Part.Name}
		put(t, dir, c.Part.Name, c.Part.Data)
		for _, h := range c.Halves {
			put(t, dir, h.Name, h.Data)
			args = append(args, h.Name)
		}
		none(dir, args...)
	}
}
