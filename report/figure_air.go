package report

import (
	"math"

	"pourproof/checks/mold"
	"pourproof/geom"
)

// stained is the part's surface with the places coloured that air touches: what
// a pocket spoils. Facets are cut at the spill levels, so that the colour ends
// where the resin stands.
type stained struct {
	mesh    *geom.Mesh
	color   []uint8 // per facet: 1 where air touches, else 0
	of      []int32 // per facet: 1 + index of the pocket that touches it, else 0
	patches []patch // per pocket
}

// patch is the part of the surface that one pocket touches.
type patch struct {
	spot geom.Vec // a place on it near its top
	some bool     // whether there is one
	// air is what lies between patch and spill level, nil where that is not the
	// pocket: a basin's air, or a cavity that the part does not fill.
	air *geom.Mesh
}

// airColumn is the air of one pocket in one column of the pour.
type airColumn struct {
	pocket int
	lo, hi float64 // along up from the CAD origin, mm
}

// airColumns are the columns of all pockets by their place in the pour's lattice.
type airColumns struct {
	frame geom.Rigid
	cell  float64
	from  geom.Vec // a corner of the lattice, in the pour's frame
	at    map[[2]int][]airColumn
}

// columnsOf reads the columns back from the pockets' meshes: their roofs are
// squares of the lattice.
func columnsOf(f *mold.Fill, air []*geom.Mesh) *airColumns {
	c := &airColumns{frame: mold.PourFrame(f.Up), cell: f.Cell, at: map[[2]int][]airColumn{}}
	fixed := false
	for i, m := range air {
		if m == nil {
			continue
		}
		p := m.Map(c.frame.Turn)
		for k := range p.Facets {
			t := p.Triangle(k)
			if n := t.AreaVec(); n.Z <= 0.5*n.Norm() {
				continue // a wall or the level
			}
			lo := t.A.Min(t.B).Min(t.C)
			if !fixed {
				c.from, fixed = lo, true
			}
			key := c.key(lo.AddScaled(geom.Vec{X: 1, Y: 1}, c.cell/2))
			if n := len(c.at[key]); n == 0 || c.at[key][n-1].hi != t.A.Z { // both triangles of a square are alike
				c.at[key] = append(c.at[key], airColumn{i, f.Pockets[i].SealedAt, t.A.Z})
			}
		}
	}
	return c
}

func (c *airColumns) key(p geom.Vec) [2]int {
	return [2]int{int(math.Floor((p.X - c.from.X) / c.cell)), int(math.Floor((p.Y - c.from.Y) / c.cell))}
}

// touching returns the pocket whose air lies at p in the pour's frame, -1 for
// none. A roof that is steep within a column may lie a cell above the column's own.
func (c *airColumns) touching(p geom.Vec) int {
	for _, a := range c.at[c.key(p)] {
		if p.Z >= a.lo-1e-6 && p.Z <= a.hi+c.cell {
			return a.pocket
		}
	}
	return -1
}

// beside tells whether air of pocket i lies within two cells of p.
func (c *airColumns) beside(p geom.Vec, i int) bool {
	at := c.key(p)
	for x := at[0] - 2; x <= at[0]+2; x++ {
		for y := at[1] - 2; y <= at[1]+2; y++ {
			for _, a := range c.at[[2]int{x, y}] {
				if a.pocket == i && p.Z >= a.lo-1e-6 && p.Z <= a.hi+c.cell {
					return true
				}
			}
		}
	}
	return false
}

// under returns the place whose column tells what a facet of the part touches: a
// little inside the part, farther for a wall, whose own column may lie outside.
func (c *airColumns) under(t geom.Triangle) geom.Vec {
	n := c.frame.Turn(t.Normal())
	return c.frame.Turn(t.Centroid()).AddScaled(n, -c.cell*(0.75-float64(0.7*math.Abs(n.Z))))
}

