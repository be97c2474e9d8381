package main

import (
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestThreadsWriteTheSameBytes: every file that a check writes and every line that
// it prints is the same on one thread, on two and on seven.
func TestThreadsWriteTheSameBytes(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var first result
	var files map[string]string
	for _, n := range []int{1, 2, 7} {
		runtime.GOMAXPROCS(n)
		dir := bench(t)
		got := exec(dir, "check", "b0.toml")
		require.Contains(t, []int{0, 1}, got.code, got.err)
		made := listing(t, filepath.Join(dir, "pourproof-out"))
		require.NotEmpty(t, made["report.json"])
		require.NotEmpty(t, made["report.pdf"])
		if files == nil {
			first, files = got, made
			continue
		}
		assert.Equal(t, first, got, "%d threads", n)
		require.Len(t, made, len(files), "%d threads", n)
		for name, data := range made {
			if data != files[name] { // not assert.Equal: it would print a PDF
				assert.Fail(t, "another "+name, "%d threads against 1", n)
			}
		}
	}
}
