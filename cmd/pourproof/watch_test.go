package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// watched runs check --watch on real files with a clock of its own: at every tick
// the next of the acts happens, then, after rest ticks, the user interrupts.
func watched(t *testing.T, dir string, args []string, rest int, acts ...func()) result {
	t.Helper()
	var out, err bytes.Buffer
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	n := 0
	w := &world{stdin: strings.NewReader(""), stdout: &out, stderr: &err, env: func(string) string { return "" }, dir: dir,
		interrupt: func() (context.Context, func()) { return ctx, cancel },
		tick: func(ctx context.Context, d time.Duration) bool {
			if n < len(acts) && acts[n] != nil {
				acts[n]()
			}
			if n++; n > len(acts)+rest {
				cancel()
				return false
			}
			return true
		}}
	code := run(append([]string{"check", "--watch", "--search", "none", "--no-pdf"}, args...), w)
	return result{out.String(), err.String(), code}
}

// level and tilted are the same job; the first leaves no air, the second 636.5
// mm3.
const (
	levelJob  = "[part]\nfile = 'part.stl'\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n[pour]\ntilt = 0\ncell = 1\n"
	tiltedJob = "[part]\nfile = 'part.stl'\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n[pour]\ntilt = 10\ncell = 1\n"
)

// A change is seen once it has settled, told in a line, and the exit code is that
// of the last run.
func TestWatchTellsTheDifference(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := watched(t, dir, []string{"b0.toml"}, 4, nil, nil, func() { put(t, dir, "b0.toml", []byte(levelJob)) })
	assert.NotEqual(t, exitStop, got.code, "the last run is level")
	assert.Equal(t, 1, strings.Count(got.out, "Report    "), "the whole summary once")
	assert.Regexp(t, `(?m)^Better: [1-9]\d* fixed, \d+ new\. `, got.out)
	assert.Contains(t, got.err, "watching 4 files; Ctrl-C ends")
	assert.True(t, strings.HasPrefix(sinceOf(t, filepath.Join(dir, "pourproof-out", "report.json")).Line, "better: "))

	got = watched(t, dir, []string{"b0.toml"}, 4, func() { put(t, dir, "b0.toml", []byte(tiltedJob)) })
	assert.Equal(t, exitStop, got.code)
	assert.Regexp(t, `(?m)^Worse: \d+ fixed, [1-9]\d* new\. Do not print: `, got.out)
}

// While a file is being written nothing runs: every look finds it otherwise. A
// file that stops half way is refused, the last good report stays, and the run
// goes on when the file is whole.
func TestWatchHalfWrittenFile(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	top, err := os.ReadFile(filepath.Join(dir, "top.stl"))
	require.NoError(t, err)
	// The same solid from other bytes: another header, which no answer depends on.
	fresh := bytes.Clone(top)
	copy(fresh, "another header")
	require.Greater(t, binary.LittleEndian.Uint32(fresh[80:]), uint32(8))
	write := func(n int) func() {
		return func() {
			put(t, dir, "top.stl", fresh[:n])
			at := time.Unix(1_600_000_000+int64(n), 0) // as a clock with seconds would have it
			require.NoError(t, os.Chtimes(filepath.Join(dir, "top.stl"), at, at))
		}
	}
	report := filepath.Join(dir, "pourproof-out", "report.json")
	var first, kept []byte
	keep := func(to *[]byte) func() {
		return func() {
			data, err := os.ReadFile(report)
			require.NoError(t, err)
			*to = data
		}
	}
	got := watched(t, dir, []string{"b0.toml"}, 4,
		keep(&first), write(0), write(200), write(300), nil, nil, keep(&kept), write(400), write(len(fresh)))
	require.NotEmpty(t, first)
	assert.Equal(t, string(first), string(kept), "the last good report stays")
	assert.Equal(t, 1, strings.Count(got.err, "top.stl: "), "one refusal, of the file that stood still half way:\n%s", got.err)
	assert.Contains(t, got.err, "the last good report is kept; waiting for the next change")
	assert.Equal(t, exitStop, got.code)
	assert.Regexp(t, `(?m)^Unchanged: 0 fixed, 0 new\. `, got.out)
	s := sinceOf(t, report)
	require.Len(t, s.Inputs, 1)
	assert.Equal(t, "top.stl", *s.Inputs[0].Now)
}

// A file that is gone for a moment while a program renames is waited for; one that
// is written again with the same bytes starts nothing.
func TestWatchGapsAndSameBytes(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	old, away := filepath.Join(dir, "top.stl"), filepath.Join(dir, "away")
	data, err := os.ReadFile(old)
	require.NoError(t, err)
	got := watched(t, dir, []string{"b0.toml"}, 4,
		func() { require.NoError(t, os.Rename(old, away)) }, nil, nil,
		func() { require.NoError(t, os.Rename(away, old)) }, nil, nil, nil,
		func() {
			put(t, dir, "top.stl", data)
			require.NoError(t, os.Chtimes(old, time.Unix(1e9, 0), time.Unix(1e9, 0)))
		})
	assert.NotContains(t, got.err, "top.stl: ")
	assert.NotContains(t, got.out, "Unchanged")
	assert.Equal(t, exitStop, got.code)

	// One that stays away is told.
	got = watched(t, dir, []string{"b0.toml"}, goneAfter+3, func() { require.NoError(t, os.Remove(old)) })
	assert.Contains(t, got.err, "top.stl: does not exist")
	assert.Equal(t, exitDoubt, got.code)
}

// A job file with a mistake is waited for as well; a flag with one is not.
func TestWatchMistakes(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := watched(t, dir, []string{"typo.toml"}, 4, nil, func() { put(t, dir, "typo.toml", []byte(levelJob)) })
	assert.Contains(t, got.err, "typo.toml:8:1: pour.tlit is no setting")
	assert.Contains(t, got.err, "waiting for the next change; Ctrl-C ends")
	assert.Contains(t, got.out, "Report    ")
	assert.NotEqual(t, exitDoubt, got.code)

	got = watched(t, dir, []string{"b0.toml", "--tilt", "far"}, 1)
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "see pourproof --help")
}

// Interrupted before a first answer, it could not judge.
func TestWatchInterruptedAtOnce(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, err bytes.Buffer
	w := &world{stdout: &out, stderr: &err, env: func(string) string { return "" }, dir: t.TempDir(),
		interrupt: func() (context.Context, func()) { return ctx, cancel },
		tick:      func(context.Context, time.Duration) bool { return false }}
	code := run([]string{"check", "--watch", "a.stl", "b.stl", "c.stl"}, w)
	assert.Equal(t, exitDoubt, code)
}
