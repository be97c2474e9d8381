package mold

import (
	"fmt"
	"testing"

	"pourproof/geom"
)

func TestZZ5Fit(t *testing.T) {
	part, halves := loadCase(t, "shrink-box-101-origin")
	m, _ := Close(*NewJob(), part, halves)
	f := m.fixed
	mid := m.Part.Mesh.Box().Center()
	samples := surfaceSamples(m.Part.Mesh, 48)
	reach := max(1.5, 0.02*m.Part.Mesh.Box().Diagonal())
	fit := PartFit{Scale: 1, Samples: len(samples)}
	fmt.Println(f.quantile(samples, mid, fit, reach))
	for i := 0; i < 12; i++ {
		next, ok := f.fitStep(samples, mid, fit, reach)
		fmt.Println(ok, next, f.quantile(samples, mid, next, reach))
		fit = next
	}
	_ = geom.Vec{}
}
