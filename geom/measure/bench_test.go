package measure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// benchMeshes are a mesh of about 100 000 facets of one size, as thick as wide, and
// a few large facets with a thin place.
func benchMeshes() map[string]*geom.Mesh {
	return map[string]*geom.Mesh{
		"ico80k": geomtest.Icosphere(20, 6),
		"slab12": slab(100, 60, 3),
	}
}

// BenchmarkWalls measures every facet on one core.
func BenchmarkWalls(b *testing.B) {
	for _, name := range []string{"ico80k", "slab12"} {
		m := benchMeshes()[name]
		b.Run(name, func(b *testing.B) {
			var w *Thickness
			for b.Loop() {
				var err error
				w, err = Walls(m, Options{Shares: 1, Most: 60})
				require.NoError(b, err)
			}
			b.ReportMetric(float64(len(w.Least)), "facets")
			b.ReportMetric(float64(w.Samples)/float64(len(w.Least)), "samples/facet")
			b.ReportMetric(float64(len(w.Least))*float64(b.N)/b.Elapsed().Seconds()/1000, "kfacets/s")
		})
	}
}

// BenchmarkWallsOfMesh measures every facet of free-form shells.
func BenchmarkWallsOfMesh(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		var w *Thickness
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			var err error
			w, err = Walls(m, Options{})
			require.NoError(b, err)
		}
		meter.Per("facet", len(m.Facets))
		b.ReportMetric(float64(w.Samples)/float64(len(w.Least)), "samples/facet")
		b.ReportMetric(float64(w.Missed)/float64(len(w.Least)), "missed/facet")
	})
}

// BenchmarkRays30 casts 30 rays in a cone of 60 deg half angle from the middle of
// every facet and takes the median: what Walls is held against.
func BenchmarkRays30(b *testing.B) {
	m := benchMeshes()["ico80k"]
	cone := slices.DeleteFunc(lines(60), func(d geom.Vec) bool { return d.Z < 0.5 })
	require.Len(b, cone, 30)
	for b.Loop() {
		tree := bvh.Build(m)
		var lengths [30]float64
		for f := range m.Facets {
			n := m.Triangle(f).Normal().Neg()
			u, v := n.Perpendicular()
			p := m.Triangle(f).Centroid().AddScaled(n, 1e-6)
			for i, d := range cone {
				hit, _ := tree.First(p, u.Scale(d.X).AddScaled(v, d.Y).AddScaled(n, d.Z), 1e3)
				lengths[i] = hit.Dist
			}
			slices.Sort(lengths[:])
		}
	}
	b.ReportMetric(float64(len(m.Facets))*float64(b.N)/b.Elapsed().Seconds()/1000, "kfacets/s")
}
