package bvh

import "pourproof/geom"

// Overlapping calls visit for every facet whose own box touches box, in the
// tree's order, which depends on the mesh alone.
func (t *Tree) Overlapping(box geom.Box, visit func(facet int32)) {
	if len(t.nodes) == 0 || box.Empty() {
		return
	}
	b := outward(box, 0)
	var stack [maxDepth + 1]int32
	for top := 1; top > 0; {
		top--
		n := &t.nodes[stack[top]]
		for k, c := range n.kids {
			if !n.box[k].touches(&b) {
				continue
			}
			if c.count == inner {
				stack[top] = c.first
				top++
				continue
			}
			for i := c.first; i < c.first+c.count; i++ {
				if t.corner[i].triangle().Box().Touches(box) {
					visit(t.facet[i])
				}
			}
		}
	}
}
