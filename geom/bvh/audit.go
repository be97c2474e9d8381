package bvh

import "fmt"

// Audit checks what the queries rely on, for tests: every facet in exactly one
// small leaf, every box around what is below it, no path deeper than the queries'
// stacks. Linear in the facets.
func (t *Tree) Audit() error {
	seen := make([]bool, len(t.mesh.Facets))
	if len(t.nodes) > 0 {
		if err := t.auditNode(0, 1, seen); err != nil {
			return err
		}
	}
	for f, ok := range seen {
		if !ok {
			return fmt.Errorf("bvh: facet %d is in no leaf", f)
		}
	}
	return nil
}

func (t *Tree) auditNode(at int32, depth int, seen []bool) error {
	if depth > maxDepth {
		return fmt.Errorf("bvh: node %d lies %d levels deep, more than %d", at, depth, maxDepth)
	}
	for k, c := range t.nodes[at].kids {
		box := t.nodes[at].box[k]
		if c.count != inner {
			if err := t.auditLeaf(c, box, seen); err != nil {
				return err
			}
			continue
		}
		if c.first <= at || int(c.first) >= len(t.nodes) {
			return fmt.Errorf("bvh: node %d: child %d is node %d of %d", at, k, c.first, len(t.nodes))
		}
		for j, b := range t.nodes[c.first].box {
			if !box.holds(b) && b != emptyBounds() {
				return fmt.Errorf("bvh: node %d: box of child %d sticks out of the node's", c.first, j)
			}
		}
		if err := t.auditNode(c.first, depth+1, seen); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tree) auditLeaf(c child, box bounds, seen []bool) error {
	if c.count > maxLeaf {
		return fmt.Errorf("bvh: leaf of %d facets, more than %d", c.count, maxLeaf)
	}
	for i := c.first; i < c.first+c.count; i++ {
		f := t.facet[i]
		if seen[f] {
			return fmt.Errorf("bvh: facet %d is in two leaves", f)
		}
		seen[f] = true
		own := t.mesh.Triangle(int(f))
		if own != t.corner[i].triangle() {
			return fmt.Errorf("bvh: facet %d was copied wrongly", f)
		}
		if !box.holds(outward(own.Box(), surfaceSlack(t.reach))) {
			return fmt.Errorf("bvh: facet %d sticks out of its leaf", f)
		}
	}
	return nil
}
