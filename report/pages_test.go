package report

import (
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pourproof/checks"
	"pourproof/checks/mold"
	"pourproof/testdata"
)

// meshes returns the stored mold as files.
func meshes(t testing.TB, name string) (fs.FS, mold.BodySpec, []mold.BodySpec) {
	t.Helper()
	files := fstest.MapFS{}
	var part mold.BodySpec
	var halves []mold.BodySpec
	add := func(f testdata.File, half bool) {
		files[f.Name] = &fstest.MapFile{Data: f.Data}
		s := mold.BodySpec{File: f.Name, Path: f.Name}
		if half {
			halves = append(halves, s)
		} else {
			part = s
		}
	}
	if name == "demo" {
		list, err := testdata.Demo()
		require.NoError(t, err)
		for _, f := range list {
			switch f.Name {
			case "part.stl":
				add(f, false)
			case "bottom.stl", "top-a.stl":
				add(f, true)
			}
		}
		return files, part, halves
	}
	c, err := testdata.Case(name)
	require.NoError(t, err)
	add(c.Part, false)
	for _, h := range c.Halves {
		add(h, true)
	}
	return files, part, halves
}

// poured closes and pours a stored mold and judges it as the report needs it.
func pouredCase(t testing.TB, name string, tilt mold.Tilt) *checks.Outcome {
	t.Helper()
	files, part, halves := meshes(t, name)
	job := mold.NewJob()
	job.Part, job.Halves, job.Tilt = part, halves, &tilt
	in, err := mold.Load(files, job)
	require.NoError(t, err)
	m, err := mold.Close(*job, in.Part, in.Halves)
	require.NoError(t, err)
	f, err := m.Pour(m.Up)
	require.NoError(t, err)
	require.NoError(t, m.SuggestVents(f))
	return checks.Run(checks.Input{Job: job, Inputs: in.Inputs, Mold: m, Fill: f, Accept: job.Accept, Settings: someSettings()})
}

// someSettings stand for the table that cmd makes.
func someSettings() []checks.Setting {
	return []checks.Setting{
		{Name: "pour.tilt", Value: "10@0", From: "flag --tilt"},
		{Name: "pour.seal", Value: "0.12 mm", From: "by rule", Source: "assumed"},
		{Name: "pot.pressure", Value: "414 kPa", From: "default", Source: "common practice, no source"},
	}
}

func TestLook(t *testing.T) {
	for _, w := range strings.Fields(os.Getenv("LOOK")) {
		name, a, _ := strings.Cut(w, ":")
		var deg float64
		fmt.Sscan(a, &deg)
		o := pouredCase(t, name, mold.Tilt{Angle: deg * 3.141592653589793 / 180})
		d := New(o, "0.1")
		d.Title = "Dimmer knob"
		d.Revision, d.Date, d.Author = "A", "2026-01-15", "M. Maker"
		b, err := PDF(d)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile("/tmp/pp/pg/"+name+".pdf", b, 0o644))
		fmt.Println(name, len(b))
	}
}
