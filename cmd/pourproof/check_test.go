package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom/meshio"
)

// Every flag that is a setting shows up in the report with where it came from.
func TestSettingsTellWhereTheyCameFrom(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := exec(dir, "check", "b0.toml", "--no-pdf", "--json", "-", "--quiet", "--tilt", "5@180", "--up", "0,0,2", "--gate", "30,20,1", "--gate", "30,20,2",
		"--pressure", "4bar", "--paper", "letter", "--units", "mm", "--pull", "top=0,0,1", "--build", "bottom=0,0,-1", "--flat", "bottom",
		"--search", "none", "--only", "air,vents", "--vent", "49,20,20,2", "--vent", "11,20,20,1.5,0,0,1")
	require.NotEqual(t, exitDoubt, got.code, got.err)
	r := readReport(t, []byte(got.out))
	for name, want := range map[string][2]string{
		"pour.tilt":        {"5@180", "flag --tilt"},
		"pour.up":          {"0, 0, 2", "flag --up"},
		"pour.gate":        {"30, 20, 1; 30, 20, 2", "flag --gate"},
		"pour.cell":        {"1", "job file line 9"},
		"pour.seal":        {"0.12", "by rule"},
		"pour.reach":       {"8", "by rule"},
		"pot.pressure":     {"400", "flag --pressure"},
		"pot.rating":       {"not given", "not given"},
		"report.paper":     {"letter", "flag --paper"},
		"units":            {"mm", "flag --units"},
		"half 2.pull":      {"0, 0, 1", "flag --pull"},
		"half 1.build":     {"0, 0, -1", "flag --build"},
		"half 1.flat":      {"true", "flag --flat"},
		"half 2.flat":      {"false", "by rule"},
		"part.file":        {"part.stl", "job file line 2"},
		"search":           {"none", "flag --search"},
		"only":             {"air,vents", "flag --only"},
		"vent 1.diameter":  {"2", "flag --vent"},
		"vent 1.direction": {"the pour's up", "by rule"},
		"vent 2.direction": {"0, 0, 1", "flag --vent"},
		"liquid.density":   {"1.05", "default"},

		"limits.air_stop_mm3": {"10", "default"},
	} {
		assert.Equal(t, want[0], at(t, r, "settings", name, "value"), name)
		assert.Equal(t, want[1], at(t, r, "settings", name, "from"), name)
	}
	tried := 0
	for i := range at(t, r, "fill", "channels").([]any) {
		if at(t, r, "fill", "channels", i, "tried").(bool) {
			tried++
		}
	}
	assert.Equal(t, 2, tried)
}

// A vent at the raised end frees nearly all of the base mold's air: practice notes,
// worked example.
func TestTriedVentFreesThePocket(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	trapped := func(args ...string) float64 {
		got := exec(dir, append([]string{"check", "b0.toml", "--no-pdf", "--quiet", "--json", "-"}, args...)...)
		return at(t, readReport(t, []byte(got.out)), "fill", "trapped_mm3").(float64)
	}
	assert.InDelta(t, 636.5, trapped(), 6.4)
	assert.Less(t, trapped("--vent", "49,20,20,2"), 40.0)
}

// Flags win over the job file, and so do repeated ones over their list there.
func TestFlagsWinOverTheJobFile(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := exec(dir, "check", "b0.toml", "--tilt", "0", "--no-pdf", "--quiet", "--json", "-")
	require.Equal(t, exitFine, got.code, got.err)
	r := readReport(t, []byte(got.out))
	assert.Equal(t, 0.0, at(t, r, "fill", "tilt", "angle_deg"))
}

// An accepted stop finding does not stop; its reason is in the report.
func TestAcceptedFindingDoesNotStop(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := exec(dir, "check", "b0.toml", "--only", "air", "--no-pdf", "--quiet", "--json", "-")
	require.Equal(t, exitStop, got.code)
	r := readReport(t, []byte(got.out))
	require.Equal(t, "stop", at(t, r, "findings", 0, "severity"))
	key := at(t, r, "findings", 0, "key").(string)
	got = exec(dir, "check", "b0.toml", "--only", "air", "--no-pdf", "--quiet", "--json", "-", "--accept", key+"=inside, never seen")
	require.Equal(t, exitFine, got.code, got.err)
	assert.Equal(t, "inside, never seen", at(t, readReport(t, []byte(got.out)), "findings", 0, "accepted"))
}

// Part and halves as bodies of one file, told apart by --as.
func TestBodiesOfOneFile(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	var obj strings.Builder
	first := 1
	for _, name := range []string{"top", "part", "bottom"} {
		data, err := os.ReadFile(filepath.Join(dir, name+".stl"))
		require.NoError(t, err)
		f, err := meshio.Read(name, bytes.NewReader(data), int64(len(data)), meshio.Options{})
		require.NoError(t, err)
		m := f.Merged()
		fmt.Fprintf(&obj, "o %s\n", name)
		for _, v := range m.Vertices {
			fmt.Fprintf(&obj, "v %g %g %g\n", v.X, v.Y, v.Z)
		}
		for _, c := range m.Facets {
			fmt.Fprintf(&obj, "f %d %d %d\n", int(c[0])+first, int(c[1])+first, int(c[2])+first)
		}
		first += len(m.Vertices)
	}
	put(t, dir, "mold.obj", []byte(obj.String()))
	got := exec(dir, "check", "mold.obj", "--as", "part=part", "--as", "bottom=half", "--as", "top=half", "--tilt", "10", "--cell", "1", "--no-pdf", "--quiet", "--json", "-")
	require.Equal(t, exitStop, got.code, got.err)
	r := readReport(t, []byte(got.out))
	assert.InDelta(t, 636.5, at(t, r, "fill", "trapped_mm3"), 6.4)
	assert.Equal(t, "top", at(t, r, "inputs", 2, "name"))
	assert.Equal(t, "flag --as", at(t, r, "settings", "half 2.body", "from"))

	got = exec(dir, "check", "mold.obj", "--as", "prat=part", "--as", "bottom=half", "--as", "top=half")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, `mold.obj: has no body named "prat"`)
}

