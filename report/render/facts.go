package render

import (
	"math"
	"slices"

	"pourproof/geom"
)

// facts are what drawing needs of a mesh and a view does not change. They are
// kept between pictures.
type facts struct {
	normal []unit32    // per facet; zero for a degenerate one
	corner [][3]uint32 // per facet, packed corner normals; nil until a smooth body asks
	edges  []edge      // nil until a ghost asks
	used   int         // the renderer's clock when last used
}

// unit32 is a unit normal in single precision.
type unit32 struct{ x, y, z float32 }

// edge is a mesh edge with its two facets; g is -1 where the edge does not have
// exactly two.
type edge struct {
	a, b  int32
	f, g  int32
	sharp bool
}

// Angles between facet normals, as cosines. Above creaseCos the shade runs
// smoothly over an edge; below featureCos the edge is drawn as a line.
const (
	creaseCos  = 0.7880 // 38 degrees: a bore of 12 facets (30 degrees each) still looks round
	featureCos = 0.8660 // 30 degrees

	halfCreaseCos = 0.9465 // of 18.8 degrees, less than half the crease angle
)

// keepFacets bounds the meshes whose facts are kept: 24 bytes a facet, 54 for
// ghosts, so about 100 MB.
const keepFacets = 3_000_000

func (r *Renderer) factsOf(m *geom.Mesh) *facts {
	k := r.facts[m]
	if k == nil {
		k = &facts{normal: facetNormals(m)}
		r.facts[m] = k
	}
	k.used = r.clock
	return k
}

// forget drops the facts of meshes that the present picture does not use once
// the kept ones exceed keepFacets.
func (r *Renderer) forget() {
	total := 0
	for _, k := range r.facts {
		total += len(k.normal)
	}
	if total <= keepFacets {
		return
	}
	for m, k := range r.facts {
		if k.used != r.clock {
			delete(r.facts, m)
		}
	}
}

// factsBlock is the number of facets a parallel part handles.
const factsBlock = 1 << 15

func facetNormals(m *geom.Mesh) []unit32 {
	n := make([]unit32, len(m.Facets))
	blocks(len(n), factsBlock, func(lo, hi int) {
		for f := lo; f < hi; f++ {
			v := m.Triangle(f).AreaVec().Unit()
			n[f] = unit32{float32(v.X), float32(v.Y), float32(v.Z)}
		}
	})
	return n
}

// blocks calls do for the pieces of 0..n-1 of the given size, in parallel.
func blocks(n, size int, do func(lo, hi int)) {
	parallel((n+size-1)/size, func(k int) { do(k*size, min((k+1)*size, n)) })
}

// corners fills the corner normals: at each corner of a facet the mean of the
// normals of the facets around that vertex that lie within the crease angle of
// the facet's own, weighted after Max (Weights for computing vertex normals from
// facet normals, J. Graphics Tools 4(2), 1999): |e1 x e2| / (|e1|^2 |e2|^2),
// which is exact on a sphere and needs no angle.
func (k *facts) corners(m *geom.Mesh) {
	if k.corner != nil {
		return
	}
	start, around := facetsAround(m)
	weight := make([][3]float32, len(m.Facets))
	blocks(len(m.Facets), factsBlock, func(lo, hi int) {
		for f := lo; f < hi; f++ {
			weight[f] = cornerWeights(m.Triangle(f))
		}
	})
	k.corner = make([][3]uint32, len(m.Facets))
	blocks(len(m.Vertices), factsBlock, func(lo, hi int) {
		for v := lo; v < hi; v++ {
			k.cornersAt(around[start[v]:start[v+1]], weight)
		}
	})
}

// cornersAt fills the corners at one vertex. Where the surface is smooth there, they
// share one normal.
func (k *facts) cornersAt(around []int32, weight [][3]float32) {
	shared := k.smooth(around)
	var all uint32
	for i, gc := range around {
		if i == 0 || !shared {
			all = k.cornerNormal(int(gc/3), around, weight).pack()
		}
		k.corner[gc/3][gc%3] = all
	}
}

// smooth reports whether the normals of facets lie so near to their mean, by half the
// crease angle less a thousandth, that each lies within that angle of each other.
func (k *facts) smooth(around []int32) bool {
	var s unit32
	for _, gc := range around {
		n := k.normal[gc/3]
		s = unit32{s.x + n.x, s.y + n.y, s.z + n.z}
	}
	least := float32(halfCreaseCos * math.Sqrt(float64(dot32(s, s))))
	for _, gc := range around {
		if !(dot32(k.normal[gc/3], s) > least) {
			return false
		}
	}
	return true
}

