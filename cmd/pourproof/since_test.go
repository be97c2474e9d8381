package main

import (
	"encoding/json"
	"os"
	osexec "os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sinceOf reads what a report says of an earlier one.
func sinceOf(t *testing.T, path string) (since struct {
	Report, Line, Verdict      string
	Fixed, New, Same, Accepted []string
	Inputs, Settings           []struct {
		Name     string
		Was, Now *string
	}
}) {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	var r struct{ Since json.RawMessage }
	require.NoError(t, json.Unmarshal(data, &r))
	require.NoError(t, json.Unmarshal(r.Since, &since))
	return since
}

// The loop: a run, a change of the tilt, and what that fixed. B0 holds 636.5 mm3
// at 10 degrees and nothing when level (practice.md section 5).
func TestSinceLastAndFile(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	require.Equal(t, exitStop, exec(dir, "check", "b0.toml", "--no-pdf", "--search", "none").code)
	require.NoError(t, os.Rename(filepath.Join(dir, "pourproof-out"), filepath.Join(dir, "was")))

	got := exec(dir, "check", "b0.toml", "--tilt", "0", "--no-pdf", "--search", "none", "--since", "was/report.json")
	assert.Contains(t, got.out, "Since     better: ")
	s := sinceOf(t, filepath.Join(dir, "pourproof-out", "report.json"))
	assert.Equal(t, "was/report.json", s.Report)
	assert.Equal(t, "stop", s.Verdict)
	assert.True(t, strings.HasPrefix(s.Line, "better: "), s.Line)
	assert.Contains(t, got.out, s.Line)
	air := 0
	for _, k := range s.Fixed {
		if strings.HasPrefix(k, "air/") {
			air++
		}
	}
	assert.Equal(t, 1, air, "%v", s.Fixed)
	assert.Empty(t, s.Inputs)
	require.Len(t, s.Settings, 1)
	assert.Equal(t, "pour.tilt", s.Settings[0].Name)

	// last is the report in --out, read before it is replaced; nothing has changed.
	require.Contains(t, exec(dir, "check", "b0.toml", "--tilt", "0", "--no-pdf", "--search", "none", "--since", "last").out, "unchanged: 0 fixed, 0 new")
	s = sinceOf(t, filepath.Join(dir, "pourproof-out", "report.json"))
	assert.Equal(t, "pourproof-out/report.json", s.Report)
	assert.Empty(t, s.Fixed)
	assert.NotEmpty(t, s.Same)
}

// A report that is not one ends the run before anything is written.
func TestSinceRefusesAndLeavesTheFolder(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	put(t, dir, "cut.json", []byte(`{"schema": "pourproof/1", "find`))
	put(t, dir, "other.json", []byte(`{"name": "x"}`))
	before := listing(t, dir)
	for name, says := range map[string]string{
		"last":       "does not exist; a first run has none: leave --since out",
		"gone.json":  "gone.json: does not exist; check the name and the folder, or leave --since out",
		"folder":     "folder: is a folder; name the report.json in it",
		"cut.json":   "cut.json: is cut short or not JSON",
		"other.json": "other.json: is JSON but no report of pourproof",
		"part.stl":   "part.stl: is cut short or not JSON",
		"":           "--since: must name a report.json, or be last",
	} {
		got := exec(dir, "check", "b0.toml", "--since", name)
		assert.Equal(t, exitDoubt, got.code, name)
		assert.Contains(t, got.err, says)
		assert.Equal(t, before, listing(t, dir), name)
	}
}

// The mold of then is poured again for its picture if its files are still there
// with the bytes they had, wherever the run starts; else the page says why not.
func TestPicturesOfThen(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	require.Equal(t, exitStop, exec(dir, "check", "b0.toml", "--no-pdf", "--search", "none", "-o", "was").code)
	pages := func(args ...string) string {
		args = append([]string{"check", "--search", "none", "--since", "was/report.json"}, args...)
		got := exec(dir, args...)
		require.NotEqual(t, exitDoubt, got.code, got.err)
		return pdfText(t, filepath.Join(dir, "pourproof-out", "report.pdf"))
	}
	text := pages("b0.toml", "--tilt", "0")
	assert.Contains(t, text, "Then and now")
	assert.Contains(t, text, "the same section from the same camera")

	top, err := os.ReadFile(filepath.Join(dir, "top.stl"))
	require.NoError(t, err)
	require.NoError(t, os.Rename(filepath.Join(dir, "top.stl"), filepath.Join(dir, "new.stl")))
	text = pages("part.stl", "bottom.stl", "new.stl", "--cell", "1")
	assert.Contains(t, text, "There is no picture of then: top.stl is no longer where it was.")
	put(t, dir, "top.stl", append(top, "another"...))
	text = pages("part.stl", "bottom.stl", "new.stl", "--cell", "1")
	assert.Contains(t, text, "There is no picture of then: top.stl has changed since;")
}

// pdfText returns the words of a PDF as an outside reader sees them, one blank
// between.
func pdfText(t *testing.T, path string) string {
	t.Helper()
	if _, err := osexec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdftotext is missing; install poppler-utils")
		}
		t.Skip("pdftotext is missing: the text of the pages is not checked here")
	}
	out, err := osexec.Command("pdftotext", path, "-").Output()
	require.NoError(t, err)
	return strings.Join(strings.Fields(string(out)), " ")
}
