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

// A facet that spans a layer has steps whatever hangs together with it: the mean over what
// was drawn is that of all steps.
func TestMeanStepAsFacetByFacet(t *testing.T) {
	for _, m := range append(poseMolds(), geomtest.Bumpy(6, 0.2, 80, 40)) {
		r := newRubber(m, 2, 0)
		r.molding = func(f int32) bool { return f%3 != 0 }
		w, all := newStepped(r.solid), r.solid.shares(len(m.Facets))
		drawn := r.drawn(len(m.Facets))
		some := 0
		for _, d := range append(SphereDirections(60), upZ) {
			want := w.steps(d, 0.05, all, r.molding, nil).Mean
			if want > 0 {
				some++
			}
			require.Equal(t, want, w.mean(d, 0.05, drawn))
		}
		assert.Greater(t, some, 40)
	}
}