// A job file's paths start from its own folder, wherever the program runs.
func TestJobFilePathsStartFromTheJobFile(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	got := exec(filepath.Dir(dir), "check", filepath.Join(filepath.Base(dir), "b0.toml"), "-o", filepath.Join(dir, "out"), "--no-pdf", "--quiet")
	require.Equal(t, result{"", "", exitStop}, got)
}

func TestDemo(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	got := exec(dir, "demo", "--no-pdf")
	require.Equal(t, exitFine, got.code, got.err)
	assert.Contains(t, got.out, "Do not print")
	assert.Contains(t, got.out, "Ready to print")
	assert.Contains(t, got.out, "\n  fixed   stop ")
	files := listing(t, filepath.Join(dir, "pourproof-demo"))
	a, b := readReport(t, []byte(files["rev-a/report.json"])), readReport(t, []byte(files["rev-b/report.json"]))
	assert.Equal(t, "stop", at(t, a, "verdict"))
	assert.Equal(t, "ready", at(t, b, "verdict"))
	// CASES.md: dome 55.2, rib 19.5, button 6.9 mm3 in A; 0.01 mm3 in all in B.
	assert.InDelta(t, 81.6, at(t, a, "fill", "trapped_mm3"), 1.7)
	assert.Less(t, at(t, b, "fill", "trapped_mm3"), 0.5)
	for _, r := range []map[string]any{a, b} {
		assert.Empty(t, at(t, r, "not_judged"))
	}
	for _, name := range []string{"rev-a/report.json", "rev-b/report.json"} {
		assert.Empty(t, nullsWithoutReason(t, []byte(files[name])), name)
	}
	assert.Equal(t, "../rev-a/report.json", at(t, b, "since", "report"))
	assert.GreaterOrEqual(t, len(at(t, b, "since", "fixed").([]any)), 3)
	// What is new in B is told, and is no harm: a cup that was relieved too narrowly now is relieved.
	fresh := at(t, b, "since", "new").([]any)
	for i := range at(t, b, "findings").([]any) {
		if slices.Contains(fresh, at(t, b, "findings", i, "key")) {
			assert.Equal(t, "note", at(t, b, "findings", i, "severity"), at(t, b, "findings", i, "title"))
		}
	}

	// Again into its own folder: the same files.
	require.Equal(t, exitFine, exec(dir, "demo", "--no-pdf").code)
	assert.Equal(t, files, listing(t, filepath.Join(dir, "pourproof-demo")))

	// Into one with somebody's work in it: refused, and left as it is.
	job := filepath.Join("pourproof-demo", "rev-a.toml")
	put(t, dir, job, append([]byte(files["rev-a.toml"]), "# mine\n"...))
	before := listing(t, dir)
	got = exec(dir, "demo")
	assert.Equal(t, exitDoubt, got.code)
	assert.Contains(t, got.err, "holds a changed rev-a.toml")
	assert.Equal(t, before, listing(t, dir))
}

// On a terminal progress is shown and cleared; elsewhere standard error is silent.
func TestProgressOnATerminalOnly(t *testing.T) {
	t.Parallel()
	dir := bench(t)
	for _, terminal := range []bool{true, false} {
		var out, err strings.Builder
		w := &world{stdin: strings.NewReader(""), stdout: &out, stderr: &err, env: os.Getenv, terminal: terminal, dir: dir}
		require.Equal(t, exitFine, run([]string{"check", "b0.toml", "--tilt", "0", "--no-pdf"}, w))
		assert.Equal(t, terminal, strings.Contains(err.String(), "pouring ..."))
		assert.True(t, err.Len() == 0 || strings.HasSuffix(err.String(), "\r\x1b[K"))
		assert.NotContains(t, out.String(), "\x1b")
	}
}

// A search of poses draws a bar on a terminal, which ends full and is cleared.
func TestBarOnATerminal(t *testing.T) {
	t.Parallel()
	var out, err strings.Builder
	w := &world{stdin: strings.NewReader(""), stdout: &out, stderr: &err, env: os.Getenv, terminal: true, dir: bench(t)}
	require.Equal(t, exitFine, run([]string{"pose", "b0.toml"}, w))
	assert.True(t, strings.HasSuffix(err.String(), "\r\x1b[K"), "cleared")
	last := strings.TrimRight(err.String(), "\r\x1b[K")
	last = last[strings.LastIndex(last, "\x1b[K")+3:]
	assert.Regexp(t, `^laying \S+ \[#+\] (\d+) of \d+$`, last)
	assert.Regexp(t, `\[#+\.+\] `, err.String(), "and part of the way")
	assert.NotContains(t, out.String(), "\x1b")
}

// Colour stands on a terminal only, and not where NO_COLOR is set.
func TestColor(t *testing.T) {
	var out strings.Builder
	env := map[string]string{}
	w := &world{stdout: &out, stderr: &out, env: func(k string) string { return env[k] }, terminal: true}
	assert.True(t, w.color(w.stderr))
	env["NO_COLOR"] = "1"
	assert.False(t, w.color(w.stderr))
	delete(env, "NO_COLOR")
	w.terminal = false
	assert.False(t, w.color(w.stderr))
}
