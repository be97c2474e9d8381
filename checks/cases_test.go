package checks

import (
	"embed"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/testdata"
)

//go:embed testdata/*.want
var wantFiles embed.FS

// wanted is one pour of a want file.
type wanted struct {
	tilt     string
	verdict  Verdict
	findings []wantedFinding
}

type wantedFinding struct {
	line     string
	severity string
	kind     string     // check/kind
	place    [3]float64 // NaN: any
	nowhere  bool
}

// readWant reads a want file; testdata/README.md says how it is written.
func readWant(t *testing.T, name string) []wanted {
	t.Helper()
	data, err := wantFiles.ReadFile("testdata/" + name + ".want")
	require.NoError(t, err)
	var out []wanted
	for _, line := range strings.Split(string(data), "\n") {
		f := strings.Fields(line)
		switch {
		case len(f) == 0 || strings.HasPrefix(f[0], "#"):
		case f[0] == "tilt":
			require.Len(t, f, 3, line)
			out = append(out, wanted{tilt: f[1], verdict: Verdict(f[2])})
		default:
			require.NotEmpty(t, out, "%s: a finding before the first tilt", name)
			w := &out[len(out)-1]
			w.findings = append(w.findings, readFinding(t, line, f))
		}
	}
	require.NotEmpty(t, out, name)
	return out
}

func readFinding(t *testing.T, line string, f []string) wantedFinding {
	t.Helper()
	w := wantedFinding{line: line, severity: f[0], kind: f[1]}
	if len(f) == 3 && f[2] == "-" {
		w.nowhere = true
		return w
	}
	require.Len(t, f, 5, line)
	for i, word := range f[2:] {
		w.place[i] = math.NaN()
		if word != "*" {
			x, err := strconv.ParseFloat(word, 64)
			require.NoError(t, err, line)
			w.place[i] = x
		}
	}
	return w
}

// near is how far a finding may lie from its wanted place, in mm.
const near = 1.0

func (w *wantedFinding) meets(f *Finding) bool {
	if w.severity != f.Severity.String() || w.kind != f.Check+"/"+f.kind || w.nowhere != (f.Where.At == nil) {
		return false
	}
	if w.nowhere {
		return true
	}
	for i, x := range [3]float64{f.Where.At.X, f.Where.At.Y, f.Where.At.Z} {
		if math.Abs(x-w.place[i]) > near { // false for NaN: any
			return false
		}
	}
	return true
}

// TestCases runs stored molds from their files to their findings and compares
// these with the want files, both ways.
func TestCases(t *testing.T) {
	files, err := wantFiles.ReadDir("testdata")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		name := strings.TrimSuffix(f.Name(), ".want")
		if strings.HasPrefix(name, "demo-") {
			continue // TestDemo
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c, err := testdata.Case(name)
			require.NoError(t, err)
			s := closeFiles(t, c.Part, c.Halves...)
			for _, w := range readWant(t, name) {
				o := s.pour(t, w.tilt)
				proper(t, o)
				compare(t, name+" tilt "+w.tilt, w, o)
			}
		})
	}
}

func compare(t *testing.T, label string, w wanted, o *Outcome) {
	t.Helper()
	assert.Equal(t, w.verdict, o.Verdict, label)
	met := make([]bool, len(o.Findings))
	for i := range w.findings {
		found := false
		for k := range o.Findings {
			if !found && !met[k] && w.findings[i].meets(&o.Findings[k]) {
				found, met[k] = true, true
			}
		}
		assert.True(t, found, "%s: missing: %s", label, w.findings[i].line)
	}
	for k := range o.Findings {
		f := &o.Findings[k]
		place := "-"
		if f.Where.At != nil {
			place = at(*f.Where.At)
		}
		assert.True(t, met[k], "%s: not wanted: %s %s/%s %s: %s", label, f.Severity, f.Check, f.kind, place, f.Title)
	}
}

// shut is a mold closed from its files.
type shut struct {
	job    *mold.Job
	inputs []mold.Input
	mold   *mold.Mold
}

func closeFiles(t *testing.T, part testdata.File, halves ...testdata.File) shut {
	t.Helper()
	job := mold.NewJob()
	job.Units = "mm"
	return closeJob(t, job, part, halves...)
}

func closeJob(t *testing.T, job *mold.Job, part testdata.File, halves ...testdata.File) shut {
	t.Helper()
	fsys := fstest.MapFS{part.Name: {Data: part.Data}}
	job.Part, job.Halves = mold.BodySpec{File: part.Name}, nil
	for _, h := range halves {
		fsys[h.Name] = &fstest.MapFile{Data: h.Data}
		job.Halves = append(job.Halves, mold.BodySpec{File: h.Name})
	}
	in, err := mold.Load(fsys, job)
	require.NoError(t, err)
	m, err := mold.Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	return shut{job, in.Inputs, m}
}

// pour runs all checks at a tilt ANGLE[@SIDE] in degrees.
func (s shut) pour(t *testing.T, tilt string) *Outcome {
	t.Helper()
	angle, side, _ := strings.Cut(tilt, "@")
	rad := func(word string) float64 {
		if word == "" {
			return 0
		}
		x, err := strconv.ParseFloat(word, 64)
		require.NoError(t, err, tilt)
		return x * math.Pi / 180
	}
	f, err := s.mold.Pour(mold.UpFor(s.mold.Rest, mold.Tilt{Angle: rad(angle), Side: rad(side)}))
	require.NoError(t, err)
	return Run(Input{Job: s.job, Inputs: s.inputs, Mold: s.mold, Fill: f})
}

// TestDemo: revision A of the example has three mistakes, and every one is told
// with its cause; revision B has none of them. Places: testdata/CASES.md.
func TestDemo(t *testing.T) {
	files, err := testdata.Demo()
	require.NoError(t, err)
	byName := map[string]testdata.File{}
	for _, f := range files {
		byName[f.Name] = f
	}
	a := closeFiles(t, byName["part.stl"], byName["bottom.stl"], byName["top-a.stl"]).pour(t, "15@0")
	proper(t, a)
	compare(t, "revision A", readWant(t, "demo-a")[0], a)
	assert.Contains(t, one(t, a, "vents/blind").Title, "1 mm short of the outside")
	b := closeFiles(t, byName["part.stl"], byName["bottom.stl"], byName["top-b.stl"]).pour(t, "15@0")
	proper(t, b)
	compare(t, "revision B", readWant(t, "demo-b")[0], b)
	assert.Equal(t, one(t, a, "vents/areas").Key, one(t, b, "vents/areas").Key)
}

// TestKeysOnMeshes: another cell and half a degree more of tilt change every
// number of a pour and no key.
func TestKeysOnMeshes(t *testing.T) {
	c, err := testdata.Case("blind1")
	require.NoError(t, err)
	s := closeFiles(t, c.Part, c.Halves...)
	want := s.pour(t, "10@0")
	s.job.Cell = 0.35
	coarse := closeJob(t, s.job, c.Part, c.Halves...)
	for _, o := range []*Outcome{s.pour(t, "10.5@0"), coarse.pour(t, "10@0")} {
		require.Equal(t, len(want.Findings), len(o.Findings))
		for i := range o.Findings {
			assert.True(t, SameKey(want.Findings[i].Key, o.Findings[i].Key), "%s became %s", want.Findings[i].Key, o.Findings[i].Key)
		}
		assert.NotEqual(t, *one(t, want, "air/pocket").Value, *one(t, o, "air/pocket").Value)
	}
}
