package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
	"pourproof/report"
)

// BenchmarkCheck runs the whole program on a ball in a round mold, tilted so that air
// stays. Figures a facet count all meshes.
func BenchmarkCheck(b *testing.B) {
	geomtest.EachSize(b, func(b *testing.B, facets int) {
		dir, facets := writeBallMold(b, facets)
		for _, kind := range []struct{ name, flags string }{
			{"air", "--only air,vents --search none --no-pdf"},
			{"walls", "--only air,vents,walls --search none --no-pdf"},
			{"json", "--no-pdf"},
			{"plain", ""},
		} {
			b.Run(kind.name, func(b *testing.B) {
				args := append(ballArgs(), strings.Fields(kind.flags)...)
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					var out, fault strings.Builder
					code := run(args, &world{stdin: strings.NewReader(""), stdout: &out, stderr: &fault, env: os.Getenv, dir: dir})
					require.Equal(b, exitStop, code, out.String()+fault.String())
				}
				meter.Per("facet", facets)
			})
		}
	})
}

// BenchmarkPages draws and writes report.pdf and report.html of that check.
func BenchmarkPages(b *testing.B) {
	geomtest.EachSize(b, func(b *testing.B, facets int) {
		dir, facets := writeBallMold(b, facets)
		f := newCheckFlags()
		w := &world{stdin: strings.NewReader(""), stdout: &strings.Builder{}, stderr: &strings.Builder{}, env: os.Getenv, dir: dir}
		require.NoError(b, parseFlags(w, f.set, ballArgs()[1:]))
		r, err := f.request(w)
		require.NoError(b, err)
		d, err := check(w, r)
		require.NoError(b, err)
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			pages, _, err := report.Pages(report.New(d.Outcome, version))
			require.NoError(b, err)
			require.NotEmpty(b, pages)
		}
		meter.Per("facet", facets)
	})
}

func ballArgs() []string {
	return strings.Fields("check part.stl bottom.stl top.stl --tilt 30@0 --quiet")
}

// writeBallMold writes geomtest.BallMold into a folder and returns how many facets it
// has.
func writeBallMold(b *testing.B, about int) (dir string, facets int) {
	dir = b.TempDir()
	part, bottom, top := geomtest.BallMold(about)
	for name, m := range map[string]*geom.Mesh{"part.stl": part, "bottom.stl": bottom, "top.stl": top} {
		require.NoError(b, os.WriteFile(filepath.Join(dir, name), geomtest.STL(m), 0o600))
		facets += len(m.Facets)
	}
	return dir, facets
}
