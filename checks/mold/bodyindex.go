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
	found  *geom.Defects
	chords *geom.Chords
	sums   amounts
}

func newBodyIndex(m *geom.Mesh, found *geom.Defects, chords *geom.Chords, sums amounts) *bodyIndex {
	return &bodyIndex{m, sync.OnceValue(func() *bvh.Tree { return bvh.Build(m) }), found, chords, sums}
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

// chords returns the chord errors of the facets.
func (b *Body) chords() *geom.Chords {
	if !b.known() {
		return b.Mesh.Chords()
	}
	return b.index.chords
}

// inspected returns what Inspect finds in the body's mesh.
func (b *Body) inspected() *geom.Defects {
	if !b.known() {
		return geom.Inspect(b.Mesh)
	}
	return b.index.found
}

// mates returns the mates of the mesh's half-edges.
func (b *Body) mates() []int32 {
	if !b.known() {
		return b.Mesh.Mates()
	}
	return b.index.found.Mates()
}

// amounts returns the sums over the mesh's facets.
func (b *Body) amounts() amounts {
	if !b.known() {
		return amountsOf(b.Mesh)
	}
	return b.index.sums
}

// tree returns the tree over the body's mesh, built when first asked for.
func (b *Body) tree() *bvh.Tree {
	if !b.known() {
		return bvh.Build(b.Mesh)
	}
	return b.index.tree()
}
