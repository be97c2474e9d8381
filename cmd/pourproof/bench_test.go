package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// BenchmarkCheck runs the whole program on a ball in a round mold, tilted so that air
// stays: everything with the PDF, and air and vents alone. Figures a facet count all
// meshes; cpu-s is of all cores, which a busy machine does not stretch; peak-MB is the most memory that the process has held so far, so sizes grow.
func BenchmarkCheck(b *testing.B) {
	for _, size := range []struct {
		name  string
		rings int
	}{{"20k", 50}, {"100k", 112}, {"1M", 354}, {"4M", 707}} {
		for _, kind := range []struct{ name, flags string }{
			{"air", "--only air,vents --search none --no-pdf"},
			{"plain", ""},
		} {
			b.Run(size.name+"/"+kind.name, func(b *testing.B) {
				dir := b.TempDir()
				facets := writeBallMold(b, dir, size.rings)
				args := append(strings.Fields("check part.stl bottom.stl top.stl --tilt 30@0 --quiet"), strings.Fields(kind.flags)...)
				b.ReportAllocs()
				b.ResetTimer()
				before := cpuSeconds()
				for range b.N {
					var out, fault strings.Builder
					code := run(args, &world{stdin: strings.NewReader(""), stdout: &out, stderr: &fault, env: os.Getenv, dir: dir})
					require.Equal(b, exitStop, code, out.String()+fault.String())
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*facets), "ns/facet")
				b.ReportMetric((cpuSeconds()-before)/float64(b.N), "cpu-s/op")
				b.ReportMetric(peakMB(), "peak-MB")
			})
		}
	}
}

// writeBallMold writes a ball of radius 20 mm and two round halves around it, with a
// gate below and a vent above, and returns how many facets they have.
func writeBallMold(b *testing.B, dir string, rings int) (facets int) {
	n := 2 * rings
	ball := geomtest.SphereProfile(20, 2*(rings/2))
	half := func(bore float64, up bool) *geom.Mesh {
		p := []geomtest.Point{{X: bore, Y: -30}, {X: 40, Y: -30}, {X: 40, Y: 0}}
		for i := rings / 2; i > 0 && ball[i].X > 1.05*bore; i-- {
			p = append(p, ball[i])
		}
		p = append(p, geomtest.Point{X: bore, Y: -math.Sqrt(400 - bore*bore)})
		for i := range p {
			if up {
				p[i].Y = -p[i].Y
			}
		}
		return geomtest.Revolve(p, n)
	}
	for name, m := range map[string]*geom.Mesh{"part.stl": geomtest.Revolve(ball, n), "bottom.stl": half(2, false), "top.stl": half(1, true)} {
		require.NoError(b, os.WriteFile(filepath.Join(dir, name), stlBytes(m), 0o600))
		facets += len(m.Facets)
	}
	return facets
}

// stlBytes writes a mesh as binary STL.
func stlBytes(m *geom.Mesh) []byte {
	out := make([]byte, 84, 84+50*len(m.Facets))
	binary.LittleEndian.PutUint32(out[80:], uint32(len(m.Facets)))
	for f := range m.Facets {
		t := m.Triangle(f)
		for _, v := range []geom.Vec{t.Normal(), t.A, t.B, t.C} {
			for _, x := range [3]float64{v.X, v.Y, v.Z} {
				out = binary.LittleEndian.AppendUint32(out, math.Float32bits(float32(x)))
			}
		}
		out = append(out, 0, 0)
	}
	return out
}

// cpuSeconds returns the time that the process has had on all cores, to a hundredth; 0
// where the system does not say.
func cpuSeconds() float64 {
	data, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	f := strings.Fields(string(data[strings.LastIndexByte(string(data), ')')+1:]))
	user, _ := strconv.ParseFloat(f[11], 64)
	system, _ := strconv.ParseFloat(f[12], 64)
	return (user + system) / 100 // ticks of USER_HZ
}

// peakMB returns the most memory that the process has held, 0 where the system does
// not say.
func peakMB() float64 {
	data, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	for _, line := range strings.Split(string(data), "\n") {
		var kb float64
		if n, _ := fmt.Sscanf(line, "VmHWM: %f kB", &kb); n == 1 {
			return kb / 1024
		}
	}
	return 0
}