func (k *facts) cornerNormal(f int, around []int32, weight [][3]float32) unit32 {
	n := k.normal[f]
	var s unit32
	for _, gc := range around {
		g, c := gc/3, gc%3
		o := k.normal[g]
		if dot32(n, o) < creaseCos {
			continue
		}
		w := weight[g][c]
		s.x += float32(w * o.x)
		s.y += float32(w * o.y)
		s.z += float32(w * o.z)
	}
	l := float32(math.Sqrt(float64(dot32(s, s))))
	if !(l > 0) || math.IsInf(float64(l), 0) {
		return n
	}
	return unit32{s.x / l, s.y / l, s.z / l}
}

func cornerWeights(t geom.Triangle) [3]float32 {
	ab, bc, ca := t.B.Sub(t.A), t.C.Sub(t.B), t.A.Sub(t.C)
	area := ab.Cross(ca).Norm()
	a2, b2, c2 := ab.Norm2(), bc.Norm2(), ca.Norm2()
	w := func(p, q float64) float32 {
		if p == 0 || q == 0 {
			return 0
		}
		return float32(area / p / q)
	}
	return [3]float32{w(ab.Norm2(), c2), w(a2, b2), w(b2, c2)}
}

// facetsAround lists the facet corners at each vertex: corner c of facet f is
// 3f+c, and those of vertex v are around[start[v]:start[v+1]], in order.
func facetsAround(m *geom.Mesh) (start, around []int32) {
	start = make([]int32, len(m.Vertices)+1)
	for i := range m.Facets {
		for _, v := range m.Facets[i] {
			start[v+1]++
		}
	}
	for v := range m.Vertices {
		start[v+1] += start[v]
	}
	around = make([]int32, 3*len(m.Facets))
	fill := slices.Clone(start)
	for i := range m.Facets {
		for c, v := range m.Facets[i] {
			around[fill[v]] = int32(3*i + c)
			fill[v]++
		}
	}
	return start, around
}

// findEdges fills the list of edges, ordered by their lower vertex. Edges
// between two facets in one plane are left out: they are never drawn.
func (k *facts) findEdges(m *geom.Mesh) {
	if k.edges != nil {
		return
	}
	start, around := facetsAround(m)
	k.edges = []edge{}
	type fan struct{ hi, f int32 }
	var fans []fan
	for v := range m.Vertices {
		fans = fans[:0]
		for _, gc := range around[start[v]:start[v+1]] {
			t, c := m.Facets[gc/3], gc%3
			for _, o := range [2]int32{t[(c+1)%3], t[(c+2)%3]} {
				if o > int32(v) {
					fans = append(fans, fan{o, gc / 3})
				}
			}
		}
		slices.SortFunc(fans, func(a, b fan) int {
			if a.hi != b.hi {
				return int(a.hi) - int(b.hi)
			}
			return int(a.f) - int(b.f)
		})
		for i := 0; i < len(fans); {
			j := i + 1
			for j < len(fans) && fans[j].hi == fans[i].hi {
				j++
			}
			e := edge{a: int32(v), b: fans[i].hi, f: fans[i].f, g: -1, sharp: true}
			if j == i+2 {
				e.g = fans[i+1].f
				c := dot32(k.normal[e.f], k.normal[e.g])
				e.sharp = c < featureCos
				if c > 1-1e-6 { // same plane to single precision
					i = j
					continue
				}
			}
			k.edges = append(k.edges, e)
			i = j
		}
	}
}

func dot32(a, b unit32) float32 {
	return float32(a.x*b.x) + float32(a.y*b.y) + float32(a.z*b.z)
}

// pack stores a unit normal in 32 bits by folding the octahedron |x|+|y|+|z|=1
// flat (Cigolle et al., A survey of efficient representations for independent
// unit vectors, JCGT 3(2), 2014). The zero vector packs to that of +z. Largest
// error about 0.005 degrees.
func (n unit32) pack() uint32 {
	s := abs32(n.x) + abs32(n.y) + abs32(n.z)
	if !(s > 0) {
		return packPair(0, 0)
	}
	u, v := n.x/s, n.y/s
	if n.z < 0 {
		u, v = float32((1-abs32(v))*sign32(u)), float32((1-abs32(u))*sign32(v))
	}
	return packPair(u, v)
}

func packPair(u, v float32) uint32 {
	q := func(t float32) uint32 { return uint32(int32(float32(t*32767) + 32768.5)) }
	return q(u)<<16 | q(v)
}

// unpack undoes pack, without the last scaling to unit length: the result has
// |x|+|y|+|z| = 1.
func unpack(p uint32) unit32 {
	u := float32(int32(p>>16)-32768) / 32767
	v := float32(int32(p&0xffff)-32768) / 32767
	z := 1 - abs32(u) - abs32(v)
	if z < 0 {
		u, v = float32((1-abs32(v))*sign32(u)), float32((1-abs32(u))*sign32(v))
	}
	return unit32{u, v, z}
}

func abs32(x float32) float32 { return math.Float32frombits(math.Float32bits(x) &^ (1 << 31)) }

func sign32(x float32) float32 {
	if x < 0 {
		return -1
	}
	return 1
}
