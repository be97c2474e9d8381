package geom

// CriticalIndices returns the sum of the indices of a mesh's critical points for the
// height along up, and how many fans of facets it met: a vertex has the index
// 1 - c/2, where c is how often the height crosses the vertex's own around its fan
// of facets (Banchoff 1970). Vertices as high as each other count in the order of
// their numbers. For a closed surface the sum is its Euler characteristic, whatever
// the direction. mates are m's; ok is false for a mesh with an edge that two facets
// do not share: it has no such sum. Cost: linear in the facets.
func (m *Mesh) CriticalIndices(up Vec, mates []int32) (sum, fans int, ok bool) {
	for _, e := range mates {
		if e < 0 {
			return 0, 0, false
		}
	}
	height := make([]float64, len(m.Vertices))
	for i, v := range m.Vertices {
		height[i] = v.Dot(up)
	}
	above := func(a, b int32) bool { return height[a] > height[b] || height[a] == height[b] && a > b }
	seen := make([]bool, len(mates))
	twice := 0 // the sum, doubled
	for start := range mates {
		if seen[start] {
			continue
		}
		v := m.Facets[start/3][start%3]
		crossings := 0
		for e := int32(start); !seen[e]; {
			seen[e] = true
			t, k := m.Facets[e/3], e%3
			if above(t[next3(int(k))], v) != above(t[next3(next3(int(k)))], v) {
				crossings++
			}
			// The half-edge back to v belongs to the next facet around it.
			back := mates[3*(e/3)+int32(next3(next3(int(k))))]
			if e = back; m.Facets[e/3][e%3] != v { // a facet that is turned around
				return 0, 0, false
			}
		}
		twice += 2 - crossings
		fans++
	}
	return twice / 2, fans, twice%2 == 0
}

// EulerCharacteristic returns vertices - edges + facets, counted apart from any order
// around a vertex: vertices that a facet uses, and pairs of vertices that a facet
// joins. vertices is the first of these counts. Linear; 16 bytes a facet while at work.
func (m *Mesh) EulerCharacteristic() (chi, vertices int) {
	const none = int32(-1)
	// The upper ends of the edges, as facets name them, in chains by their lower end.
	last, next := make([]int32, len(m.Vertices)), make([]int32, 3*len(m.Facets))
	used := make([]bool, len(m.Vertices))
	for v := range last {
		last[v] = none
	}
	for f, t := range m.Facets {
		for k, a := range t {
			used[a] = true
			lower := min(a, t[next3(k)])
			next[3*f+k], last[lower] = last[lower], int32(3*f+k)
		}
	}
	edges := 0
	seen := make([]int32, len(m.Vertices)) // the last lower end, plus 1, that was joined to this upper one
	for v, u := range used {
		if u {
			vertices++
		}
		for h := last[v]; h != none; h = next[h] {
			if upper := max(m.from(h), m.to(h)); seen[upper] != int32(v)+1 {
				seen[upper] = int32(v) + 1
				edges++
			}
		}
	}
	return vertices - edges + len(m.Facets), vertices
}
