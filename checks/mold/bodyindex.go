package mold

import (
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// bodyIndex keeps what is known of a body's mesh for all who ask for it.
type bodyIndex struct {
	mesh   *geom.Mesh
	tree   func() *bvh.Tree
	chords []float64 // per facet, mm
}

func newBodyIndex(m *geom.Mesh, chords []float64) *bodyIndex {
	return &bodyIndex{m, sync.OnceValue(func() *bvh.Tree { return bvh.Build(m) }), chords}
}

// known tells whether the index is of the body's mesh: a caller may have made or moved
// the mesh.
func (b *Body) known() bool { return b.index != nil && b.index.mesh == b.Mesh }

// source is how a message names the body: by its file, if it has one.
func (b *Body) source() string {
	if b.file != "" {
		return b.file
	}
	return b.Name
}

// chordErrors returns the chord error of every facet, mm.
func (b *Body) chordErrors() []float64 {
	if !b.known() {
		return b.Mesh.ChordErrors()
	}
	return b.index.chords
}

// tree returns the tree over the body's mesh, built when first asked for.
func (b *Body) tree() *bvh.Tree {
	if !b.known() {
		return bvh.Build(b.Mesh)
	}
	return b.index.tree()
}
