package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/testdata"
)

// TestNothingIsLeftUnjudged: on both revisions of the example and on every case that
// keeps no air at rest, each check judges: not_judged is empty.
func TestNothingIsLeftUnjudged(t *testing.T) {
	none := func(t *testing.T, dir string, args ...string) {
		t.Helper()
		r := exec(dir, append([]string{"check", "--no-pdf", "--quiet", "--search", "none", "--cell", "0.5", "--out", "out"}, args...)...)
		data, err := os.ReadFile(filepath.Join(dir, "out", "report.json"))
		require.NoError(t, err, r.err)
		var got struct {
			Verdict   string
			NotJudged []struct{ Check, Why string } `json:"not_judged"`
		}
		require.NoError(t, json.Unmarshal(data, &got))
		require.NotEmpty(t, got.Verdict)
		for _, n := range got.NotJudged {
			assert.Fail(t, "not judged", "%v: %s: %s", args, n.Check, n.Why)
		}
	}
	example, err := testdata.Demo()
	require.NoError(t, err)
	for _, rev := range []string{"rev-a.toml", "rev-b.toml"} {
		t.Run(rev, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			for _, f := range example {
				put(t, dir, f.Name, f.Data)
			}
			none(t, dir, rev)
		})
	}
	names, err := testdata.Cases()
	require.NoError(t, err)
	clean := 0
	for _, name := range names {
		c, err := testdata.Case(name)
		require.NoError(t, err)
		if !strings.Contains(c.Why, "\nwant tilt 0 trapped 0") || testing.Short() && name != "keys" {
			continue
		}
		clean++
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir, args := t.TempDir(), []string{c.Part.Name}
			put(t, dir, c.Part.Name, c.Part.Data)
			for _, h := range c.Halves {
				put(t, dir, h.Name, h.Data)
				args = append(args, h.Name)
			}
			none(t, dir, args...)
		})
	}
	assert.True(t, clean > 20 || testing.Short() && clean > 0, "%d", clean)
}
