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
	o := &checks.Outcome{Verdict: checks.DoNotPrint, Job: job, Inputs: in.Inputs, Mold: m, Fill: f, Limits: checks.DefaultLimits()}
	for i := range f.Pockets {
		p := &f.Pockets[i]
		v, l, e := p.Volume, 10.0, p.Error
		s := checks.Stop
		if v < 10 {
			s = checks.Discuss
		}
		at := p.Top
		o.Findings = append(o.Findings, checks.Finding{ID: len(o.Findings) + 1, Key: fmt.Sprint("air-", i), Check: "air", Severity: s, Pocket: p.ID,
			Title: "Air stays here: " + Volume(v) + " (" + Figure(100*v/f.Cavity) + " %)", Value: &v, Unit: "mm3", Limit: &l, Error: &e, Where: checks.Where{At: &at},
			Why: "The part will have a hole here.", Advice: "Add vent at the pocket's top, or tilt less."})
	}
	for i := range f.Ports {
		c := &f.Ports[i]
		if c.Role == mold.Blind {
			at := c.End
			o.Findings = append(o.Findings, checks.Finding{ID: len(o.Findings) + 1, Key: fmt.Sprint("vents-", i), Check: "vents", Severity: checks.Stop, Channel: c.ID,
				Title: "Vent ends inside the rubber", Where: checks.Where{Body: c.Half, At: &at}, Why: "No air leaves through it.", Advice: "Lengthen it to the outside."})
		}
	}
	return o
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
