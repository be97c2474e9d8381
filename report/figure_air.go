package report

import (
	"pourproof/geom"
)

// airBody returns a pocket's air as it is drawn.
func airBody(m *geom.Mesh, up geom.Vec) *geom.Mesh {
	if m == nil || len(m.Facets) == 0 {
		return nil
	}
	return m
}