// stain colours the part. Cost: linear in the facets, times the pockets.
func (s *studio) stain() *stained {
	cols := columnsOf(s.fill, s.air)
	k := newKnife(s.mold.FittedPart(), s.up)
	for i := range s.air {
		if s.air[i] != nil {
			k.cut(s.fill.Pockets[i].SealedAt)
		}
	}
	out := &stained{mesh: k.mesh, color: make([]uint8, len(k.mesh.Facets)), of: make([]int32, len(k.mesh.Facets)), patches: make([]patch, len(s.air))}
	touched := make([]int, len(k.mesh.Facets))
	for f := range touched {
		touched[f] = cols.touching(cols.under(k.mesh.Triangle(f)))
	}
	mates := k.mesh.Mates()
	for i := range s.air {
		if s.air[i] != nil {
			s.stainPocket(out, k, cols, mates, touched, i)
		}
	}
	return out
}

// neck is the height in mm over the spill level below which two places above it
// count as apart: the level of a pocket that ends at a saddle is known to 0.05 mm
// (design).
const neck = 0.1

// stainPocket grows a pocket's patch from the facets that its columns touch over
// all that join them well above the spill level: hydrostatics leave no resin
// there. Low facets that the columns missed follow where they lie beside them.
// Where most of what it grows to is not touched, the columns alone count.
func (s *studio) stainPocket(out *stained, k *knife, cols *airColumns, mates []int32, touched []int, i int) {
	p := &s.fill.Pockets[i]
	facets := k.mesh.Facets
	heights := func(f int) (lo, hi float64) {
		t := facets[f]
		a, b, c := k.height[t[0]], k.height[t[1]], k.height[t[2]]
		return min(a, b, c), max(a, b, c)
	}
	in := make([]bool, len(facets))
	var list []int
	for f := range facets {
		if lo, _ := heights(f); touched[f] == i && lo >= p.SealedAt {
			in[f] = true
			list = append(list, f)
		}
	}
	seeds := len(list)
	grow := func(from int, may func(f, c, g int) bool) {
		for n := from; n < len(list); n++ {
			for c := range 3 {
				half := mates[3*list[n]+c]
				if g := int(half) / 3; half >= 0 && !in[g] && may(list[n], c, g) {
					in[g] = true
					list = append(list, g)
				}
			}
		}
	}
	grow(0, func(f, c, g int) bool {
		t := facets[f]
		lo, _ := heights(g)
		return lo >= p.SealedAt && max(k.height[t[c]], k.height[t[(c+1)%3]]) >= p.SealedAt+neck
	})
	grow(0, func(_, _, g int) bool {
		lo, hi := heights(g)
		return lo >= p.SealedAt && hi < p.SealedAt+neck && cols.beside(cols.under(k.mesh.Triangle(g)), i)
	})
	area := func(list []int) (sum float64) {
		for _, f := range list {
			sum += k.mesh.Triangle(f).Area()
		}
		return sum
	}
	q := &out.patches[i]
	if area(list[:seeds]) < 0.5*area(list) {
		list = list[:seeds]
	} else {
		q.air = closed(k, mates, in, list, p)
	}
	nearest := math.Inf(1)
	for _, f := range list {
		t := k.mesh.Triangle(f)
		out.color[f], out.of[f] = 1, int32(i)+1
		if d := t.Centroid().Dist(s.peaks[i]); d < nearest && t.Normal().Dot(s.up) > 0 {
			q.spot, q.some, nearest = t.Centroid(), true, d
		}
	}
}

// closed closes a patch with a fan in the spill level: seen edge-on in a section,
// it may overlap itself. It returns nil unless that holds the pocket's volume.
func closed(k *knife, mates []int32, in []bool, list []int, p *mold.Pocket) *geom.Mesh {
	m := &geom.Mesh{Vertices: k.mesh.Vertices}
	hub := int32(-1)
	for _, f := range list {
		t := k.mesh.Facets[f]
		m.Facets = append(m.Facets, t)
		for c := range 3 {
			if g := mates[3*f+c]; g >= 0 && in[g/3] {
				continue
			}
			a, b := t[c], t[(c+1)%3]
			if min(k.height[a], k.height[b]) > p.SealedAt+2*neck {
				return nil // the surface is open, or ends elsewhere
			}
			if hub < 0 {
				hub = a
			}
			if a != hub && b != hub {
				m.Facets = append(m.Facets, [3]int32{hub, b, a})
			}
		}
	}
	m = compact(m)
	if math.Abs(m.Volume()-p.Volume) > 1+max(3*p.Error, 0.1*p.Volume) {
		return nil
	}
	return m
}

