package column

import (
	"fmt"
	"testing"

	"pourproof/geom"
	"pourproof/geom/bvh"
	"pourproof/geom/geomtest"
)

// benchSizes are meridians of Bumpy: 100 thousand and 1 million facets.
var benchSizes = map[string]int{"100k": 316, "1M": 1000}

func BenchmarkCast(b *testing.B) {
	for _, name := range []string{"100k", "1M"} {
		n := benchSizes[name]
		m := geomtest.Bumpy(35, 0.1, n, n/2+1)
		for order, m := range map[string]*geom.Mesh{"ordered": m, "shuffled": geomtest.ShuffleFacets(m, 1)} {
			lat := latticeOver(b, geom.Identity(), 0.25, m)
			s := Snap(lat, []*geom.Mesh{m}, nil)
			b.Run(fmt.Sprintf("%s/%s", name, order), func(b *testing.B) {
				l := &Lines{}
				for b.Loop() {
					s.castInto(l, 2)
				}
				b.ReportMetric(float64(len(l.Lo)), "stretches")
			})
		}
	}
}

// BenchmarkCastSlivers casts long facets that cross the lattice aslant.
func BenchmarkCastSlivers(b *testing.B) {
	m := geomtest.Cylinder(40, 60, 2000)
	frame := geomtest.RandomTurn(1)
	frame.T = geom.Vec{}
	s := Snap(latticeOver(b, frame, 0.25, m), []*geom.Mesh{m}, nil)
	l := &Lines{}
	for b.Loop() {
		s.castInto(l, 2)
	}
}

func BenchmarkSnap(b *testing.B) {
	m := geomtest.Bumpy(35, 0.1, benchSizes["1M"], benchSizes["1M"]/2+1)
	lat := latticeOver(b, geom.Identity(), 0.25, m)
	for b.Loop() {
		Snap(lat, []*geom.Mesh{m}, nil)
	}
}

// BenchmarkNewSpace builds the space of a block with a bumpy cavity.
func BenchmarkNewSpace(b *testing.B) {
	for _, name := range []string{"100k", "1M"} {
		n := benchSizes[name]
		m := geomtest.Join(geomtest.Box(vec(-42, -42, -42), vec(42, 42, 42)), geomtest.Bumpy(35, 0.1, n, n/2+1).Reversed())
		s := Snap(latticeOver(b, geom.Identity(), 0.25, m), []*geom.Mesh{m}, nil)
		tree := bvh.Build(m)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				NewSpace(s, 0.12, func(a, c geom.Vec) bool { return !tree.Blocked(a, c) })
			}
		})
	}
}
