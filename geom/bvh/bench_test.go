package bvh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// benchMesh is a block of 12 facets with a free-form cavity of about n facets,
// fine beside coarse, as molds are.
func benchMesh(n int) *geom.Mesh {
	rings := int(math.Sqrt(float64(n) / 4))
	cavity := geomtest.Bumpy(24, 0.2, 2*rings, rings).Reversed()
	return geomtest.Join(geomtest.Box(geom.Vec{X: -50, Y: -40, Z: -30}, geom.Vec{X: 50, Y: 40, Z: 30}), cavity)
}

// benchLines are incoherent: from around the mesh to points of its box.
func benchLines(m *geom.Mesh) (from, dir, near []geom.Vec) {
	r := rand.New(rand.NewPCG(1, 2))
	b := m.Box()
	for range 1 << 14 {
		u := geom.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}.Unit()
		o := b.Center().AddScaled(u, 0.6*b.Diagonal())
		s := b.Size()
		to := geom.Vec{X: b.Min.X + s.X*r.Float64(), Y: b.Min.Y + s.Y*r.Float64(), Z: b.Min.Z + s.Z*r.Float64()}
		from, dir = append(from, o), append(dir, to.Sub(o).Unit())
		t := m.Triangle(r.IntN(len(m.Facets)))
		near = append(near, t.Centroid().AddScaled(t.Normal(), r.Float64()-0.5))
	}
	return from, dir, near
}

func BenchmarkTree(b *testing.B) {
	for _, n := range []int{100_000, 1_000_000} {
		m := benchMesh(n)
		from, dir, near := benchLines(m)
		b.Run(fmt.Sprintf("build/%d", n), func(b *testing.B) {
			for b.Loop() {
				Build(m)
			}
			b.ReportMetric(float64(len(m.Facets))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mfacet/s")
		})
		t := Build(m)
		i := 0
		next := func() int { i = (i + 1) & (len(from) - 1); return i }
		b.Run(fmt.Sprintf("first/%d", n), func(b *testing.B) {
			for b.Loop() {
				k := next()
				t.First(from[k], dir[k], math.Inf(1))
			}
		})
		b.Run(fmt.Sprintf("all/%d", n), func(b *testing.B) {
			var buf []Hit
			for b.Loop() {
				k := next()
				buf = t.All(from[k], dir[k], math.Inf(1), buf)
			}
		})
		b.Run(fmt.Sprintf("nearest/%d", n), func(b *testing.B) {
			for b.Loop() {
				t.Nearest(near[next()], math.Inf(1))
			}
		})
		b.Run(fmt.Sprintf("blocked/%d", n), func(b *testing.B) {
			for b.Loop() {
				k := next()
				t.Blocked(near[k], near[(k+1)&(len(near)-1)])
			}
		})
	}
}
