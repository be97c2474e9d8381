package main

import (
	"os"
	osexec "os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every command and every flag that help shows stands in every script and in the
// manual page; what help hides stands in none.
func TestCompletionAndManNameEverything(t *testing.T) {
	dir := t.TempDir()
	texts := map[string]string{"man": exec(dir, "man").out}
	for _, sh := range shells {
		got := exec(dir, "completion", sh)
		require.Equal(t, exitFine, got.code)
		texts[sh] = got.out
	}
	for name, text := range texts {
		plain := strings.ReplaceAll(text, `\-`, "-")
		for _, c := range words() {
			assert.Contains(t, plain, c.name, name)
			for _, f := range c.flags {
				want := "--" + f.Name
				if name == "fish" {
					want = "-l " + f.Name
				}
				assert.Contains(t, plain, want, name)
			}
		}
		assert.NotContains(t, plain, "\t", name)
	}
	assert.Contains(t, texts["man"], ".SH EXIT STATUS")
	assert.Contains(t, texts["man"], `\-\-since FILE|last`)
	got := exec(dir, "completion", "tcsh")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "completion needs one of bash, zsh, fish")
}

// program returns an outside program, or skips where it is not installed and this
// is not CI.
func program(t *testing.T, name string) string {
	t.Helper()
	path, err := osexec.LookPath(name)
	if err != nil && os.Getenv("CI") == "true" && name == "bash" {
		t.Fatalf("%s is missing", name)
	}
	if err != nil {
		t.Skipf("%s is not installed: its script is not read here", name)
	}
	return path
}

// A shell completes as it should.
func TestBashCompletes(t *testing.T) {
	bash := program(t, "bash")
	dir := t.TempDir()
	put(t, dir, "script", []byte(exec(dir, "completion", "bash").out))
	for line, want := range map[string]string{
		"pourproof ch":                   "check",
		"pourproof check --sin":          "--since",
		"pourproof check a.stl --search": "--search",
		"pourproof check --search q":     "quick",
		"pourproof check --paper ":       "a4 letter",
		"pourproof explain cu":           "cups",
		"pourproof completion f":         "fish",
		"pourproof check par":            "", // the shell's own file names
	} {
		words := strings.Split(line, " ")
		cmd := osexec.Command(bash, "--norc", "-c", `source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _pourproof; echo "${COMPREPLY[*]}"`, "bash", filepath.Join(dir, "script"))
		cmd.Args = append(cmd.Args, words...)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, string(out))
		assert.Equal(t, want, strings.TrimSpace(string(out)), line)
	}
}

func TestOtherShellsReadTheirScripts(t *testing.T) {
	for _, sh := range []string{"zsh", "fish"} {
		t.Run(sh, func(t *testing.T) {
			path := program(t, sh)
			dir := t.TempDir()
			put(t, dir, "script", []byte(exec(dir, "completion", sh).out))
			out, err := osexec.Command(path, "-n", filepath.Join(dir, "script")).CombinedOutput()
			assert.NoError(t, err, string(out))
		})
	}
}

// The formatter of manual pages has nothing to complain of.
func TestManPageIsSound(t *testing.T) {
	groff := program(t, "groff")
	dir := t.TempDir()
	put(t, dir, "pourproof.1", []byte(exec(dir, "man").out))
	cmd := osexec.Command(groff, "-man", "-ww", "-z", "-Tutf8", filepath.Join(dir, "pourproof.1"))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err)
	assert.Empty(t, string(out))
}