// compact drops vertices that no facet uses.
func compact(m *geom.Mesh) *geom.Mesh {
	out := &geom.Mesh{Facets: make([][3]int32, len(m.Facets))}
	at := make([]int32, len(m.Vertices))
	for f, t := range m.Facets {
		for c, v := range t {
			if at[v] == 0 {
				out.Vertices = append(out.Vertices, m.Vertices[v])
				at[v] = int32(len(out.Vertices))
			}
			out.Facets[f][c] = at[v] - 1
		}
	}
	return out
}

// heldAir returns the air of pocket i in the bore of a channel that lets none
// out, nil where there is none.
func (s *studio) heldAir(cols *airColumns, c *mold.Channel, i int) *geom.Mesh {
	if c.Role == mold.Gate || c.WeepsAt != nil || len(c.Path) < 2 {
		return nil
	}
	if cols.touching(cols.frame.Turn(c.Path[len(c.Path)/2])) != i {
		return nil
	}
	level := s.fill.Pockets[i].SealedAt
	bore := fullBore(c)
	d := *bore
	d.Path, d.Radius = nil, nil
	for n, p := range bore.Path {
		if p.Dot(s.up) >= level {
			d.Path, d.Radius = append(d.Path, p), append(d.Radius, bore.Radius[n])
		}
	}
	return tube(&d, 1.03, 0)
}

// airBodies are the pockets as a section draws them: as exact as can be had, and
// with the columns of what lies beyond the part.
func (s *studio) airBodies() []*geom.Mesh {
	cols := columnsOf(s.fill, s.air)
	out := make([]*geom.Mesh, len(s.air))
	for i, a := range s.air {
		if a == nil {
			continue
		}
		out[i] = &geom.Mesh{}
		out[i].Append(a)
		if exact := s.stained.patches[i].air; exact != nil {
			out[i].Append(exact)
		}
		for n := range s.fill.Ports {
			if held := s.heldAir(cols, &s.fill.Ports[n], i); held != nil {
				out[i].Append(held)
			}
		}
	}
	return out
}

// knife cuts a mesh at levels; shared edges get one new vertex.
type knife struct {
	mesh   *geom.Mesh
	up     geom.Vec
	height []float64 // per vertex
}

func newKnife(m *geom.Mesh, up geom.Vec) *knife {
	k := &knife{up: up, mesh: &geom.Mesh{Vertices: append([]geom.Vec(nil), m.Vertices...), Facets: m.Facets}}
	for _, v := range k.mesh.Vertices {
		k.height = append(k.height, up.Dot(v))
	}
	return k
}

// cut splits every facet that the level crosses.
func (k *knife) cut(level float64) {
	old := k.mesh.Facets
	k.mesh.Facets = make([][3]int32, 0, len(old))
	fresh := map[[2]int32]int32{} // by edge, lower vertex first; only looked up
	on := func(a, b int32) int32 {
		if a > b {
			a, b = b, a
		}
		if v, ok := fresh[[2]int32{a, b}]; ok {
			return v
		}
		t := (level - k.height[a]) / (k.height[b] - k.height[a])
		v := int32(len(k.mesh.Vertices))
		k.mesh.Vertices = append(k.mesh.Vertices, k.mesh.Vertices[a].Lerp(k.mesh.Vertices[b], t))
		k.height = append(k.height, level)
		fresh[[2]int32{a, b}] = v
		return v
	}
	for _, f := range old {
		var above, below []int32
		for i := range f {
			a, b := f[i], f[(i+1)%3]
			if k.height[a] >= level {
				above = append(above, a)
			}
			if k.height[a] <= level {
				below = append(below, a)
			}
			if (k.height[a]-level)*(k.height[b]-level) < 0 {
				v := on(a, b)
				above, below = append(above, v), append(below, v)
			}
		}
		if len(above) < 3 || len(below) < 3 {
			k.mesh.Facets = append(k.mesh.Facets, f)
			continue
		}
		for _, p := range [2][]int32{above, below} {
			for i := 2; i < len(p); i++ {
				k.mesh.Facets = append(k.mesh.Facets, [3]int32{p[0], p[i-1], p[i]})
			}
		}
	}
}
