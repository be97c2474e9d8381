package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/report"
	"pourproof/testdata"
)

var update = flag.Bool("update", false, "rewrite the want files in testdata/want")

// result is what a command did.
type result struct {
	out, err string
	code     int
}

// exec runs one command line in process, from the folder dir.
func exec(dir string, args ...string) result {
	var out, err bytes.Buffer
	w := &world{stdin: strings.NewReader(""), stdout: &out, stderr: &err, env: func(string) string { return "" }, dir: dir}
	code := run(args, w)
	return result{out.String(), err.String(), code}
}

// bench is a folder with the base mold (part.stl, bottom.stl, top.stl) and a few
// files that are wrong.
func bench(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	c, err := testdata.Case("b0")
	require.NoError(t, err)
	put(t, dir, "part.stl", c.Part.Data)
	for _, h := range c.Halves {
		put(t, dir, h.Name, h.Data)
	}
	nan := bytes.Clone(c.Part.Data)
	copy(nan[84+12:], []byte{0, 0, 0xc0, 0x7f})
	put(t, dir, "nan.stl", nan)
	put(t, dir, "cut.stl", c.Part.Data[:300])
	put(t, dir, "empty.stl", nil)
	put(t, dir, "notes.txt", []byte("These are my notes.\n"))
	put(t, dir, "typo.toml", []byte("[part]\nfile = 'part.stl'\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n[pour]\ntlit = 3\n"))
	put(t, dir, "b0.toml", []byte("[part]\nfile = 'part.stl'\n[[half]]\nfile = 'bottom.stl'\n[[half]]\nfile = 'top.stl'\n[pour]\ntilt = 10\ncell = 1\n"))
	job, err := os.ReadFile(filepath.Join(dir, "b0.toml"))
	require.NoError(t, err)
	put(t, dir, "coupon-missing.toml", append(job, "[printer]\ncoupon = 'nowhere.toml'\n"...))
	put(t, dir, "coupon-faults.toml", append(job, "[printer]\ncoupon = 'faults.toml'\n"...))
	put(t, dir, "faults.toml", []byte("[upright]\n05 = 0.9\n08 = 20\n10 = 0.8\n12 = 0.7\n99 = 1\n[fin]\n[keys]\n05 = \"tight\"\n10 = \"loose\"\n15 = \"outside\"\n"))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder"), 0o777))
	return dir
}

func put(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o666))
}

// listing returns every path under dir with its content.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(dir, path)
		if d.Type().IsRegular() {
			data, err := os.ReadFile(path)
			out[filepath.ToSlash(rel)] = string(data)
			return err
		}
		out[filepath.ToSlash(rel)+"/"] = ""
		return nil
	}))
	return out
}

