package main

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A folder never mixes two runs: what an earlier run left and this one does not
// write goes, what is not ours stays.
func TestOutputReplacesAnEarlierRun(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	out := filepath.Join(dir, "out")
	require.NoError(t, os.Mkdir(out, 0o777))
	for _, name := range append(ourNames, "mine.txt") {
		put(t, out, name, []byte("old"))
	}
	require.Equal(t, exitStop, exec(dir, "check", "b0.toml", "--no-pdf", "-o", "out").code)
	got := listing(t, out)
	assert.Equal(t, "old", got["mine.txt"])
	assert.NotContains(t, got, "report.pdf")
	assert.NotContains(t, got, "marked.3mf")
	for name, data := range got {
		assert.True(t, data != "old" || name == "mine.txt", name)
		assert.NotContains(t, name, tempPrefix)
	}
	assert.Contains(t, got, "report.json")
}

func TestOutputNeverOverAnInput(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	top, err := os.ReadFile(filepath.Join(dir, "top.stl"))
	require.NoError(t, err)
	out := filepath.Join(dir, "out")
	require.NoError(t, os.Mkdir(out, 0o777))
	put(t, out, "vents.stl", top)
	before := listing(t, dir)
	got := exec(dir, "check", "part.stl", "bottom.stl", "out/vents.stl", "-o", "out")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "is an input and would be overwritten as "+filepath.Join("out", "vents.stl"))
	assert.Equal(t, before, listing(t, dir))

	// The same file by another name, one that this run would only remove.
	if err := os.Link(filepath.Join(dir, "top.stl"), filepath.Join(out, "wedge.stl")); err != nil {
		t.Skipf("no hard links here: %v", err)
	}
	got = exec(dir, "check", "part.stl", "bottom.stl", "top.stl", "-o", "out")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "top.stl: is an input")
	assert.Equal(t, string(top), listing(t, dir)["top.stl"])
}

// What cannot be written is refused before any work, and nothing is left behind.
func TestOutputFolderThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	target := "/proc/pourproof-out" // no one can make a folder there
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		target = filepath.Join(dir, "locked")
		require.NoError(t, os.Mkdir(target, 0o555))
	}
	before := listing(t, dir)
	got := exec(dir, "check", "b0.toml", "--no-pdf", "-o", target)
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, target)
	assert.Contains(t, got.err, "name another folder with --out")
	assert.Equal(t, before, listing(t, dir))
}

// A file that cannot be replaced ends the run without a half written one.
func TestOutputFileThatCannotBeReplaced(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	blocked := filepath.Join(dir, "out", "report.json", "x")
	require.NoError(t, os.MkdirAll(blocked, 0o777))
	got := exec(dir, "check", "b0.toml", "--no-pdf", "-o", "out")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "report.json: cannot be replaced")
	for name := range listing(t, filepath.Join(dir, "out")) {
		assert.NotContains(t, name, tempPrefix)
	}
}

// A link in the folder is replaced, not followed: nothing outside is written.
func TestOutputDoesNotFollowLinks(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "out"), 0o777))
	if err := os.Symlink(filepath.Join(dir, "notes.txt"), filepath.Join(dir, "out", "report.json")); err != nil {
		t.Skipf("no links here: %v", err)
	}
	require.Equal(t, exitStop, exec(dir, "check", "b0.toml", "--no-pdf", "-o", "out").code)
	got := listing(t, dir)
	assert.Equal(t, "These are my notes.\n", got["notes.txt"])
	assert.Contains(t, got["out/report.json"], "pourproof/1")
}

func TestWriteAllMakesAndUnmakesFolders(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	deep := filepath.Join(dir, "a", "b")
	require.NoError(t, writeAll(deep, []outFile{{"report.json", []byte("{}")}}))
	assert.Equal(t, map[string]string{"./": "", "a/": "", "a/b/": "", "a/b/report.json": "{}"}, listing(t, dir))

	other := filepath.Join(dir, "c", "d")
	require.Error(t, writeAll(other, []outFile{{filepath.Join("no", "such"), nil}}))
	assert.NotContains(t, listing(t, dir), "c/")
}
