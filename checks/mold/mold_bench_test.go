package mold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// BenchmarkMold takes a ball in a round mold through the steps of a check. Figures a
// facet count all meshes, those a cell the nodes of the closed mold's lattice.
func BenchmarkMold(b *testing.B) {
	geomtest.EachSize(b, func(b *testing.B, facets int) {
		part, bottom, top := geomtest.BallMold(facets)
		facets = len(part.Facets) + len(bottom.Facets) + len(top.Facets)
		halves := []Body{{Name: "bottom", Mesh: bottom}, {Name: "top", Mesh: top}}
		shut := func() *Mold {
			m, err := Close(Job{}, Body{Name: "part", Mesh: part}, halves)
			require.NoError(b, err)
			return m
		}
		m := shut()
		cells := m.space.Nodes()
		for _, step := range []struct {
			name string
			do   func() error
		}{
			{"close", func() error { shut(); return nil }},
			{"channels", func() error { m.measureChannels(); return nil }},
			{"flood", func() error { _, err := m.Pour(UpFor(geom.Vec{Z: 1}, Tilt{Angle: 0.5})); return err }},
			{"cups", func() error {
				build, _ := m.DefaultBuild(0)
				m.prints = &prints{make([]halfPrint, len(halves))} // else remembered
				_, err := m.Print(0, build, PrintOptions{})
				return err
			}},
			{"tilts", func() error { _, err := m.SearchTilts(TiltOptions{}); return err }},
			{"poses", func() error {
				m.prints = &prints{make([]halfPrint, len(halves))}
				_, err := m.Pose(0, PoseOptions{})
				return err
			}},
			{"rubber", func() error { _, err := m.Rubber(RubberOptions{}); return err }},
		} {
			b.Run(step.name, func(b *testing.B) {
				meter := geomtest.NewMeter(b)
				for meter.Loop() {
					require.NoError(b, step.do())
				}
				meter.Per("facet", facets)
				meter.Per("cell", cells)
			})
		}
	})
}
