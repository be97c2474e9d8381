package mold

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourproof/geom"
	"pourproof/geom/geomtest"
)

// Molds built for the checks of the fit: the base mold of the practice notes with
// one thing changed.

type ops = []geomtest.Op

// b0Ops are part, bottom and top of the base mold as boxes.
func b0Ops() (part, bottom, top ops) {
	part = ops{geomtest.Add(vec(10, 10, 10), vec(50, 30, 20))}
	bottom = ops{geomtest.Add(vec(0, 0, 0), vec(60, 40, 15)), geomtest.Cut(vec(10, 10, 10), vec(50, 30, 16)), geomtest.Cut(vec(28, 18, -1), vec(32, 22, 11))}
	top = ops{geomtest.Add(vec(0, 0, 15), vec(60, 40, 30)), geomtest.Cut(vec(10, 10, 14), vec(50, 30, 20)), geomtest.Cut(vec(29, 19, 19), vec(31, 21, 31))}
	return part, bottom, top
}

func bodyOf(name string, ops ...geomtest.Op) Body {
	return Body{Name: name, Mesh: geomtest.Grid(ops...)}
}

// moldOf is a mold of boxes.
func moldOf(part, bottom, top ops) setup {
	return setup{part: bodyOf("part", part...), halves: []Body{bodyOf("bottom", bottom...), bodyOf("top", top...)}}
}

// keyed adds square keys of 5 mm, 3 mm deep, at the given middles to the base
// mold: pegs on the bottom, sockets with a clearance in the top.
func keyed(clearance float64, middles ...geomtest.Point) setup {
	part, bottom, top := b0Ops()
	for _, m := range middles {
		bottom = append(bottom, geomtest.Add(vec(m.X-2.5, m.Y-2.5, 15), vec(m.X+2.5, m.Y+2.5, 18)))
		top = append(top, geomtest.Cut(vec(m.X-2.5-clearance, m.Y-2.5-clearance, 14), vec(m.X+2.5+clearance, m.Y+2.5+clearance, 18+clearance)))
	}
	return moldOf(part, bottom, top)
}

// threePieces is the base mold with its top cut in two at x = 30.
func threePieces() (Body, []Body) {
	part, bottom, top := b0Ops()
	left := append(append(ops(nil), top...), geomtest.Cut(vec(30, -1, 14), vec(61, 41, 31)))
	right := append(append(ops(nil), top...), geomtest.Cut(vec(-1, -1, 14), vec(30, 41, 31)))
	return bodyOf("part", part...), []Body{bodyOf("bottom", bottom...), bodyOf("left", left...), bodyOf("right", right...)}
}

// measured estimates every body's chord error, as the intake does.
func (s setup) measured() setup {
	s.part.ChordError = s.part.Mesh.ChordError()
	s.halves = append([]Body(nil), s.halves...)
	for i := range s.halves {
		s.halves[i].ChordError = s.halves[i].Mesh.ChordError()
	}
	return s
}

// shut closes a mold and works out its fit.
func (s setup) shut(t testing.TB) (*Mold, *Closing) {
	t.Helper()
	m := s.measured().close(t)
	c, err := m.Closing()
	require.NoError(t, err)
	return m, c
}

// mirroredX returns the mesh mirrored at x = at.
func mirroredX(m *geom.Mesh, at float64) *geom.Mesh {
	return m.Map(func(v geom.Vec) geom.Vec { return vec(2*at-v.X, v.Y, v.Z) }).Reversed()
}
