package main

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// unsafe reports what a terminal may take for an order.
func unsafe(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool {
		return r != '\n' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == unicode.ReplacementChar)
	})
}

// outside lists a folder's files and their sizes, but for one folder in it.
func outsideOf(t *testing.T, dir, but string) map[string]int64 {
	t.Helper()
	out := map[string]int64{}
	require.NoError(t, filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && d.Name() == but {
			return filepath.SkipDir
		}
		info, err := d.Info()
		if err == nil && !d.IsDir() {
			out[p] = info.Size()
		}
		return err
	}))
	return out
}

// Names of halves that climb out of a folder, name a device, or are long are names and
// nothing else: what is written stays in DIR, under names of ours.
func TestNamesAreNoPaths(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "deep", "er"), 0o777))
	for i, names := range [][2]string{
		{"../../../escaped", "</script><script>alert(1)</script>&amp;"},
		{"..", "/etc/passwd"},
		{"a/b/c", `..\..\escaped`},
		{"con", strings.Repeat("x", 500)},
		{"-o", "report.pdf"},
		{"%s%n%d", "report.json"},
	} {
		job := "[part]\nfile = '../../part.stl'\n[[half]]\nfile = '../../bottom.stl'\nname = '" + names[0] + "'\n[[half]]\nfile = '../../top.stl'\nname = '" + names[1] + "'\n[pour]\ncell = 1\n"
		put(t, dir, "deep/er/job.toml", []byte(job))
		before := outsideOf(t, dir, "out")
		args := []string{"check", "deep/er/job.toml", "--only", "air", "--search", "none", "-o", "deep/er/out"}
		if i > 0 {
			args = append(args, "--no-pdf")
		}
		got := exec(dir, args...)
		require.Equal(t, "", got.err, names)
		assert.Equal(t, before, outsideOf(t, dir, "out"), names)
		for name := range listing(t, filepath.Join(dir, "deep/er/out")) {
			assert.Contains(t, append(ourNames, "./"), name)
		}
		written := listing(t, dir)
		assert.NotContains(t, written["deep/er/out/report.html"], "<script>alert(1)")
		r := readReport(t, []byte(written["deep/er/out/report.json"]))
		assert.Equal(t, names[0], at(t, r, "inputs", 1, "name"))
		assert.Equal(t, names[1], at(t, r, "inputs", 2, "name"))
	}
}

// A job file states no name that a line of the report cannot carry.
func TestNamesWithControls(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	for _, name := range []string{`a\nb`, `a\u001b[31m`, `a\u0000`, `a\u007f`, `a\u009b`, `a\u202Eb`, strings.Repeat("x", 501), ""} {
		put(t, dir, "job.toml", []byte("[part]\nfile = 'part.stl'\nname = \""+name+"\"\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n"))
		got := exec(dir, "check", "job.toml", "-o", "out")
		assert.Equal(t, exitDoubt, got.code, name)
		assert.Contains(t, got.err, "job.toml:3:1: part.name must be 1 to 500 bytes of text on one line", name)
	}
	assert.NoDirExists(t, filepath.Join(dir, "out"))
}

// Whatever a file's name holds, the terminal is told nothing by it, in no stream and
// by no command; the report keeps the name as it is.
func TestFileNamesDoNotCommandTheTerminal(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	part, err := os.ReadFile(filepath.Join(dir, "part.stl"))
	require.NoError(t, err)
	evil := "p\x1b[2J\x07\u009b31m\u202e\r.stl"
	if err := os.WriteFile(filepath.Join(dir, evil), part, 0o666); err != nil {
		t.Skipf("such names are not possible here: %v", err)
	}
	put(t, dir, "short"+evil, []byte("x"))
	for _, args := range [][]string{
		{"check", evil, "bottom.stl", "top.stl", "--search", "none", "--only", "air", "-o", "out\x1b[2J"},
		{"check", "short" + evil, "bottom.stl", "top.stl"},
		{"check", "none" + evil, "bottom.stl", "top.stl"},
		{"check", evil},
		{"check", "none\x1b[2J.toml"},
		{"check", "--since", "none" + evil, "part.stl", "bottom.stl", "top.stl"},
		{"check", "--\x1b[2J", "part.stl"},
		{"mesh", evil, "short" + evil, "none" + evil},
		{"tilt", "short" + evil, "bottom.stl", "top.stl"},
		{"init", "dir\x1b[2J/x.toml"},
		{"explain", "\x1b[2J"},
		{"\x1b[2J"},
	} {
		got := exec(dir, args...)
		assert.False(t, unsafe(got.out), "%q: %q", args, got.out)
		assert.False(t, unsafe(got.err), "%q: %q", args, got.err)
		assert.NotEmpty(t, got.out+got.err, "%q", args)
	}
	got := exec(dir, "mesh", evil, "--json", "-")
	var inputs []struct{ Name, File string }
	require.NoError(t, json.Unmarshal([]byte(got.out), &inputs))
	assert.Equal(t, evil, inputs[0].File)
	assert.Equal(t, "p_[2J__31m__", inputs[0].Name)
}

// The program's own colours and cleared lines reach a terminal, and nothing else.
func TestOrdersToTheTerminal(t *testing.T) {
	for text, want := range map[string][2]string{
		"plain\n\tü – µ €":          {"plain\n\tü – µ €", "plain\n\tü – µ €"},
		"\r\x1b[Kstep":              {`\x0d\x1b[Kstep`, "\r\x1b[Kstep"},
		"\x1b[1;31mred\x1b[0m":      {`\x1b[1;31mred\x1b[0m`, "\x1b[1;31mred\x1b[0m"},
		"\x1b[2J\x1b]0;t\x07":       {`\x1b[2J\x1b]0;t\x07`, `\x1b[2J\x1b]0;t\x07`},
		"\x1b[8mhidden":             {`\x1b[8mhidden`, `\x1b[8mhidden`},
		"a\u009bb\u202ec\x00\xff\b": {`a\x9bb\u202ec\x00\xff\x08`, `a\x9bb\u202ec\x00\xff\x08`},
	} {
		for i, terminal := range []bool{false, true} {
			var b bytes.Buffer
			n, err := (&screen{&b, terminal}).Write([]byte(text))
			require.NoError(t, err)
			assert.Equal(t, len(text), n)
			assert.Equal(t, want[i], b.String(), terminal)
		}
	}
}
