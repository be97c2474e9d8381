package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/testdata"
)

// exampleFolder holds the example's files, as the help's examples expect.
func exampleFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	files, err := testdata.Demo()
	require.NoError(t, err)
	for _, f := range files {
		put(t, dir, f.Name, f.Data)
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "rev-a"), 0o777))
	put(t, filepath.Join(dir, "rev-a"), "report.json", []byte(`{"schema": "pourproof/1", "tool": {"version": "0"}, "findings": []}`))
	return dir
}

// quicker adds flags that make an example run faster in a test.
func quicker(args []string) []string {
	switch args[0] {
	case "demo":
		return append(args, "--no-pdf")
	case "check":
		return append(args, "--no-pdf", "--cell", "0.5")
	}
	return args
}

// Every example that help shows can be run as it stands.
func TestExamplesOfTheHelpRun(t *testing.T) {
	for _, c := range commands() {
		for _, line := range examples[c.name] {
			t.Run(line, func(t *testing.T) {
				t.Parallel()
				words := strings.Fields(line)
				require.Equal(t, []string{"pourproof", c.name}, words[:2])
				got := exec(exampleFolder(t), quicker(words[1:])...)
				assert.NotEqual(t, exitDoubt, got.code, got.err)
				assert.NotContains(t, got.err, "pourproof: ")
			})
		}
		assert.True(t, c.hidden || len(examples[c.name]) > 0, "%s has no example", c.name)
	}
}

// Every command line in README.md runs, from a folder with the example in it.
func TestExamplesOfTheReadmeRun(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	lines := regexp.MustCompile(`(?m)^(?:\$ )?(?:pourproof|go run \./cmd/pourproof) (.*)$`).FindAllStringSubmatch(string(text), -1)
	require.GreaterOrEqual(t, len(lines), 2)
	for _, l := range lines {
		args := strings.Fields(strings.SplitN(l[1], "#", 2)[0])
		if args[0] == "demo" {
			continue // TestDemo
		}
		got := exec(exampleFolder(t), quicker(args)...)
		assert.NotEqual(t, exitDoubt, got.code, "%s: %s", l[0], got.err)
	}
	assert.Contains(t, string(text), "go test -timeout 20m ./...")
}

// The flags of check are those of its help, each with a line of its own.
func TestHelpNamesEveryFlag(t *testing.T) {
	help := exec(t.TempDir(), "check", "--help").out
	newCheckFlags().set.VisitAll(func(f *pflag.Flag) {
		assert.Equal(t, !f.Hidden, strings.Contains(help, "--"+f.Name), f.Name)
		value, what, ok := strings.Cut(f.Usage, "\t")
		assert.True(t, f.Hidden || ok && what != "", "%s: %q", f.Name, value)
	})
	for _, line := range strings.Split(help, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 110, line)
	}
}

// A job file from init loads as it is, and with every setting taken out of its
// comment, but for names that are not there.
func TestInitWritesAJobFileThatLoads(t *testing.T) {
	dir := bench(t)
	require.Equal(t, exitFine, exec(dir, "init", "new.toml").code)
	data, err := os.ReadFile(filepath.Join(dir, "new.toml"))
	require.NoError(t, err)
	j, err := mold.ParseJob("new.toml", data, limitKeys())
	require.NoError(t, err)
	assert.Equal(t, mold.NewJob().Liquid, j.Liquid, "commented settings change nothing")

	live := regexp.MustCompile(`(?m)^#(\[\[|[a-z])`).ReplaceAllString(string(data), "$1")
	j, err = mold.ParseJobWith("new.toml", []byte(live), limitKeys(), func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err)
	require.Len(t, j.Vents, 1)
	require.Len(t, j.Accept, 1)
	assert.Len(t, j.Limits, len(limitKeys()))
	for _, s := range mold.Settings() {
		assert.Contains(t, live, "\n"+s.Key+" = ", s.Name())
		if s.Default != "" {
			shown, _, _ := s.Show(j, 0)
			want, _, _ := s.Show(mold.NewJob(), 0)
			assert.Equal(t, want, shown, "%s: the value shown is the default", s.Name())
		}
	}
	require.Equal(t, exitFine, exec(dir, "check", "new.toml", "--no-pdf", "--cell", "1").code)
}
