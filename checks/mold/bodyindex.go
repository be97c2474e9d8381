package mold

import (
	"sync"

	"pourproof/geom"
	"pourproof/geom/bvh"
)

// bodyIndex keeps the tree over a body's mesh for all who ask for it.
type bodyIndex struct {
	mesh *geom.Mesh
	tree func() *bvh.Tree
}

func newBodyIndex(m *geom.Mesh) *bodyIndex {
	return &bodyIndex{m, sync.OnceValue(func() *bvh.Tree { return bvh.Build(m) })}
}

// tree returns the tree over the body's mesh, built when first asked for.
func (b *Body) tree() *bvh.Tree {
	if b.index == nil || b.index.mesh != b.Mesh { // made or moved by a caller
		return bvh.Build(b.Mesh)
	}
	return b.index.tree()
}
