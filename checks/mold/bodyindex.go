package mold

import (
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// bodyIndex keeps what is known of a body's mesh for all who ask for it.
type bodyIndex struct {
	mesh   *geom.Mesh
	found  *geom.Defects
	chords *geom.Chords
	sums   amounts

	once sync.Once
	tree *bvh.Tree // set once

	ahead *ahead // nil: nothing is measured ahead
}

func newBodyIndex(m *geom.Mesh, found *geom.Defects, chords *geom.Chords, sums amounts) *bodyIndex {
	return &bodyIndex{mesh: m, found: found, chords: chords, sums: sums}
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
	b.index.once.Do(func() { b.index.tree = bvh.Build(b.Mesh) })
	return b.index.tree
}

// treesOf returns the trees over bodies' meshes, so built that they are joined easily if
// none was asked for yet.
func treesOf(bodies []Body) []*bvh.Tree {
	var meshes []*geom.Mesh
	for i := range bodies {
		meshes = append(meshes, bodies[i].Mesh)
	}
	build := sync.OnceValue(func() []*bvh.Tree { return bvh.BuildAll(meshes...) })
	out := make([]*bvh.Tree, len(bodies))
	for i := range bodies {
		b := &bodies[i]
		if !b.known() {
			out[i] = build()[i]
			continue
		}
		b.index.once.Do(func() { b.index.tree = build()[i] })
		out[i] = b.index.tree
	}
	return out
}
