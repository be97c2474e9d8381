package bvh

import "pourproof/geom"

const (
	// surveyFacets is how many facets that follow each other in a mesh share a box of a
	// survey, surveyBoxes how many boxes one of the next level; chunk is a multiple of
	// the first.
	surveyFacets = 16
	surveyBoxes  = 8
	// surveyLooks is how many pairs of boxes contested looks at, at most, for each box.
	surveyLooks = 64
)

// survey returns the side of every facet, and the boxes of every surveyFacets of them.
func survey(m *geom.Mesh) (sides []side, boxes []geom.Box) {
	sides, boxes = make([]side, len(m.Facets)), make([]geom.Box, (len(m.Facets)+surveyFacets-1)/surveyFacets)
	inChunks(len(sides), func(lo, hi int) {
		for ; lo < hi; lo += surveyFacets {
			box := geom.EmptyBox()
			for f := lo; f < min(lo+surveyFacets, hi); f++ {
				t := m.Triangle(f)
				sides[f] = sideOf(&t)
				widen(&box, &t.A)
				widen(&box, &t.B)
				widen(&box, &t.C)
			}
			boxes[lo/surveyFacets] = box
		}
	})
	return sides, boxes
}

// widen includes a point in a box, by comparisons: most points change nothing.
func widen(b *geom.Box, p *geom.Vec) {
	if p.X < b.Min.X {
		b.Min.X = p.X
	}
	if p.X > b.Max.X {
		b.Max.X = p.X
	}
	if p.Y < b.Min.Y {
		b.Min.Y = p.Y
	}
	if p.Y > b.Max.Y {
		b.Max.Y = p.Y
	}
	if p.Z < b.Min.Z {
		b.Min.Z = p.Z
	}
	if p.Z > b.Max.Z {
		b.Max.Z = p.Z
	}
}

// labelled is a box and the terrain to which all facets in it belong, else noTerrain.
type labelled struct {
	box   geom.Box
	label int32
}

// contested returns the facets, rising, that may meet one that is not of their terrain:
// those of boxes of the survey that touch one with such a facet. On a smooth surface
// whose facets follow each other as they lie, they are a band along the terrains'
// borders; of a mesh whose facets follow each other anyhow all are returned. Some 2 ns
// a facet.
func contested(terrain []int32, boxes []geom.Box) []int32 {
	levels := [][]labelled{make([]labelled, len(boxes))}
	for i, box := range boxes {
		lo, hi := i*surveyFacets, min((i+1)*surveyFacets, len(terrain))
		levels[0][i] = labelled{box, terrain[lo]}
		for _, l := range terrain[lo:hi] {
			if l != terrain[lo] {
				levels[0][i].label = noTerrain
			}
		}
	}
	for below := levels[0]; len(below) > 1; {
		up := make([]labelled, (len(below)+surveyBoxes-1)/surveyBoxes)
		for i := range up {
			some := below[i*surveyBoxes : min((i+1)*surveyBoxes, len(below))]
			up[i] = some[0]
			for _, b := range some[1:] {
				up[i].box = up[i].box.Union(b.box)
				if b.label != up[i].label {
					up[i].label = noTerrain
				}
			}
		}
		levels, below = append(levels, up), up
	}
	marked, ok := markTouching(levels)
	out := []int32{}
	for f := range terrain {
		if !ok || marked[f/surveyFacets] {
			out = append(out, int32(f))
		}
	}
	return out
}

// markTouching marks the boxes of the lowest level that touch another, or hold facets, of
// another terrain; false where that takes too many looks.
func markTouching(levels [][]labelled) (marked []bool, ok bool) {
	marked = make([]bool, len(levels[0]))
	if len(marked) == 0 {
		return marked, true
	}
	looks := surveyLooks * len(marked)
	type pair struct{ level, a, b int32 }
	stack := []pair{{int32(len(levels) - 1), 0, 0}}
	for len(stack) > 0 {
		p := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if looks--; looks < 0 {
			return nil, false
		}
		a, b := &levels[p.level][p.a], &levels[p.level][p.b]
		if a.label != noTerrain && a.label == b.label || !a.box.Touches(b.box) {
			continue
		}
		if p.level == 0 {
			marked[p.a], marked[p.b] = true, true
			continue
		}
		below := int32(len(levels[p.level-1]))
		for i := p.a * surveyBoxes; i < min((p.a+1)*surveyBoxes, below); i++ {
			for k := p.b * surveyBoxes; k < min((p.b+1)*surveyBoxes, below); k++ {
				if p.a != p.b || k <= i {
					stack = append(stack, pair{p.level - 1, i, k})
				}
			}
		}
	}
	return marked, true
}