// The screen, word for word: standard output, standard error and exit code of
// each command line. A line too many fails as a line too few does.
func TestScreen(t *testing.T) {
	for _, c := range []struct{ name, line string }{
		{"nothing", ""},
		{"help", "--help"},
		{"help-check", "check --help"},
		{"help-mesh", "help mesh"},
		{"version", "version"},
		{"unknown-command", "chekc"},
		{"tilt", "tilt part.stl bottom.stl top.stl --search quick"},
		{"pose", "pose part.stl bottom.stl top.stl"},
		{"since", "check b0.toml --since last"},
		{"no-files", "check"},
		{"one-half", "check part.stl bottom.stl"},
		{"job-and-mesh", "check b0.toml part.stl top.stl"},
		{"flag-typo", "check part.stl bottom.stl top.stl --tlit 10"},
		{"flag-without-value", "check part.stl bottom.stl top.stl --tilt"},
		{"nan", "check part.stl bottom.stl top.stl --tilt nan"},
		{"inf", "check part.stl bottom.stl top.stl --cell inf"},
		{"tilt-too-far", "check part.stl bottom.stl top.stl --tilt 200@0"},
		{"negative-cell", "check part.stl bottom.stl top.stl --cell -0.2"},
		{"up-zero", "check part.stl bottom.stl top.stl --up 0,0,0"},
		{"up-two", "check part.stl bottom.stl top.stl --up 0,1"},
		{"bare-pressure", "check part.stl bottom.stl top.stl --pressure 60"},
		{"vent-short", "check part.stl bottom.stl top.stl --vent 1,2,3"},
		{"vent-no-width", "check part.stl bottom.stl top.stl --vent 1,2,3,0"},
		{"only-typo", "check part.stl bottom.stl top.stl --only air,vnets"},
		{"try-word", "check part.stl bottom.stl top.stl --try one"},
		{"units-typo", "check part.stl bottom.stl top.stl --units inch"},
		{"json-file", "check part.stl bottom.stl top.stl --json x.json"},
		{"accept-no-reason", "check part.stl bottom.stl top.stl --accept air/1"},
		{"pull-unknown-half", "check part.stl bottom.stl top.stl --pull botom=0,0,-1"},
		{"as-two-parts", "check mold.3mf --as a=part --as b=part"},
		{"missing-file", "check part.stl bottom.stl nowhere.stl"},
		{"folder", "check part.stl folder top.stl"},
		{"empty-file", "check part.stl empty.stl top.stl"},
		{"text-file", "check part.stl bottom.stl notes.txt"},
		{"cut-file", "check cut.stl bottom.stl top.stl"},
		{"nan-file", "check nan.stl bottom.stl top.stl"},
		{"part-twice", "check part.stl part.stl top.stl"},
		{"same-thrice", "check top.stl top.stl top.stl"},
		{"job-typo", "check typo.toml"},
		{"job-missing", "check nowhere.toml"},
		{"job-is-mesh", "check nan.TOML"},
		{"out-is-file", "check part.stl bottom.stl top.stl -o notes.txt"},
		{"out-below-file", "check part.stl bottom.stl top.stl -o notes.txt/sub"},
		{"b0-level", "check part.stl top.stl bottom.stl --cell 1 --no-pdf"},
		{"b0-job", "check b0.toml --no-pdf"},
		{"b0-quiet", "check b0.toml --no-pdf --quiet"},
		{"b0-only-cups", "check b0.toml --no-pdf --only cups"},
		{"no-cavity", "check top.stl part.stl bottom.stl --cell 1 --no-pdf"},
		{"try-none", "check part.stl top.stl bottom.stl --cell 1 --try 7 --no-pdf"},
		{"mesh", "mesh part.stl nowhere.stl top.stl"},
		{"mesh-json", "mesh part.stl --json - --units cm"},
		{"explain", "explain"},
		{"explain-typo", "explain vnets"},
		{"init", "init new.toml"},
		{"init-over", "init b0.toml"},
		{"demo-over", "demo folder/.."},
		{"coupon", "coupon folder"},
		{"coupon-two", "coupon a b"},
		{"coupon-over", "coupon folder/.."},
		{"coupon-missing", "check coupon-missing.toml"},
		{"coupon-faults", "check coupon-faults.toml"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := bench(t)
			put(t, dir, "nan.TOML", []byte("solid\x00"))
			before := listing(t, dir)
			got := exec(dir, strings.Fields(c.line)...)
			text := fmt.Sprintf("$ pourproof %s\n%s-- stderr --\n%s-- exit %d --\n", c.line, got.out, got.err, got.code)
			want := filepath.Join("testdata", "want", c.name+".txt")
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(want), 0o777))
				require.NoError(t, os.WriteFile(want, []byte(text), 0o666))
			}
			wanted, err := os.ReadFile(want)
			require.NoError(t, err, "make golden writes it")
			assert.Equal(t, string(wanted), text)
			if got.code == exitDoubt && !strings.Contains(got.out, "Report ") {
				assert.Equal(t, before, listing(t, dir), "a refusal leaves everything as it was")
			}
		})
	}
}

