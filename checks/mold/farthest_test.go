package mold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// The farthest points are those found by looking at every point, the first of several.
func TestFarthestPointByPoint(t *testing.T) {
	dirs := append(SphereDirections(200), upZ, xyz(1, 0, 0))
	for k, m := range append(poseMolds(), geomtest.Bumpy(20, 0.1, 60, 30), &geom.Mesh{}) {
		seen := map[int]bool{}
		var want []geom.Vec
		for _, d := range dirs {
			best, far := -1, math.Inf(-1)
			for i, v := range m.Vertices {
				if z := d.Dot(v); z > far {
					best, far = i, z
				}
			}
			if best >= 0 && !seen[best] {
				seen[best] = true
				want = append(want, m.Vertices[best])
			}
		}
		r := &rubber{mesh: m, span: max(m.Box().Diagonal(), 1)}
		require.Equal(t, want, r.farthest(dirs), "mesh %d", k)
	}
}

// What a search says of the surface is what a print says of it.
func TestPosedSurfaceAsPrinted(t *testing.T) {
	pr := printer()
	for _, m := range append(poseMolds(), geomtest.Bumpy(6, 0.2, 80, 40)) {
		r := newRubber(m, 2, 0)
		r.molding = func(f int32) bool { return f%3 != 0 }
		w := &posing{rubber: r, o: PoseOptions{Printer: pr}, drawn: r.drawn(len(m.Facets), pr.Layer)}
		all, some := r.solid.shares(len(m.Facets)), 0
		for _, d := range append(SphereDirections(60), upZ) {
			p := PosePoint{Build: d}
			w.surface(&p)
			step := newStepped(r.solid).steps(d, pr.Layer, all, r.molding, nil)
			require.Equal(t, step.Mean, p.Step)
			scars := r.scars(&Printed{Build: d, Printer: *pr})
			require.InDelta(t, scars.Area, p.ScarAll, 1e-9*(1+scars.Area))
			require.InDelta(t, scars.Molding, p.Scar, 1e-9*(1+scars.Area))
			if step.Mean > 0 && scars.Molding > 0 {
				some++
			}
		}
		assert.Greater(t, some, 20)
	}
}
