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
	mesh  *geom.Mesh
	color []uint8    // per facet: 1 where air touches, else 0
	spot  []geom.Vec // per pocket: a place on the surface that it touches, near its top
	some  []bool     // per pocket: whether there is one
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

// touching returns the pocket whose air lies at p, a point just inside the
// part's surface in the pour's frame, or beside it; -1 for none. A roof that is
// steep within a column may lie a few cells above the column's own.
func (c *airColumns) touching(p geom.Vec) int {
	at := c.key(p)
	best, near := -1, 2.0
	for dx := -1; dx <= 1; dx++ {
		for dy := -1; dy <= 1; dy++ {
			for _, a := range c.at[[2]int{at[0] + dx, at[1] + dy}] {
				if p.Z < a.lo-1e-6 || p.Z > a.hi+3*c.cell {
					continue
				}
				if d := math.Abs(float64(dx)) + math.Abs(float64(dy)); d < near {
					best, near = a.pocket, d
				}
			}
		}
	}
	return best
}

// stain colours the part. Cost: linear in the facets, times the pockets where a
// facet is cut by a level.
func (s *studio) stain() *stained {
	out := &stained{spot: make([]geom.Vec, len(s.air)), some: make([]bool, len(s.air))}
	cols := columnsOf(s.fill, s.air)
	part := s.mold.FittedPart()
	k := newKnife(part, s.up)
	for i := range s.air {
		if s.air[i] != nil {
			k.cut(s.fill.Pockets[i].SealedAt)
		}
	}
	out.mesh = k.mesh
	out.color = make([]uint8, len(k.mesh.Facets))
	nearest, peaks := make([]float64, len(s.air)), make([]geom.Vec, len(s.air))
	for i := range peaks {
		peaks[i] = s.peak(i)
	}
	for f := range k.mesh.Facets {
		t := k.mesh.Triangle(f)
		n := t.AreaVec().Unit()
		mid := t.Centroid()
		i := cols.touching(cols.frame.Turn(mid.AddScaled(n, -0.3*cols.cell)))
		if i < 0 || mid.Dot(s.up) < s.fill.Pockets[i].SealedAt {
			continue
		}
		out.color[f] = 1
		if d := mid.Dist(peaks[i]); n.Dot(s.up) > 0 && (!out.some[i] || d < nearest[i]) {
			out.spot[i], out.some[i], nearest[i] = mid, true, d
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