// Every want file belongs to a command line above.
func TestNoStrayWantFiles(t *testing.T) {
	source, err := os.ReadFile("run_test.go")
	require.NoError(t, err)
	files, err := filepath.Glob("testdata/want/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		assert.Contains(t, string(source), `{"`+strings.TrimSuffix(filepath.Base(f), ".txt")+`", "`, f)
	}
}

func TestSchemaCommand(t *testing.T) {
	got := exec(t.TempDir(), "schema")
	assert.Equal(t, result{string(report.SchemaText()), "", exitFine}, got)
}

// readReport returns a report.json as maps.
func readReport(t *testing.T, data []byte) map[string]any {
	t.Helper()
	var r map[string]any
	require.NoError(t, json.Unmarshal(data, &r))
	return r
}

// at walks down maps and lists of a decoded JSON text.
func at(t *testing.T, x any, path ...any) any {
	t.Helper()
	for _, step := range path {
		switch s := step.(type) {
		case string:
			o, ok := x.(map[string]any)
			require.True(t, ok, "%v: no object at %v", path, s)
			x, ok = o[s]
			require.True(t, ok, "%v: no member %v", path, s)
		case int:
			l, ok := x.([]any)
			require.True(t, ok && s < len(l), "%v: no item %v", path, s)
			x = l[s]
		}
	}
	return x
}

// S8: flags before and after the files, negative numbers as values.
func TestFlagsInAnyOrder(t *testing.T) {
	dir := bench(t)
	files := []string{"part.stl", "bottom.stl", "top.stl"}
	rest := []string{"--cell", "1", "--no-pdf", "--quiet"}
	var first string
	for i, line := range [][]string{
		append(append([]string{"check", "--tilt", "-10"}, files...), rest...),
		append(append([]string{"check"}, files...), append(rest, "--tilt", "-10")...),
		append(append([]string{"check"}, files...), append(rest, "--tilt=-10")...),
		append([]string{"check", "part.stl", "--tilt=-10@0", "bottom.stl", "--cell=1", "top.stl"}, rest...),
	} {
		got := exec(dir, append(line, "-o", "out")...)
		require.Equal(t, result{"", "", exitStop}, got, line)
		data, err := os.ReadFile(filepath.Join(dir, "out", "report.json"))
		require.NoError(t, err)
		if i == 0 {
			first = string(data)
			r := readReport(t, data)
			assert.Equal(t, -10.0, at(t, r, "fill", "tilt", "angle_deg").(float64)*sign(at(t, r, "fill", "tilt", "raised_side_deg")))
			assert.Equal(t, "flag --tilt", at(t, r, "settings", "pour.tilt", "from"))
			// The practice notes' worked example, mirrored: 636.5 mm3.
			assert.InDelta(t, 636.5, at(t, r, "fill", "trapped_mm3"), 6.4)
		}
		assert.Equal(t, first, string(data), line)
	}
}

// sign is -1 where a positive tilt raises the side facing -x.
func sign(side any) float64 {
	if side.(float64) == 180 {
		return -1
	}
	return 1
}

// The base mold through the whole program: S1 (a binary file that begins with
// solid), S6 (a half inside out) and S7 (odd names) give the same answer, S6 with
// a warning's repair in the report.
func TestRecipesThroughTheProgram(t *testing.T) {
	dir := bench(t)
	part, err := os.ReadFile(filepath.Join(dir, "part.stl"))
	require.NoError(t, err)
	top, err := os.ReadFile(filepath.Join(dir, "top.stl"))
	require.NoError(t, err)
	solid := bytes.Clone(part)
	copy(solid, "solid exported by CAD"+strings.Repeat(" ", 59))
	put(t, dir, "solid.stl", solid)
	put(t, dir, "inside-out.stl", reversed(top))
	odd := "Gehäuse Ø8 – ½ µm €.stl"
	put(t, dir, odd, part)
	bracket := `a (b) \ c.stl`
	put(t, dir, "モールド.stl", top)
	other, err := os.ReadFile(filepath.Join(dir, "bottom.stl"))
	require.NoError(t, err)
	put(t, dir, bracket, other)
	for _, files := range [][3]string{
		{"part.stl", "bottom.stl", "top.stl"},
		{"solid.stl", "bottom.stl", "top.stl"},
		{"part.stl", "bottom.stl", "inside-out.stl"},
		{odd, bracket, "モールド.stl"},
	} {
		got := exec(dir, "check", files[0], files[1], files[2], "--tilt", "10", "--cell", "1", "--no-pdf", "--json", "-")
		require.Equal(t, exitStop, got.code, got.err)
		r := readReport(t, []byte(got.out))
		assert.InDelta(t, 636.5, at(t, r, "fill", "trapped_mm3"), 6.4, files)
		assert.Equal(t, files[1], at(t, r, "inputs", 1, "file"))
		assert.Contains(t, got.err, "Air stays here: 63", "the summary goes to standard error")
		if files[2] == "inside-out.stl" {
			assert.Equal(t, "inside-out", at(t, r, "inputs", 2, "repairs", 0, "kind"))
		}
		stem := strings.TrimSuffix(files[0], ".stl")
		assert.Equal(t, stem, at(t, r, "report", "title"))
	}
}

// reversed turns every facet of a binary STL.
func reversed(data []byte) []byte {
	out := bytes.Clone(data)
	for f := 84; f+50 <= len(out); f += 50 {
		copy(out[f+24:f+36], data[f+36:f+48])
		copy(out[f+36:f+48], data[f+24:f+36])
	}
	return out
}

// Same inputs, same bytes: every file, twice.
func TestSameBytesAgain(t *testing.T) {
	dir := bench(t)
	for _, out := range []string{"one", "two"} {
		got := exec(dir, "check", "b0.toml", "-o", out)
		require.Equal(t, exitStop, got.code, got.err)
	}
	one := listing(t, filepath.Join(dir, "one"))
	assert.Equal(t, one, listing(t, filepath.Join(dir, "two")))
	assert.True(t, strings.HasPrefix(one["report.pdf"], "%PDF-"))
	assert.Contains(t, one["vents.csv"], "id,pocket,mouth_x")
}
