package column

import (
	"testing"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// BenchmarkCast casts along one axis at 0.25 mm into warm memory; a cell is a
// lattice line.
func BenchmarkCast(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		lat := latticeOver(b, geom.Identity(), 0.25, m)
		orders := map[string]*geom.Mesh{"ordered": m, "shuffled": geomtest.ShuffleFacets(m, 1)}
		for _, order := range []string{"ordered", "shuffled"} {
			s := Snap(lat, []*geom.Mesh{orders[order]}, nil)
			b.Run(order, func(b *testing.B) {
				l := &Lines{}
				s.CastInto(l, 2)
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					s.CastInto(l, 2)
				}
				meter.Per("facet", len(m.Facets))
				meter.Per("cell", lat.N[0]*lat.N[1])
			})
		}
	})
}

// BenchmarkField snaps and casts: from a mesh to its field, in memory used before, as one
// direction is cast after the other.
func BenchmarkField(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		lat := latticeOver(b, geom.Identity(), 0.25, m)
		l, s := &Lines{}, Snap(lat, []*geom.Mesh{m}, nil)
		s.CastInto(l, 2)
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			s.Move(lat)
			s.CastInto(l, 2)
		}
		meter.Per("facet", len(m.Facets))
		meter.Per("cell", lat.N[0]*lat.N[1])
	})
}

// BenchmarkCrossings is BenchmarkField up to the crossings of every line in order, with
// the facet and the sense of each: what a scan conversion is commonly measured by. A
// field has material instead: crossings paired to stretches, body by body.
func BenchmarkCrossings(b *testing.B) {
	geomtest.EachMesh(b, func(b *testing.B, m *geom.Mesh) {
		lat := latticeOver(b, geom.Identity(), 0.25, m)
		s, w := Snap(lat, []*geom.Mesh{m}, nil), &workspace{}
		ordered := func() {
			s.Move(lat)
			w.scan(s, 2)
			w.sort(lat.N[0] * lat.N[1])
			for line := range len(w.start) - 1 {
				order(w.sorted[w.start[line]:w.start[line+1]])
			}
		}
		ordered()
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			ordered()
		}
		meter.Per("facet", len(m.Facets))
		meter.Per("crossing", len(w.sorted))
	})
}

// BenchmarkCastSlivers casts long facets that cross the lattice aslant.
func BenchmarkCastSlivers(b *testing.B) {
	m := geomtest.Cylinder(40, 60, 2000)
	frame := geomtest.RandomTurn(1)
	frame.T = geom.Vec{}
	s := Snap(latticeOver(b, frame, 0.25, m), []*geom.Mesh{m}, nil)
	l := &Lines{}
	for b.Loop() {
		s.CastInto(l, 2)
	}
}

// BenchmarkNewSpace builds the space of a block with a free-form cavity, at 0.25 mm; a
// cell is a lattice node.
func BenchmarkNewSpace(b *testing.B) {
	geomtest.EachSize(b, func(b *testing.B, facets int) {
		m := geomtest.Join(geomtest.Box(vec(-42, -42, -42), vec(42, 42, 42)), geomtest.Shell(facets).Reversed())
		lat := latticeOver(b, geom.Identity(), 0.25, m)
		s := Snap(lat, []*geom.Mesh{m}, nil)
		tree := bvh.Build(m)
		meter := geomtest.NewMeter(b)
		for meter.Loop() {
			NewSpace(s, 0.12, func(a, c geom.Vec) bool { return !tree.Blocked(a, c) })
		}
		meter.Per("facet", len(m.Facets))
		meter.Per("cell", lat.Nodes())
	})
}
