package mold

import (
	"cmp"
	"slices"

	"pourproof/geom"
	"pourproof/geom/column"
)

// stageField keeps how high the resin stands in every run at the stages, for
// pictures, and the progress between: 36 bytes a run and 12 for every arc that it
// rises in.
type stageField struct {
	lat      column.Lattice
	x, y     []int32
	lo       []int32
	hi       []int32
	level    [][len(stagesAt)]int32 // lo: dry
	progress *progress
}

// maxFront bounds the pools that a stage names.
const maxFront = 8

// keepStages works out the level in every run at the given moments, each an arc
// and a height, and the pools of each stage. Linear in the runs.
func (p *pour) keepStages(f *Fill, lv *levels, g *progress, arc, z [len(stagesAt)]int32) {
	s := &stageField{lat: p.lat, progress: g, level: make([][len(stagesAt)]int32, len(p.piece))}
	for r, i := range p.piece {
		x, y := p.column(i)
		s.x, s.y = append(s.x, int32(x)), append(s.y, int32(y))
		s.lo, s.hi = append(s.lo, p.lo[i]), append(s.hi, p.hi[i])
		l := &s.level[r]
		for k := range l {
			l[k] = p.lo[i]
		}
		p.rises(lv, int32(r), func(a, lo, hi int32) {
			for k := range l {
				switch {
				case a < arc[k]:
					l[k] = hi
				case a == arc[k]:
					l[k] = min(max(z[k], lo), hi)
				}
			}
		})
	}
	f.stages = s
	for k := range f.Stages {
		f.Stages[k].Front = p.front(s, lv, k)
	}
}

// front returns a place on every pool's surface at a stage, the widest pool first:
// runs that hold resin and are to hold more, told apart by their level.
func (p *pour) front(s *stageField, lv *levels, k int) []geom.Vec {
	type pool struct {
		level, runs, left, at int32
	}
	var pools []pool
	index := map[int32]int{} // by level; only looked up
	each := func(do func(r int, n int)) {
		for r := range s.level {
			z := s.level[r][k]
			if z <= s.lo[r] || z >= s.hi[r] || p.flow.Pocket[r] >= 0 && z >= lv.of(int32(r)) {
				continue // dry, full, or under air that stays
			}
			n, ok := index[z]
			if !ok {
				n = len(pools)
				index[z], pools = n, append(pools, pool{level: z, at: int32(r)})
			}
			do(r, n)
		}
	}
	each(func(_, n int) { pools[n].runs++ })
	for n := range pools {
		pools[n].left = pools[n].runs / 2
	}
	each(func(r, n int) { // the middle one in the order of the columns
		if pools[n].left == 0 {
			pools[n].at = int32(r)
		}
		pools[n].left--
	})
	slices.SortStableFunc(pools, func(a, b pool) int { return cmp.Or(cmp.Compare(b.runs, a.runs), cmp.Compare(a.level, b.level)) })
	var out []geom.Vec
	for _, q := range pools[:min(len(pools), maxFront)] {
		out = append(out, s.lat.Point(s.lat.At(0, int(s.x[q.at])), s.lat.At(1, int(s.y[q.at])), q.level))
	}
	return out
}

// AirAtStage returns the air that is still in the mold at stage k of f, as square
// columns one cell wide with exact tops and bottoms, in the CAD frame: those
// within half a cell's diagonal and one cell of the upright plane of all points p
// with normal·p = offset. nil for a stage that f does not have. Linear in the runs.
func (m *Mold) AirAtStage(f *Fill, k int, normal geom.Vec, offset float64) *geom.Mesh {
	s := f.stages
	if s == nil || k < 0 || k >= len(f.Stages) {
		return nil
	}
	near := 1.75 * s.lat.Pitch() // half a diagonal is 0.71 cells
	var list []airColumn
	for r, l := range s.level {
		if l[k] >= s.hi[r] {
			continue
		}
		q := s.lat.Point(s.lat.At(0, int(s.x[r])), s.lat.At(1, int(s.y[r])), l[k])
		if d := normal.Dot(q) - offset; d > -near && d < near {
			list = append(list, airColumn{s.x[r], s.y[r], l[k], s.hi[r]})
		}
	}
	return (&airField{lat: s.lat, columns: [][]airColumn{list}}).mesh(0)
}

// Vents lists the IDs of the channels whose exit drips at a stage, and of those
// whose exit is wholly covered and to be plugged, in the order of the channels.
func (s *Stage) Vents(ports []Channel) (weeping, covered []int) {
	ml := s.Filled / 1000
	for i := range ports {
		c := &ports[i]
		switch {
		case c.PlugAt != nil && *c.PlugAt <= ml+1e-9:
			covered = append(covered, c.ID)
		case c.WeepsAt != nil && *c.WeepsAt <= ml+1e-9:
			weeping = append(weeping, c.ID)
		}
	}
	return weeping, covered
}
