package geomtest

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"testing"

	"pourproof/geom"
)

// MeshVariable names the environment variable that gives benchmarks a binary STL to
// work on instead of the meshes they make.
const MeshVariable = "POURPROOF_MESH"

// benchSizes are the facets that benchmarks are run at.
var benchSizes = []struct {
	name   string
	facets int
}{{"20k", 20_000}, {"100k", 100_000}, {"1M", 1_000_000}, {"4M", 4_000_000}}

// EachSize runs a benchmark at 20k, 100k, 1M and, unless -short, 4M facets: run makes
// its inputs of about that many, then measures.
func EachSize(b *testing.B, run func(b *testing.B, facets int)) {
	for _, s := range benchSizes {
		b.Run(s.name, func(b *testing.B) {
			if testing.Short() && s.facets > 1_000_000 {
				b.Skip("4M facets are not for -short")
			}
			run(b, s.facets)
		})
	}
}

// EachMesh is EachSize over free-form shells of 35 mm radius, or runs the benchmark
// on the STL that the environment names.
func EachMesh(b *testing.B, run func(b *testing.B, m *geom.Mesh)) {
	if name := os.Getenv(MeshVariable); name != "" {
		m, err := readSTL(name)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("given", func(b *testing.B) { run(b, m) })
		return
	}
	EachSize(b, func(b *testing.B, facets int) { run(b, Shell(facets)) })
}

// Shell returns a free-form closed shell of 35 mm radius and about that many facets.
func Shell(facets int) *geom.Mesh {
	n := int(math.Round(math.Sqrt(float64(facets))))
	return Bumpy(35, 0.1, n, n/2+1)
}

// BallMold returns a ball of radius 20 mm and two round halves around it, with a gate
// below and a vent above: about that many facets in all.
func BallMold(facets int) (part, bottom, top *geom.Mesh) {
	rings := int(math.Round(math.Sqrt(float64(facets) / 8)))
	n := 2 * rings
	ball := SphereProfile(20, 2*(rings/2))
	half := func(bore float64, up bool) *geom.Mesh {
		p := []Point{{X: bore, Y: -30}, {X: 40, Y: -30}, {X: 40, Y: 0}}
		for i := rings / 2; i > 0 && ball[i].X > 1.05*bore; i-- {
			p = append(p, ball[i])
		}
		p = append(p, Point{X: bore, Y: -math.Sqrt(400 - bore*bore)})
		for i := range p {
			if up {
				p[i].Y = -p[i].Y
			}
		}
		return Revolve(p, n)
	}
	return Revolve(ball, n), half(2, false), half(1, true)
}

// STL writes a mesh as binary STL.
func STL(m *geom.Mesh) []byte {
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

// readSTL reads a binary STL that somebody chose for a benchmark.
func readSTL(name string) (*geom.Mesh, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if len(data) < 84 || len(data) != 84+50*int(binary.LittleEndian.Uint32(data[80:])) {
		return nil, fmt.Errorf("%s: not a binary STL", name)
	}
	w := geom.NewWelder32(len(data) / 50)
	at := func(d []byte) float32 { return math.Float32frombits(binary.LittleEndian.Uint32(d)) }
	for d := data[84:]; len(d) > 0; d = d[50:] {
		var c [3]geom.Vec32
		for i := range c {
			p := d[12+12*i:]
			c[i] = geom.Vec32{X: at(p), Y: at(p[4:]), Z: at(p[8:])}
		}
		w.Add(c[:])
	}
	return w.Mesh(), nil
}
