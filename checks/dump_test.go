package checks

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/fstest"
	"math"

	"github.com/stretchr/testify/require"

	"pourproof/checks/mold"
	"pourproof/testdata"
)

func TestDump(t *testing.T) {
	for _, name := range strings.Fields(os.Getenv("CASES")) {
		c, err := testdata.Case(name)
		require.NoError(t, err)
		fsys := fstest.MapFS{"part.stl": {Data: c.Part.Data}}
		job := mold.NewJob()
		job.Part = mold.BodySpec{File: "part.stl"}
		for _, h := range c.Halves {
			fsys[h.Name] = &fstest.MapFile{Data: h.Data}
			job.Halves = append(job.Halves, mold.BodySpec{File: h.Name})
		}
		in, err := mold.Load(fsys, job)
		require.NoError(t, err)
		m, err := mold.Close(*job, in.Part, in.Halves)
		require.NoError(t, err)
		for _, a := range strings.Fields(os.Getenv("TILTS")) {
			var ang, side float64
			fmt.Sscanf(strings.Replace(a, "@", " ", 1), "%g %g", &ang, &side)
			f, err := m.Pour(mold.UpFor(m.Rest, mold.Tilt{Angle: ang * math.Pi / 180, Side: side * math.Pi / 180}))
			require.NoError(t, err)
			if os.Getenv("SUGGEST") != "" {
				require.NoError(t, m.SuggestVents(f))
			}
			o := Run(Input{Job: job, Inputs: in.Inputs, Mold: m, Fill: f})
			fmt.Printf("\n%s tilt %s: %s\n", name, a, o.Verdict)
			for _, x := range o.Findings {
				at := ""
				if x.Where.At != nil {
					at = fmt.Sprintf("(%.2f, %.2f, %.2f)", x.Where.At.X, x.Where.At.Y, x.Where.At.Z)
				}
				v := ""
				if x.Value != nil { v = fmt.Sprint(*x.Value, x.Unit) }
				fmt.Printf("%d %s %s  [%s %s] %s %s limit %s\n     %s\n     %s\n", x.ID, x.Severity, x.Title, x.Key, x.Where.Body, at, v, x.LimitKey, x.Why, x.Advice)
			}
		}
	}
}
